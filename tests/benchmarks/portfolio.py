"""What all units of one customer cost on one page, at 140 flats and at 1,000 units: list, spreadsheet, summary, a unit's page."""

import gzip
import statistics
import time
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from itertools import count
from typing import Any

from django.db import connection
from django.db.models import Max
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inspections.models import Inspection, InspectionDue, Limitation, Observation
from jobsite import clock
from jobsite.premises.models import Board, Unit
from jobsite.sorting import sort_key
from remedials.visits.models import Attempt
from remedials.works.models import Remedial, Remedies
from tests import factories as make

SIZES = (140, 1_000)
ROUNDS = 10
CODES = ("C1", "C2", "C2", "FI", "C3", "C3", "C3", "")


@dataclass
class Figure:
    """What one page cost: statements, milliseconds in the server (median), bytes over the wire compressed."""

    page: str
    units: int
    statements: int
    median_ms: float
    bytes_gzip: int


def make_portfolio(units: int, now: Any) -> Any:
    """A customer with a block of so many flats, each with a board, a report, a limitation, three open items and one closed.

    Every tenth has visits in vain, every third work agreed.
    """
    today, by = clock.local_day(now), make.anybody()
    party = make.make_party(f"Agent of {units}", organisation=True)
    block = make.make_site(f"Block of {units}", customer=party)
    block.units.all().delete()
    flats = [Unit(site=block, name=f"Flat {n}", sort=sort_key(f"Flat {n}")) for n in range(1, units + 1)]
    Unit.objects.bulk_create(flats)
    boards = [
        Board(site=block, designation=f"Board of {flat}", phases=["L1"], sort=sort_key(str(flat))) for flat in flats
    ]
    Board.objects.bulk_create(boards)
    Board.units.through.objects.bulk_create(
        Board.units.through(board=board, unit=flat) for board, flat in zip(boards, flats, strict=True)
    )
    reports = _reports(block, flats, boards, by, now)
    rows = _items(block, flats, boards, reports, by, today, now)
    _works(block, rows, by, today, now)
    InspectionDue.objects.bulk_create(
        InspectionDue(unit=flat, due_on=today + timedelta(days=n * 7 - 60), basis="Five years", shows_from=date.max)
        for n, flat in enumerate(flats)
    )
    Attempt.objects.bulk_create(
        Attempt(
            site=block, unit=flat, how="visit", at=now - timedelta(days=n), by=by, whom="the occupier", recorded_at=now
        )
        for flat in flats[::10]
        for n in (3, 20)
    )
    return party


def _reports(block: Any, flats: list[Any], boards: list[Any], by: Any, now: Any) -> list[Any]:
    first = (Inspection.objects.aggregate(most=Max("number"))["most"] or 0) + 1
    issued = {
        "state": "issued",
        "issued_at": now,
        "issued_by": by,
        "outcome": "satisfactory",
        "edition": "2018+A2:2022",
    }
    reports = [
        Inspection(site=block, number=first + n, inspected_on=make.TODAY, recorded_by=by, recorded_at=now, **issued)
        for n in range(len(flats))
    ]
    Inspection.objects.bulk_create(reports)
    pairs = list(zip(reports, flats, boards, strict=True))
    Inspection.units.through.objects.bulk_create(Inspection.units.through(inspection=r, unit=f) for r, f, _ in pairs)
    Inspection.boards.through.objects.bulk_create(Inspection.boards.through(inspection=r, board=b) for r, _, b in pairs)
    Limitation.objects.bulk_create(Limitation(inspection=r, what="the loft: no access") for r in reports)
    return reports


def _items(
    block: Any, flats: list[Any], boards: list[Any], reports: list[Any], by: Any, today: date, now: Any
) -> list[Any]:
    numbers = count((Observation.objects.aggregate(most=Max("number"))["most"] or 0) + 1)
    rows = []
    for n, (flat, board, report) in enumerate(zip(flats, boards, reports, strict=True)):
        for k in range(4):
            code = CODES[(n + k * 3) % len(CODES)]
            ended = {"ended": "remedied", "ended_on": today} if k == 3 else {"owner": by, "step_by": today}
            rows.append(
                Observation(
                    site=block, unit=flat, board=board, inspection=report, number=next(numbers), code=code, code_written=code,
                    text=f"Defect {n}.{k}: a cover is missing", reviewed=bool(code), recorded_on=today, first_recorded_on=today,
                    recorded_at=now, recorded_by=by, remedy_by=today + timedelta(days=n % 40 - 10), **ended,
                )
            )  # fmt: skip
    return list(Observation.objects.bulk_create(rows))


def _works(block: Any, rows: list[Any], by: Any, today: date, now: Any) -> None:
    numbers = count((Remedial.objects.aggregate(most=Max("number"))["most"] or 0) + 1)
    about = [row for row in rows if not row.ended][::3]
    works = [
        Remedial(
            site=block, unit_id=row.unit_id, number=next(numbers), work="Fit a cover", stage="approved", owner=by, step_by=today,
            made_by=by, made_at=now,
        )
        for row in about
    ]  # fmt: skip
    Remedial.objects.bulk_create(works)
    Remedies.objects.bulk_create(Remedies(remedial=w, observation=o) for w, o in zip(works, about, strict=True))


def figures() -> list[Figure]:
    """Of each size and page, on the database at hand."""
    now, client, found = clock.now(), Client(), []
    for size in SIZES:
        party = make_portfolio(size, now)
        _, token = make.make_portfolio_link(party, made_at=now, expires_at=now + timedelta(days=1))
        unit = Unit.objects.filter(site__customer=party)[0]
        pages = {"list": "", "as a spreadsheet": "?as=xlsx", "summary": "summary/", "a unit of it": f"units/{unit.pk}/"}
        for name, path in pages.items():
            found.append(_measured(client, name, size, f"/p/{token}/{path}"))
    return found


def _measured(client: Client, name: str, size: int, where: str) -> Figure:
    with CaptureQueriesContext(connection) as told:
        answer = client.get(where)
    assert answer.status_code == 200, where
    statements, taken = len(told), []  # the next request forgets them
    for _ in range(ROUNDS):
        began = time.perf_counter()
        client.get(where)
        taken.append((time.perf_counter() - began) * 1000)
    return Figure(name, size, statements, round(statistics.median(taken), 1), len(gzip.compress(answer.content)))


def table(found: Iterable[Figure]) -> str:
    """The figures for reading."""
    head = f"{'all units of a customer':<26}{'units':>8}{'statements':>11}{'median ms':>11}{'gzip bytes':>12}"
    rows = [f"{f.page:<26}{f.units:>8,}{f.statements:>11}{f.median_ms:>11}{f.bytes_gzip:>12,}" for f in found]
    return "\n".join([head, *rows])


def as_facts(found: Iterable[Figure]) -> list[dict[str, object]]:
    """The figures for bench.json."""
    return [asdict(each) for each in found]
