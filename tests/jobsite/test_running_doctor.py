"""The doctor says what is wrong in words, each of them only where it is so, and ends with an error."""

import io
import os
import subprocess
import sys
from datetime import timedelta

import pytest
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection

from jobsite.firm.models import FIRST_START, Heartbeat
from jobsite.firm.operations import beat
from jobsite.ledger.files import path_of, store_file
from jobsite.messages.models import Message
from jobsite.running.doctor import examine
from jobsite.running.operations import note_backed_up
from tests.factories import NOON
from tests.readme import TOP

pytestmark = pytest.mark.django_db


@pytest.fixture
def well(settings, monkeypatch, time_machine):
    """A service open to others in which nothing is wrong, but for the test database's own WAL."""
    time_machine.move_to(NOON, tick=False)
    settings.EMBEDDED, settings.HTTPS, settings.TRUSTED_PROXIES = False, True, 1
    settings.ALLOWED_HOSTS, settings.SITE_ADDRESS = ["works.example.com"], "https://works.example.com"
    settings.EMAIL_URL, settings.DEFAULT_FROM_EMAIL = "smtp://mail", "office@works.example.net"
    settings.RETURN_EMAIL = "back@works.example.net"
    monkeypatch.setenv("BACKUP_KEY", "correct-horse-9-battery-staple-42")
    for name in ("sweep", "sending"):
        beat(name, now=NOON)
    note_backed_up(whole=True, now=NOON)
    return settings


def found(*, wrong: bool = True) -> list[str]:
    """What is found; the clocks of a test and its database are years apart, which is a finding of its own."""
    words = [finding.words for finding in examine(NOON) if finding.wrong is wrong]
    return [said for said in words if not said.startswith("The clocks of this machine")]


def test_nothing_is_wrong_where_all_is_well(well):
    assert found() == []
    assert [words.partition(":")[0] for words in found(wrong=False)] == [
        "WAL archiving is off", "REDIS_URL is not set",
    ]  # fmt: skip


SETTINGS = [
    ("DEBUG", True, "DEBUG is on"),
    ("ALLOWED_HOSTS", ["other.example.com"], "SITE_ADDRESS names works.example.com, which is not in ALLOWED_HOSTS"),
    ("ALLOWED_HOSTS", ["*"], "ALLOWED_HOSTS takes any name"),
    ("HTTPS", False, "HTTPS is off"),
    ("SITE_ADDRESS", "http://works.example.com", "SITE_ADDRESS does not begin with https://"),
    ("TRUSTED_PROXIES", 0, "TRUSTED_PROXIES is 0 although https ends at a proxy"),
    ("EMAIL_URL", "", "EMAIL_URL is not set"),
    ("DEFAULT_FROM_EMAIL", "office@example.com", "FROM_EMAIL is the made-up"),
]


@pytest.mark.parametrize(("name", "value", "says"), SETTINGS)
def test_settings(well, name, value, says):
    setattr(well, name, value)
    (words,) = found()
    assert words.startswith(says)


def test_clockwork_that_stopped_never_ran_or_ran_in_the_future(well):
    beat("sweep", now=NOON - timedelta(minutes=31))
    beat("sending", now=NOON + timedelta(days=1))
    assert [words.partition(" on ")[0] for words in found()] == [
        "Reminders were last written",
        "Messages were last sent",
    ]
    Heartbeat.objects.filter(name__in=["sweep", "sending"]).delete()
    assert [words.partition(":")[0] for words in found()] == [
        "Reminders were last written never", "Messages were last sent never",
    ]  # fmt: skip
    beat(FIRST_START, now=NOON - timedelta(minutes=5))
    assert found() == []


def test_messages_that_wait(well, site):
    Message.objects.create(
        occasion="late", to_kind="staff", to_id=site.pk, address="a@example.com", subject="s", body="b",
        written_at=NOON, next_try_at=NOON - timedelta(hours=2),
    )  # fmt: skip
    assert found() == ["1 message should have gone out more than an hour ago: look at the mail server."]


def test_files_that_are_gone(well):
    stored = store_file(b"here and gone", media_type="text/plain", now=NOON)
    assert found() == []
    default_storage.delete(path_of(stored.hash))
    assert found()[0].startswith(f"Of the 1 latest files 1 are missing or of another size, such as {stored.hash[:12]}")


def test_triggers_that_are_off(well):
    with connection.cursor() as cursor:
        cursor.execute("SELECT tgname FROM pg_trigger WHERE tgrelid = 'ledger_words'::regclass AND NOT tgisinternal")
        cursor.execute(f'ALTER TABLE ledger_words DISABLE TRIGGER "{cursor.fetchone()[0]}"')
    assert found() == ["1 trigger of ledger_words switched off: what must not be changed can be. Look who did it."]


def test_migrations_that_did_not_run(well):
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM django_migrations WHERE app = 'running'")
    assert found()[0].startswith("1 migration did not run, the first is running.0001_start: manage.py migrate.")


@pytest.mark.parametrize(
    ("key", "hours", "says"),
    [
        ("weak", 0, "BACKUP_KEY must be at least"),
        ("correct-horse-9-battery-staple-42", 27, "The last backup is more than a day old"),
        ("correct-horse-9-battery-staple-42", 72, "The last backup is 3 days old"),
    ],
)
def test_backups(well, monkeypatch, key, hours, says):
    monkeypatch.setenv("BACKUP_KEY", key)
    note_backed_up(whole=True, now=NOON - timedelta(hours=hours))
    assert [words.startswith(says) for words in found()] == [True]


def test_no_program_to_back_up_with(well, monkeypatch, tmp_path):
    monkeypatch.setenv("PG_PROGRAMS", str(tmp_path))
    (words,) = found()
    assert words.startswith("Looking at backups failed: NoProgram: The server is PostgreSQL 18")


def test_the_command_ends_with_an_error(well):
    well.DEBUG = True
    told = io.StringIO()
    with pytest.raises(CommandError, match=r"things? (is|are) wrong"):
        call_command("doctor", stdout=told)
    assert told.getvalue().startswith("WRONG  DEBUG is on")
    assert "\nNote   REDIS_URL is not set" in told.getvalue()


def test_a_database_that_is_down_is_said_in_words():
    """The real command, with a server that nobody runs."""
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "jobsite.settings",
        "DATABASE_URL": "postgres://nobody@127.0.0.1:9/none",
        "SECRET_KEY": "made-up-for-this-check-only-kM3vQ8zR1tX6yB0nL5wJ9cF2hG7sD4a",
        "ALLOWED_HOSTS": "works.example.com",
    }
    done = subprocess.run(
        [sys.executable, "manage.py", "doctor"], cwd=TOP, env=environment, capture_output=True, text=True
    )
    assert done.returncode == 1
    assert "WRONG  The database does not answer: " in done.stdout
    assert "Traceback" not in done.stdout + done.stderr
