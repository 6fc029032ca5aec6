"""The parts of README.md and DEVELOPERS.md that are printed from the code: `python -m tests.readme` writes them anew."""

import re
from collections.abc import Sequence
from pathlib import Path

from inspections.intake.columns import BOARDS, CIRCUITS, OBSERVATIONS
from inspections.intake.heads import Column
from remedials.quotes.states import diagram as offers
from remedials.works.states import diagram

TOP = Path(__file__).resolve().parent.parent
PAGES = ("README.md", "DEVELOPERS.md")


def columns_table(columns: Sequence[Column]) -> str:
    """Head, what is expected, an example; heads that must be there in bold."""
    rows = [f"| {f'**{c.head}**' if c.needed else c.head} | {c.expected} | {c.example} |" for c in columns]
    return "\n".join(["| column | what is expected | such as |", "|---|---|---|", *rows])


def parts() -> dict[str, str]:
    """Each printed part by the name in its marks."""
    return {
        "stages": f"```mermaid\n{diagram()}\n```",
        "offer-states": f"```mermaid\n{offers()}\n```",
        "boards": columns_table(BOARDS),
        "circuits": columns_table(CIRCUITS),
        "observations": columns_table(OBSERVATIONS),
    }


def filled(text: str) -> str:
    """`text` with each part between `<!-- name -->` and `<!-- /name -->` printed anew."""
    for name, part in parts().items():
        marks = re.compile(rf"(<!-- {name} -->\n).*?(<!-- /{name} -->)", re.DOTALL)
        text = marks.sub(lambda found, part=part: f"{found[1]}{part}\n{found[2]}", text)
    return text


if __name__ == "__main__":
    for page in PAGES:
        (TOP / page).write_text(filled((TOP / page).read_text()))
