"""Which boards can be dead, and which alive, when a device is off: for all devices at once, as sets of bits.

Bit 0 stands for "nothing is off", each device has a bit of its own. For each board two sets are kept: the devices with
which off it can be dead, and those with which off it can be alive. Where the record leaves it open (a second source, an
alternative feed, a board whose feeders nobody knows), both hold. The sets are the least that follow from the origins, so
boards that would only feed each other get neither: an arrangement with a loop shows by an empty set at bit 0.

How second ways in are treated: a board with an alternative feed or a second source may be alive though its normal feed is
off, so its being alive says nothing unless those were switched off as well; its being dead says that its normal feed or
its other feed is off. Sets are never too small: what is left out here is impossible, not only unlikely.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from jobsite.premises.tracing.wiring import Board, Switching, Wiring

Domains = Mapping[str, tuple[str, ...]]
Needs = tuple[dict[str, int], dict[str, int]]


class States:
    """By board: with which devices off it can be dead, with which it can be alive."""

    def __init__(self) -> None:
        self.dead: dict[str, int] = {}
        self.live: dict[str, int] = {}

    def surely_dead(self, board: str) -> int:
        """The devices with which off the board cannot be alive."""
        return self.dead[board] & ~self.live[board]


class Way(NamedTuple):
    """Candidates on one board, or on supplies (`board` None), taken together.

    `bits` are theirs; `only` is the bit of the one where there is but one: of several, one being off leaves power possible
    by another. `beside` are circuits that feed the same by the record.
    """

    board: str | None
    bits: int
    only: int
    beside: "tuple[Way, ...]" = ()


class Net:
    """A wiring made ready for reckoning; `others_off` as in Switching."""

    def __init__(self, wiring: Wiring, *, others_off: bool = False) -> None:
        self.wiring, self.others_off = wiring, others_off
        self.bit = {device.id: 1 << number for number, device in enumerate(wiring.devices, 1)}
        self.all = (1 << (len(wiring.devices) + 1)) - 1
        self._ways_of: dict[tuple[str, ...], tuple[Way, ...]] = {}

    def needs(self, tests: Sequence[Switching]) -> Needs:
        """By board: the devices with which off it was seen dead, and those with which off it was seen alive."""
        dead: dict[str, int] = {}
        live: dict[str, int] = {}
        for test in tests:
            if test.others_off is self.others_off and test.off in self.bit:
                for seen, into in ((test.dead, dead), (test.alive, live)):
                    for board in seen:
                        into[board] = into.get(board, 0) | self.bit[test.off]
        return dead, live

    def settle(self, domains: Domains, boards: Sequence[str], states: States) -> None:
        """Work out `boards` from those already in `states`, each fed from one of its candidates in `domains`."""
        dead, live = states.dead, states.live
        todo = []
        for name in boards:
            dead[name] = live[name] = 0
            todo.append((name, self.wiring.at[name], self._ways(domains[name])))
        changing = True
        while changing:
            changing = False
            for name, board, ways in todo:
                d, on = self._state(board, ways, states)
                if d != dead[name] or on != live[name]:
                    dead[name], live[name], changing = d, on, True

    def upstream(self, domains: Domains) -> dict[str, int]:
        """By board: the devices on any way by which it may be fed, normally or otherwise."""
        found = dict.fromkeys(domains, 0)
        changing = True
        while changing:
            changing = False
            for name, candidates in domains.items():
                devices = [self.wiring.device[d] for d in (*candidates, *self.wiring.at[name].other_feeds)]
                devices += [self.wiring.device[other] for device in devices for other in device.also_fed_from]
                bits = found[name]
                for device in devices:
                    bits |= self.bit[device.id] | (found[device.board] if device.board is not None else 0)
                changing, found[name] = changing or bits != found[name], bits
        return found

    def _ways(self, candidates: tuple[str, ...]) -> tuple[Way, ...]:
        if (ways := self._ways_of.get(candidates)) is None:
            devices = [self.wiring.device[name] for name in candidates]
            beside = {other for device in devices for other in device.also_fed_from}
            by = self._by_board(sorted(beside))
            ways = tuple(way._replace(beside=by) for way in self._by_board(candidates))
            self._ways_of[candidates] = ways
        return ways

    def _by_board(self, devices: Sequence[str]) -> tuple[Way, ...]:
        bits: dict[str | None, int] = {}
        for name in devices:
            board = self.wiring.device[name].board
            bits[board] = bits.get(board, 0) | self.bit[name]
        return tuple(Way(board, b, b if b & (b - 1) == 0 else 0) for board, b in bits.items())

    def _state(self, board: Board, ways: tuple[Way, ...], states: States) -> tuple[int, int]:
        if not ways:
            return self.all, self.all
        dead, live = self._by(ways, states)
        if self.others_off or not dead | live:
            return dead, live
        if board.other_feeds:
            d, on = self._by(self._ways(board.other_feeds), states)
            dead, live = dead | d, live | on
        live = self.all if board.sources else live
        return (self.all if board.stand_by else dead), live

    def _by(self, ways: tuple[Way, ...], states: States) -> tuple[int, int]:
        dead = live = 0
        for above, bits, only, beside in ways:
            if above is None:
                dead |= bits
                live |= self.all & ~only
            elif states.dead[above] | states.live[above]:
                dead |= states.dead[above] | bits
                live |= states.live[above] & ~only
            else:
                continue
            if beside and not self.others_off:
                live |= self._by(beside, states)[1]
        return dead, live
