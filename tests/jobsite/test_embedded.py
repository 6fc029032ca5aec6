"""The embedded PostgreSQL: many users of one server, crashes, odd paths, and sentences where it cannot run.

Each test runs real servers in a folder of its own; none touches the data of the program.
"""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from jobsite import embedded

# Start the server, say so, and stay until the input closes.
USER = """
import sys
from pathlib import Path
from jobsite import embedded
print(embedded.start(Path(sys.argv[1])), flush=True)
sys.stdin.read()
"""


@pytest.fixture
def data() -> Iterator[Path]:
    """A folder that root's servant can enter too; pytest's own ones are closed to others."""
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    folder.chmod(0o755)
    yield folder / "postgres"
    stop_by_force(folder / "postgres")
    shutil.rmtree(folder)


def stop_by_force(data: Path) -> None:
    if (data / "postmaster.pid").exists():
        embedded.run("pg_ctl", "-D", str(data), "-m", "immediate", "-w", "stop")


def user_of(data: Path) -> subprocess.Popen[str]:
    """Another process that uses the server."""
    child = subprocess.Popen(
        [sys.executable, "-c", USER, str(data)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert child.stdout
    assert child.stdout.readline().strip() == str(embedded.socket_folder(data))
    return child


def runs(data: Path) -> bool:
    return embedded.answers(data, embedded.socket_folder(data))


def test_last_user_stops_the_server_and_no_other(data: Path) -> None:
    first, second = user_of(data), user_of(data)
    first.communicate()
    assert runs(data)
    second.communicate()
    assert not runs(data)
    assert not (data / "postmaster.pid").exists()


def test_killed_user_is_forgotten(data: Path) -> None:
    killed = user_of(data)
    killed.kill()
    killed.communicate()
    assert runs(data)
    user_of(data).communicate()
    assert not runs(data)


def test_server_killed_with_its_number_taken_by_another_program(data: Path) -> None:
    user = user_of(data)
    pid_file = data / "postmaster.pid"
    left = pid_file.read_text()
    server = int(left.partition("\n")[0])
    os.kill(server, signal.SIGKILL)
    user.communicate()
    pid_file.write_text(left.replace(str(server), str(os.getpid()), 1))
    user_of(data).communicate()
    assert not runs(data)


def test_forked_child_does_not_stop_the_server(data: Path) -> None:
    user = user_of(data)
    with open(data.with_suffix(".users"), "a") as use:
        embedded.leave(use, data, owner=os.getpid() + 1)
        assert not use.closed
    assert runs(data)
    user.communicate()


@pytest.mark.parametrize("name", ["with a blank", "x" * 100, "a,b", "Ω"], ids=["blank", "long", "comma", "letter"])
def test_path_that_no_socket_can_have(data: Path, name: str) -> None:
    odd = data.parent / name / "postgres"
    odd.parent.mkdir(mode=0o755)
    user = user_of(odd)
    sock = embedded.socket_folder(odd)
    assert sock.parent == Path(tempfile.gettempdir())
    assert sock.stat().st_mode & 0o077 == 0
    user.communicate()
    assert not runs(odd)
    shutil.rmtree(sock)


def test_data_deleted_under_a_running_server_counts_as_stopped(data: Path) -> None:
    odd = data.parent / "a,b" / "postgres"  # its socket lies elsewhere and still answers
    odd.parent.mkdir(mode=0o755)
    user = user_of(odd)
    server = int((odd / "postmaster.pid").read_text().partition("\n")[0])
    shutil.rmtree(odd)
    try:
        assert not runs(odd)
    finally:
        os.kill(server, signal.SIGKILL)
        user.communicate()
        shutil.rmtree(embedded.socket_folder(odd))


def test_data_of_another_major_version_is_refused_in_words(data: Path) -> None:
    user_of(data).communicate()
    (data / "PG_VERSION").write_text("17\n")
    with pytest.raises(embedded.CannotStart, match=r"written by PostgreSQL 17, but the installed one is 18"):
        embedded.start(data)


def test_reason_in_the_log_is_shown(data: Path) -> None:
    user_of(data).communicate()
    (data / "postgresql.conf").write_text("no_such_setting = 1\n")
    with pytest.raises(embedded.CannotStart, match="no_such_setting"):
        embedded.start(data)


@pytest.mark.skipif(os.geteuid() != 0, reason="only root hands the server to another user")
def test_root_below_a_closed_folder_gets_a_sentence(data: Path) -> None:
    data.parent.chmod(0o700)
    with pytest.raises(embedded.CannotStart, match=rf"cannot enter {data.parent}: start as an ordinary user"):
        embedded.start(data)


def test_names_sort_alike_on_every_machine(data: Path) -> None:
    """Every locale of the environment gives the same collation, else an index made here is wrong there."""
    user = user_of(data)
    answer = embedded.run(
        "psql", "-h", str(embedded.socket_folder(data)), "-U", "postgres", "-AtF,",
        "-c", "SELECT datlocprovider, datcollate, datctype, datlocale FROM pg_database WHERE datname = 'postgres'",
    )  # fmt: skip
    assert answer.stdout.strip() == "b,C,C,C.UTF-8"
    user.communicate()
