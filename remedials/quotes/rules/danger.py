"""The danger that a line removes, for a customer who has never seen a classification code. Values only."""

from collections.abc import Iterable, Sequence
from textwrap import shorten

# The order in which lines are grouped: the most dangerous first, what nobody has coded after them, advice, the rest.
ORDER = ("C1", "C2", "FI", "C3", "")
# What the codes of BS 7671's condition report (Appendix 6) mean, in our words.
MEANING = {
    "C1": "Danger present: somebody could be hurt now.",
    "C2": "Potentially dangerous: it can become a danger, for example when something else fails.",
    "FI": "Further investigation is needed without delay: until then nobody can say whether it is dangerous.",
    "C3": "Improvement recommended: it would make the installation safer.",
}
MOST_NAMED, MOST_LETTERS = 3, 300


def worst(codes: Iterable[str]) -> str:
    """The most dangerous of `codes`, "" where none is known."""
    return min((code for code in codes if code in MEANING), key=ORDER.index, default="")


def rank(code: str) -> int:
    """Where lines of this code stand when they are grouped by danger."""
    return ORDER.index(code) if code in ORDER else len(ORDER)


def danger_words(code: str, found: Sequence[str]) -> str:
    """What `code` means and what was found, as one text: "Danger present: … Found: cover missing; …".

    `found` are the observations as they were recorded. "" where there is neither a code nor an observation.
    """
    said = list(dict.fromkeys(shorten(text, MOST_LETTERS, placeholder=" …") for text in found if text.strip()))
    named = "; ".join(text.rstrip(". ") for text in said[:MOST_NAMED])
    if len(said) > MOST_NAMED:
        named += f"; and {len(said) - MOST_NAMED} more"
    return " ".join(filter(None, [MEANING.get(code, ""), f"Found: {named}." if named else ""]))
