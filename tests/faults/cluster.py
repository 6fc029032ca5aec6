"""A PostgreSQL of a test's own, which it may stop, crash and lock: the embedded one, its tables made beforehand."""

import fcntl
import os
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
from django.conf import settings
from django.db import connection

from jobsite import embedded
from jobsite.settings import VAR
from tests import prepared
from tests.faults.nursery import die_with_parent

NAME = "jobsite"
# A crash of the server loses nothing by this; only a crash of the machine would.
QUICK = "fsync = off\nfull_page_writes = off\nmax_connections = 40\nautovacuum = off\n"


class Cluster:
    """A server below `folder`; `database()` points this process' own connection there."""

    def __init__(self, folder: Path) -> None:
        self.data = folder / "postgres"
        shutil.copytree(_made(), self.data, copy_function=shutil.copy2)
        _give(self.data)
        self.sock = embedded.socket_folder(self.data.resolve())
        if self.sock != self.data.resolve():
            self.sock.mkdir(mode=0o700, exist_ok=True)
            _give(self.sock)
        self.server: subprocess.Popen[bytes] | None = None
        self.start()

    @property
    def url(self) -> str:
        return f"postgres://postgres@/{self.sock}/{NAME}"

    def start(self) -> None:
        """Start the server, unless it runs."""
        if self.server is None or self.server.poll() is not None:
            self.server = _serve(self.data, self.sock)

    def stop(self, how: int = signal.SIGQUIT) -> None:
        """End the server: by SIGQUIT at once, as a crash does; by SIGINT in order, breaking off what runs."""
        assert self.server
        connection.close()
        self.server.send_signal(how)
        self.server.wait(30)

    def close(self) -> None:
        self.stop()
        shutil.rmtree(self.data.parent, ignore_errors=True)

    def connect(self) -> psycopg.Connection:
        """Another connection, for locks."""
        return psycopg.connect(host=str(self.sock), user="postgres", dbname=NAME)

    @contextmanager
    def database(self) -> Iterator[None]:
        """This process' own connection is to this server as long as the block lasts."""
        connection.close()
        kept = dict(connection.settings_dict)
        connection.settings_dict.update(HOST=str(self.sock), NAME=NAME, USER="postgres", PORT="", PASSWORD="")
        try:
            yield
        finally:
            connection.close()
            connection.settings_dict.clear()
            connection.settings_dict.update(kept)

    def empty(self) -> None:
        """No rows anywhere, as at the start."""
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT string_agg(format('%I', tablename), ', ') FROM pg_tables WHERE schemaname = 'public'"
                " AND tablename NOT IN ('django_migrations', 'django_content_type', 'auth_permission')"
            )
            tables = cursor.fetchone()[0]
            cursor.execute(f"TRUNCATE {tables} CASCADE")

    @contextmanager
    def locked(self, table: str, mode: str) -> Iterator["Lock"]:
        """`table` is locked in `mode` as long as the block lasts, or until the lock is let go."""
        with self.connect() as held, self.connect() as looking:
            looking.autocommit = True
            held.execute("SET lock_timeout = '10s'")
            held.execute(f"LOCK TABLE {table} IN {mode} MODE")
            yield Lock(held, looking)


class Lock:
    """A table that a test holds."""

    def __init__(self, held: psycopg.Connection, looking: psycopg.Connection) -> None:
        self.held, self.looking = held, looking

    def somebody_waits(self) -> bool:
        """Whether another process waits for it."""
        found = self.looking.execute(
            "SELECT count(*) FROM pg_locks WHERE NOT granted AND %s = ANY(pg_blocking_pids(pid))",
            [self.held.info.backend_pid],
        ).fetchone()
        return bool(found and found[0])

    def wait_for_somebody(self, seconds: float = 15) -> None:
        """Return once another process waits for it."""
        until = time.monotonic() + seconds
        while not self.somebody_waits():
            if time.monotonic() > until:
                raise AssertionError("nobody came to the lock")
            time.sleep(0.01)

    def let_go(self) -> None:
        self.held.rollback()


def _serve(data: Path, sock: Path) -> subprocess.Popen[bytes]:
    """The server as a child of this process, which ends with it."""
    servant = {}
    if os.geteuid() == 0:
        servant = {"user": embedded.SERVANT, "group": embedded.servants_group(), "extra_groups": []}
    with open(data.parent / "postgres.log", "ab") as log:
        server = subprocess.Popen(
            [str(embedded.programs() / "postgres"), "-D", str(data), "-h", "", "-k", str(sock)],
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            cwd="/",
            start_new_session=True,
            preexec_fn=lambda: die_with_parent(signal.SIGQUIT),  # noqa: PLW1509  nothing here waits for a thread
            **servant,  # type: ignore[arg-type]
        )
    until = time.monotonic() + 60
    while embedded.run("pg_isready", "-q", "-h", str(sock)).returncode:
        if server.poll() is not None or time.monotonic() > until:
            raise RuntimeError(
                f"The database of the faults did not start:\n{(data.parent / 'postgres.log').read_text()}"
            )
        time.sleep(0.05)
    return server


def _give(folder: Path) -> None:
    """As root, everything in `folder` to the user who runs the server."""
    folder.chmod(0o700)
    if os.geteuid() == 0:
        group = embedded.servants_group()
        for path in (folder, *folder.rglob("*")):
            shutil.chown(path, embedded.SERVANT, group)


def _made() -> Path:
    """A stopped server's data with every table of the program, made once for each set of migrations."""
    folder = VAR / "faults"
    folder.mkdir(parents=True, exist_ok=True)
    template = prepared.template()
    made = folder / template
    with open(folder / "lock", "a") as gate:
        fcntl.flock(gate, fcntl.LOCK_EX)
        if not made.exists():
            for outdated in folder.glob(f"{prepared.BEGINS}*"):
                shutil.rmtree(outdated)
            _make(folder, template).rename(made)
    return made


def _make(folder: Path, template: str) -> Path:
    half = folder / "half"
    shutil.rmtree(half, ignore_errors=True)
    sock = embedded.socket_folder(half.resolve())
    embedded._check_reachable(half)
    embedded._make_folders(half, sock)
    embedded._make_cluster(half)
    with open(half / "postgresql.conf", "a") as conf:
        conf.write(QUICK)
    server = _serve(half, sock)
    copy = f"faults_{os.getpid()}"
    try:
        with connection._nodb_cursor() as shared:
            shared.execute(f'CREATE DATABASE "{copy}" TEMPLATE "{template}"')
        dump = half.parent / "tables.sql"
        dump.write_text(_told("pg_dump", *_where_tables_are(), copy))
        _told("createdb", "-h", str(sock), "-U", "postgres", NAME)
        dump.chmod(0o644)
        _told("psql", "-q", "-v", "ON_ERROR_STOP=1", "-h", str(sock), "-U", "postgres", "-f", str(dump), NAME)
        with psycopg.connect(host=str(sock), user="postgres", dbname=NAME, autocommit=True) as new:
            for table, trigger in new.execute(
                "SELECT tgrelid::regclass::text, tgname FROM pg_trigger WHERE tgname LIKE 'pgtrigger_no_truncate%'"
            ).fetchall():
                new.execute(f'ALTER TABLE {table} DISABLE TRIGGER "{trigger}"')
    finally:
        with connection._nodb_cursor() as shared:
            shared.execute(f'DROP DATABASE IF EXISTS "{copy}" WITH (FORCE)')
        server.send_signal(signal.SIGINT)
        server.wait(30)
    return half


def _where_tables_are() -> list[str]:
    where = settings.DATABASES["default"]
    named = {"-h": where.get("HOST"), "-p": where.get("PORT"), "-U": where.get("USER")}
    if where.get("PASSWORD"):
        os.environ["PGPASSWORD"] = str(where["PASSWORD"])
    return [part for flag, value in named.items() if value for part in (flag, str(value))]


def _told(program: str, *arguments: str) -> str:
    done = embedded.run(program, *arguments)
    if done.returncode:
        raise RuntimeError(f"{program} failed:\n{done.stdout}")
    return done.stdout
