"""Everything that one computer needs, in one terminal: database, web server, worker and clockwork.

``python -m jobsite.serve`` prepares the database, starts the three processes, says where to look and how to sign in,
and waits. Ctrl+C, a closed terminal or the end of one process stops them all. A service open to others is run by
``docker-compose.yml`` or the machine's own supervisor instead.
"""

import ctypes
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from types import FrameType

STOP_SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
GRACE_SECONDS = 3.0  # an idle worker may need 5 s; what it carried is found again by the sweep
LOOK_SECONDS = 0.1
PR_SET_PDEATHSIG = 1
TOP = Path(__file__).resolve().parent.parent


class StopAskedFor:
    """Whether a person or the machine has asked to stop; true from the first signal on."""

    def __init__(self) -> None:
        self.asked = False
        for number in STOP_SIGNALS:
            signal.signal(number, self._ask)

    def __bool__(self) -> bool:
        return self.asked

    def _ask(self, _number: int, _frame: FrameType | None) -> None:
        self.asked = True


def main() -> int:
    """Run until told to stop; 0 when told, 1 when something could not start or ended by itself."""
    stop = StopAskedFor()
    port = int(os.environ.get("PORT") or "8000")
    if in_use(port):
        return fail(f"Port {port} is taken on this computer. Stop what uses it, or choose another: make run PORT=8001")
    environment_of_one_computer(port)
    print("Preparing the database; the first time this takes a minute …", flush=True)
    for step in (prepare_database, load_demo_once):
        step()
        if stop:
            return 0
    processes = commands(port)
    children = [start(command) for command in processes]
    try:
        wait_for(lambda: in_use(port) or bool(ended(children)), stop)
        print(f"\nOpen http://localhost:{port}  (Ctrl+C stops everything)\n", flush=True)
        manage("sign_ins")
        wait_for(lambda: bool(ended(children)), stop)
        over = ended(children)
    finally:
        stop_all(children)
    if over and not stop:
        return fail(
            f"This process ended by itself, so all were stopped: {' '.join(processes[children.index(over[0])])}"
        )
    return 0


def fail(sentence: str) -> int:
    print(sentence, file=sys.stderr, flush=True)
    return 1


def environment_of_one_computer(port: int) -> None:
    """Settle what a single computer needs, unless the environment already says otherwise.

    With DATABASE_URL the settings are those of a service open to others, which this one isn't: plain http on
    localhost, and a secret kept in a file.
    """
    from jobsite.secret import kept_secret

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobsite.settings")
    os.environ.setdefault("SITE_ADDRESS", f"http://localhost:{port}")
    os.environ["PYTHONUNBUFFERED"] = "1"
    shutil.rmtree(var() / "metrics", ignore_errors=True)  # numbers of processes that are gone
    os.environ["REMAP_SIGTERM"] = "SIGQUIT"  # lets the worker put back what it carries
    if os.environ.get("DATABASE_URL"):
        os.environ.setdefault("HTTPS", "false")
        os.environ.setdefault("ALLOWED_HOSTS", "localhost,127.0.0.1")
        if "SECRET_KEY" not in os.environ:
            var().mkdir(parents=True, exist_ok=True)
            os.environ["SECRET_KEY"] = kept_secret(var() / "secret")


def var() -> Path:
    """Where everything lies that isn't code; the settings read the same variable."""
    return Path(os.environ.get("JOBSITE_VAR") or TOP / "var")


def prepare_database() -> None:
    """Start the embedded server if it is needed (reading the settings does that), and bring the tables up to date."""
    import django
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connection

    django.setup()
    from jobsite import clock
    from jobsite.firm.operations import note_first_start

    call_command("migrate", verbosity=0)
    note_first_start(now=clock.now())
    keep_address()
    if not settings.EMBEDDED:
        call_command("collectstatic", interactive=False, verbosity=0)
    connection.close()


def keep_address() -> None:
    """Write down by which address the program is reached here: commands in another terminal cannot know the port."""
    (var() / "address").write_text(os.environ["SITE_ADDRESS"])


def load_demo_once() -> None:
    """Fill an empty embedded database with the invented firm; a database given from outside is never touched."""
    from django.conf import settings

    if settings.EMBEDDED and os.environ.get("DEMO", "yes") != "no":
        manage("load_demo", "--if-empty")


def manage(*arguments: str) -> None:
    """Run one of our own commands here, in words a person can read if it refuses."""
    from django.core.management import CommandError, call_command
    from django.db import connection

    try:
        call_command(*arguments)
    except CommandError as error:
        print(error, file=sys.stderr, flush=True)
    finally:
        connection.close()


def commands(port: int) -> list[list[str]]:
    """The three processes: pages, worker, clockwork."""
    python = [sys.executable, "-m"]
    web = "gunicorn jobsite.wsgi --threads 4 --graceful-timeout 2 --no-control-socket --log-level warning --config python:jobsite.web_threads"
    worker = "celery -q -A jobsite.celery worker -c 1 -l WARNING --without-gossip --without-mingle --without-heartbeat"
    beat = "celery -q -A jobsite.celery beat -l WARNING"
    return [
        [*python, *web.split(), "-b", f"127.0.0.1:{port}"],
        [*python, *worker.split()],
        [*python, *beat.split(), f"--pidfile={var() / 'beat.pid'}", "-s", str(var() / "beat")],
    ]


def start(command: Sequence[str]) -> subprocess.Popen[bytes]:
    """Start one process in a group of its own, so that the terminal's Ctrl+C reaches only us."""
    return subprocess.Popen(
        command,
        cwd=TOP,
        stdin=subprocess.DEVNULL,
        start_new_session=True,
        preexec_fn=die_with_parent,  # noqa: PLW1509  nothing here has threads
    )


def die_with_parent() -> None:
    """Ask the kernel to end this process when the supervisor is killed. Linux only; elsewhere it would live on."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)


def in_use(port: int) -> bool:
    """Whether something listens on this port of this computer."""
    with socket.socket() as probe:
        probe.settimeout(1)
        return probe.connect_ex(("127.0.0.1", port)) == 0


def ended(children: Sequence[subprocess.Popen[bytes]]) -> list[subprocess.Popen[bytes]]:
    return [child for child in children if child.poll() is not None]


def wait_for(happened: Callable[[], bool], stop: StopAskedFor) -> None:
    while not stop and not happened():
        time.sleep(LOOK_SECONDS)


def stop_all(children: Sequence[subprocess.Popen[bytes]]) -> None:
    """Ask each process to end, wait a little for all of them, then end their whole groups by force."""
    for child in children:
        child.terminate()
    deadline = time.monotonic() + GRACE_SECONDS
    while len(ended(children)) < len(children) and time.monotonic() < deadline:
        time.sleep(LOOK_SECONDS)
    for child in children:
        with suppress(ProcessLookupError):
            os.killpg(child.pid, signal.SIGKILL)
        child.wait()


if __name__ == "__main__":
    sys.exit(main())
