"""Editions and amendments of the wiring standard BS 7671, with their dates.

A report is judged by the edition it names, never by today's. `edition_in_force` is only the first
guess that a form offers for a date; the person who reads the report decides.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from inspections.standards.confidence import Confidence
from inspections.standards.facts import SHIPPED, Fact, Facts


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


CMIN = Fact(
    key="loop.cmin",
    title="Voltage factor Cmin for loop impedance, from Amendment 3 of 2015",
    value=Decimal("0.95"),
    source="Wiring Matters 54 (2015) and an article of NICEIC, both in reproduction",
    confidence=Confidence.SECONDARY,
    editions=tuple(edition for edition in Edition if edition is not Edition.A1_2011),
    least=Decimal("0.5"),
    most=Decimal(1),
)
CMIN_2008 = Fact(
    key="loop.cmin.2008",
    title="Voltage factor Cmin for loop impedance, before Amendment 3 of 2015",
    value=Decimal("1.00"),
    source="Tables of BS 7671:2008 in Locke, Guide to the Wiring Regulations, Wiley 2008, App. 3",
    confidence=Confidence.SECONDARY,
    editions=(Edition.A1_2011,),
    least=Decimal("0.5"),
    most=Decimal(1),
)


def _dates(what: str, words: str, days: dict[Edition, date | None]) -> dict[Edition, Fact[date]]:
    return {
        edition: Fact(
            key=f"edition.{edition}.{what}",
            title=f"{FACTS[edition].label}: {words}",
            value=day,
            source=FACTS[edition].source or "none found",
            confidence=_READ_DATES.get((edition, what), Confidence.MEMORY),
            editions=(edition,),
            least=date(1980, 1, 1),
            most=date(2100, 1, 1),
        )
        for edition, day in days.items()
        if day
    }


# All other dates of editions are from memory.
_READ_DATES = {
    (Edition.A4_2026, "usable-from"): Confidence.SECONDARY,
    (Edition.A2_2022, "withdrawn"): Confidence.SECONDARY,
    (Edition.A3_2015, "usable-from"): Confidence.SECONDARY,
}
USABLE_FROM = _dates("usable-from", "first day of use", {e: FACTS[e].usable_from for e in Edition})
WITHDRAWN = _dates("withdrawn", "first day without it", {e: FACTS[e].withdrawn for e in Edition})
ROWS = (*USABLE_FROM.values(), *WITHDRAWN.values())
CMIN_ROWS = (CMIN, CMIN_2008)


def editions_usable(on: date, facts: Facts = SHIPPED) -> tuple[Edition, ...]:
    """All editions that could be worked to on that day, newest first (two in a time of change)."""
    return tuple(edition for edition in Edition if _usable(edition, on, facts))


def edition_in_force(on: date, facts: Facts = SHIPPED) -> Edition:
    """The newest edition that could be worked to on that day: a first guess for a form.

    In a time of change (15 Apr to 14 Oct 2026, for one) the former edition could still be used,
    so the edition that the report itself names always goes before this guess.
    """
    return editions_usable(on, facts)[0]


def cmin(edition: Edition, facts: Facts = SHIPPED) -> Decimal:
    """Voltage factor Cmin for loop impedance: 0.95 from Amendment 3 of 2015, 1 before.

    For an earlier or unknown edition today's stricter factor is taken.
    """
    return facts.of(cmin_row(edition)).value


def cmin_row(edition: Edition) -> Fact[Decimal]:
    """The row of Cmin that the edition selects."""
    return CMIN_2008 if edition is Edition.A1_2011 else CMIN


def _usable(edition: Edition, on: date, facts: Facts) -> bool:
    began, ended = USABLE_FROM.get(edition), WITHDRAWN.get(edition)
    return (began is None or facts.of(began).value <= on) and (ended is None or on < facts.of(ended).value)
