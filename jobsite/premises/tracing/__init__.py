"""Tracing what feeds each board by switching devices off one at a time and looking which boards go dead.

    traced = trace(wiring, tests)

Where several feeders are thought of for a board, every test rules out those with which no arrangement of all feeds could
have been seen. That holds only as far as the true feeder is among the candidates: a board whose feeder nobody thought of
shows, if at all, by tests that no arrangement explains. Pure: values in, values out.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import prod

from jobsite.premises.tracing.advice import Advice, Adviser, Losing, losing
from jobsite.premises.tracing.clashes import clashes, explained
from jobsite.premises.tracing.net import Domains, Net
from jobsite.premises.tracing.search import Case, Group, Search, all_candidates, groups, narrow, ringed
from jobsite.premises.tracing.wiring import Board, Device, Switching, Wiring

__all__ = [
    "Advice",
    "Board",
    "Device",
    "Losing",
    "RuledOut",
    "Switching",
    "Traced",
    "Wiring",
    "explained",
    "loses_power",
    "trace",
]


@dataclass(frozen=True)
class RuledOut:
    """That a board is not fed from `device`: by `test` alone, or by several tests together ("")."""

    board: str
    device: str
    test: str


@dataclass(frozen=True)
class Traced:
    """What the tests tell.

    `left`: by board, the candidates that remain. `seen`: boards with one candidate left that were seen to go dead when
    just that was switched off: certain as far as others were named, since of one that stands alone none was ruled out, and the
    board may hang further down on it. `arrangements`: how many arrangements of all feeds remain; where not `exact`, at most so
    many, since there were too many to try out each. `clashes`: sets of tests that no arrangement explains; these tests
    rule nothing out. `rings`: boards of which only such feeders are named that they would feed themselves; nothing is left
    for them. `aside`: tests whose device is no longer there. `next`: what to switch off, best first. `confirm`:
    what to switch off to see what is left over by elimination.
    """

    left: dict[str, tuple[str, ...]]
    ruled_out: tuple[RuledOut, ...]
    seen: frozenset[str]
    arrangements: int
    exact: bool
    clashes: tuple[tuple[Switching, ...], ...]
    rings: frozenset[str]
    aside: tuple[Switching, ...]
    next: tuple[Advice, ...]
    confirm: tuple[Advice, ...]

    @property
    def open(self) -> tuple[str, ...]:
        """The boards of which several candidates remain."""
        return tuple(board for board, candidates in self.left.items() if len(candidates) > 1)


def trace(wiring: Wiring, tests: Sequence[Switching]) -> Traced:
    """What `tests` tell of the feeds in `wiring`, and what to do next. Tests that clash are set apart first."""
    usable = [test for test in tests if test.off in wiring.device]
    rings = ringed(wiring)
    wiring = replace(wiring, boards=tuple(replace(b, candidates=()) if b.id in rings else b for b in wiring.boards))
    found_clashes = clashes(wiring, usable)
    clashing = {test.id for clash in found_clashes for test in clash}
    sound = [test for test in usable if test.id not in clashing]
    case, domains = Case(wiring, sound), all_candidates(wiring)
    together = _tried_out(case, domains)
    left = {board.id: domains[board.id] for board in wiring.boards}
    seen = frozenset() if found_clashes else _seen(wiring, left, sound)
    adviser = Adviser(case, left, together)
    single = {
        b.id: left[b.id][0] for b in wiring.boards if len(left[b.id]) == 1 and not b.verified and b.id not in seen
    }
    return Traced(
        left=left,
        ruled_out=_ruled_out(wiring, sound, left),
        seen=seen,
        arrangements=prod(len(g.found) if g.exact else prod(len(left[b]) for b in g.open) for g in together),
        exact=all(group.exact for group in together),
        clashes=found_clashes,
        rings=rings,
        aside=tuple(test for test in tests if test.off not in wiring.device),
        next=adviser.advise(),
        confirm=adviser.confirm(single),
    )


def loses_power(wiring: Wiring, left: Domains, device: str) -> Losing:
    """Whom switching `device` off may leave without power, each board being fed from any of what is `left` for it."""
    if device not in wiring.device:
        return Losing()
    net = Net(wiring)
    return losing(wiring, net.upstream(left), device, net.bit[device])


def _tried_out(case: Case, domains: dict[str, tuple[str, ...]]) -> list[Group]:
    """Narrow `domains`, then try out what is left of each group; the groups as they are afterwards."""
    for group in groups(case.wiring, domains):
        narrow(case, domains, group)
    together = groups(case.wiring, domains)
    case.settle(domains, [board.id for board in case.wiring.boards])
    for group in together:
        search = Search(case, domains, group)
        group.found, group.exact = search.explore()
        if not group.exact:
            group.found = search.draw()
            continue
        for board in group.open:
            met = {arrangement.feeder[board] for arrangement in group.found}
            domains[board] = tuple(device for device in domains[board] if device in met)
    case.settle(domains, [board.id for board in case.wiring.boards])
    return together


def _seen(wiring: Wiring, left: Domains, tests: Sequence[Switching]) -> frozenset[str]:
    return frozenset(
        board.id
        for board in wiring.boards
        if not board.verified
        and len(left[board.id]) == 1
        and any(test.off == left[board.id][0] and board.id in test.dead for test in tests)
    )


def _ruled_out(wiring: Wiring, tests: Sequence[Switching], left: Domains) -> tuple[RuledOut, ...]:
    """Each candidate that is no longer left, with the first test that rules it out alone."""
    case, domains, boards = Case(wiring, ()), all_candidates(wiring), [board.id for board in wiring.boards]
    needs = [(test.id, case.needs_of([test])) for test in tests]
    found = []
    for board in wiring.unknown:
        for device in (d for d in board.candidates if d not in left[board.id]):
            case.settle({**domains, board.id: (device,)}, boards)
            alone = (name for name, needed in needs if not case.holds(boards, needed))
            found.append(RuledOut(board.id, device, next(alone, "") if case.holds(boards) else ""))
    return tuple(found)
