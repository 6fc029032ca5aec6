"""Examples from published guidance beside an observation: a hint for who reviews a code, never a code."""

from inspections.standards.example_codings import CAUTION, ExampleCoding, hints_for

MOST = 3


def examples_like(text: str) -> dict[str, object] | None:
    """The examples whose words an observation holds, with the caution; None where there are none."""
    rows = [_in_words(example) for example in hints_for(text)[:MOST]]
    return {"rows": rows, "caution": CAUTION} if rows else None


def _in_words(example: ExampleCoding) -> dict[str, str]:
    note = example.confidence.note
    said = [example.remark, f"{example.basis}{f' ({note})' if note else ''}."]
    return {
        "codes": " or ".join(example.codes) or "no code stated",
        "item": example.item,
        "said": " ".join(filter(None, said)),
    }
