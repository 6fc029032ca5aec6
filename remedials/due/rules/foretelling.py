"""What would be said to whom on each day of a span, from rows as they stand. Pure: the rules of levels, hearers, moments.

Rows that are alike are counted together, and whoever hears of a heap hears of all in it: a large firm has many rows and few
sorts of them.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from remedials.due.rules.hearers import Hearer, hearers
from remedials.due.rules.levels import Level, heard_by, said_on
from remedials.due.rules.moments import Hours, digest_day_before, digest_days
from remedials.due.rules.sorts import Days, Sort

EVERYBODY = frozenset(Level) - {Level.NOBODY}  # hear of a C1 that is not made safe, whatever its date
Levels = frozenset[Level]


@dataclass(frozen=True, slots=True)
class Alike:
    """So many rows of which the same is said to the same people on the same days.

    `first`, `last`: the days on which they stand in the list. `danger`: a C1 not made safe. `owner`: None too for one who
    may not see the row.
    """

    kind: str
    sort: Sort
    due: date | None
    loose: bool
    in_hand_until: date | None
    owner: UUID | None
    of_firm: bool
    first: date
    last: date
    danger: bool
    count: int = 1


@dataclass(frozen=True, slots=True)
class Digest:
    """The digest of a day, and the day of the one before."""

    day: date
    since: date


def digests_of(first: date, last: date, hours: Hours) -> list[Digest]:
    """The digests from `first` to `last`."""
    return [Digest(day, digest_day_before(day, hours)) for day in digest_days(first, last, hours)]


def said(rows: Alike, digests: Sequence[Digest], days: Days) -> list[tuple[date, Levels]]:
    """On which days `rows` are said, and to which levels. A C1 not made safe: each day, to all of them."""
    shown = [one for one in digests if rows.first <= one.day <= rows.last]
    if rows.danger:
        return [(one.day, EVERYBODY) for one in shown]
    facts = {"due": rows.due, "loose": rows.loose, "in_hand_until": rows.in_hand_until, "days": days}
    return [
        (one.day, heard_by(today=one.day, **facts))  # type: ignore[arg-type]
        for one in shown
        if said_on(today=one.day, since=one.since, **facts)  # type: ignore[arg-type]
    ]


def told(
    heaps: Iterable[Alike], rules: Mapping[Sort, Days], staff: Sequence[Hearer], digests: Sequence[Digest]
) -> dict[date, Counter[UUID]]:
    """How many lines the digest of each day and person has; days and people without any are left out."""
    found: dict[date, Counter[UUID]] = defaultdict(Counter)
    reach = Reach(staff)
    for (alike, owner), count in _together(heaps, rules, digests).items():
        for day, levels in said(alike, digests, rules[alike.sort]):
            for person in reach.of(alike, owner, levels, day):
                found[day][person] += count
    return dict(found)


def _together(
    heaps: Iterable[Alike], rules: Mapping[Sort, Days], digests: Sequence[Digest]
) -> Counter[tuple[Alike, UUID | None]]:
    """`heaps` that are said on the same days put together; how many rows each owner has of them."""
    found: Counter[tuple[Alike, UUID | None]] = Counter()
    if not digests:
        return found
    first, last = digests[0], digests[-1]
    for heap in heaps:
        alike = _normal(heap, rules[heap.sort], first, last)
        found[alike, heap.owner] += heap.count
    return found


def _normal(heap: Alike, days: Days, first: Digest, last: Digest) -> Alike:
    """The row by which all that are said on the same days of the span stand: what makes no difference is made alike.

    A row long late is said in the rhythm of `every` alone: its date is moved on by whole rounds.
    """
    due, in_hand = heap.due, heap.in_hand_until
    if in_hand is not None and in_hand < first.since:
        in_hand = None
    if heap.danger or heap.loose:
        due = None
    elif due is not None:
        passed = max(days.qualified_after or 0, days.manager_after or 0)
        rounds = ((first.since - due).days - passed) // days.every
        due = due + timedelta(days=days.every * rounds) if rounds > 0 else due
    return Alike(
        kind=heap.kind,
        sort=heap.sort,
        due=due,
        loose=heap.loose,
        in_hand_until=None if heap.danger else in_hand,
        owner=None,
        of_firm=heap.of_firm,
        first=max(heap.first, first.day),
        last=min(heap.last, last.day),
        danger=heap.danger,
    )


class Reach:
    """Whom a row reaches, asked of the rule once for each sort of case."""

    def __init__(self, staff: Sequence[Hearer]) -> None:
        self.staff = staff
        self.known: dict[tuple[object, ...], frozenset[UUID]] = {}
        self.qualified: dict[date, frozenset[UUID]] = {}

    def of(self, row: Alike, owner: UUID | None, levels: Levels, day: date) -> frozenset[UUID]:
        """Who hears on `day` of a row like `row` that `owner` has; of danger everybody where the rule names nobody."""
        if day not in self.qualified:
            self.qualified[day] = frozenset(person.key for person in self.staff if person.is_qualified(day))
        undated = not row.danger and (row.due is None or row.loose)
        case = (row.kind, owner, levels, undated, row.of_firm, self.qualified[day])
        if case not in self.known:
            self.known[case] = frozenset(
                hearers(
                    self.staff, kind=row.kind, owner=owner, levels=levels, no_date_or_loose=undated, today=day,
                    of_firm=row.of_firm,
                )
            )  # fmt: skip
        return self.known[case]


def dangers_told(rows: Iterable[Alike], staff: Sequence[Hearer], days: Sequence[date]) -> dict[date, Counter[UUID]]:
    """The messages about each C1 that is not made safe: one a day, of all days, to each whom it reaches."""
    reach, everybody = Reach(staff), frozenset(person.key for person in staff)
    found: dict[date, Counter[UUID]] = defaultdict(Counter)
    for row in rows:
        for day in days:
            if row.first <= day <= row.last:
                for person in reach.of(row, row.owner, EVERYBODY, day) or everybody:
                    found[day][person] += row.count
    return dict(found)
