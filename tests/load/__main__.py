"""`make load`: MINUTES of the whole firm at work (10), printed as a table and written to load.json.

Nothing here fails on how long something took. It ends with 1 where a request failed or the data are not what the requests say.
"""

import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

import psutil

from tests.benchmarks import machine
from tests.load.callers import CUSTOMERS, DEFECT, ENGINEERS, OFFICE, PHOTOGRAPH
from tests.readme import TOP
from tests.stack.running import RunningStack

AIM = "aim: lists and a site at most 150 ms at the 95th percentile, 3 times the bare page, not slower than the admin's list"
FILL = "import json\nfrom tests.load import firm\nprint(json.dumps(firm.make_firm(firm.{size})))"
COUNT = """
import json
from django.db import connection
tables = ["inspections_observation", "works_proofphoto", "ledger_entry", "ledger_storedfile"]
with connection.cursor() as cursor:
    found = {}
    for table in tables:
        cursor.execute(f"SELECT count(*) FROM {table}")
        found[table] = cursor.fetchone()[0]
print(json.dumps(found))
"""
LONGEST_WAIT = 3600  # seconds
TOLD = """
import json
from datetime import timedelta
from jobsite import clock
from jobsite.firm.models import Heartbeat
from jobsite.messages.models import Message
now = clock.now()
swept = Heartbeat.objects.filter(name="sweep", at__gt=now - timedelta(minutes=6)).exists()
to_send = Message.objects.filter(state__in=["waiting", "sending"], next_try_at__lte=now)  # digests wait for the morning
print(json.dumps({"swept": swept, "to_send": to_send.count()}))
"""
CHECK = """
import json
from io import StringIO
from django.core.management import call_command
out = StringIO()
call_command("check_ledger", stdout=out)
print(json.dumps(out.getvalue()))
"""


def main() -> int:
    minutes = float(os.environ.get("MINUTES") or "10")
    kept = os.environ.get("LOAD_FOLDER")  # where a filled firm of an earlier run lies, or is to stay
    folder = Path(kept) if kept else Path(tempfile.mkdtemp(prefix="load-"))
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(0o755)
    settings = {"STACK_DJANGO_SETTINGS_MODULE": "tests.load.settings"}
    stack = RunningStack(folder, **settings)
    try:
        stack.until_open()
        result: dict[str, Any] = {"minutes": minutes, "callers": [OFFICE, ENGINEERS, CUSTOMERS]}
        plans = {size: with_pages(stack, size, filled(stack, size)) for size in ("TENTH", "WHOLE")}
        until_told(stack)
        result["machine"] = {"alone": machine.seconds()}
        result["alone"] = {size: costs(stack, size, plan) for size, plan in plans.items()}
        say(f"{machine.in_words(result['machine']['alone'])}\n{table_alone(result['alone'])}")
        result |= under_load(stack, plans["WHOLE"], minutes)
        result["machine"]["after the load"] = machine.seconds()
        say(f"{table_under_load(result)}\n{machine.in_words(result['machine']['after the load'])}")
    finally:
        stack.stop()
    (TOP / "load.json").write_text(json.dumps(result, indent=2) + "\n")
    return 0 if result["as_told"] and not result["failed"] else 1


# --- the firm ---------------------------------------------------------------------------------------------------------


def filled(stack: RunningStack, size: str) -> dict[str, Any]:
    """The plan of a firm of this size, made where it is not there yet: the tenth in a database of its own."""
    file = stack.folder / f"plan-{size}.json"
    if size == "TENTH":
        if not file.exists():
            stack.fill(SMALL_DATABASE)
        run_with(
            stack, size, [sys.executable, "manage.py", "migrate", "-v", "0"]
        )  # a kept one may be of an earlier day
    if not file.exists():
        began = time.monotonic()
        said = run_with(stack, size, [sys.executable, "-c", f"import django; django.setup()\n{FILL.format(size=size)}"])
        file.write_text(said.splitlines()[-1])
        say(f"{size} filled in {time.monotonic() - began:.0f} s")
    plan: dict[str, Any] = json.loads(file.read_text())
    return plan


def until_told(stack: RunningStack) -> None:
    """Wait until the clockwork has swept and all that it wrote is sent: a firm that comes with thousands of open dangers has as
    many messages to write on its first day, and what a page costs beside that is another question.
    """
    began = time.monotonic()
    while True:
        told = stack.fill(TOLD)
        if told["swept"] and not told["to_send"]:
            return
        if time.monotonic() - began > LONGEST_WAIT:
            raise RuntimeError(f"Still not quiet: {told}")
        time.sleep(10)


def with_pages(stack: RunningStack, size: str, plan: dict[str, Any]) -> dict[str, Any]:
    """The plan with the office's pages and their addresses, as they are found now."""
    said = run_with(stack, size, [sys.executable, "-m", "tests.load.office", plan["busiest"], plan["office"][0]])
    return plan | {"pages": json.loads(said.splitlines()[-1])}


SMALL_DATABASE = """
import json
from django.db import connection
with connection.cursor() as cursor:
    cursor.execute("DROP DATABASE IF EXISTS tenth WITH (FORCE)")  # half filled by a run that was broken off
    cursor.execute("CREATE DATABASE tenth")
print(json.dumps(True))
"""


def run_with(stack: RunningStack, size: str, command: list[str]) -> str:
    """What a command of ours says that works on the database of this size."""
    environment = stack.commands_environment()
    if size == "TENTH":
        environment["DATABASE_URL"] = environment["DATABASE_URL"].rpartition("/")[0] + "/tenth"
    ran = subprocess.run(command, cwd=TOP, env=environment, capture_output=True, text=True)
    if ran.returncode:
        raise RuntimeError(ran.stderr[-3000:] + ran.stdout[-500:])
    return ran.stdout


def costs(stack: RunningStack, size: str, plan: dict[str, Any]) -> dict[str, Any]:
    """What each page costs alone, in a process of its own."""
    file = stack.folder / "plan-alone.json"
    file.write_text(json.dumps(plan))
    said = run_with(stack, size, [sys.executable, "-m", "tests.load.costs", str(file)])
    found: dict[str, Any] = json.loads(said.splitlines()[-1])
    return found


# --- all together -----------------------------------------------------------------------------------------------------


KINDS = {
    "web": "gunicorn jobsite.wsgi", "worker": "jobsite.celery worker", "clockwork": "jobsite.celery beat",
    "database": "postgres", "proxy": "nginx",
}  # fmt: skip
WEIGHED = ("web", "worker", "clockwork")


class Watch(threading.Thread):
    """Megabytes of the service's processes, every few seconds."""

    def __init__(self, stack: RunningStack) -> None:
        super().__init__(daemon=True)
        self.stack, self.over = stack, threading.Event()
        self.seen: list[dict[str, float]] = []

    def run(self) -> None:
        while not self.over.wait(5):
            self.seen.append({name: self._mb(KINDS[name]) for name in WEIGHED})

    def _mb(self, words: str) -> float:
        total = 0.0
        for pid in self.stack.pids(words):
            try:
                total += psutil.Process(pid).memory_full_info().pss / 1e6
            except (psutil.Error, AttributeError):
                continue
        return round(total, 1)


def processor_seconds(stack: RunningStack) -> dict[str, float]:
    """What each kind of the stack's processes that live now has taken of the processor so far, and the callers."""
    took = dict.fromkeys([*KINDS, "callers"], 0.0)
    for process in psutil.Process(stack.process.pid).children(recursive=True):
        try:
            words, times = " ".join(process.cmdline()), process.cpu_times()
        except psutil.Error:
            continue
        if kind := next((kind for kind, mark in KINDS.items() if mark in words), None):
            took[kind] += times.user + times.system
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    took["callers"] = children.ru_utime + children.ru_stime
    return took


def under_load(stack: RunningStack, plan: dict[str, Any], minutes: float) -> dict[str, Any]:
    """What came of so many minutes."""
    certificate = stack.folder / "stack" / "certificates" / "fullchain.pem"
    file = stack.folder / "plan-now.json"
    file.write_text(json.dumps(plan | {"port": stack.port, "certificate": str(certificate), "seconds": minutes * 60}))
    before, watch = stack.fill(COUNT), Watch(stack)
    watch.start()
    begun, took = time.monotonic(), processor_seconds(stack)
    ran = subprocess.run(
        [sys.executable, "-m", "tests.load.callers", str(file)], cwd=TOP, capture_output=True, text=True
    )
    watch.over.set()
    passed, took_after = time.monotonic() - begun, processor_seconds(stack)
    if ran.returncode:
        raise RuntimeError(ran.stderr[-3000:])
    saw = json.loads(ran.stdout)
    after = stack.fill(COUNT)
    grown = {table: after[table] - count for table, count in before.items()}
    done = saw["done"]
    told = {
        "inspections_observation": done.get(DEFECT, 0),
        "works_proofphoto": done.get(PHOTOGRAPH, 0),
        "ledger_storedfile": done.get(PHOTOGRAPH, 0),
    }
    early, late = watch.seen[len(watch.seen) // 4], watch.seen[-1]
    return {
        "pages": {name: figures(times) for name, times in sorted(saw["took"].items())},
        "failed": saw["failed"],
        "told": told,
        "grown": grown,
        "as_told": all(grown[table] == count for table, count in told.items()),
        "ledger": stack.fill(CHECK).strip(),
        "memory_mb": {"after a quarter": early, "at the end": late},
        "processor_percent": {kind: round(max(0.0, took_after[kind] - took[kind]) / passed * 100) for kind in took},
        "cores": os.cpu_count(),
    }


def figures(times: list[float]) -> dict[str, float]:
    return {
        "count": len(times),
        "median_ms": round(statistics.median(times), 1),
        "p95_ms": round(statistics.quantiles(times, n=20, method="inclusive")[-1], 1) if len(times) > 1 else times[0],
    }


# --- for reading ------------------------------------------------------------------------------------------------------


def table_alone(alone: dict[str, Any]) -> str:
    """Each page at both sizes."""
    head = f"{'page, asked for alone':<26}{'statements':>11}{'SQL ms':>9}{'median':>9}{'95 %':>9}{'× bare':>8}{'at a tenth':>12}"
    small = alone["TENTH"]
    rows = [
        f"{name:<26}{f['statements']:>11}{f['sql_ms']:>9}{f['median_ms']:>9}{f['p95_ms']:>9}{f['times_bare']:>8}"
        f"{small[name]['median_ms']:>12}"
        for name, f in alone["WHOLE"].items()
    ]
    return "\n".join([head, *rows, AIM])


def table_under_load(result: dict[str, Any]) -> str:
    """What they saw who used it together."""
    office, engineers, customers = result["callers"]
    head = f"{office} in the office, {engineers} engineers, {customers} customers for {result['minutes']:g} minutes"
    rows = [f"{n:<26}{f['count']:>9}{f['median_ms']:>11}{f['p95_ms']:>9}" for n, f in result["pages"].items()]
    failed = result["failed"]
    return "\n".join([
        f"\n{head}", f"{'page':<26}{'requests':>9}{'median ms':>11}{'95 % ms':>9}", *rows,
        f"failed requests: {len(failed)} {failed[:5]}", f"rows that answers told of: {result['told']}; grown: {result['grown']}",
        f"the ledger: {result['ledger']}", f"memory in MB: {result['memory_mb']}",
        f"of {result['cores']} cores, per cent of one: {result['processor_percent']}",
    ])  # fmt: skip


def say(words: str) -> None:
    sys.stdout.write(f"{words}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
