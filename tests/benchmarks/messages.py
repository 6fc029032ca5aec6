"""How long 10,000 messages that fall due at once take: two real worker processes, a broker, a mail server that takes 5 ms.

Each is a customer's reminder of an inspection, whose reason, the customer's stop and the site's leaving are looked at again
before it goes out. The workers are celery's own command with the service's own settings.
"""

import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from datetime import time as clock_time
from pathlib import Path
from typing import Any

from django.db import connection

from inspections.models import InspectionDue
from jobsite import clock
from jobsite.messages.models import Message
from remedials.due.models import Reminding
from tests.benchmarks.processes import environment
from tests.faults.brokers import FolderBroker
from tests.faults.nursery import die_with_parent
from tests.readme import TOP
from tests.smtp_server import SmtpServer

COUNT, WORKERS, SLOW_MS = 10_000, 2, 5
AIM_SECONDS, LONGEST_SECONDS = 120, 900
SEND = "remedials.due.tasks.send"
BODY = (
    "Dear {name},\n\nThe next inspection of the electrical installation at {site} is due by {day}.\nWhy: {basis}\n\n"
    "To arrange it, please reply or ring 01632 960100.\n\nLarkspur Electrical\n"
)
WORKER = "worker -c 1 -l INFO --without-gossip --without-mingle --without-heartbeat"


def figures(count: int = COUNT) -> dict[str, Any]:
    """Write them, let the workers send them, and count what arrived."""
    rows = list(InspectionDue.objects.select_related("unit__site__customer").order_by("pk")[:count])
    with tempfile.TemporaryDirectory(prefix="bench-") as folder, SmtpServer(slow_ms=SLOW_MS) as server, at_any_hour():
        var = Path(folder)
        broker = FolderBroker(var)
        with workers(var, server):
            write(rows, count, now=clock.now())
            began = time.perf_counter()
            for _ in range(WORKERS):
                broker.app.send_task(SEND)
            while left() and time.perf_counter() - began < LONGEST_SECONDS:
                time.sleep(0.2)
            took = time.perf_counter() - began
        broker.close()
        found = result(server, count, took)
    Message.objects.filter(occasion__endswith=" measured").delete()
    return found


def result(server: SmtpServer, count: int, took: float) -> dict[str, Any]:
    """What came of it, with what must be nought."""
    ids = server.ids()
    sent = Message.objects.filter(occasion__endswith=" measured", state=Message.State.SENT).count()
    return {
        "messages": count,
        "workers": WORKERS,
        "server_takes_ms": SLOW_MS,
        "seconds": round(took, 1),
        "aim_seconds": AIM_SECONDS,
        "a_second": round(len(ids) / took),
        "sent": sent,
        "not_sent": count - sent,
        "twice": len(ids) - len(set(ids)),
        "connections": server.connections,
    }


def write(rows: list[InspectionDue], count: int, *, now: datetime) -> None:
    """The messages, all due `now`."""
    messages = [_message(rows[n % len(rows)], n, now) for n in range(count)]
    Message.objects.bulk_create(messages, batch_size=1_000)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE post_message")


def _message(row: InspectionDue, n: int, now: datetime) -> Message:
    site = row.unit.site
    words = {"name": site.customer.name, "site": site.name, "day": row.due_on, "basis": row.basis}
    return Message(
        occasion=f"inspection {row.pk} {row.due_on} {n} measured",
        to_kind=Message.To.CUSTOMER,
        to_id=site.customer_id,
        address=f"customer{n}@example.com",
        subject=f"Electrical inspection due: {site.name}",
        body=BODY.format(**words),
        reminder=True,
        about=f"inspection {row.unit_id} {n}",
        quiet_until=now + timedelta(days=7),
        site=site.pk,
        reason_kind="inspection",
        reason_ref=row.unit_id,
        written_at=now,
        next_try_at=now,
    )


def left() -> bool:
    """Whether any is not settled."""
    return Message.objects.filter(state__in=[Message.State.WAITING, Message.State.SENDING]).exists()


@contextmanager
def at_any_hour() -> Iterator[None]:
    """Polite words may go out now, whatever the time of the measuring is."""
    row = Reminding.shipped()
    row.working_days, row.bank_holidays_off = [1, 2, 3, 4, 5, 6, 7], False
    row.quiet_from = row.quiet_until = clock_time(3)
    row.save()
    try:
        yield
    finally:
        row.delete()


@contextmanager
def workers(var: Path, server: SmtpServer) -> Iterator[None]:
    """Two worker processes that are ready, and end with the block."""
    logs = [var / f"worker{n}.log" for n in range(WORKERS)]
    running = []
    for n, log in enumerate(logs):
        with log.open("w") as out:
            running.append(
                subprocess.Popen(
                    [sys.executable, "-m", "celery", "-A", "jobsite", *WORKER.split(), "-n", f"w{n}@bench"],
                    cwd=TOP,
                    env=environment(var, server.url),
                    stdout=out,
                    stderr=out,
                    preexec_fn=die_with_parent,  # noqa: PLW1509
                )
            )
    try:
        until = time.monotonic() + 60
        while not all(" ready." in log.read_text() for log in logs):
            if time.monotonic() > until:
                sys.exit(f"a worker did not become ready:\n{logs[0].read_text()}")
            time.sleep(0.1)
        yield
    finally:
        for process in running:
            process.terminate()
        for process in running:
            process.wait(30)


def table(found: dict[str, Any]) -> str:
    """The figures for reading."""
    return (
        f"messages: {found['messages']:,} due at once, {found['workers']} worker processes, a mail server that takes "
        f"{found['server_takes_ms']} ms: {found['seconds']} s (aim {found['aim_seconds']}), {found['a_second']} a second, "
        f"{found['connections']} connections; not sent {found['not_sent']}, twice {found['twice']}"
    )
