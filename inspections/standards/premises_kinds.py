"""Recommended maximum *initial* interval between inspections, by kind of premises.

Only where no report states a date: later intervals are the inspector's, and the law caps them
(`law`). Systems with intervals of their own (emergency lighting, fire alarms) are no premises and
not listed.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

from inspections.standards.confidence import Confidence
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.places import Tenure

SOURCE = "IET Guidance Note 3, Table 3.2, as three contractors' pages reproduce it"


class PremisesKind(StrEnum):
    """The values are those that premises are stored with; `label` is for a sentence."""

    HOUSE = "house"
    HMO = "hmo"
    COMMUNAL = "communal"
    COMMERCIAL = "commercial"
    EDUCATIONAL = "educational"
    INDUSTRIAL = "industrial"
    OFFICES = "offices"
    SHOP = "shop"
    LABORATORY = "laboratory"
    HOSPITAL = "hospital"
    MEDICAL = "medical"
    CINEMA = "cinema"
    CHURCH = "church"
    LEISURE = "leisure"
    ENTERTAINMENT = "entertainment"
    HOTEL = "hotel"
    THEATRE = "theatre"
    PUBLIC_HOUSE = "public-house"
    VILLAGE_HALL = "village-hall"
    AGRICULTURAL = "agricultural"
    CARAVAN = "caravan"
    CARAVAN_PARK = "caravan-park"
    HIGHWAY = "highway"
    MARINA = "marina"
    FISH_FARM = "fish-farm"
    SWIMMING_POOL = "swimming-pool"
    LAUNDERETTE = "launderette"
    PETROL_STATION = "petrol-station"
    CONSTRUCTION_SITE = "construction-site"
    OTHER = "other"

    @property
    def label(self) -> str:
        return _LABELS[self]


@dataclass(frozen=True, slots=True)
class Interval:
    """`months` is the longest initial interval, None where none is published.

    Where a range is published, `months` is its shorter end and `months_longest` its longer one.
    `routine_check` is the user's own look between inspections, in words.
    """

    months: int | None
    routine_check: str
    at_change_of_occupancy: bool = False
    months_longest: int | None = None
    confidence: Confidence = Confidence.SECONDARY
    source: str = SOURCE


_K = PremisesKind
_YEARLY = "every year"
_QUARTER = "every 4 months"
_FIVE = Interval(60, _YEARLY)
_THREE = Interval(36, _YEARLY)
_ONE = Interval(12, _YEARLY)
_POOL = Interval(12, _QUARTER)

_OWN_HOME = Interval(120, "none stated", at_change_of_occupancy=True)
_RENTED_HOME = Interval(60, _YEARLY, at_change_of_occupancy=True)

INTERVALS = {
    _K.HOUSE: _OWN_HOME,
    _K.HMO: _RENTED_HOME,
    _K.COMMUNAL: _RENTED_HOME,
    _K.COMMERCIAL: Interval(60, _YEARLY, at_change_of_occupancy=True),
    # An older copy of the table asks for the routine check every 4 months.
    _K.EDUCATIONAL: Interval(60, "every 6 months"),
    _K.INDUSTRIAL: _THREE,
    _K.OFFICES: _FIVE,
    _K.SHOP: _FIVE,
    _K.LABORATORY: _FIVE,
    _K.HOSPITAL: _FIVE,
    _K.MEDICAL: Interval(12, "every 6 months"),
    # One copy has 1 to 3 years, an older one 3 years: the copies disagree.
    _K.CINEMA: Interval(12, _YEARLY, months_longest=36, confidence=Confidence.VERIFY),
    _K.CHURCH: _FIVE,
    _K.LEISURE: _THREE,
    _K.ENTERTAINMENT: _THREE,
    _K.HOTEL: _FIVE,
    _K.THEATRE: _THREE,
    _K.PUBLIC_HOUSE: _FIVE,
    _K.VILLAGE_HALL: _FIVE,
    _K.AGRICULTURAL: _THREE,
    _K.CARAVAN: Interval(36, "every year, and inspected every year if often used"),
    _K.CARAVAN_PARK: Interval(12, "every 6 months"),
    # One copy has 6 to 8 years, an older one 6 years.
    _K.HIGHWAY: Interval(72, "as convenient", months_longest=96),
    _K.MARINA: _POOL,
    _K.FISH_FARM: _POOL,
    _K.SWIMMING_POOL: _POOL,
    # The routine check is monthly in the newer copy, yearly in the older one.
    _K.LAUNDERETTE: Interval(12, "every month"),
    _K.PETROL_STATION: _ONE,
    _K.CONSTRUCTION_SITE: Interval(3, "every 3 months"),
    _K.OTHER: Interval(None, "none stated"),
}

_LABELS = {
    _K.HOUSE: "house or flat",
    _K.HMO: "house in multiple occupation",
    _K.COMMUNAL: "hall of residence, common parts",
    _K.COMMERCIAL: "commercial premises",
    _K.EDUCATIONAL: "school or college",
    _K.INDUSTRIAL: "industrial premises",
    _K.OFFICES: "offices",
    _K.SHOP: "shop",
    _K.LABORATORY: "laboratory",
    _K.HOSPITAL: "hospital or clinic, general areas",
    _K.MEDICAL: "hospital or clinic, medical locations",
    _K.CINEMA: "cinema",
    _K.CHURCH: "church",
    _K.LEISURE: "leisure complex, not pools",
    _K.ENTERTAINMENT: "place of public entertainment",
    _K.HOTEL: "restaurant or hotel",
    _K.THEATRE: "theatre",
    _K.PUBLIC_HOUSE: "public house",
    _K.VILLAGE_HALL: "village hall, community centre",
    _K.AGRICULTURAL: "agricultural or horticultural premises",
    _K.CARAVAN: "caravan",
    _K.CARAVAN_PARK: "caravan park",
    _K.HIGHWAY: "highway power supply",
    _K.MARINA: "marina",
    _K.FISH_FARM: "fish farm",
    _K.SWIMMING_POOL: "swimming pool",
    _K.LAUNDERETTE: "launderette",
    _K.PETROL_STATION: "petrol filling station",
    _K.CONSTRUCTION_SITE: "construction site",
    _K.OTHER: "other premises",
}


def _months(key: str, title: str, interval: Interval) -> Fact[int]:
    return Fact(
        key=f"interval.{key}",
        title=f"Recommended initial interval, {title}",
        value=interval.months or 0,
        unit="months",
        source=interval.source,
        confidence=interval.confidence,
        least=1,
        most=240,
    )


MONTHS = {kind: _months(kind, kind.label, interval) for kind, interval in INTERVALS.items() if interval.months}
MONTHS_RENTED = _months("house.rented", "rented house or flat", _RENTED_HOME)
ROWS = (*MONTHS.values(), MONTHS_RENTED)


def initial_interval(kind: PremisesKind, tenure: Tenure | None, facts: Facts = SHIPPED) -> Interval:
    """The recommended initial interval; a house or flat's depends on whether it is a rented home."""
    rented = kind is PremisesKind.HOUSE and tenure is not None and tenure.rented_home
    interval, row = (_RENTED_HOME, MONTHS_RENTED) if rented else (INTERVALS[kind], MONTHS.get(kind))
    if row is None or not facts.corrected(row):
        return interval
    found = facts.of(row)
    return replace(interval, months=found.value, months_longest=None, confidence=found.confidence, source=found.source)
