"""The rows of the law on rented homes by nation and tenure, each with the date from which it holds.

A rule that changes is a new row, never an edit: reports are judged by the rule of their day. The
duty is the landlord's; this table only keeps the dates. Pages that show one of these limits name
the rule and say to check the current law.
"""

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from inspections.standards.confidence import Confidence
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind

CAUTION = "Check the current law."


class Counting(StrEnum):
    """How an interval of years is counted."""

    BEGINNING_WITH = "beginning with the date of the inspection"
    AFTER = "at intervals of no more than that"


@dataclass(frozen=True, slots=True)
class RentedHomeRule:
    """One rule, for one nation and tenure.

    It binds tenancies granted on or after `new_from` from that day, and earlier ones from
    `existing_from`, which had to have their first inspection by `existing_first_by`.
    `remedy_days` counts "starting with" the date of the inspection and applies to C1, C2 and FI;
    None where no number of days was found. `shorter_binds`: where the report states less, that is
    the law's limit. `corrected_from`: where the firm has the days, years or dates from that it put in.
    """

    key: str
    name: str
    nation: Nation
    tenures: frozenset[Tenure]
    new_from: date
    existing_from: date
    existing_first_by: date
    dates_confidence: Confidence
    interval_years: int
    interval_counting: Counting
    interval_confidence: Confidence
    remedy_days: int | None
    remedy_confidence: Confidence
    shorter_binds: bool
    source: str
    excludes: frozenset[PremisesKind] = field(default_factory=frozenset)
    corrected_from: str = ""

    @property
    def remark(self) -> str:
        """To be said behind a limit that rests on what the firm put in the place of a shipped row; else empty."""
        return f" As the firm corrected it, from {self.corrected_from}." if self.corrected_from else ""

    def binds_from(self, tenancy_granted_on: date | None) -> date:
        """First day of the rule for that tenancy; the earlier one where its date isn't known."""
        if tenancy_granted_on is not None and tenancy_granted_on < self.new_from:
            return self.existing_from
        return self.new_from

    def first_inspection_by(self, tenancy_granted_on: date | None) -> date:
        """The day by which an installation inspected before the rule needs the next inspection."""
        if tenancy_granted_on is not None and tenancy_granted_on < self.new_from:
            return self.existing_first_by
        return self.new_from


_PRIVATE = frozenset({Tenure.PRIVATE_RENTED})
_SOCIAL = frozenset({Tenure.SOCIAL_RENTED})
_SI_2020 = (
    "gov.uk guidance of 1 Nov 2025 (interval, extension); regulation 3 in reproductions and "
    "several councils' policies that agree (28 days); SI 2025/1043 reg 1 (dates)"
)

# Ordered by nation, then by the day from which each row holds.
RULES = (
    RentedHomeRule(
        key="england.private.2020",
        name="SI 2020/312 regulation 3 (England)",
        nation=Nation.ENGLAND,
        tenures=_PRIVATE,
        new_from=date(2020, 7, 1),
        existing_from=date(2021, 4, 1),
        existing_first_by=date(2021, 4, 1),
        dates_confidence=Confidence.READ,
        interval_years=5,
        interval_counting=Counting.AFTER,
        interval_confidence=Confidence.READ,
        remedy_days=28,
        remedy_confidence=Confidence.SECONDARY,
        shorter_binds=True,
        source=_SI_2020,
    ),
    RentedHomeRule(
        key="england.private.2025",
        name="SI 2020/312 regulation 3 (England), as amended by SI 2025/1043",
        nation=Nation.ENGLAND,
        tenures=_PRIVATE,
        new_from=date(2025, 11, 1),
        existing_from=date(2025, 11, 1),
        existing_first_by=date(2025, 11, 1),
        dates_confidence=Confidence.READ,
        interval_years=5,
        interval_counting=Counting.AFTER,
        interval_confidence=Confidence.READ,
        remedy_days=28,
        remedy_confidence=Confidence.SECONDARY,
        shorter_binds=True,
        source=_SI_2020,
        # Mobile homes, caravans and boats: read in solicitors' pages of 2026.
        excludes=frozenset({PremisesKind.CARAVAN}),
    ),
    RentedHomeRule(
        key="england.social.2025",
        name="SI 2020/312 regulation 3 (England), as amended by SI 2025/1043",
        nation=Nation.ENGLAND,
        tenures=_SOCIAL,
        new_from=date(2025, 12, 1),
        existing_from=date(2026, 5, 1),
        # "before 1 Nov 2026"
        existing_first_by=date(2026, 10, 31),
        dates_confidence=Confidence.READ,
        interval_years=5,
        interval_counting=Counting.AFTER,
        interval_confidence=Confidence.READ,
        remedy_days=28,
        remedy_confidence=Confidence.SECONDARY,
        shorter_binds=True,
        source=_SI_2020,
        excludes=frozenset({PremisesKind.CARAVAN}),
    ),
    RentedHomeRule(
        key="wales.2022",
        name="WSI 2022/6 regulation 6 (Wales)",
        nation=Nation.WALES,
        tenures=_PRIVATE | _SOCIAL,
        new_from=date(2022, 12, 1),
        existing_from=date(2023, 12, 1),
        existing_first_by=date(2023, 12, 1),
        dates_confidence=Confidence.SECONDARY,
        interval_years=5,
        interval_counting=Counting.BEGINNING_WITH,
        interval_confidence=Confidence.READ,
        remedy_days=None,
        remedy_confidence=Confidence.READ,
        shorter_binds=True,
        source="legislation.gov.uk/wsi/2022/6/regulation/6; year of grace: landlordsguild.com",
    ),
    # The days from which the Scottish duty on private lets held are from memory.
    RentedHomeRule(
        key="scotland.private.2015",
        name="Housing (Scotland) Act 2006 section 19A",
        nation=Nation.SCOTLAND,
        tenures=_PRIVATE,
        new_from=date(2015, 12, 1),
        existing_from=date(2016, 12, 1),
        existing_first_by=date(2016, 12, 1),
        dates_confidence=Confidence.MEMORY,
        interval_years=5,
        interval_counting=Counting.AFTER,
        interval_confidence=Confidence.MEMORY,
        remedy_days=None,
        remedy_confidence=Confidence.MEMORY,
        shorter_binds=False,
        source="Housing (Scotland) Act 2006 ss.13, 19A, 19B; days of commencement from memory",
    ),
    RentedHomeRule(
        key="scotland.private.2024",
        name="Housing (Scotland) Act 2006 section 19A, Repairing Standard guidance of 2024",
        nation=Nation.SCOTLAND,
        tenures=_PRIVATE,
        new_from=date(2024, 3, 1),
        existing_from=date(2024, 3, 1),
        existing_first_by=date(2024, 3, 1),
        dates_confidence=Confidence.READ,
        interval_years=5,
        interval_counting=Counting.AFTER,
        interval_confidence=Confidence.READ,
        remedy_days=None,
        remedy_confidence=Confidence.SECONDARY,
        shorter_binds=False,
        source="gov.scot Repairing Standard guidance, Annex D3, D.52 to D.56",
    ),
    # No day of commencement was found: the row holds for every report.
    RentedHomeRule(
        key="scotland.social",
        name="Scottish Housing Quality Standard",
        nation=Nation.SCOTLAND,
        tenures=_SOCIAL,
        new_from=date.min,
        existing_from=date.min,
        existing_first_by=date.min,
        dates_confidence=Confidence.VERIFY,
        interval_years=5,
        interval_counting=Counting.AFTER,
        interval_confidence=Confidence.READ,
        remedy_days=None,
        remedy_confidence=Confidence.SECONDARY,
        shorter_binds=False,
        source="Electrical Safety First, guidance for social landlords in Scotland",
    ),
    RentedHomeRule(
        key="northern-ireland.private.2025",
        name="SR 2024/201 (Northern Ireland)",
        nation=Nation.NORTHERN_IRELAND,
        tenures=_PRIVATE,
        new_from=date(2025, 4, 1),
        existing_from=date(2025, 12, 1),
        existing_first_by=date(2025, 12, 1),
        dates_confidence=Confidence.READ,
        interval_years=5,
        interval_counting=Counting.AFTER,
        interval_confidence=Confidence.READ,
        remedy_days=28,
        remedy_confidence=Confidence.READ,
        shorter_binds=True,
        source="legislation.gov.uk/nisr/2024/201 and its explanatory note",
        # Houses in multiple occupation stay under their licences.
        excludes=frozenset({PremisesKind.HMO}),
    ),
)

# Said beside the firm's own limit where the law asks for haste but gives no number of days.
REMARKS = {
    (Nation.SCOTLAND, Tenure.PRIVATE_RENTED): (
        "Scottish guidance asks for C1 to be put right on discovery and C2 at once, without a number of days."
    ),
    (Nation.WALES, Tenure.PRIVATE_RENTED): "No Welsh limit in days was found.",
    (Nation.WALES, Tenure.SOCIAL_RENTED): "No Welsh limit in days was found.",
}
