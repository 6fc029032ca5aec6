"""What an office page costs alone: beside the bare page, the admin's list of the same rows, and what of it is its own statements.

`python -m tests.load.costs PLAN` runs with the stack's environment on the database that DATABASE_URL names, and prints JSON.
"""

import json
import statistics
import sys
import time
from pathlib import Path
from typing import Any

import django

ROUNDS = 12
MORE_ROUNDS = 40  # of those that have an aim
BARE = "bare page"
COMPARED = {  # the admin's list of the same rows
    "desk:sites": "/compared/premises/site/",
    "works:remedials": "/compared/works/remedial/",
    "desk:due": "/compared/inspections/observation/",
}
AIMED = (BARE, "desk:site", "quotes:quotes", "inspections:inspections", *COMPARED)  # lists, and a site


def pages(plan: dict[str, Any]) -> dict[str, str]:
    """Every page of the office and the customer's, the bare one and those to compare with."""
    return {
        BARE: "/bare/",
        **{name: addresses[0] for name, addresses in plan["pages"].items()},
        "status page": f"/s/{plan['tokens'][0]}/",
        **{f"admin: {name}": where for name, where in COMPARED.items()},
    }


def main() -> None:
    """One round after another, each page in turn, so that a slow moment of the machine meets all of them alike."""
    django.setup()
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from jobsite.garbage import set_aside_what_stays
    from jobsite.people.models import User

    plan = json.loads(Path(sys.argv[1]).read_text())
    client = Client(SERVER_NAME="localhost")
    client.force_login(User.objects.get(email=plan["office"][0]))
    took: dict[str, list[float]] = {}
    counts: dict[str, int] = {}
    for name, where in pages(plan).items():
        client.get(where, secure=True)
        with CaptureQueriesContext(connection) as captured:
            answer = client.get(where, secure=True)
        if answer.status_code != 200:
            sys.exit(f"{name} answered {answer.status_code}")
        counts[name] = len(captured)
    set_aside_what_stays()  # as the server does, once it has loaded all
    in_sql: dict[str, list[float]] = {}
    for _ in range(ROUNDS):
        for name, where in pages(plan).items():
            sql = InSql()
            began = time.perf_counter()
            with connection.execute_wrapper(sql):
                client.get(where, secure=True)
            took.setdefault(name, []).append((time.perf_counter() - began) * 1000)
            in_sql.setdefault(name, []).append(sql.ms)
    aimed = {name: where for name, where in pages(plan).items() if name in AIMED}
    for _ in range(MORE_ROUNDS):
        for name, where in aimed.items():
            began = time.perf_counter()
            client.get(where, secure=True)
            took[name].append((time.perf_counter() - began) * 1000)
    bare_page = statistics.median(took[BARE])
    sys.stdout.write(
        json.dumps(
            {
                name: {
                    "statements": counts[name],
                    "median_ms": round(statistics.median(costs), 1),
                    "p95_ms": round(statistics.quantiles(costs, n=20, method="inclusive")[-1], 1),
                    "times_bare": round(statistics.median(costs) / bare_page, 1),
                    "sql_ms": round(statistics.median(in_sql[name]), 1),
                }
                for name, costs in took.items()
            }
        )
    )


class InSql:
    """Milliseconds that the statements of a page take, as the page sends them."""

    def __init__(self) -> None:
        self.ms = 0.0

    def __call__(self, execute: Any, *given: Any) -> Any:
        began = time.perf_counter()
        try:
            return execute(*given)
        finally:
            self.ms += (time.perf_counter() - began) * 1000


if __name__ == "__main__":
    main()
