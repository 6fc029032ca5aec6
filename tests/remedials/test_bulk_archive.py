"""Everything out of a firm with every kind of row and back into an empty one: the same rows, ledger and files, or nothing."""

import hashlib
import io
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile

import pytest
from django.conf import settings as installed
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client

from jobsite.firm.operations import describe_firm
from jobsite.ledger.files import read_file
from jobsite.ledger.models import StoredFile
from jobsite.ledger.queries import faults, heads
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink, User
from remedials.desk.bulk.kinds import SECRET_ROWS, all_models, kinds, label_of
from remedials.desk.bulk.writing import line_fingerprint, save_archive
from tests.factories import NOON, make_user
from tests.faults.cluster import Cluster
from tests.faults.world import everything
from tests.jobsite.test_running_backup import PASSWORD, all_rows, folder_for_servers
from tests.readme import TOP
from tests.remedials.bulk_rows import fill_the_rest


def every_row() -> dict[str, str]:
    """A digest of all rows of each table that is taken out."""
    tables = {kind.table for kind in kinds(secrets=True)}
    return {name: digest for name, digest in all_rows().items() if name in tables}


def files() -> dict[str, bytes]:
    return {stored.hash: read_file(stored) for stored in StoredFile.objects.all()}


@pytest.fixture(scope="module")
def source(django_db_setup, django_db_blocker) -> Iterator[Cluster]:
    """A server with a firm's data of every kind; nothing in this file changes it."""
    folder = folder_for_servers()
    with django_db_blocker.unblock():
        made = Cluster(folder)
        with made.database():
            made.empty()
            manager = make_user("Mabel Ledgerton", "office", "engineer", "manager", email="mabel@example.com")
            manager.set_password(PASSWORD)
            manager.save()
            everything(manager)
            describe_firm(by=manager, now=NOON, name="Copper Kettle Electrical", phone="01632 960001")
            assert fill_the_rest() == []
        yield made
        made.close()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="module")
def other(django_db_setup, django_db_blocker) -> Iterator[Cluster]:
    """A server with an empty firm, which each test leaves empty."""
    folder = folder_for_servers()
    with django_db_blocker.unblock():
        made = Cluster(folder)
        with made.database():
            made.empty()
        yield made
        made.close()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def empty(other, django_db_blocker) -> Iterator[Cluster]:
    with django_db_blocker.unblock(), other.database():
        yield other
        other.empty()


@pytest.fixture(scope="module")
def kept(source, django_db_blocker):
    """What the firm's data are: rows, heads of the ledger, files."""
    with django_db_blocker.unblock(), source.database():
        return every_row(), heads(), files()


@pytest.fixture(scope="module")
def made(source, kept, django_db_blocker, tmp_path_factory) -> dict[bool, Path]:
    """The firm's archives: with what is secret, and without."""
    folder = tmp_path_factory.mktemp("taken-out")
    found = {secrets: folder / f"{secrets}.zip" for secrets in (True, False)}
    with django_db_blocker.unblock(), source.database():
        for secrets, path in found.items():
            save_archive(path, secrets=secrets, now=NOON)
    return found


def brought_in(path: Path, *options: str) -> str:
    told = io.StringIO()
    call_command("bring_in", str(path), *options, stdout=told)
    return told.getvalue()


def refusal(path: Path) -> str:
    """Why it is not brought in; nothing is there afterwards."""
    with pytest.raises(CommandError) as refused:
        brought_in(path)
    assert rows() == {}
    return str(refused.value).removeprefix("Nothing was brought in. ")


def rows() -> dict[str, int]:
    """The tables that hold anything, but for those that an empty firm has filled."""
    found = {}
    with connection.cursor() as cursor:
        for kind in kinds(secrets=True):
            cursor.execute(f"SELECT count(*) FROM {kind.table}")
            if count := cursor.fetchone()[0]:
                found[kind.table] = count
    return found


def test_all_comes_back_as_it_was(kept, made, empty, settings, tmp_path):
    settings.STORAGES = settings.STORAGES | {
        "default": {**settings.STORAGES["default"], "OPTIONS": {"location": str(tmp_path / "files")}}
    }
    told = brought_in(made[True], "--nothing-sent-since")
    assert (every_row(), heads(), files()) == kept
    assert list(faults(kept[1])) == []
    assert f"{sum(rows().values()):,} rows, {len(kept[2])} files." in told
    client = Client()
    wrong = client.post("/accounts/login/", {"login": "mabel@example.com", "password": f"{PASSWORD}!"})
    answer = client.post("/accounts/login/", {"login": "mabel@example.com", "password": PASSWORD})
    # The password is right, and the second step came with it: it is asked for.
    assert (answer.status_code, answer.headers["Location"]) == (302, "/accounts/2fa/authenticate/")
    assert wrong.headers.get("Location") is None
    client.force_login(User.objects.get(email="mabel@example.com"))
    assert "Copper Kettle Electrical" in client.get("/people/firm/").text


def test_a_firm_here_has_every_kind_of_row(made):
    """Else the other tests would prove nothing of what is missing."""
    with ZipFile(made[True]) as archive:
        said = json.loads(archive.read("manifest.json"))
    assert [name for name, table in said["tables"].items() if not table["rows"]] == []
    assert {kind.table for kind in kinds(secrets=True)} == set(said["tables"])


def test_without_secrets_nothing_in_it_opens_anything(source, made, empty):
    """All but the secrets is the same; the manager sets a password by the link that the command prints."""
    with ZipFile(made[False]) as archive:
        words = b"".join(archive.read(name) for name in archive.namelist() if not name.startswith("files/"))
    with source.database():
        manager = User.objects.get(email="mabel@example.com")
        secrets = [
            manager.password,
            *(bytes(row).hex() for row in PrivateLink.objects.values_list("token_hash", flat=True)),
        ]
    assert [secret for secret in secrets if secret.encode() in words] == []
    told = brought_in(made[False], "--nothing-sent-since")
    for model in all_models():
        assert label_of(model) not in SECRET_ROWS or not model._base_manager.exists()
    assert not User.objects.get(email="mabel@example.com").has_usable_password()
    path = (
        "/accounts/"
        + told.partition("Mabel Ledgerton sets a password here, once: ")[2].split()[0].partition("/accounts/")[2]
    )
    client = Client()
    form = client.get(path, follow=True)
    client.post(form.redirect_chain[-1][0], {"password1": "lantern and slate 73", "password2": "lantern and slate 73"})
    answer = client.post("/accounts/login/", {"login": "mabel@example.com", "password": "lantern and slate 73"})
    assert (answer.status_code, answer.headers["Location"]) == (302, "/")


def test_it_is_brought_into_an_empty_firm_only(made, empty):
    describe_firm(by=make_user("Ruth Officer", "manager"), now=NOON, name="Another firm")
    before = rows()
    with pytest.raises(CommandError) as refused:
        brought_in(made[True])
    assert str(refused.value).startswith(
        "Nothing was brought in. This installation holds data already (firm, people, addresses to sign in …): an archive goes into"
    )
    assert rows() == before


def test_what_waited_to_be_sent_is_for_a_person_to_decide(made, empty):
    told = brought_in(made[True])
    states = set(Message.objects.values_list("state", flat=True))
    assert "waiting" not in states
    assert "messages waited then and may be sent from where this came from" in told
    assert list(faults()) == []


# --- edited, damaged, of another version -------------------------------------------------------------------------------


def rewritten(source: Path, to: Path, *, consistent: bool = False, **change) -> Path:
    """The archive with members changed: by name a function from bytes to bytes, or None to leave it out.

    `consistent`: all fingerprints are reckoned anew, as somebody would who knows the format.
    """
    with ZipFile(source) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    for name, how in change.items():
        found = next(one for one in parts if one.endswith(name))
        parts[found] = how(parts[found]) if how else None
    parts = {name: data for name, data in parts.items() if data is not None}
    if consistent:
        said = json.loads(parts["manifest.json"])
        for name, table in said["tables"].items():
            lines = parts[f"tables/{name}.jsonl"].splitlines(keepends=True)
            parts[f"lines/{name}.txt"] = b"".join(line_fingerprint(line) + b"\n" for line in lines)
            table["rows"] = len(lines)
            table["sha256"] = hashlib.sha256(parts[f"tables/{name}.jsonl"]).hexdigest()
            table["lines_sha256"] = hashlib.sha256(parts[f"lines/{name}.txt"]).hexdigest()
        parts["manifest.json"] = json.dumps(said).encode()
    with ZipFile(to, "w", ZIP_DEFLATED) as new:
        for name, data in parts.items():
            new.writestr(name, data)
    return to


SITES = "premises_site.jsonl"
OBSERVATIONS = "inspections_observation.jsonl"


def in_line(number: int, old: bytes, new: bytes):
    """A change of one line; fails where there is nothing to change."""

    def change(data: bytes) -> bytes:
        lines = data.splitlines(keepends=True)
        assert old in lines[number - 1]
        lines[number - 1] = lines[number - 1].replace(old, new, 1)
        return b"".join(lines)

    return change


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({OBSERVATIONS: in_line(3, b'"site_id"', b'"site_ib"')}, f"tables/{OBSERVATIONS}, line 3: it was edited."),
        ({OBSERVATIONS: lambda data: data[: data.rindex(b"{")]}, "it is missing, and so are all after it"),
        ({OBSERVATIONS: lambda data: data + b"{}\n"}, ": it was added."),
        ({"lines/premises_site.txt": lambda data: (b"1" if data[:1] == b"0" else b"0") + data[1:]}, "lines/premises_site.txt: it was edited; its fingerprint"),
        ({SITES: None}, f"tables/{SITES} is missing."),
        ({"manifest.json": None}, "This is no archive of manage.py take_out: it has no manifest.json that can be read."),
        ({"manifest.json": lambda data: data[:-20]}, "it has no manifest.json that can be read."),
        ({"manifest.json": lambda data: data.replace(b'"format": 1', b'"format": 2')}, "This archive is of format 2, and this"),
        ({"manifest.json": lambda data: data.replace(b'"format": 1', b'"format": 0')}, "does not say that the archive is of fo"),
        ({"manifest.json": lambda data: data.replace(b"firm.0001_start", b"firm.9999_later")}, "which knows firm.9999_later"),
        (
            {"manifest.json": lambda data: data.replace(b'  "desk.0001_take_outs",\n', b"")},
            "by an earlier version of the program, before desk.0001_take_outs: bring it into an installation of that version",
        ),
        ({"manifest.json": lambda data: data.replace(b'"access_notes"', b'"access_note"')}, "has other columns."),
    ],
)  # fmt: skip
def test_an_edited_archive_is_refused_with_the_place(made, empty, tmp_path, change, says):
    assert says in refusal(rewritten(made[True], tmp_path / "edited.zip", **change))


def test_another_file_in_it_is_named(made, kept, empty, tmp_path):
    name = min(kept[2])
    edited = rewritten(made[True], tmp_path / "edited.zip", **{f"files/{name}": lambda data: data + b" "})
    assert refusal(edited) == f"files/{name}: this is another file than the one that was taken out."


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            {OBSERVATIONS: in_line(2, b'"draft":false', b'"draft":"perhaps"')},
            f"tables/{OBSERVATIONS}, line 2: the database refuses it: invalid input syntax for type boolean",
        ),
        ({SITES: in_line(1, b'"nation":"', b'"nation":7,"nation":"')}, "once they are here"),
        ({SITES: in_line(1, b'"name":"', b'"name":7,"x":"')}, f"tables/{SITES}, line 1: its columns are not those of this table (x)."),
        ({SITES: in_line(1, b'"number":', b'"number":0.')}, f"tables/{SITES}, line 1: "),
        ({SITES: lambda data: b"nonsense\n" + data}, f"tables/{SITES}, line 1: it is no JSON"),
        ({"premises_party.jsonl": lambda _: b""}, f"tables/{SITES}, line 1: the database refuses it: insert or update on table"),
        ({"ledger_entry.jsonl": in_line(1, b'"verb":"', b'"verb":"not.')}, "The ledger in the archive does not hold: Chain "),
        (
            {"ledger_entry.jsonl": lambda data: data[data.index(b"\n") + 1 :]},
            "The ledger in the archive does not hold: Chain ",
        ),
    ],
)  # fmt: skip
def test_one_whose_fingerprints_were_reckoned_anew_must_fit_together_still(made, empty, tmp_path, change, says):
    """What the database, or the chain of the ledger, finds out; against the rest there is --fingerprint."""
    edited = rewritten(made[True], tmp_path / "edited.zip", consistent=True, **change)
    assert says in refusal(edited)


def test_a_reckoned_one_is_found_out_by_the_fingerprint_that_was_told(made, empty, tmp_path):
    with ZipFile(made[True]) as archive:
        told = hashlib.sha256(archive.read("manifest.json")).hexdigest()
    edited = rewritten(
        made[True], tmp_path / "edited.zip", consistent=True, **{SITES: in_line(1, b'"name":"', b'"name":"Not ')}
    )
    with pytest.raises(CommandError, match=r"This is another archive: the SHA-256 of its manifest\.json is"):
        brought_in(edited, "--fingerprint", told)
    assert rows() == {}
    assert brought_in(made[True], "--check", "--fingerprint", told).startswith("Whole: Copper Kettle Electrical as of ")


@pytest.mark.parametrize("how", ["cut", "damaged", "gone", "other"])
def test_a_damaged_archive_changes_nothing(made, empty, tmp_path, how):
    data = bytearray(made[True].read_bytes())
    path = tmp_path / "damaged.zip"
    if how == "cut":
        del data[-1000:]
    elif how == "damaged":
        at = data.index(b"tables/inspections_observation.jsonl") + 400
        data[at : at + 8] = b"\x00" * 8
    elif how == "other":
        data = bytearray(b"PK, but no more")
    if how != "gone":
        path.write_bytes(data)
    says = {"gone": "There is no file", "damaged": "tables/inspections_observation.jsonl"}
    assert says.get(how, "This is no archive of manage.py take_out, or it is cut or damaged") in refusal(path)


# --- killed ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("waits_for", ["visits_timesoffer", "people_privatelink"])
def test_killed_in_the_middle_the_firm_is_as_empty_as_before(made, kept, empty, tmp_path, waits_for):
    """A process is killed while it waits to fill a table that this test holds; then it is brought in as if nothing had been."""
    environment = os.environ | {
        "DATABASE_URL": empty.url,
        "DJANGO_SETTINGS_MODULE": "jobsite.settings",
        "JOBSITE_VAR": str(tmp_path),
        "SECRET_KEY": installed.SECRET_KEY,
        "ALLOWED_HOSTS": "localhost",
    }
    command = [sys.executable, "manage.py", "bring_in", str(made[True])]
    with empty.locked(waits_for, "SHARE") as held:
        running = subprocess.Popen(command, cwd=TOP, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        held.wait_for_somebody(60)
        running.send_signal(signal.SIGKILL)
        told = running.communicate()[0].decode()
    assert "Bringing in " in told
    for _ in range(100):
        with empty.connect() as looking:
            if looking.execute("SELECT count(*) FROM pg_stat_activity WHERE query LIKE 'COPY%'").fetchone() == (0,):
                break
        time.sleep(0.05)
    assert rows() == {}
    brought_in(made[True], "--nothing-sent-since")
    assert (every_row(), heads()) == kept[:2]
