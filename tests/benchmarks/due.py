"""What the sweep costs with 200,000 open obligations, beside the bare statement of its view; and the due list's first page.

The sweep runs in a process of its own, since its memory is measured: `python -m tests.benchmarks.due DATABASE`.
"""

import json
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

OBLIGATIONS = int(os.environ.get("OBLIGATIONS", "200000"))
DANGERS = 20
"""C1 not made safe: each is a message of its own, and a firm that has more has other worries."""
ROUNDS = 5
BARE = "SELECT count(d) FROM due_list d"
AIM = "aim: the sweep in at most 5 s, 200 MB and 3 times the bare statement; the first page in 8 statements and 100 ms"

COLUMNS = {
    "obligations": "obligations", "bare_s": "bare s", "first_s": "sweep s", "times_bare": "× bare", "again_s": "again s",
    "messages": "messages", "before_mb": "MB before", "peak_mb": "MB most", "page_statements": "page stmts", "page_ms": "page ms",
}  # fmt: skip

MORE_OBSERVATIONS = """
    INSERT INTO inspections_observation ({columns}, id, number, inspection_id, step_by)
    SELECT {theirs}, gen_random_uuid(), 1000000 + row_number() OVER (), NULL, t.step_by + mod(n, 97)
    FROM inspections_observation t CROSS JOIN generate_series(1, %s) n
    WHERE t.ended = '' AND NOT t.draft AND t.code <> '' LIMIT %s
"""
# Every fourth of them is carried by a remedial, of the stages by turns.
MORE_REMEDIALS = """
    INSERT INTO works_remedial ({columns}, id, number, site_id, unit_id, stage, step_by)
    SELECT {theirs}, md5('remedial ' || o.id)::uuid, 1000000 + o.number, o.site_id, o.unit_id,
        (ARRAY['to-price', 'approved', 'done'])[1 + o.number % 3], o.step_by
    FROM inspections_observation o
    CROSS JOIN (SELECT * FROM works_remedial WHERE stage = 'to-price' ORDER BY number LIMIT 1) t
    WHERE o.number > 1000000 AND o.number % 4 = 0
"""
CARRIED = """
    INSERT INTO works_remedies (observation_id, remedial_id)
    SELECT o.id, md5('remedial ' || o.id)::uuid FROM inspections_observation o
    WHERE o.number > 1000000 AND o.number % 4 = 0
"""
FEW_DANGERS = """
    UPDATE inspections_observation SET made_safe = TRUE WHERE code = 'C1' AND id NOT IN (
        SELECT id FROM inspections_observation WHERE code = 'C1' AND ended = '' ORDER BY number LIMIT %s
    )
"""


def fill_up(many: int = OBLIGATIONS) -> int:
    """Bring the large firm of the database to `many` open obligations; how many there are then."""
    with connection.cursor() as cursor:
        cursor.execute(BARE)
        missing = max(0, many - int(cursor.fetchone()[0]))
        if missing:
            cursor.execute(_with_columns("inspections_observation", MORE_OBSERVATIONS), [100, missing])
            cursor.execute(_with_columns("works_remedial", MORE_REMEDIALS))
            cursor.execute(CARRIED)
        cursor.execute(FEW_DANGERS, [DANGERS])
        cursor.execute("ANALYZE")
        cursor.execute(BARE)
        return int(cursor.fetchone()[0])


def _with_columns(table: str, sql: str) -> str:
    """`sql` with the columns of `table` that it does not set itself."""
    own = [name.strip('"') for name in sql.partition("{columns}, ")[2].partition(")")[0].split(", ")]
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT attname FROM pg_attribute WHERE attrelid = %s::regclass AND attnum > 0 AND NOT attisdropped AND attgenerated = ''",
            [table],
        )
        names = [name for (name,) in cursor.fetchall() if name not in own]
    return sql.format(
        columns=", ".join(f'"{name}"' for name in names), theirs=", ".join(f't."{name}"' for name in names)
    )


def figures(client: Client) -> dict[str, Any]:
    """Fill up, run the sweep beside its bare statement, and ask for the first page as the office sees it."""
    obligations = fill_up()
    name = connection.settings_dict["NAME"]
    connection.close()  # the other process measures alone
    ran = subprocess.run([sys.executable, "-m", __name__, name], capture_output=True, text=True, check=True)
    return {"obligations": obligations, "dangers": DANGERS, **json.loads(ran.stdout), **_first_page(client)}


def _first_page(client: Client) -> dict[str, Any]:
    client.get(reverse("desk:due"))
    with CaptureQueriesContext(connection) as captured:
        client.get(reverse("desk:due"))
    statements, times = len(captured), []
    for _ in range(ROUNDS * 3):
        begun = time.perf_counter()
        client.get(reverse("desk:due"))
        times.append((time.perf_counter() - begun) * 1000)
    return {"page_statements": statements, "page_ms": round(statistics.median(times), 1)}


def sweep_and_measure() -> dict[str, Any]:
    """In a process of its own: the sweep of a morning and the one after it, beside the bare statement, round by round."""
    from jobsite import clock
    from jobsite.firm.models import Heartbeat
    from jobsite.messages.models import Message
    from remedials.due.models import Trouble
    from remedials.due.operations import sweep

    moment = a_working_noon(clock.now())
    times: dict[str, list[float]] = {"bare_s": [], "first_s": [], "again_s": []}
    before = most_memory_mb()
    written = 0
    for _ in range(ROUNDS):
        Message.objects.all().delete()
        Heartbeat.objects.all().delete()
        times["bare_s"].append(_timed(_bare))
        times["first_s"].append(_timed(lambda: sweep(now=moment)))
        written = Message.objects.count()
        times["again_s"].append(_timed(lambda: sweep(now=moment)))
    if Trouble.objects.exists():
        raise SystemExit(f"The sweep left something out: {list(Trouble.objects.values_list('what', 'error'))}")
    middle = {name: round(statistics.median(found), 2) for name, found in times.items()}
    return {
        **middle,
        "times_bare": round(middle["first_s"] / middle["bare_s"], 1),
        "messages": written,
        "before_mb": before,
        "peak_mb": most_memory_mb(),
    }


def most_memory_mb() -> int:
    """The most memory that this process has held so far.

    Of this process only: what `getrusage` says begins with the memory of the one that started it.
    """
    [most] = [line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM:")]
    return int(most.split()[1]) // 1024


def a_working_noon(now: Any) -> Any:
    """Noon of the next working day, so that there are digests to write."""
    from datetime import timedelta

    from jobsite import clock
    from remedials.due.queries.settings import hours
    from remedials.due.rules.moments import is_working

    noon = now.replace(hour=12, minute=0, second=0, microsecond=0)
    terms = hours(clock.local_day(noon), clock.local_day(noon))
    while not is_working(clock.local_day(noon), terms):
        noon += timedelta(days=1)
    return noon


def _timed(work: Any) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def _bare() -> None:
    with connection.cursor() as cursor:
        cursor.execute(BARE)


def table(found: dict[str, Any]) -> str:
    """The figures for reading, side by side with what is aimed at."""
    head = "".join(f"{name:>13}" for name in COLUMNS.values())
    row = "".join(f"{found[key]:>13,}" for key in COLUMNS)
    return f"{head}\n{row}\n{AIM}"


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    connection.settings_dict["NAME"] = sys.argv[1]
    sys.stdout.write(json.dumps(sweep_and_measure()))
