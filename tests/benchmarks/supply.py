"""What the supply of a site of 60 boards and 900 circuits costs: its graph and drawing, and an isolation with its drawing.

The graph and the drawing together are to take at most 30 ms.
"""

import statistics
import time
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from decimal import Decimal

from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobsite.premises.drawing import drawing_parts, overlay
from jobsite.premises.graph import Mark
from jobsite.premises.isolation import Work, isolate
from jobsite.premises.isolation.words import tell
from jobsite.premises.models import Board, Circuit, Feed, SecondSource, Site
from jobsite.premises.queries import isolation_graph, supply_graph
from tests import factories as make

BOARDS, WAYS = 60, 15
ROUNDS = 30
LIMIT_MS = 30
LINES = ["L1", "L2", "L3"]


@dataclass
class Figure:
    """What one thing cost: statements, milliseconds (median and worst of the rounds), kilobytes of what was made."""

    what: str
    statements: int
    median_ms: float
    worst_ms: float
    kilobytes: int = 0


def make_large_site(boards: int = BOARDS, ways: int = WAYS) -> Site:
    """A site of boards three deep, each with its ways; some feeds believed or alternative, solar, shared neutrals."""
    site = make.make_site("Large works", phases=LINES, earthing="TN-S", main_fuse_a=400)
    rows = [
        Board(
            site=site, designation=f"Board {n}", sort=f"board {n:03}", phases=LINES, place=f"riser {n % 7}, floor {n % 5}",
            designation_verified=n % 3 > 0, verified_on=make.TODAY, verified_how="traced", main_switch_kind="all",
        )
        for n in range(boards)
    ]  # fmt: skip
    made = Board.objects.bulk_create(rows)
    circuits = Circuit.objects.bulk_create(
        Circuit(
            site=site, board=board, way=way, phase="3", device_standard="BS EN 60898", device_type="C", poles=3,
            rating_a=Decimal(63), designation=f"Circuit {way}", must_not_lose_power="server" if way == ways else "",
        )
        for board in made
        for way in range(1, ways + 1)
    )  # fmt: skip
    _hang_together(site, made, circuits, ways)
    return site


def _hang_together(site: Site, boards: list[Board], circuits: list[Circuit], ways: int) -> None:
    seen = {"verified_on": make.TODAY, "verified_how": "traced"}
    feeds = [Feed(site=site, board=boards[0], from_supply=make.supply_of(site), verified=True, **seen)]
    for n, board in enumerate(boards[1:], 1):
        above = (n - 1) // 4
        feeds.append(
            Feed(site=site, board=board, from_circuit=circuits[above * ways + n % 5], verified=n % 4 > 0, **seen)
        )
        if n % 10 == 9:
            other = circuits[max(0, above - 1) * ways + 6]
            feeds.append(Feed(site=site, board=board, from_circuit=other, kind="alternative", verified=True, **seen))
    Feed.objects.bulk_create(feeds)
    SecondSource.objects.bulk_create(
        SecondSource(
            site=site, board=boards[n], circuit=circuits[n * ways + 8], name=f"Solar {n}", sort=f"solar {n:03}", kind="pv",
            phases=LINES, isolate_supply_side="isolator beside the board", wait_minutes=15,
        )
        for n in range(5, len(boards), 15)
    )  # fmt: skip
    for n in range(3, len(boards) - 1, 12):
        make.make_link_of_circuits(circuits[n * ways + 10], circuits[(n + 1) * ways + 10])


def figures() -> list[Figure]:
    """Of a large site made in the database at hand."""
    site = make_large_site()
    graph = supply_graph(site)
    marks = {board.id: [Mark("C2", 3), Mark("C3", 11), Mark("FI", 1, made_safe=True)] for board in graph.boards}
    deep = Work("inside", graph.boards[7].id)

    def isolated() -> str:
        whole = isolation_graph(site)
        answer = isolate(whole, deep)
        tell(whole, answer)
        return str(drawing_parts(whole, marks, over=overlay(whole, answer))["svg"])

    return [
        measured("graph and drawing", lambda: str(drawing_parts(supply_graph(site), marks)["svg"])),
        measured("graph alone", lambda: str(len(supply_graph(site).boards))),
        measured("isolation, words, drawing", isolated),
    ]


def measured(what: str, work: Callable[[], str]) -> Figure:
    """`work` done ROUNDS times after once to warm up."""
    with CaptureQueriesContext(connection) as captured:
        made = work()
    costs = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        work()
        costs.append((time.perf_counter() - began) * 1000)
    return Figure(what, len(captured), round(statistics.median(costs), 1), round(max(costs), 1), len(made) // 1024)


def table(found: Iterable[Figure]) -> str:
    """The figures for reading."""
    head = f"{f'{BOARDS} boards, {BOARDS * WAYS} circuits':<28}{'statements':>11}{'median ms':>11}{'worst ms':>10}{'kB':>6}"
    rows = [f"{f.what:<28}{f.statements:>11}{f.median_ms:>11}{f.worst_ms:>10}{f.kilobytes:>6}" for f in found]
    return "\n".join([head, *rows, f"Graph and drawing are to take at most {LIMIT_MS} ms."])


def as_facts(found: Iterable[Figure]) -> list[dict[str, object]]:
    """The figures for bench.json."""
    return [asdict(each) for each in found]
