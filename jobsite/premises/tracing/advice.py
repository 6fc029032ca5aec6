"""Which device to switch off next: what it would tell, and whom it would leave without power.

What a switching tells is counted in bits: the entropy of what could be seen at the boards in question, every arrangement
that is left being held equally likely. It is set against the boards that go dead, the switching itself counting as one.
A device behind which something must not lose power comes after all others and says so.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import log2

from jobsite.premises.tracing.net import Domains
from jobsite.premises.tracing.search import Arrangement, Case, Group
from jobsite.premises.tracing.wiring import Wiring

WEIGHED = 400  # arrangements of one group that are weighed; more tell hardly more


@dataclass(frozen=True)
class Advice:
    """Switch `device` off: it tells `bits` about the boards `look_at`.

    `boards` may lose power, `expected` of them on the average, with up to `circuits` circuits; `keep` are the devices of
    circuits that must not lose power and may. `others_off`: together with second sources and other feeds.
    """

    device: str
    bits: float
    look_at: tuple[str, ...]
    boards: tuple[str, ...]
    expected: float
    circuits: int
    keep: tuple[str, ...]
    others_off: bool = False

    @property
    def rank(self) -> tuple[bool, float, int, str]:
        """Sorts the best first."""
        return bool(self.keep), -self.bits / (1 + self.expected), self.circuits, self.device


@dataclass(frozen=True)
class Losing:
    """Whom switching a device off may leave without power, by the record and whatever is still possible.

    `keep`: devices of circuits that must not lose power.
    """

    boards: tuple[str, ...] = ()
    circuits: int = 0
    keep: tuple[str, ...] = ()


def losing(wiring: Wiring, upstream: Mapping[str, int], device: str, bit: int) -> Losing:
    """Whom `device` may leave without power; `upstream` and `bit` as a Net has them."""
    boards = tuple(board.id for board in wiring.boards if upstream[board.id] & bit)
    keep = tuple(d.id for d in wiring.devices if d.keep and (d.id == device or d.board in boards))
    return Losing(boards, sum(wiring.at[board].circuits for board in boards), keep)


class Adviser:
    """Knows what is left open and what was looked at already."""

    def __init__(self, case: Case, domains: Domains, found: Sequence[Group]) -> None:
        self.case, self.domains, self.found, self.wiring = case, domains, found, case.wiring
        net = case.nets[0]
        self.bit, self.upstream = net.bit, net.upstream(domains)
        self.grouped = {board: group for group in found for board in group.boards}
        self.looked: dict[tuple[str, bool], set[str]] = {}
        for test in case.tests:
            bare = test.others_off and len(case.nets) > 1
            self.looked.setdefault((test.off, bare), set()).update(test.dead | test.alive)

    def advise(self) -> tuple[Advice, ...]:
        """What tells something, best first; together with other feeds only where nothing alone tells anything."""
        for bare in (False, True):
            told = [self._weighed(device, bare=bare) for device in self._telling(bare=bare)]
            if useful := sorted((advice for advice in told if advice.bits > 0), key=lambda advice: advice.rank):
                return tuple(useful)
        return self._by_candidates()

    def _by_candidates(self) -> tuple[Advice, ...]:
        """Where not every arrangement was tried out and those that were drawn tell nothing apart: board by board."""
        look: dict[str, list[str]] = {}
        for board in (board for group in self.found if not group.exact for board in group.open):
            for device in self.domains[board]:
                if board not in self.looked.get((device, False), set()):
                    look.setdefault(device, []).append(board)
        found = []
        for device, boards in look.items():
            bits = sum(_entropy((d == device,) for d in self.domains[board]) for board in boards)
            found.append(self._disturbing(device, bits, tuple(boards), bare=False))
        return tuple(sorted(found, key=lambda advice: advice.rank))

    def confirm(self, feeders: Mapping[str, str]) -> tuple[Advice, ...]:
        """What to switch off so as to see a board go dead, by `feeders` from each board to its only candidate."""
        boards: dict[str, list[str]] = {}
        for board, device in feeders.items():
            boards.setdefault(device, []).append(board)
        found = [self._disturbing(device, 0, tuple(look), bare=self._soft(look)) for device, look in boards.items()]
        return tuple(sorted(found, key=lambda a: (bool(a.keep), (1 + a.expected) / len(a.look_at), a.rank)))

    def _soft(self, boards: Iterable[str]) -> bool:
        """Whether one of the boards may stay alive by another way in."""
        at = self.wiring.at
        return any(at[b].sources or at[b].other_feeds for b in boards)

    def _telling(self, *, bare: bool) -> Iterator[str]:
        """The devices with which off some board is dead by one arrangement and not by another."""
        varying = 0
        for group in self.found:
            for board in group.open:
                cuts = [_cut(arrangement, bare=bare)[board] for arrangement in group.found]
                for cut in cuts[1:]:
                    varying |= cut ^ cuts[0]
        return (device for device, bit in self.bit.items() if bit & varying)

    def _weighed(self, device: str, *, bare: bool) -> Advice:
        looked, bit = self.looked.get((device, bare), set()), self.bit[device]
        bits, look_at = 0.0, []
        for group in self.found:
            boards = [board for board in group.open if board not in looked]
            every = -(-len(group.found) // WEIGHED) or 1
            seen = _seen(group.found[::every], boards, bit, bare=bare)
            if every > 1 and len(set(seen)) == 1:
                seen = _seen(group.found, boards, bit, bare=bare)
            bits += _entropy(seen)
            look_at += [board for at, board in enumerate(boards) if len({row[at] for row in seen}) > 1]
        return self._disturbing(device, bits, tuple(look_at), bare=bare)

    def _disturbing(self, device: str, bits: float, look_at: tuple[str, ...], *, bare: bool) -> Advice:
        bit = self.bit[device]
        lost = losing(self.wiring, self.upstream, device, bit)
        expected = sum(self._share(board, bit) for board in lost.boards)
        return Advice(device, bits, look_at, lost.boards, expected, lost.circuits, lost.keep, bare)

    def _share(self, board: str, bit: int) -> float:
        """In how many of the arrangements, of all, the board goes dead if it has no other way in."""
        if (group := self.grouped.get(board)) is None:
            return 1.0 if self.case.states[-1].surely_dead(board) & bit else 0.0
        return sum(bool(one.cut_bare[board] & bit) for one in group.found) / (len(group.found) or 1)


def _cut(arrangement: Arrangement, *, bare: bool) -> dict[str, int]:
    return arrangement.cut_bare if bare else arrangement.cut


def _seen(found: Sequence[Arrangement], boards: Sequence[str], bit: int, *, bare: bool) -> list[tuple[bool, ...]]:
    """For each arrangement, which of `boards` are dead."""
    return [tuple(bool(_cut(one, bare=bare)[board] & bit) for board in boards) for one in found]


def _entropy(seen: Iterable[tuple[bool, ...]]) -> float:
    counts = Counter(seen)
    total = sum(counts.values())
    return -sum(n / total * log2(n / total) for n in counts.values()) if len(counts) > 1 else 0.0
