"""All that a customer's page may show: what is not a field here does not leave the house.

No names of people, no prices, access or alarm notes, no keys of rows but those of photographs.
"""

from dataclasses import dataclass
from uuid import UUID

from django.utils.safestring import SafeString


@dataclass(frozen=True, slots=True)
class Firm:
    """Whom to ring."""

    name: str
    phone: str
    email: str

    @property
    def dial(self) -> str:
        """The telephone number as a dialling link spells it."""
        return "".join(c for c in self.phone if c.isdigit() or c == "+")


@dataclass(frozen=True, slots=True)
class Photo:
    """A photograph before or after the work; `id` is its key in the address below the page's own."""

    id: UUID
    words: str
    alt: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Work:
    """Work for an item and where it stands; `what` is empty where it also concerns somebody else's unit."""

    what: str
    stands: str


@dataclass(frozen=True, slots=True)
class Item:
    """One open or closed item."""

    mark: SafeString
    meaning: str
    text: str
    where: str
    first_recorded: str
    by: str
    late: str
    basis: str
    by_law: bool
    says: tuple[str, ...]
    works: tuple[Work, ...]
    photos: tuple[Photo, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """A report as it was, and beside it how much of what it asked for is complete."""

    title: str
    by: str
    outcome: str
    outcome_written: str
    extent: str
    complete: str


@dataclass(frozen=True, slots=True)
class Limitation:
    """What an inspection did not cover and nobody has covered since."""

    what: str
    why: str
    inspected: str


@dataclass(frozen=True, slots=True)
class NextInspection:
    """When the next inspection of a unit is due, and the rule that says so."""

    unit: str
    due: str
    late: str
    basis: str
    by_law: bool


@dataclass(frozen=True, slots=True)
class StatusPage:
    """How a site, or one unit of it, stands on a day."""

    firm: Firm
    title: str
    address: str
    today: str
    first_words: tuple[str, ...]
    danger_now: bool
    open: tuple[Item, ...]
    open_more: int
    done: tuple[Item, ...]
    done_more: int
    reports: tuple[Report, ...]
    limitations: tuple[Limitation, ...]
    next: tuple[NextInspection, ...]

    @property
    def open_count(self) -> int:
        """How many items are open, shown or not."""
        return len(self.open) + self.open_more

    @property
    def law(self) -> bool:
        """Whether a limit of the law is shown, beside which the page says to check the current law."""
        return any(due.by_law for due in self.next) or any(item.by_law for item in self.open)
