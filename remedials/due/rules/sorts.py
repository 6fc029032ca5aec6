"""The sorts of row that people are reminded of alike, and the days that hold until the firm sets its own.

All shipped days are the firm's to change; they are common practice, no law.
"""

from dataclasses import dataclass
from enum import StrEnum


class Sort(StrEnum):
    """One line of the settings: rows that are reminded of alike. A coded row goes by its code, whatever its step is."""

    C1 = "c1"
    C1_SAFE = "c1-safe"
    C2 = "c2"
    FI = "fi"
    C3 = "c3"
    REPORT = "report"
    INSPECTION = "inspection"
    PAPER = "paper"
    NOTIFICATION = "notification"
    LETTER = "letter"
    VISIT = "visit"
    QUOTE = "quote"
    DESK = "desk"
    OWN = "own"
    CHASE = "chase"


@dataclass(frozen=True, slots=True)
class Days:
    """When people hear of a sort of row, in days.

    `before` it is due its owner first hears of it; `every` so many days again once it is late; `qualified_after` and
    `manager_after` it is due, and nobody acted, a qualified person and then the managers hear of it. None: never.
    """

    before: int
    every: int
    qualified_after: int | None
    manager_after: int | None


SHIPPED = {
    Sort.C1: Days(0, 1, 0, 0),
    Sort.C1_SAFE: Days(7, 1, 1, 3),
    Sort.C2: Days(7, 1, 2, 5),
    Sort.FI: Days(7, 1, 2, 5),
    Sort.C3: Days(7, 7, None, 28),
    Sort.REPORT: Days(0, 1, 1, 2),
    Sort.INSPECTION: Days(30, 7, 7, 14),
    Sort.PAPER: Days(7, 1, None, 3),
    Sort.NOTIFICATION: Days(7, 1, 3, 5),
    Sort.LETTER: Days(3, 1, None, 3),
    Sort.VISIT: Days(2, 1, None, 2),
    Sort.QUOTE: Days(3, 3, None, 7),
    Sort.DESK: Days(2, 3, None, 7),
    Sort.OWN: Days(30, 7, 7, 14),
    Sort.CHASE: Days(0, 3, None, 7),
}

OF_KIND = {
    "uncoded": Sort.REPORT,
    "inspection": Sort.INSPECTION,
    "paper": Sort.PAPER,
    "notification": Sort.NOTIFICATION,
    "letter": Sort.LETTER,
    "confirm": Sort.VISIT,
    "unclosed": Sort.VISIT,
    "check-out": Sort.VISIT,
    "access": Sort.VISIT,
    "see-to": Sort.VISIT,
    "key": Sort.VISIT,
    "times": Sort.VISIT,
    "quote": Sort.QUOTE,
    "question": Sort.QUOTE,
    "draft": Sort.DESK,
    "codes": Sort.DESK,
    "nothing-left": Sort.DESK,
    "instrument": Sort.OWN,
    "competence": Sort.OWN,
    "insurance": Sort.OWN,
    "recall": Sort.OWN,
}
OF_CODE = {"C1": Sort.C1, "C2": Sort.C2, "FI": Sort.FI, "C3": Sort.C3}


def sort_of(kind: str, code: str, *, made_safe: bool) -> Sort:
    """The line of the settings by which people are reminded of a row."""
    if code == "C1" and made_safe:
        return Sort.C1_SAFE
    if code in OF_CODE:
        return OF_CODE[code]
    return OF_KIND.get(kind, Sort.CHASE if kind == "chase" else Sort.DESK)
