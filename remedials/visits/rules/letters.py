"""The words of the letters that ask to be let in. Plain, our own, and without a claim of law."""

from collections.abc import Sequence
from dataclasses import dataclass

FIRST, SECOND, FINAL = "first-letter", "second-letter", "final-letter"
ORDER = (FIRST, SECOND, FINAL)
TITLES = {
    FIRST: "Please let us in to do electrical work",
    SECOND: "We still have to get in: please choose a time",
    FINAL: "Last letter: please let us in to do electrical work",
}
# What a code means, for whoever reads no condition report. The words are those of its model form, shortened.
MEANS = {
    "C1": "Danger present",
    "C2": "Potentially dangerous",
    "FI": "To be investigated without delay",
    "C3": "Improvement recommended",
}


@dataclass(frozen=True)
class Asked:
    """What a letter is about: `place` in words, codes of what is to be put right, days of the letters before, in words."""

    which: str
    place: str
    firm: str
    phone: str
    codes: Sequence[str]
    before: Sequence[str]
    answer_by: str


def before(which: str) -> str | None:
    """The letter that must have gone before `which`; None for the first."""
    at = ORDER.index(which)
    return ORDER[at - 1] if at else None


def paragraphs(asked: Asked) -> list[str]:
    """What the letter says before it lists the work."""
    said = [f"{asked.firm} has been asked to do electrical work at {asked.place}. For that somebody must let us in."]
    if asked.before:
        said.append(f"We wrote to you about this on {_and(asked.before)}. We have not been able to do the work yet.")
    if dangerous(asked.codes):
        said.append("Some of what we have to put right is dangerous or may become so. It matters that it is done soon.")
    return said


def dangerous(codes: Sequence[str]) -> bool:
    """Whether something of it is coded C1 or C2."""
    return bool({"C1", "C2"} & set(codes))


def answer(asked: Asked, *, times: bool) -> str:
    """Whom to ring, until when."""
    ring = f"Ring {asked.phone}" if asked.phone else "Answer this letter"
    which = "and say which of these times suits you, or name another" if times else "to agree a time"
    return f"{ring} {which}, by {asked.answer_by}. Tell us if you need help, an interpreter, or somebody with you."


def ending(asked: Asked) -> str:
    """What happens when no answer comes: neutral, and only in the last letter."""
    if asked.which != FINAL:
        return "Our people show you who they are before they come in. Ring us if you are not sure."
    return (
        "If we do not hear from you by then, we must tell the landlord that we could not get in. "
        "Our people show you who they are before they come in."
    )


def _and(words: Sequence[str]) -> str:
    return " and ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)
