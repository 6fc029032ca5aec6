"""All that a customer's portfolio may show, on the page, in its files and in the summary: what is no field here stays in the house.

No names of people, no prices, access or alarm notes, nothing of who lives there; of keys only those of the units themselves.
"""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.utils.safestring import SafeString

from remedials.status.shown import Firm


@dataclass(frozen=True, slots=True)
class Line:
    """One unit. `says` is the first sentence of the unit's own page; the counts are of open items by code, `items` those items in
    words, for the spreadsheet.
    """

    unit: UUID
    site: UUID
    name: str
    place: str
    level: str
    marks: SafeString
    says: str
    items: str
    c1: int
    c2: int
    fi: int
    c3: int
    uncoded: int
    by: date | None
    by_words: str
    by_late: str
    next: date | None
    next_words: str
    next_late: str
    next_basis: str
    shut_out: int
    getting_in: str
    tried: int
    last_tried: date | None


@dataclass(frozen=True, slots=True)
class Portfolio:
    """The page: the sentences on all units, and the lines that were asked for. `first` is the number of the first line."""

    firm: Firm
    title: str
    today: str
    first_words: tuple[str, ...]
    danger_now: bool
    units: int
    fitting: int
    first: int
    lines: tuple[Line, ...]
    pages: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class OfCode:
    """How many items of one code are open, made safe, past their day, and how many were closed in a year."""

    code: str
    mark: SafeString
    means: str
    open: int
    made_safe: int
    late: int
    closed: int


@dataclass(frozen=True, slots=True)
class Place:
    """One of the places that need attention first, or the count of units at one site."""

    name: str
    says: str
    by: str
    late: str


@dataclass(frozen=True, slots=True)
class Summary:
    """One page for governors or a board."""

    firm: Firm
    title: str
    today: str
    first_words: tuple[str, ...]
    danger_now: bool
    figures: tuple[tuple[str, int], ...]
    codes: tuple[OfCode, ...]
    steps: tuple[tuple[str, int], ...]
    worst: tuple[Place, ...]
    worst_more: int
    year_from: str
    inspections: int
