"""Editions and amendments of the wiring standard BS 7671, with their dates.

A report is judged by the edition it names, never by today's. `edition_in_force` is only the first
guess that a form offers for a date; the person who reads the report decides.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from inspections.standards.confidence import Confidence


class Edition(StrEnum):
    """Newest first. The value is what is stored; `label` is what people read."""

    A4_2026 = "2018+A4:2026"
    A2_2022 = "2018+A2:2022"
    A1_2020 = "2018+A1:2020"
    A3_2015 = "2008+A3:2015"
    A1_2011 = "2008+A1:2011"
    EARLIER = "earlier"

    @property
    def label(self) -> str:
        return FACTS[self].label


@dataclass(frozen=True, slots=True)
class EditionFacts:
    """`usable_from` is the first day, `withdrawn` the first day on which it no longer stands."""

    label: str
    published: date | None
    usable_from: date | None
    withdrawn: date | None
    source: str
    confidence: Confidence


_REPORTED = "Announcement of IET and BSI of April 2026, as reported by five trade pages that agree"
_REMEMBERED = "Prefaces of the editions"

FACTS = {
    Edition.A4_2026: EditionFacts(
        "BS 7671:2018+A4:2026",
        date(2026, 4, 15),
        date(2026, 4, 15),
        None,
        _REPORTED,
        Confidence.SECONDARY,
    ),
    # The day of publication of A2 is remembered; the day of withdrawal was read with A4's.
    Edition.A2_2022: EditionFacts(
        "BS 7671:2018+A2:2022 (also with A3:2024)",
        date(2022, 3, 28),
        date(2022, 3, 28),
        date(2026, 10, 15),
        _REPORTED,
        Confidence.MEMORY,
    ),
    Edition.A1_2020: EditionFacts(
        "BS 7671:2018 (also with A1:2020)",
        date(2018, 7, 2),
        date(2019, 1, 1),
        date(2022, 9, 27),
        _REMEMBERED,
        Confidence.MEMORY,
    ),
    # In force on 1 July 2015: read in the same pages that tell of Cmin. Withdrawal remembered.
    Edition.A3_2015: EditionFacts(
        "BS 7671:2008+A3:2015 (17th edition)",
        date(2015, 1, 5),
        date(2015, 7, 1),
        date(2019, 1, 1),
        "Wiring Matters 54 (2015), as reproduced; prefaces of the editions",
        Confidence.MEMORY,
    ),
    Edition.A1_2011: EditionFacts(
        "BS 7671:2008 (also with A1:2011)",
        date(2008, 1, 1),
        date(2008, 7, 1),
        date(2015, 7, 1),
        _REMEMBERED,
        Confidence.MEMORY,
    ),
    Edition.EARLIER: EditionFacts(
        "an earlier edition, or not known", None, None, date(2008, 7, 1), "", Confidence.MEMORY
    ),
}


def editions_usable(on: date) -> tuple[Edition, ...]:
    """All editions that could be worked to on that day, newest first (two in a time of change)."""
    return tuple(edition for edition in Edition if _usable(FACTS[edition], on))


def edition_in_force(on: date) -> Edition:
    """The newest edition that could be worked to on that day: a first guess for a form.

    In a time of change (15 Apr to 14 Oct 2026, for one) the former edition could still be used,
    so the edition that the report itself names always goes before this guess.
    """
    return editions_usable(on)[0]


def cmin(edition: Edition) -> Decimal:
    """Voltage factor Cmin for loop impedance: 0.95 from Amendment 3 of 2015, 1 before.

    Source: Wiring Matters 54 (2015) and a NICEIC article, both read in reproduction. For an
    earlier or unknown edition today's stricter factor is taken.
    """
    return Decimal(1) if edition is Edition.A1_2011 else Decimal("0.95")


def _usable(facts: EditionFacts, on: date) -> bool:
    began = facts.usable_from is None or facts.usable_from <= on
    return began and (facts.withdrawn is None or on < facts.withdrawn)
