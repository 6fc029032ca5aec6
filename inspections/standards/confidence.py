"""How sure a published fact is. Every table in this package says so beside its numbers."""

from enum import StrEnum


class Confidence(StrEnum):
    """Where a fact was taken from; pages show `note` beside every fact that is not `sure`."""

    READ = "read in the source"
    SECONDARY = "read on another page that reports the source"
    COMPUTED = "computed from a published formula"
    GIVEN = "stated by the report, the firm or the person who entered it"
    PRACTICE = "common practice"
    VERIFY = "reported, the text itself not read"
    MEMORY = "from memory"

    @property
    def sure(self) -> bool:
        """False where nobody should rely on the fact before looking it up."""
        return self not in (Confidence.PRACTICE, Confidence.VERIFY, Confidence.MEMORY)

    @property
    def note(self) -> str:
        """Words to show beside the fact; empty for a sure one."""
        return _NOTES.get(self, "")


_NOTES = {
    Confidence.PRACTICE: "common practice: check the standard",
    Confidence.VERIFY: "reported, not read in the text: check the standard",
    Confidence.MEMORY: "from memory: check the standard",
}


def weaker(one: Confidence, other: Confidence) -> Confidence:
    """The less sure of two: a result is as sure as the weakest fact it rests on."""
    order = list(Confidence)
    return max(one, other, key=order.index)
