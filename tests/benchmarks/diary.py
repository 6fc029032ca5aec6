"""What a week of the diary costs: 12 engineers, 7 days, 150 visits of the large firm, and the parts of it."""

import statistics
import time
from dataclasses import asdict, dataclass
from typing import Any

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from remedials.visits.models import Attendance

ROUNDS = 15
AIM_MS, AIM_STATEMENTS = 150, 12


@dataclass
class Figure:
    """One page of the diary: visits drawn, statements, milliseconds in the server (and of them at work), bytes."""

    page: str
    visits: int
    statements: int
    median_ms: float
    most_ms: float
    cpu_ms: float
    bytes: int


def figures(client: Client) -> list[Figure]:
    """The day, week and fortnight of now, as the office sees them, and what fits a gap."""
    address = reverse("visits:diary")
    pages = {show: f"{address}?show={show}" for show in ("day", "week", "fortnight")}
    pages["gap"] = _gap()
    return [_figure(client, name, where) for name, where in pages.items()]


def _gap() -> str:
    last = Attendance.objects.order_by("-start").select_related("engineer")[0]
    day = last.start.date().isoformat()
    return f"{reverse('visits:gap')}?who={last.engineer_id}&day={day}&start=13:30&until=16:30"


def _figure(client: Client, name: str, where: str) -> Figure:
    client.get(where)
    with CaptureQueriesContext(connection) as captured:
        answer = client.get(where)
    statements = len(captured)  # counted now: the log goes on
    times, worked = [], time.process_time()
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        client.get(where)
        times.append((time.perf_counter() - begun) * 1000)
    worked = round((time.process_time() - worked) * 1000 / ROUNDS, 1)
    visits = len({part.split('"', 1)[0] for part in answer.content.decode().split('data-visit="')[1:]})
    middle, most = round(statistics.median(times), 1), round(max(times), 1)
    return Figure(name, visits, statements, middle, most, worked, len(answer.content))


def table(found: list[Figure]) -> str:
    """The figures for reading, beside what is aimed at for a week."""
    head = f"{'diary':<12}{'visits':>8}{'statements':>12}{'median ms':>11}{'most ms':>9}{'cpu ms':>8}{'bytes':>10}"
    rows = [
        f"{f.page:<12}{f.visits:>8}{f.statements:>12}{f.median_ms:>11}{f.most_ms:>9}{f.cpu_ms:>8}{f.bytes:>10,}"
        for f in found
    ]
    return "\n".join([head, *rows, f"aim for a week: at most {AIM_MS} ms and {AIM_STATEMENTS} statements"])


def as_facts(found: list[Figure]) -> list[dict[str, Any]]:
    """The figures for bench.json."""
    return [asdict(figure) for figure in found]
