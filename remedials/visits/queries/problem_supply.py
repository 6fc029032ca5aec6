"""What the supply means for a plan: live tests below somebody's lock-off, visits whose power gets in each other's way.

The same facts as a booking is looked at for (`queries.supply`), read once for all sites.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from uuid import UUID

from inspections.models import MadeSafe
from jobsite.premises.models import Feed
from remedials.visits.models import Visit, VisitLine
from remedials.visits.queries.supply import Touched, lock_words, off_and_on, touched_by
from remedials.visits.rules.below import Fed, LockOff, below_lock
from remedials.works.models import Remedial


@dataclass
class OfSites:
    """By site: its feeds, the locks that are on there, and the work of the visits that stand."""

    touched: Touched
    feeds: dict[UUID, list[Fed]] = field(default_factory=lambda: defaultdict(list))
    locks: dict[UUID, list[tuple[UUID, LockOff]]] = field(default_factory=lambda: defaultdict(list))
    standing: dict[UUID, list[tuple[Visit, Remedial]]] = field(default_factory=lambda: defaultdict(list))

    def below_lock(self, row: Remedial) -> str:
        """The lock-offs, in words, that live tests of `row` would be below; "" for none. What it remedies itself is no bar."""
        own = {o.pk for o in self.touched.observations[row.pk]}
        tested = self.touched.live[row.pk]
        locks = [lock for observation, lock in self.locks[row.site_id] if observation not in own]
        return "; ".join(lock.words for lock in locks if tested and below_lock(lock, tested, self.feeds[row.site_id]))

    def clashing(self, rows: Sequence[Remedial]) -> list[Visit]:
        """The visits that stand at the site of `rows` and take the power that they need, or need what they take."""
        feeds, site = self.feeds[rows[0].site_id], rows[0].site_id
        mine_off, mine_on = off_and_on(list(rows), self.touched, feeds)
        found = []
        for visit, remedial in self.standing[site]:
            off, on = off_and_on([remedial], self.touched, feeds)
            if (off & mine_on or on & mine_off) and visit not in found:
                found.append(visit)
        return found

    def apart(self, jobs: Mapping[str, Sequence[Remedial]]) -> dict[str, frozenset[str]]:
        """Which of `jobs`, the rows of one site each, may not be at the same time: one takes the power another needs."""
        power = {
            key: (rows[0].site_id, *off_and_on(list(rows), self.touched, self.feeds[rows[0].site_id]))
            for key, rows in jobs.items()
        }
        return {
            key: frozenset(
                other
                for other, (there, its_off, its_on) in power.items()
                if other != key and there == site and (off & its_on or on & its_off)
            )
            for key, (site, off, on) in power.items()
        }


def of_sites(rows: Iterable[Remedial], visits: Iterable[Visit]) -> OfSites:
    """What is to be known of the sites of `rows`, the work to plan, beside `visits` that stand. Five statements."""
    work = list(rows)
    sites = {row.site_id for row in work}
    there = {visit.pk: visit for visit in visits if visit.site_id in sites}
    lines = VisitLine.objects.filter(visit__in=there, active=True, remedial__isnull=False).select_related("remedial")
    booked = [(there[line.visit_id], line.remedial) for line in lines.order_by("pk") if line.remedial]
    found = OfSites(touched_by({row.pk for row in work} | {remedial.pk for _, remedial in booked}))
    for visit, remedial in booked:
        found.standing[visit.site_id].append((visit, remedial))
    fed = Feed.objects.filter(site__in=sites, from_circuit__isnull=False, board__retired_at=None)
    for site, *one in fed.values_list("site", "from_circuit__board", "board", "from_circuit"):
        found.feeds[site].append(Fed(*one))
    locks = MadeSafe.objects.filter(ended="", how="locked", observation__site__in=sites)
    for row in locks.select_related("observation__board").order_by("at", "pk"):
        lock = LockOff(lock_words(row), row.observation.board_id, row.observation.circuit_id)
        found.locks[row.observation.site_id].append((row.observation_id, lock))
    return found
