"""`make run` from outside: it answers, says how to sign in, and whatever ends it, nothing of it lives on.

Each test runs the real supervisor, with a folder of data and a port of its own.
"""

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parent.parent.parent
GONE_SECONDS = 60  # the database writes down what it holds before it goes
START_SECONDS = 180  # a first start makes a database and runs every migration
STOP_SECONDS = 8.0  # 5 on an idle machine

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="looks for processes in /proc")


class Run:
    """One `python -m jobsite.serve` and what it said."""

    def __init__(self, folder: Path, port: int) -> None:
        self.said = folder / "said"
        self.port = port
        clean = {
            k: v for k, v in os.environ.items() if k not in {"DATABASE_URL", "REDIS_URL", "DJANGO_SETTINGS_MODULE"}
        }
        with self.said.open("w") as out:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "jobsite.serve"],
                cwd=TOP,
                env=clean | {"JOBSITE_VAR": str(folder / "var"), "PORT": str(port), "DEMO": "no"},
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )

    def until_open(self) -> None:
        wait_until(lambda: "Open http://" in self.said.read_text() or self.process.poll() is not None, START_SECONDS)
        assert self.process.poll() is None, self.said.read_text()

    def get(self, path: str) -> str:
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=20) as answer:
            return answer.read().decode()


def wait_until(happened: Callable[[], bool], seconds: float) -> None:
    deadline = time.monotonic() + seconds
    while not happened():
        assert time.monotonic() < deadline, f"still not so after {seconds} s"
        time.sleep(0.05)


def alive_with(folder: Path) -> list[str]:
    """The processes that were started for this folder, by their environment or their command line."""
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        try:
            words = (process / "environ").read_bytes() + (process / "cmdline").read_bytes()
            ended = re.search(r"^State:\s+[ZX]", (process / "status").read_text(), re.MULTILINE)
        except OSError:
            continue
        if str(folder).encode() in words and not ended:
            found.append(f"{process.name} {(process / 'cmdline').read_bytes().replace(bytes(1), b' ')!r}")
    return found


@contextmanager
def new_folder() -> Iterator[Path]:
    path = Path(tempfile.mkdtemp(prefix="serve"))
    path.chmod(0o755)  # the embedded server's user must be able to enter it
    yield path
    end_all_with(path)
    shutil.rmtree(path)


def end_all_with(folder: Path) -> None:
    for process in alive_with(folder):
        with suppress(ProcessLookupError):
            os.kill(int(process.split()[0]), signal.SIGKILL)


@pytest.fixture
def folder() -> Iterator[Path]:
    """Empty: what starts in it starts for the first time."""
    with new_folder() as path:
        yield path


@pytest.fixture(scope="module")
def kept() -> Iterator[Path]:
    """One folder for the tests that don't ask for a first start, which takes a minute; each leaves nothing alive in it."""
    with new_folder() as path:
        yield path


@pytest.fixture
def serve() -> Iterator[Callable[[Path, int], Run]]:
    runs: list[Run] = []

    def start(folder: Path, port: int) -> Run:
        runs.append(Run(folder, port))
        return runs[-1]

    yield start
    for run in runs:
        run.process.kill()
        run.process.wait()
        end_all_with(run.said.parent)


@pytest.fixture
def port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def test_first_and_second_start_answer_and_ctrl_c_leaves_nothing(folder: Path, port: int, serve) -> None:
    for _start in ("first", "second"):
        run = serve(folder, port)
        run.until_open()
        assert f"Open http://localhost:{port} " in run.said.read_text()
        assert "<h1" in run.get("/accounts/login/")
        run.process.send_signal(signal.SIGINT)
        assert run.process.wait(STOP_SECONDS) == 0, run.said.read_text()
        assert alive_with(folder) == []
    assert "Traceback" not in run.said.read_text()


def test_a_command_in_another_terminal_knows_the_address(kept: Path, port: int, serve) -> None:
    serve(kept, port).until_open()
    who = ["--name", "Spark Ltd", "--email", "max@example.com", "--manager", "Max First"]
    clean = {k: v for k, v in os.environ.items() if k not in {"DATABASE_URL", "SITE_ADDRESS", "DJANGO_SETTINGS_MODULE"}}
    asked = subprocess.run(
        [sys.executable, "manage.py", "start_firm", *who],
        cwd=TOP, env=clean | {"JOBSITE_VAR": str(kept / "var")}, capture_output=True, text=True,
    )  # fmt: skip
    assert asked.stderr == ""
    assert f"http://localhost:{port}/accounts/password/reset/key/" in asked.stdout


def test_killed_supervisor_leaves_nothing(kept: Path, port: int, serve) -> None:
    run = serve(kept, port)
    run.until_open()
    run.process.kill()
    run.process.wait()
    wait_until(lambda: alive_with(kept) == [], GONE_SECONDS)


def test_one_process_ending_by_itself_stops_all(kept: Path, port: int, serve) -> None:
    pid_file = kept / "var" / "beat.pid"
    pid_file.unlink(missing_ok=True)  # of a test before, whose processes were killed
    run = serve(kept, port)
    run.until_open()
    # A full number, not one still being written.
    wait_until(lambda: pid_file.exists() and pid_file.read_text().endswith("\n"), START_SECONDS)
    beat = int(pid_file.read_text())
    os.kill(beat, signal.SIGKILL)
    assert run.process.wait(STOP_SECONDS + 1) == 1
    assert re.search(r"ended by itself, so all were stopped: .*jobsite\.celery beat", run.said.read_text())
    assert alive_with(kept) == []


def test_taken_port_is_said_before_anything_is_started(folder: Path, serve) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        run = serve(folder, port)
        assert run.process.wait(20) == 1
    assert run.said.read_text() == (
        f"Port {port} is taken on this computer. Stop what uses it, or choose another: make run PORT=8001\n"
    )
    assert not (folder / "var").exists()
