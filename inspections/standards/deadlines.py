"""A last day with its reason, and how the earliest of several is chosen."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from inspections.standards.confidence import Confidence
from inspections.standards.law import CAUTION


@dataclass(frozen=True, slots=True)
class Deadline:
    """`on` is the last day, None where no rule gives one; `basis` says why, in a sentence or two.

    `legal`: missing the day breaks a law, so `caution` asks to check the current one.
    """

    on: date | None
    basis: str
    legal: bool
    confidence: Confidence

    @property
    def caution(self) -> str:
        """Words that stand beside the date wherever it is shown; may be empty."""
        words = [CAUTION] if self.legal else []
        if self.confidence.note:
            words.append(self.confidence.note[0].upper() + self.confidence.note[1:] + ".")
        return " ".join(words)


def earliest(limits: Iterable[Deadline]) -> Deadline:
    """The earliest; `min` keeps the first of equals, so the order of the list decides ties."""
    return min(limits, key=lambda limit: limit.on or date.max)
