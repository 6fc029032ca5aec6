"""Where the worker and clockwork processes of these tests come from: a process that has read the program and then divides.

Reading it takes two seconds, dividing a hundredth: a test may kill a worker and have another. What divides off runs celery's
own command with the project's own settings, which its environment decides; it is as real as one that a supervisor starts.

Lines on stdin are JSON with `argv` (of celery), `log` and `ready` (paths); each is answered by the new process' number.

The clock of a task is set by the file that JOBSITE_CLOCK names. CLOCK_OF_BEAT names another for whole clockwork processes,
which have no tasks; empty, it leaves them the machine's own.
"""

import ctypes
import json
import os
import signal
import sys
import threading
import time
from datetime import datetime
from pathlib import Path

import time_machine

PR_SET_PDEATHSIG = 1
LOOK_SECONDS = 0.02


def die_with_parent(number: int = signal.SIGKILL) -> None:
    """Whoever kills the tests leaves no servers behind. Linux only."""
    ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, number)


def began(pid: int) -> str:
    """When the process of this number began, in ticks of the machine: another of the same number did later. "" for none."""
    try:
        state, *fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return ""
    return "" if state == "Z" else fields[18]


def set_clocks() -> None:
    """Each task runs at the instant that the clock's file says when it begins; a file beside it says that it runs."""
    from celery.signals import task_postrun, task_prerun

    travels: list[time_machine.travel] = []
    clock = Path(os.environ["JOBSITE_CLOCK"])

    def begin(**_: object) -> None:
        said = clock.with_name(f"new-{os.getpid()}")
        said.write_text(began(os.getpid()))
        said.replace(clock.with_name(f"busy-{os.getpid()}"))  # whole or not at all: it may be killed at any step
        travels.append(time_machine.travel(datetime.fromisoformat(clock.read_text()), tick=True))
        travels[-1].start()

    def end(**_: object) -> None:
        while travels:
            travels.pop().stop()
        clock.with_name(f"busy-{os.getpid()}").unlink(missing_ok=True)

    task_prerun.connect(begin, weak=False)
    task_postrun.connect(end, weak=False)


def follow_clock(file: Path) -> None:
    """Keep this whole process' clock at what `file` says, going on from there, until it says something else."""
    said, journey = "", None
    while True:
        if (at := file.read_text()) != said:
            if journey:
                journey.stop()
            journey = time_machine.travel(datetime.fromisoformat(at), tick=True) if at else None
            if journey:
                journey.start()
            said = at
        time.sleep(LOOK_SECONDS)


def run(order: dict) -> None:
    """In the new process: celery's command, until it is killed."""
    from celery.signals import worker_ready

    from jobsite.celery import app

    os.setsid()
    die_with_parent()
    log = os.open(order["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    for stream in (1, 2):
        os.dup2(log, stream)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    worker_ready.connect(lambda **_: Path(order["ready"]).write_text("ready"), weak=False)
    if order["argv"][0] == "beat":
        threading.Thread(target=follow_clock, args=(Path(os.environ["CLOCK_OF_BEAT"]),), daemon=True).start()
    app.start(order["argv"])


def main() -> None:
    from django.urls import reverse

    from jobsite.celery import app

    set_clocks()
    app.loader.import_default_modules()
    reverse("desk:due")  # reads every page's module, as the first message of a worker would
    app.conf.worker_lost_wait = 0.5  # a task whose hand was killed is given back after ten seconds otherwise
    # Nobody asks how they ended: while it is not forgotten, no other process has the number of one that a test kills.
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            code = 1
            try:
                run(json.loads(line))
                code = 0
            finally:
                os._exit(code)
        sys.stdout.write(f"{child}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
