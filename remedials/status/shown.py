"""All that a customer's page may show: what is not a field here does not leave the house.

No names of people, no prices, access or alarm notes, no keys of rows but those of photographs.
"""

from dataclasses import dataclass
from uuid import UUID

from django.utils.safestring import SafeString

from remedials.status.proof.shown import DocumentLine


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
    """One open or closed item. `photos_more`: how many more its own page shows; `cut`: whether its text goes on there.

    `advice`: what a danger notice says to do until it is put right; `notice`: its number, where it can be had.
    """

    number: int
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
    advice: str
    notice: int | None
    works: tuple[Work, ...]
    photos: tuple[Photo, ...]
    photos_more: int
    cut: bool


@dataclass(frozen=True, slots=True)
class Report:
    """A report as it was, and beside it how much of what it asked for is complete."""

    title: str
    by: str
    outcome: str
    outcome_why: str
    outcome_written: str
    extent: str
    complete: str
    confirmed: tuple[str, ...]


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
class Supply:
    """How the electricity gets here: a drawing, the same as a list, and what the drawing's signs mean.

    `drawing`, and `listing` too, are empty where they are too much for the page: then they have one of their own.
    """

    drawing: SafeString
    listing: SafeString
    key: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Head:
    """What every page below one link begins with: whom to ring, where it is, how it stands in a sentence."""

    firm: Firm
    title: str
    address: str
    today: str
    first_words: tuple[str, ...]
    danger_now: bool
    mood: str


@dataclass(frozen=True, slots=True)
class Some:
    """Some items of a long list: those shown, which of them these are in words, and the addresses of those before and after."""

    head: Head
    title: str
    which: str
    items: tuple[Item, ...]
    before: str
    after: str

    @property
    def law(self) -> bool:
        """Whether a limit of the law is shown, beside which the page says to check the current law."""
        return any(item.by_law for item in self.items)


@dataclass(frozen=True, slots=True)
class Drawn:
    """The supply drawing on a page of its own."""

    head: Head
    supply: Supply


@dataclass(frozen=True, slots=True)
class Standing:
    """How a site, or one unit of it, stands on a day, but for its items."""

    head: Head
    reports: tuple[Report, ...]
    limitations: tuple[Limitation, ...]
    next: tuple[NextInspection, ...]

    @property
    def law(self) -> bool:
        """Whether a limit of the law is shown, beside which the page says to check the current law."""
        return any(due.by_law for due in self.next) or any(report.confirmed for report in self.reports)


@dataclass(frozen=True, slots=True)
class StatusPage(Standing):
    """The same with its items, supply and documents, as much of each as the page has room for.

    `standing_more`: whether reports or dates are left out, `open_more`, `done_more`: how many items.
    """

    standing_more: bool
    open: tuple[Item, ...]
    open_more: int
    done: tuple[Item, ...]
    done_more: int
    supply: Supply | None
    documents: tuple[DocumentLine, ...]

    @property
    def firm(self) -> Firm:
        """Whom to ring."""
        return self.head.firm

    @property
    def open_count(self) -> int:
        """How many items are open, shown or not."""
        return len(self.open) + self.open_more

    @property
    def done_count(self) -> int:
        """How many items are closed, shown or not."""
        return len(self.done) + self.done_more

    @property
    def open_next(self) -> int:
        """At which of the open items the next page begins."""
        return len(self.open) + 1

    @property
    def done_next(self) -> int:
        """At which of the closed items the next page begins."""
        return len(self.done) + 1

    @property
    def law_of_items(self) -> bool:
        """The same of the items."""
        return any(item.by_law for item in self.open)
