"""The whole service beside a test, as it stands on a server: its own database, broker, mail server, workers and clockwork.

Everything is real but the clock, which a test sets: each task runs at `stack.now`. A test ticks by hand what the clockwork
ticks by itself, breaks what it likes, and reads in the mailbox what came of it.
"""

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.db import OperationalError, connection
from kombu.exceptions import KombuError
from kombu.exceptions import OperationalError as BrokerGone

from jobsite.firm.models import Heartbeat
from jobsite.messages.models import Message
from tests.factories import NOON
from tests.faults.brokers import KINDS
from tests.faults.cluster import Cluster
from tests.faults.nursery import began, die_with_parent
from tests.readme import TOP
from tests.smtp_server import Manner, SmtpServer, Taken

STATE = Message.State
SWEEP, SEND = "remedials.due.tasks.sweep", "remedials.due.tasks.send"
WORKER = "worker -c 1 -l WARNING --without-gossip --without-mingle --without-heartbeat"
MADE_UP_SECRET = "made-up-for-the-faults-only-kM3vQ8zR1tX6yB0nL5wJ9cF2hG7sD4a"
HOST = "works.example.com"


class Stack:
    """All of it on one computer, with one kind of broker."""

    def __init__(self, broker: str) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="faults-"))
        self.folder.chmod(0o755)
        self.var = self.folder / "var"
        self.var.mkdir()
        self.kind = broker
        self.cluster = Cluster(self.folder)
        self.broker = KINDS[broker](self.var)
        self.mail = SmtpServer().start()
        self.workers: list[Process] = []
        self.others: list[Process] = []
        self.count = 0
        self.clock, self.clock_of_beat = self.folder / "clock", self.folder / "clock of beat"
        self.set_clock(NOON)
        self.clock_of_beat.write_text("")
        self.nursery = self._open_nursery()

    def _open_nursery(self) -> subprocess.Popen[str]:
        environment = {
            name: value for name, value in os.environ.items() if not name.startswith(("DJANGO_", "PYTEST_", "REDIS_"))
        }
        environment |= {
            "DJANGO_SETTINGS_MODULE": "jobsite.settings",
            "DATABASE_URL": self.cluster.url,
            "JOBSITE_VAR": str(self.var),
            "EMAIL_URL": self.mail.url,
            "SECRET_KEY": MADE_UP_SECRET,
            "ALLOWED_HOSTS": HOST,
            "SITE_ADDRESS": f"https://{HOST}",
            "JOBSITE_CLOCK": str(self.clock),
            "CLOCK_OF_BEAT": str(self.clock_of_beat),
        }
        if self.broker.url:
            environment["REDIS_URL"] = self.broker.url
        return subprocess.Popen(
            [sys.executable, "-m", "tests.faults.nursery"],
            cwd=TOP,
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            preexec_fn=die_with_parent,  # noqa: PLW1509
        )

    def close(self) -> None:
        for process in (*self.workers, *self.others):
            process.kill()
        self.nursery.kill()
        self.nursery.communicate()
        self.mail.stop()
        self.broker.close()
        self.cluster.close()
        shutil.rmtree(self.folder, ignore_errors=True)

    def fresh(self) -> None:
        """As at the start: no rows, no mails, nothing waiting; workers that have nothing to do live on."""
        self.mail.taken.clear()
        self.mail.of_address.clear()
        self.mail.then.clear()
        self.mail.commands.clear()
        self.mail.manner, self.mail.held, self.mail.slow_ms = Manner.TAKE, False, 0
        for process in self.others:
            process.kill()
        self.others.clear()
        self.broker.empty()
        if not self.idle():
            self.kill_workers()
        self.cluster.empty()
        self.set_clock(NOON)

    def idle(self) -> bool:
        """Whether nobody does or is about to do anything."""
        for file in self.folder.glob("busy-*"):
            try:
                said = file.read_text()
            except FileNotFoundError:
                continue  # it ended between the list and the look
            if said == began(int(file.name.partition("-")[2])):
                return False
            file.unlink(missing_ok=True)  # it was killed in the middle
        return not (self.broker.hears() and self.broker.waiting())

    def has_a_task(self, hands: list[int]) -> bool:
        """Whether one of these has a task, or had one when it was killed."""
        return any((self.folder / f"busy-{hand}").exists() for hand in hands)

    # --- the clock ----------------------------------------------------------------------------------------------------

    def set_clock(self, now: datetime) -> None:
        self.now = now
        self.clock.with_suffix(".new").write_text(now.isoformat())
        self.clock.with_suffix(".new").replace(self.clock)

    def later(self, **span: float) -> datetime:
        """Let the clock go on by so many days, hours, minutes; back with a negative number."""
        self.set_clock(self.now + timedelta(**span))
        return self.now

    # --- processes ----------------------------------------------------------------------------------------------------

    def start(self, *arguments: str) -> "Process":
        """A new process of celery; returns at once."""
        self.count += 1
        name = f"{arguments[0]}{self.count}"
        log, ready = self.folder / f"{name}.log", self.folder / f"{name}.ready"
        log.touch()  # it may be read before the child opens it
        assert self.nursery.stdin
        assert self.nursery.stdout
        order = {"argv": list(arguments), "log": str(log), "ready": str(ready)}
        self.nursery.stdin.write(json.dumps(order) + "\n")
        self.nursery.stdin.flush()
        return Process(int(self.nursery.stdout.readline()), log, ready)

    def work(self, count: int = 1) -> "Process":
        """See that `count` workers are at work and ready; the last of them."""
        self.workers = [worker for worker in self.workers if worker.lives()]
        for worker in self.workers[count:]:
            worker.kill()
        del self.workers[count:]
        while len(self.workers) < count:
            self.workers.append(self.start(*WORKER.split(), "-n", f"w{self.count}@faults"))
        for worker in self.workers:
            worker.wait_until_ready()
        return self.workers[-1]

    def restart_database(self, *, crash: bool) -> None:
        self.cluster.stop(signal.SIGQUIT if crash else signal.SIGINT)
        self.cluster.start()

    def start_clockwork(self) -> "Process":
        """A clockwork that was away for an hour, by its own memory: everything is due at once."""
        from jobsite.beat import Scheduler
        from jobsite.celery import app

        memory = str(self.folder / f"beat{self.count}")
        scheduler = Scheduler(app, schedule_filename=memory, lazy=True)
        scheduler.setup_schedule()
        for entry in scheduler.schedule.values():
            entry.last_run_at -= timedelta(hours=1)
        scheduler.close()
        self.others.append(self.start("beat", "-l", "INFO", "--pidfile=", "-s", memory))
        return self.others[-1]

    def kill_workers(self) -> None:
        """SIGKILL, to each worker and the process that does its tasks."""
        for worker in self.workers:
            worker.kill()
        self.workers = []

    def tick(self, *tasks: str) -> None:
        """Ask for a sweep and a sending as the clockwork does, or for `tasks`. A broker that is down hears nothing."""
        for task in tasks or (SWEEP, SEND) if self.broker.hears() else ():
            with suppress(KombuError, BrokerGone, OSError):
                self.broker.app.send_task(task, retry=False)

    # --- what came of it ----------------------------------------------------------------------------------------------

    def until(self, happened: Callable[[], Any], what: str = "", seconds: float = 20) -> Any:
        """Wait until `happened` says something true, and return that; fail after `seconds` with the logs."""
        give_up = time.monotonic() + seconds
        while True:
            try:
                if said := happened():
                    return said
            except OperationalError:
                connection.close()
            if time.monotonic() > give_up:
                raise AssertionError(f"{what or happened} did not happen in {seconds} s\n{self.told()}")
            time.sleep(0.02)

    def told(self) -> str:
        """The end of what each process said, for a failure."""
        logs = [(log.name, log.read_text(errors="replace")[-1500:]) for log in sorted(self.folder.glob("*.log"))]
        states = Counter(Message.objects.values_list("state", flat=True))
        open_ones = Message.objects.filter(state__in=[STATE.WAITING, STATE.SENDING])
        waiting = [f"{m.occasion}: {m.state}, {m.next_try_at}, {m.error}" for m in open_ones[:5]]
        return f"{states}, {len(self.mail.taken)} mails, {self.now}, {waiting}\n" + "\n".join(
            f"--- {name}\n{text}" for name, text in logs if text
        )

    def swept(self) -> bool:
        """Whether a sweep ran to its end at the present clock."""
        return Heartbeat.objects.filter(name="sweep", at__gte=self.now, at__lt=self.now + timedelta(minutes=1)).exists()

    def nothing_waits(self) -> bool:
        """Whether every message that is due was settled."""
        due = Message.objects.filter(state=STATE.WAITING, next_try_at__lte=self.now)
        return not (due.exists() or Message.objects.filter(state=STATE.SENDING).exists())

    def round(self, **span: float) -> None:
        """Let the clock go on, by a minute unless told otherwise, and wait for one sweep and all that is to be sent then."""
        self.later(**span or {"minutes": 1})
        for _ in range(4):
            self.work()
            self.tick()
            with suppress(AssertionError):
                self.until(lambda: self.swept() and self.nothing_waits() and self.idle(), seconds=5)
                return
        raise AssertionError(f"no round came to its end\n{self.told()}")

    def states(self) -> dict[str, str]:
        return dict(Message.objects.values_list("occasion", "state"))

    def mailed(self) -> Counter[str]:
        """How often each occasion is in the mailbox."""
        occasions = {str(pk): name for pk, name in Message.objects.values_list("pk", "occasion")}
        return Counter(occasions[taken.message_id.strip("<>").partition("@")[0]] for taken in list(self.mail.taken))

    def mails_to(self, address: str) -> list[Taken]:
        return [taken for taken in list(self.mail.taken) if address in taken.to]


class Process:
    """A worker or a clockwork."""

    def __init__(self, pid: int, log: Path, ready: Path) -> None:
        self.pid, self.log, self.ready = pid, log, ready

    def lives(self) -> bool:
        return began(self.pid) != ""

    def wait_until_ready(self, seconds: float = 30) -> None:
        give_up = time.monotonic() + seconds
        while not self.ready.exists():
            if not self.lives() or time.monotonic() > give_up:
                raise AssertionError(f"It did not become ready:\n{self.log.read_text()}")
            time.sleep(0.02)

    def kill(self) -> None:
        """SIGKILL to the process and to all that it divided into."""
        with suppress(ProcessLookupError):
            os.killpg(self.pid, signal.SIGKILL)
        while self.lives():
            time.sleep(0.005)

    def hands(self) -> list[int]:
        """The processes that do its tasks."""
        found = subprocess.run(["ps", "-o", "pid=", "--ppid", str(self.pid)], capture_output=True, text=True)
        return [int(pid) for pid in found.stdout.split()]

    def kill_hand(self) -> list[int]:
        """SIGKILL to the process that does its tasks only: the worker itself lives on. What was killed."""
        killed = self.hands()
        for pid in killed:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        while any(began(pid) for pid in killed):
            time.sleep(0.005)
        return killed


@contextmanager
def standing(broker: str) -> Iterator[Stack]:
    """A stack with this process' own connection on its database."""
    stack = Stack(broker)
    try:
        with stack.cluster.database():
            yield stack
    finally:
        stack.close()
