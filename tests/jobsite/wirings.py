"""Sites whose wiring the test knows and the program doesn't: made by chance, asked by switching, judged one by one.

`agrees` is written apart from the program: it walks up from each board, one arrangement and one test at a time.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product
from random import Random

from jobsite.premises.tracing import Board, Device, Switching, Wiring, trace


@dataclass(frozen=True)
class Site:
    """A wiring, and the feeder that each board has in truth."""

    wiring: Wiring
    truth: dict[str, str]


def make_wiring(
    chance: Random, *, unknown: int, known: int = 0, ways: int = 3, candidates: int = 4, soft: float = 0
) -> Site:
    """A site of `known` and `unknown` boards in chance order; of the unknown, `candidates` each with the true one.

    `soft`: the share of boards with a second source or an alternative feed.
    """
    boards = [f"b{n}" for n in range(known + unknown)]
    doubted = set(chance.sample(boards, unknown))
    devices = [Device("s")] + [Device(f"{board}.{way}", board) for board in boards for way in range(ways)]
    truth = {}
    for at, board in enumerate(boards):
        above = chance.choice(boards[:at]) if at and chance.random() < 0.9 else None
        truth[board] = f"{above}.{chance.randrange(ways)}" if above else "s"
    rows = []
    for at, board in enumerate(boards):
        others = [d.id for d in devices if d.board != board and d.id != truth[board]]
        guessed = {truth[board], *chance.sample(others, min(candidates - 1, len(others)))}
        row = Board(board, tuple(sorted(guessed)), circuits=ways) if board in doubted else Board(board, (truth[board],))
        if chance.random() < soft:
            before = [d.id for d in devices if d.board is None or boards.index(d.board) < at]
            kind = chance.choice(["source", "stand-by", "other"])
            other = (chance.choice(before),) if kind == "other" else ()
            row = replace(row, other_feeds=other, sources=kind != "other", stand_by=kind == "stand-by")
        rows.append(row)
    return Site(Wiring(tuple(rows), tuple(devices)), truth)


def loops(wiring: Wiring, feeder: Mapping[str, str]) -> bool:
    """Whether some board feeds itself by normal feeds."""
    above = {board: wiring.device[device].board for board, device in feeder.items()}
    for at in above.values():
        top = at
        for _ in above:
            top = above.get(top) if top else None
        if top is not None:
            return True
    return False


def states(wiring: Wiring, feeder: Mapping[str, str], test: Switching) -> dict[str, set[str]]:
    """What can be seen at each board; `feeder` makes no loop."""

    def of_device(name: str, below: tuple[str, ...]) -> set[str]:
        device = wiring.device[name]
        if name == test.off:
            return {"dead"}
        return {"live"} if device.board is None else of_board(device.board, below)

    def of_board(name: str, below: tuple[str, ...]) -> set[str]:
        if name in below:  # an alternative feed from further down: it brings nothing new
            return set()
        board, below = wiring.at[name], (*below, name)
        seen = of_device(feeder[name], below) if name in feeder else {"dead", "live"}
        if test.others_off:
            return seen
        others = [of_device(other, below) for other in board.other_feeds]
        sources = ({"live"} if board.sources else set()) | ({"dead"} if board.stand_by else set())
        return seen.union(sources, *others)

    return {board.id: of_board(board.id, ()) for board in wiring.boards}


def agrees(wiring: Wiring, feeder: Mapping[str, str], tests: list[Switching]) -> bool:
    """Whether the arrangement has no loop and every test could have been seen as it was."""
    if loops(wiring, feeder):
        return False
    for test in tests:
        found = states(wiring, feeder, test)
        if any("dead" not in found[b] for b in test.dead) or any("live" not in found[b] for b in test.alive):
            return False
    return True


def arrangements(wiring: Wiring, tests: list[Switching]) -> Iterator[dict[str, str]]:
    """Every arrangement that agrees with all tests, tried one by one."""
    fed = [board for board in wiring.boards if board.candidates]
    for chosen in product(*(board.candidates for board in fed)):
        feeder = dict(zip((board.id for board in fed), chosen, strict=True))
        if agrees(wiring, feeder, tests):
            yield feeder


def switch_off(site: Site, device: str, chance: Random, *, look_at: float = 1, others_off: bool = False) -> Switching:
    """What somebody notes who switches `device` off and looks at a share of the boards."""
    bare = Switching("", device, others_off=others_off)
    found = states(site.wiring, site.truth, bare)
    seen = {b: chance.choice(sorted(s)) for b, s in sorted(found.items()) if look_at == 1 or chance.random() < look_at}
    dead = frozenset(board for board, state in seen.items() if state == "dead")
    return replace(bare, id=f"t{chance.random()}", dead=dead, alive=frozenset(seen) - dead)


def follow(site: Site, chance: Random) -> list[Switching]:
    """The tests of somebody who does what is advised until nothing more is."""
    tests: list[Switching] = []
    while (traced := trace(site.wiring, tests)).next:
        best = traced.next[0]
        tests.append(switch_off(site, best.device, chance, others_off=best.others_off))
        assert len(tests) <= 2 * len(site.wiring.devices), "it goes round and round"
    return tests
