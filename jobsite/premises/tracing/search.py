"""Which arrangements of feeds agree with what was seen: narrowed board by board, then tried out where they are few.

An arrangement names one candidate for each board. Boards hang together where one's feeder may be fed by the other; each
such group is searched by itself. Nothing here ever rules out an arrangement that agrees with all tests: narrowing drops
a candidate only when no arrangement at all could hold with it, and a search that grew too long says so.
"""

import random
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from math import prod

from jobsite.premises.tracing.net import Domains, Needs, Net, States
from jobsite.premises.tracing.wiring import Switching, Wiring

MOST = 1500  # arrangements of one group that are tried out one by one
HOPELESS = 10**7  # a group of so many combinations of candidates is not tried out
STEPS = 36_000  # how often a board is worked out before a search gives up
SAMPLES = 80  # arrangements drawn where there are too many


@dataclass(frozen=True)
class Arrangement:
    """One arrangement of a group: each board's feeder, and the devices with which off each board is surely dead."""

    feeder: dict[str, str]
    cut: dict[str, int]
    cut_bare: dict[str, int]  # the same where second sources and other feeds are off as well


@dataclass
class Group:
    """Boards that hang together; `exact` where `found` are all arrangements that agree with the tests."""

    boards: tuple[str, ...]
    open: tuple[str, ...]  # those of several candidates
    found: list[Arrangement] = field(default_factory=list)
    exact: bool = True


class Case:
    """One wiring with some of its tests, ready to be asked.

    `states` holds what is known of boards above which nothing is open, and is worked over in place for the others.
    """

    def __init__(self, wiring: Wiring, tests: Sequence[Switching]) -> None:
        self.wiring, self.tests = wiring, tuple(tests)
        self.soft = any(b.other_feeds or b.sources for b in wiring.boards) or any(
            device.also_fed_from for device in wiring.devices
        )
        self.nets = (Net(wiring), Net(wiring, others_off=True)) if self.soft else (Net(wiring),)
        self.needs = self.needs_of(tests)
        self.states = [States() for _ in self.nets]
        self.settle(all_candidates(wiring), [board.id for board in wiring.boards])

    def needs_of(self, tests: Sequence[Switching]) -> list[Needs]:
        """What `tests` ask of each board, for each of the nets."""
        # Without any second way in it makes no difference whether those were off.
        alike = tests if self.soft else [Switching(t.id, t.off, t.dead, t.alive) for t in tests]
        return [net.needs(alike) for net in self.nets]

    def settle(self, domains: Domains, boards: Sequence[str]) -> None:
        """Work `boards` out anew."""
        for net, states in zip(self.nets, self.states, strict=True):
            net.settle(domains, boards, states)

    def holds(self, boards: Sequence[str], needs: Sequence[Needs] | None = None) -> bool:
        """Whether `boards`, as they are worked out, are free of loops and could have been seen as they were.

        `needs`: of other tests than those of this case.
        """
        return all(
            (states.dead[board] | states.live[board]) & 1
            and not dead.get(board, 0) & ~states.dead[board]
            and not live.get(board, 0) & ~states.live[board]
            for states, (dead, live) in zip(self.states, self.needs if needs is None else needs, strict=True)
            for board in boards
        )

    def could(self, domains: Domains, boards: Sequence[str]) -> bool:
        """Whether `boards`, fed from what is left in `domains`, are not impossible at once."""
        self.settle(domains, boards)
        return self.holds(boards)


def all_candidates(wiring: Wiring) -> dict[str, tuple[str, ...]]:
    """Every board with every candidate."""
    return {board.id: board.candidates for board in wiring.boards}


def ringed(wiring: Wiring) -> frozenset[str]:
    """Boards for which only feeders are named that lead round to themselves: one of them at least is fed otherwise."""
    case = Case(wiring, ())
    unfed = {board.id for board in wiring.boards if not case.holds([board.id])}
    above = {board: _above(wiring, board, {board: wiring.at[board].candidates}) & unfed for board in unfed}
    growing = True
    while growing:
        growing = False
        for board, feeders in above.items():
            more = feeders.union(*(above[feeder] for feeder in feeders))
            growing, above[board] = growing or more != feeders, more
    return frozenset(board for board, feeders in above.items() if board in feeders)


def known_boards(wiring: Wiring, found: Iterable[Group]) -> list[str]:
    """The boards in no group: nothing is open above them."""
    grouped = {board for group in found for board in group.boards}
    return [board.id for board in wiring.boards if board.id not in grouped]


def narrow(case: Case, domains: dict[str, tuple[str, ...]], group: Group) -> bool:
    """Take out of `domains` what no arrangement of `group` could hold with. False where nothing is left for a board."""
    if not case.could(domains, group.boards):
        return False
    changing = True
    while changing:
        changing = False
        for board in (b for b in group.open if len(domains[b]) > 1):
            kept = tuple(c for c in domains[board] if case.could({**domains, board: (c,)}, group.boards))
            if not kept:
                return False
            changing = changing or kept != domains[board]
            domains[board] = kept
    return True


def groups(wiring: Wiring, domains: Domains) -> list[Group]:
    """The boards above which something is open, by what hangs together. Boards that are wholly known are in none."""
    above = {board: _above(wiring, board, domains) for board in domains}
    unsettled = {board for board in domains if len(domains[board]) > 1}
    while more := {board for board, feeders in above.items() if feeders & unsettled} - unsettled:
        unsettled |= more
    head = {board: board for board in unsettled}

    def top(board: str) -> str:
        while head[board] != board:
            board = head[board]
        return board

    for board in unsettled:
        for feeder in above[board] & unsettled:
            head[top(board)] = top(feeder)
    found: dict[str, list[str]] = {}
    for board in (b.id for b in wiring.boards if b.id in unsettled):
        found.setdefault(top(board), []).append(board)
    return [Group(tuple(boards), tuple(b for b in boards if len(domains[b]) > 1)) for boards in found.values()]


def _above(wiring: Wiring, board: str, domains: Domains) -> set[str]:
    """The boards that could be one feed further up."""
    devices = [wiring.device[d] for d in (*domains[board], *wiring.at[board].other_feeds)]
    devices += [wiring.device[other] for device in devices for other in device.also_fed_from]
    return {device.board for device in devices if device.board is not None}


class Search:
    """The arrangements of a group that agree with the tests."""

    def __init__(self, case: Case, domains: Domains, group: Group) -> None:
        self.case, self.domains, self.group = case, domains, group
        self.left = 0  # how often a board may still be worked out

    def explore(self, most: int = MOST) -> tuple[list[Arrangement], bool]:
        """Arrangements, at most `most`, and whether they are all there are."""
        found: list[Arrangement] = []
        if most > 1 and prod(len(self.domains[board]) for board in self.group.open) > HOPELESS:
            return found, False
        self.left = STEPS
        fewest_first = sorted(self.group.open, key=lambda board: len(self.domains[board]))
        for arrangement in self._below({}, tuple(fewest_first)):
            if len(found) == most:
                return found, False
            found.append(arrangement)
        return found, self.left > 0

    def _below(self, chosen: dict[str, tuple[str, ...]], open_: tuple[str, ...]) -> Iterator[Arrangement]:
        self.left -= len(self.group.boards)
        if self.left <= 0 or not self.case.could({**self.domains, **chosen}, self.group.boards):
            return
        if not open_:
            yield self._arrangement(chosen)
            return
        for device in self.domains[open_[0]]:
            yield from self._below({**chosen, open_[0]: (device,)}, open_[1:])

    def draw(self, how_many: int = SAMPLES) -> list[Arrangement]:
        """Some arrangements, drawn alike each time it is asked; fewer where they are hard to find, perhaps none."""
        chance = random.Random(7)  # noqa: S311 - nothing is to be kept secret
        found: list[Arrangement] = []
        self.left = STEPS
        for _ in range(3 * how_many):
            if len(found) == how_many or self.left <= 0:
                break
            if (one := self._grown(chance)) is not None:
                found.append(one)
        return found

    def _grown(self, chance: random.Random) -> Arrangement | None:
        """One arrangement grown from what is known: board after board joins a board that has its place already."""
        chosen: dict[str, tuple[str, ...]] = {}
        ways = [(board, device) for board in self.group.open for device in self.domains[board]]
        chance.shuffle(ways)
        self.case.settle(self.domains, self.group.boards)
        growing = True
        while growing:
            growing = False
            for board, device in ways:
                if board not in chosen and self._placed(device, chosen) and self._joins(board, device):
                    chosen[board], growing = (device,), True
        if len(chosen) == len(self.group.open) and self.case.could({**self.domains, **chosen}, self.group.boards):
            return self._arrangement(chosen)
        return None

    def _joins(self, board: str, device: str) -> bool:
        """Put `board` on `device`, if it, and what is known to hang on it, could then have been seen as it was."""
        carried = [name for name in self.group.boards if name not in self.group.open]
        self.left -= 1 + len(carried)
        self.case.settle({**self.domains, board: (device,)}, [board])
        self.case.settle(self.domains, carried)
        if self.case.holds([board, *carried]):
            return True
        self.case.settle(self.domains, [board])
        self.case.settle(self.domains, carried)
        return False

    def _placed(self, device: str, chosen: dict[str, tuple[str, ...]]) -> bool:
        """Whether the board that `device` is on has its place: known, or chosen as far up as anything is open."""
        board = self.case.wiring.device[device].board
        while board is not None and board in self.group.boards:
            if board in self.group.open and board not in chosen:
                return False
            board = self.case.wiring.device[(chosen.get(board) or self.domains[board])[0]].board
        return True

    def _arrangement(self, chosen: dict[str, tuple[str, ...]]) -> Arrangement:
        first, last = self.case.states[0], self.case.states[-1]
        return Arrangement(
            {board: device for board, (device,) in chosen.items()},
            {board: first.surely_dead(board) for board in self.group.boards},
            {board: last.surely_dead(board) for board in self.group.boards},
        )
