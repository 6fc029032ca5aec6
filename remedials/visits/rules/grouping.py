"""Which work of a site is done in one visit: what shares a skill, an outage, and the times at which one gets in."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import count

FAR = 10**6  # a day later than any that somebody names
# The order in which codes are put right, as the planner counts danger: common practice.
DANGER: Mapping[str, int] = {"C1": 4, "C2": 3, "FI": 2, "C3": 1}


@dataclass(frozen=True)
class Work:
    """One remedial as it is to be planned. Days count from the plan's first; `minutes` are on site, with its crew.

    `off`: the boards at which power goes off, or may have to, for it; None: it goes off somewhere, nobody knows where.
    Empty: power stays on. `access` tells apart what has other access times.
    """

    key: str
    site: str
    skill: str
    minutes: int
    crew: int = 1
    access: str = ""
    off: frozenset[str] | None = frozenset()
    danger: int = 0
    remedy_by: int | None = None
    first: int = 0
    last: int | None = None


@dataclass(frozen=True)
class Group:
    """Work that is done in one visit, the most urgent first."""

    works: tuple[Work, ...]
    minutes: int

    @property
    def crew(self) -> int:
        """How many go: as many as the work that takes most."""
        return max(work.crew for work in self.works)

    @property
    def danger(self) -> int:
        return max(work.danger for work in self.works)

    @property
    def remedy_by(self) -> int | None:
        return min((work.remedy_by for work in self.works if work.remedy_by is not None), default=None)


def on_site(minutes: int, crew: int) -> int:
    """How long work of `minutes` person-minutes takes a crew, in whole minutes rounded up."""
    return -(-minutes // max(crew, 1))


def grouped(works: Iterable[Work], *, above: Mapping[str, frozenset[str]], least: int, most: int) -> list[Group]:
    """The visits that do all of `works`, each at one site.

    `above`: for each board all those on its way from the supply. Two works share an outage where switching off for the
    one leaves the other's boards dead. No visit is shorter than `least` minutes; one longer than `most` is made
    several, the most urgent work first, unless a single work takes longer.
    """
    alike: dict[tuple[object, ...], list[Work]] = {}
    outages = _outages(works := sorted(works, key=_urgency), above)
    for work in works:
        key = (work.site, work.access, work.skill, outages[work.key], work.first, work.last)
        alike.setdefault(key, []).append(work)
    parts = [part for together in alike.values() for part in _cut(together, most)]
    groups = [Group(tuple(part), max(least, sum(work.minutes for work in part))) for part in parts]
    return sorted(groups, key=lambda group: _urgency(group.works[0]))


def _urgency(work: Work) -> tuple[int, int, str]:
    return -work.danger, FAR if work.remedy_by is None else work.remedy_by, work.key


def _outages(works: list[Work], above: Mapping[str, frozenset[str]]) -> dict[str, str]:
    """A name of the outage of each work: "" where power stays on; what nobody can place has one of its own."""
    tops: dict[str, set[str]] = {}
    for work in works:
        tops.setdefault(work.site, set()).update(work.off or ())
    unknown = count()
    found = {}
    for work in works:
        if work.off is None:
            found[work.key] = f"unknown {next(unknown)}"
            continue
        # Switching off at the highest board that other work here needs dead takes all below it along.
        own = {_top(board, tops[work.site], above) for board in work.off}
        found[work.key] = "+".join(sorted(own))
    return found


def _top(board: str, wanted: set[str], above: Mapping[str, frozenset[str]]) -> str:
    """The highest of the boards on the way to `board`, itself included, at which power goes off anyhow."""
    way = (above.get(board, frozenset()) & wanted) | {board}
    return min(way, key=lambda one: (len(above.get(one, frozenset()) & way), one))


def _cut(works: list[Work], most: int) -> list[list[Work]]:
    """The works in parts of at most `most` minutes, each put into the first part that has room."""
    parts: list[list[Work]] = []
    for work in works:
        room = (part for part in parts if sum(one.minutes for one in part) + work.minutes <= most)
        part = next(room, None)
        if part is None:
            parts.append([work])
        else:
            part.append(work)
    return parts
