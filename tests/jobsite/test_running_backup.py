"""The rehearsal: filled, backed up, destroyed, restored into an empty cluster by the real command, and proved the same."""

import io
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psycopg
import pytest
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client

from jobsite import clock, embedded
from jobsite.firm.operations import describe_firm
from jobsite.firm.queries import beats
from jobsite.ledger.files import path_of, read_file, store_file
from jobsite.ledger.models import Entry, StoredFile
from jobsite.ledger.queries import faults, heads
from jobsite.messages.models import Message
from jobsite.people.models import User
from jobsite.people.operations import ask_second_step
from jobsite.running.backing_up import WITHOUT_ROWS, counted
from jobsite.running.operations import BACKED_UP
from jobsite.running.queries import service_page
from jobsite.words import when
from tests.factories import NOON, make_user
from tests.faults.cluster import Cluster
from tests.faults.world import everything
from tests.readme import TOP

KEY = "correct-horse-9-battery-staple-42"
PASSWORD = "copper and brass 48"


@dataclass
class Kept:
    """What a firm's data are, for comparing."""

    tables: dict[str, int]
    heads: list
    files: dict[str, bytes]
    rows: dict[str, str]


def all_rows() -> dict[str, str]:
    """A digest of all rows of each table, whatever their order."""
    found = {}
    with connection.cursor() as cursor:
        for table in counted():
            cursor.execute(f"SELECT md5(coalesce(string_agg(t::text, ',' ORDER BY t::text), '')) FROM {table} t")
            found[table] = cursor.fetchone()[0]
    return found


def kept() -> Kept:
    files = {stored.hash: read_file(stored) for stored in StoredFile.objects.all()}
    return Kept(counted(), heads(), files, all_rows())


def folder_for_servers() -> Path:
    """As root the server is another user, who could not get into pytest's own folders."""
    folder = Path(tempfile.mkdtemp(prefix="keep-"))
    folder.chmod(0o755)
    return folder


@pytest.fixture(scope="module")
def cluster(django_db_setup, django_db_blocker) -> Iterator[Cluster]:
    """A server with a firm's data of every kind, which a test may destroy."""
    folder = folder_for_servers()
    with django_db_blocker.unblock():
        made = Cluster(folder)
        with made.database():
            made.empty()
            manager = make_user(
                "Mabel Ledgerton", "office", "engineer", "manager", email="mabel@example.com", second_step=False
            )
            manager.set_password(PASSWORD)
            manager.save()
            everything(manager)
            describe_firm(by=manager, now=NOON, name="Copper Kettle Electrical", phone="01632 960001")
            ask_second_step(of="nobody", by=manager, now=NOON)  # the other machine's secret opens no seed of an app
            store_file(os.urandom(3 << 20), media_type="application/pdf", now=NOON)
        yield made
        if made.server and made.server.poll() is None:
            made.close()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def firm(cluster, django_db_blocker) -> Iterator[Cluster]:
    with django_db_blocker.unblock(), cluster.database():
        yield cluster


@pytest.fixture
def archive(firm, tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("BACKUP_KEY", KEY)
    call_command("backup", str(tmp_path / "firm.backup"), stdout=io.StringIO())
    return tmp_path / "firm.backup"


def restored(archive: Path, *options: str) -> str:
    told = io.StringIO()
    call_command("restore", str(archive), *options, stdout=told)
    return told.getvalue()


def manage(var: Path, *arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """A command of the program as it is installed, with everything below `var`."""
    here = {name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "DJANGO_SETTINGS_MODULE")}
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=TOP,
        env=here | {"JOBSITE_VAR": str(var)} | environment,
        capture_output=True,
        text=True,
        timeout=300,
    )


@contextmanager
def open_database(folder: Path) -> Iterator[None]:
    """This process' connection is to the embedded server on `folder`."""
    sock = embedded.start(folder)
    connection.close()
    before = dict(connection.settings_dict)
    connection.settings_dict.update(HOST=str(sock), NAME="postgres", USER="postgres", PORT="", PASSWORD="")
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict.clear()
        connection.settings_dict.update(before)


def test_it_is_not_restored_over_data_unless_told(firm, archive):
    before = kept()
    with pytest.raises(CommandError, match=r"^Nothing was restored. The database jobsite holds data already .* --over"):
        restored(archive)
    assert kept() == before


def test_over_data_the_former_database_is_kept(firm, archive):
    before = kept()
    User.objects.filter(email="mabel@example.com").update(name="Somebody Else")
    told = restored(archive, "--over", "--nothing-sent-since")
    aside = told.partition("The former database is kept as ")[2].partition(":")[0]
    assert aside.startswith("jobsite_before_")
    after = kept()
    for one in (before, after):
        del one.rows["firm_heartbeat"], one.tables["firm_heartbeat"]
    assert after == before
    with psycopg.connect(host=str(firm.sock), user="postgres", dbname=aside) as former:
        found = former.execute("SELECT name FROM people_user WHERE email = 'mabel@example.com'").fetchone()
    assert found == ("Somebody Else",)


def altered(archive: Path, how: str) -> None:
    data = bytearray(archive.read_bytes())
    if how == "cut":
        del data[-1000:]
    elif how == "altered":
        data[len(data) // 2] ^= 1
    archive.write_bytes(data)


@pytest.mark.parametrize(
    ("how", "key", "says"),
    [
        ("cut", KEY, "its end is missing"),
        ("altered", KEY, "damaged or was altered"),
        ("whole", KEY + "!", "BACKUP_KEY is not the key of this archive"),
        ("whole", "", "is encrypted"),
        ("gone", KEY, "cannot be read"),
    ],
)
def test_a_wrong_key_or_a_damaged_archive_changes_nothing(firm, archive, monkeypatch, how, key, says):
    before, databases = kept(), names(firm)
    altered(archive, how)
    monkeypatch.setenv("BACKUP_KEY", key)
    if how == "gone":
        archive.unlink()
    with pytest.raises(CommandError, match=says):
        restored(archive, "--check")
    with pytest.raises(CommandError, match=says):
        restored(archive, "--over")
    assert (kept(), names(firm)) == (before, databases)


def names(firm: Cluster) -> list[str]:
    with firm.connect() as server:
        return [name for (name,) in server.execute("SELECT datname FROM pg_database ORDER BY datname").fetchall()]


def test_what_waited_to_be_sent_is_for_a_person_to_decide(firm, archive):
    """A mail that went out after the backup was taken goes out no second time."""
    waited = dict.fromkeys(Message.objects.filter(state__in=["waiting", "sending"]).values_list("pk", flat=True))
    assert waited
    told = restored(archive, "--over")
    assert f"{len(waited)} messages waited then" in told
    found = Message.objects.filter(pk__in=waited).values_list("state", flat=True).distinct()
    assert list(found) == ["unknown"]
    assert set(beats("backup", "restored")) == {"backup", "restored"}
    assert list(faults()) == []


def test_whole_archive_says_so(firm, archive):
    assert restored(archive, "--check").startswith("Whole: made 20")


def test_a_lost_file_is_named_and_the_rest_is_kept(firm, tmp_path):
    lost = store_file(b"soon lost", media_type="text/plain", now=NOON)
    default_storage.delete(path_of(lost.hash))
    with pytest.raises(CommandError, match=rf"lost or altered 1 files.*{lost.hash[:12]}"):
        call_command("backup", str(tmp_path / "firm.backup"), stdout=io.StringIO())
    assert "1 files were missing already" in restored(tmp_path / "firm.backup", "--over")
    store_file(b"soon lost", media_type="text/plain", now=NOON)


def test_an_altered_ledger_in_an_archive_is_not_restored(firm, tmp_path):
    entry = Entry.objects.order_by("chain", "number").first()
    rewrite = "UPDATE ledger_entry SET verb = %s WHERE id = %s"
    with connection.cursor() as cursor:
        cursor.execute("SET session_replication_role = replica")
        cursor.execute(rewrite, ["made-up", entry.pk])
    call_command("backup", str(tmp_path / "firm.backup"), stdout=io.StringIO())
    databases = names(firm)
    with pytest.raises(CommandError, match="The ledger in the archive does not hold"):
        restored(tmp_path / "firm.backup", "--over")
    assert names(firm) == databases
    with connection.cursor() as cursor:
        cursor.execute("SET session_replication_role = replica")
        cursor.execute(rewrite, [entry.verb, entry.pk])
    connection.close()


def test_of_a_later_version_nothing_is_restored(firm, archive, monkeypatch):
    with connection.cursor() as cursor:
        cursor.execute("INSERT INTO django_migrations (app, name, applied) VALUES ('firm', '9999_later', now())")
    call_command("backup", str(archive), stdout=io.StringIO())
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM django_migrations WHERE name = '9999_later'")
    with pytest.raises(CommandError, match=r"another version of the program, which knows firm\.9999_later"):
        restored(archive, "--over")


def test_archives_are_named_by_their_time_and_the_latest_are_kept(firm, settings, time_machine):
    for hour in (6, 7, 8):
        time_machine.move_to(NOON.replace(hour=hour), tick=False)
        call_command("backup", keep=2, stdout=io.StringIO())
    folder = settings.VAR / "backups"
    assert [path.name for path in sorted(folder.iterdir())] == [
        f"{NOON:%Y-%m-%d}T070000Z.backup",
        f"{NOON:%Y-%m-%d}T080000Z.backup",
    ]
    assert {path.stat().st_mode & 0o777 for path in folder.iterdir()} == {0o600}
    shutil.rmtree(folder)


def test_while_files_are_lost_no_archive_that_may_hold_them_goes(firm, settings, time_machine):
    folder = settings.VAR / "backups"
    lost = store_file(b"only in the first archive", media_type="text/plain", now=NOON)
    time_machine.move_to(NOON.replace(hour=6), tick=False)
    call_command("backup", keep=1, stdout=io.StringIO())
    whole = beats(BACKED_UP)
    default_storage.delete(path_of(lost.hash))
    for hour in (7, 8):
        time_machine.move_to(NOON.replace(hour=hour), tick=False)
        with pytest.raises(CommandError, match="none was removed"):
            call_command("backup", keep=1, stdout=io.StringIO())
    assert len(list(folder.iterdir())) == 3
    assert beats(BACKED_UP) == whole
    said = service_page(clock.now())
    assert "lacks files that the storage has lost" in said["caution"]
    assert ("Last backup with files missing", when(clock.now())) in said["parts"]
    store_file(b"only in the first archive", media_type="text/plain", now=NOON)
    time_machine.move_to(NOON.replace(hour=9), tick=False)
    call_command("backup", keep=1, stdout=io.StringIO())
    assert [path.name for path in folder.iterdir()] == [f"{NOON:%Y-%m-%d}T090000Z.backup"]
    assert service_page(clock.now())["caution"] == ""
    shutil.rmtree(folder)


def test_a_weak_key_makes_no_backup(firm, tmp_path, monkeypatch):
    monkeypatch.setenv("BACKUP_KEY", "guessable")
    with pytest.raises(CommandError, match="at least 24 characters"):
        call_command("backup", str(tmp_path / "firm.backup"))
    assert not list(tmp_path.iterdir())


def test_a_failing_dump_leaves_no_archive(firm, tmp_path, monkeypatch):
    """A program that is none of PostgreSQL's stands in for one that breaks."""
    broken = tmp_path / "bin" / "pg_dump"
    broken.parent.mkdir()
    broken.write_text(
        '#!/bin/sh\n[ "$1" = --version ] && echo "pg_dump (PostgreSQL) 18.6" && exit\necho no room >&2; exit 1\n'
    )
    broken.chmod(0o755)
    monkeypatch.setenv("PG_PROGRAMS", str(broken.parent))
    with pytest.raises(CommandError, match="No backup was made: pg_dump failed: no room"):
        call_command("backup", str(tmp_path / "firm.backup"))
    assert [path.name for path in tmp_path.iterdir()] == ["bin"]


def test_a_firm_destroyed_comes_back_on_an_empty_machine(firm, archive, settings):
    before = kept()
    assert len(before.files) > 5
    assert Entry.objects.exists()
    assert sum(before.tables.values()) > 100
    firm.close()  # the database is gone, and its folder
    shutil.rmtree(settings.VAR / "files")
    var = folder_for_servers()
    done = manage(var, "restore", str(archive), "--nothing-sent-since", BACKUP_KEY=KEY)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "SECRET_KEY is not the one of then" in done.stdout
    with open_database(var / "postgres"):
        settings.STORAGES = {
            **settings.STORAGES,
            "default": {**settings.STORAGES["default"], "OPTIONS": {"location": str(var / "files")}},
        }
        after = kept()
        del after.tables["firm_heartbeat"], after.rows["firm_heartbeat"]
        for told in (before.tables, before.rows):
            del told["firm_heartbeat"]
        assert after == before
        assert list(faults(before.heads)) == []
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT count(*) FROM {WITHOUT_ROWS[1]}")
            assert cursor.fetchone() == (0,)
        client = Client()
        told = client.post("/accounts/login/", {"login": "mabel@example.com", "password": PASSWORD})
        assert (told.status_code, told.headers.get("Location")) == (302, "/")
        assert "Copper Kettle Electrical" in client.get("/people/firm/").text
        call_command("migrate", check=True, verbosity=0)
