"""`make bench`: what each page costs on a large firm, printed as a table and written to bench.json.

A database of its own is made on the server of the settings, filled, measured and dropped. Pages are asked for in turn,
round by round, beside a bare signed-in page of the shell in the same run, so that a slow moment of the machine meets
all of them alike. Nothing here fails on a figure: it measures.
"""

import gzip
import json
import os
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext, get_runner, setup_test_environment, teardown_test_environment
from django.urls import reverse

from jobsite import clock
from jobsite.addresses import address
from jobsite.garbage import set_aside_what_stays
from jobsite.premises.models import Board
from remedials.desk.filling import TOKEN, Filling, Size, fill
from remedials.visits.models import Visit
from tests.benchmarks import (
    customers,
    diary,
    documents,
    due,
    intake,
    judging,
    machine,
    messages,
    phone,
    planner,
    portfolio,
    quotes,
    supply,
    tracing,
)
from tests.benchmarks import figures as figures_page

ROUNDS = int(os.environ.get("ROUNDS", "40"))


@dataclass
class Figure:
    """What one page cost: statements, milliseconds in the server (median and 95th percentile), bytes compressed."""

    page: str
    statements: int
    median_ms: float
    p95_ms: float
    bytes_gzip: int
    times_bare: float = 0.0


def pages(filling: Filling) -> dict[str, str]:
    """Each page's name and address. The bare page is the shell alone, for somebody signed in."""
    remedial = next(r for r in filling.remedial_rows if r.site_id == filling.busiest)
    observation = next(o for o in filling.observation_rows if o.site_id == filling.busiest)
    board = Board.objects.filter(site=filling.busiest).order_by("pk").values_list("pk", flat=True)[0]
    return {
        "bare page of the shell": "/bare/",
        "due list": reverse("desk:due"),
        "sites list": reverse("desk:sites"),
        "remedials list": reverse("works:remedials"),
        "a site": reverse("desk:site", args=[filling.busiest]),
        "an observation": reverse("desk:observation", args=[observation.pk]),
        "readings of a board": reverse("inspections:board_readings", args=[board]),
        "a remedial": reverse("desk:remedial", args=[remedial.pk]),
        "status page": reverse("status:site", args=[TOKEN]),
        "diary of a week": reverse("visits:diary"),
        "booking a visit": address("visits:book", remedial=approved_at(filling)),
        "a visit": reverse("visits:visit", args=[Visit.objects.order_by("number").values_list("pk", flat=True)[0]]),
        **quotes.pages(filling),
    }


def approved_at(filling: Filling) -> list[Any]:
    """The keys of what could be booked at the site that has most of it."""
    work: dict[Any, list[Any]] = {}
    for remedial in filling.remedial_rows:
        if remedial.stage == "approved":
            work.setdefault(remedial.site_id, []).append(remedial.pk)
    return max(work.values(), key=len)


def measure(client: Client, addresses: dict[str, str]) -> list[Figure]:
    """Ask for every page ROUNDS times, in turn."""
    costs: dict[str, list[float]] = {name: [] for name in addresses}
    figures = []
    for name, where in addresses.items():
        client.get(where)
        with CaptureQueriesContext(connection) as captured:
            answer = client.get(where)
        if answer.status_code != 200:
            sys.exit(f"{name} answered {answer.status_code}")
        figures.append(Figure(name, len(captured), 0, 0, len(gzip.compress(answer.content))))
    for _ in range(ROUNDS):
        for name, where in addresses.items():
            start = time.perf_counter()
            client.get(where)
            costs[name].append((time.perf_counter() - start) * 1000)
    for figure in figures:
        figure.median_ms = round(statistics.median(costs[figure.page]), 1)
        figure.p95_ms = round(statistics.quantiles(costs[figure.page], n=20, method="inclusive")[-1], 1)
        figure.times_bare = round(figure.median_ms / figures[0].median_ms, 1)
    return figures


def table(figures: list[Figure]) -> str:
    """The figures for reading."""
    head = f"{'page':<26}{'statements':>11}{'median ms':>11}{'95 % ms':>9}{'gzip bytes':>12}{'× bare':>8}"
    rows = [
        f"{f.page:<26}{f.statements:>11}{f.median_ms:>11}{f.p95_ms:>9}{f.bytes_gzip:>12,}{f.times_bare:>8}"
        for f in figures
    ]
    return "\n".join([head, *rows])


def on_a_database_of_its_own(work: Callable[[], None], name: str = "bench") -> None:
    """Run `work` on a fresh, migrated database called `name`, which is dropped afterwards."""
    setup_test_environment(debug=False)
    runner = get_runner(settings)(verbosity=0, interactive=False)
    settings.DATABASES["default"].setdefault("TEST", {})["NAME"] = name
    made = runner.setup_databases()
    try:
        work()
    finally:
        runner.teardown_databases(made)
        teardown_test_environment()


def main() -> None:
    """Fill, measure, print, write."""
    began = time.perf_counter()
    filling = fill(Size(), now=clock.now())
    filled = time.perf_counter() - began
    settings.ROOT_URLCONF = "tests.benchmarks.urls"
    client = Client()
    client.force_login(filling.office[0])
    set_aside_what_stays()  # as the server does, once it has loaded all
    speed = machine.seconds()
    figures = measure(client, pages(filling))
    sys.stdout.write(
        f"{Size()}\nfilled in {filled:.1f} s; {ROUNDS} rounds; {machine.in_words(speed)}\n\n{table(figures)}\n"
    )
    result: dict[str, Any] = {"size": asdict(Size()), "rounds": ROUNDS, "pages": [asdict(figure) for figure in figures]}
    result["machine"] = {"before": speed}
    traced = tracing.figures()
    sys.stdout.write(f"\n{tracing.table(traced)}\n")
    supplied = supply.figures()
    sys.stdout.write(f"\n{supply.table(supplied)}\n")
    quoted = quotes.figures(client, filling)
    sys.stdout.write(f"\n{quotes.table(quoted)}\n")
    result["quotes"] = quotes.as_facts(quoted)
    weeks = diary.figures(client)
    sys.stdout.write(f"\n{diary.table(weeks)}\n")
    result["diary"] = diary.as_facts(weeks)
    taken_in = intake.costs()
    sys.stdout.write(f"\n{intake.table(taken_in)}\n")
    planned = planner.figures()
    sys.stdout.write(f"\n{planner.table(planned)}\n")
    result["planner"] = planner.as_facts(planned)
    result["supply"] = supply.as_facts(supplied)
    judged = judging.figures()
    sys.stdout.write(f"\n{judging.table(judged)}\n")
    result["judging"] = judging.as_facts(judged)
    sent = messages.figures()
    sys.stdout.write(f"\n{messages.table(sent)}\n")
    result["messages"] = sent
    kept = documents.figures()
    sys.stdout.write(f"\n{documents.table(kept)}\n")
    result["documents"] = documents.as_facts(kept)
    together = portfolio.figures()
    sys.stdout.write(f"\n{portfolio.table(together)}\n")
    result["portfolio"] = portfolio.as_facts(together)
    on_a_phone = phone.figures()
    sys.stdout.write(f"\n{phone.table(on_a_phone)}\n")
    result["phone"] = on_a_phone
    seen_by_customers = customers.figures()
    sys.stdout.write(f"\n{customers.table(seen_by_customers)}\n")
    result["customers"] = seen_by_customers
    result["tracing"] = tracing.as_facts(traced)
    result["intake"] = taken_in
    for_managers = figures_page.figures()
    sys.stdout.write(f"\n{figures_page.table(for_managers)}\n")
    result["figures"] = figures_page.as_facts(for_managers)
    swept = due.figures(client)
    sys.stdout.write(f"\n{due.table(swept)}\n")
    result["due"] = swept
    result["machine"]["after"] = speed = machine.seconds()
    sys.stdout.write(f"\nin the end {machine.in_words(speed)}\n")
    Path("bench.json").write_text(json.dumps(result, indent=2) + "\n")
