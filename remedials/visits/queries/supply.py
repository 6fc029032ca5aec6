"""What the supply of a site means for its visits: lock-offs above live tests, outages that take others along."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from inspections.models import MadeSafe, Observation
from inspections.standards.quantities import LIVE_TEST, Quantity
from jobsite.people.models import User
from jobsite.premises.models import Feed, Site
from jobsite.words import joined, span
from remedials.visits.models import Visit, VisitLine
from remedials.visits.rules.below import Fed, LockOff, below_lock, boards_below
from remedials.works.models import Remedial, Remedies, RequiredReading

LIVE = [quantity.value for quantity in Quantity if LIVE_TEST in quantity.caution or quantity == Quantity.FUNCTIONAL]
Tested = dict[UUID, set[tuple[UUID, UUID]]]  # by remedial: circuit and its board


@dataclass
class Touched:
    """Of some remedials: the boards that each is about, and the circuits that each is tested on while live."""

    boards: dict[UUID, set[UUID]] = field(default_factory=lambda: defaultdict(set))
    observations: dict[UUID, list[Observation]] = field(default_factory=lambda: defaultdict(list))
    live: Tested = field(default_factory=lambda: defaultdict(set))


def touched_by(keys: Iterable[UUID]) -> Touched:
    """What the remedials `keys` touch. Two statements."""
    found, wanted = Touched(), list(keys)
    for link in Remedies.objects.filter(remedial__in=wanted).select_related("observation"):
        found.observations[link.remedial_id].append(link.observation)
        if link.observation.board_id:
            found.boards[link.remedial_id].add(link.observation.board_id)
    readings = RequiredReading.objects.filter(remedial__in=wanted, quantity__in=LIVE)
    for remedial, circuit, board in readings.values_list("remedial", "circuit", "circuit__board"):
        found.live[remedial].add((circuit, board))
        found.boards[remedial].add(board)
    return found


def feeds_of(site: Site) -> list[Fed]:
    """Every feed of `site` from a circuit, of whatever kind: what may be is as good as what is. One statement."""
    rows = Feed.objects.filter(site=site, from_circuit__isnull=False, board__retired_at=None)
    return [Fed(*row) for row in rows.values_list("from_circuit__board", "board", "from_circuit")]


def standing_locks(site: Site, touched: Touched, engineers: list[User]) -> list[LockOff]:
    """The lock-offs of others that stand at `site`, the oldest first. One statement.

    A lock that guards what this very visit remedies, or that one of those who go has put on, is theirs to take off.
    """
    own = {o.pk for found in touched.observations.values() for o in found}
    rows = MadeSafe.objects.filter(ended="", how="locked", observation__site=site).exclude(observation__in=own)
    rows = rows.exclude(by__in=[user.pk for user in engineers]).select_related("observation__board").order_by("at")
    return [LockOff(lock_words(row), row.observation.board_id, row.observation.circuit_id) for row in rows]


def lock_offs(
    locks: list[LockOff], work: list[Remedial], touched: Touched, feeds: list[Fed]
) -> dict[UUID, tuple[str, ...]]:
    """By remedial of `work`: in words, those of `locks` that its live tests would be below."""
    return {
        remedial.pk: said
        for remedial in work
        if (said := tuple(lock.words for lock in locks if below_lock(lock, touched.live[remedial.pk], feeds)))
    }


def unplaced(locks: list[LockOff], work: list[Remedial], touched: Touched, typed: str) -> list[str]:
    """In words: lock-offs of which no board is recorded, and those `typed` at the visit, where `work` needs live tests."""
    if not any(touched.live[remedial.pk] for remedial in work):
        return []
    return [lock.words for lock in locks if lock.board is None] + ([typed.strip()] if typed.strip() else [])


def lock_words(row: MadeSafe) -> str:
    """A lock-off in words: what, where, which lock, who has the key."""
    board = row.observation.board
    return joined(
        f"{row.what} at {board.designation}" if board else row.what,
        f"lock {row.lock}" if row.lock else "",
        f"key with {row.key_holder}" if row.key_holder else "",
    )


def outage_clashes(
    site: Site, work: list[Remedial], touched: Touched, feeds: list[Fed], *, start: datetime, end: datetime,
    visit: Visit | None,
) -> list[str]:  # fmt: skip
    """In words: other visits to `site` at that time that take the power this one needs, or need what it takes.

    Three statements. Nothing is said of visits whose boards are not recorded.
    """
    others = Visit.objects.filter(site=site, state=Visit.State.BOOKED, start__lt=end, end__gt=start)
    lines = VisitLine.objects.filter(visit__in=others, active=True, remedial__isnull=False)
    lines = lines.exclude(remedial__in=work)  # what moves to this visit is not done at the other
    if visit is not None:
        lines = lines.exclude(visit=visit)
    rows = list(lines.select_related("visit", "remedial").order_by("visit__start", "remedial__number"))
    theirs = touched_by(line.remedial_id for line in rows if line.remedial_id) if rows else Touched()
    mine_off, mine_on = off_and_on(work, touched, feeds)
    found = []
    for line in rows:
        off, on = off_and_on([line.remedial], theirs, feeds) if line.remedial else (set(), set())
        when = f"visit {line.visit.number} ({span(line.visit.start, line.visit.end)})"
        if off & mine_on:
            found.append(f"The power that is needed here is off then: {when} works on what feeds it.")
        if on & mine_off:
            found.append(f"This takes the power away from {when}, which tests there.")
    return list(dict.fromkeys(found))


def off_and_on(work: list[Remedial], touched: Touched, feeds: list[Fed]) -> tuple[set[UUID], set[UUID]]:
    """The boards that go dead with `work`, and those on which it needs power.

    Work that takes the power away needs it as well where it ends with live tests: nobody else works dead there then.
    """
    off: set[UUID] = set()
    on: set[UUID] = set()
    for remedial in work:
        on |= {board for _, board in touched.live[remedial.pk]}
        if remedial.power_off:
            off |= touched.boards[remedial.pk]
    return boards_below(off, feeds), on
