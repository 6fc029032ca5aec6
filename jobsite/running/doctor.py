"""What is set up wrongly, in words, for whoever looks after the machine: `manage.py doctor`.

Each check is a function that yields findings and changes nothing. One that fails itself is a finding too.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path

from django.conf import settings
from django.core.cache import cache
from django.core.files.storage import default_storage
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from redis import Redis

from jobsite.firm.models import FIRST_START, Heartbeat, Progress
from jobsite.ledger.files import path_of
from jobsite.ledger.models import StoredFile
from jobsite.messages.models import Message
from jobsite.running import programs
from jobsite.running.operations import BACKED_UP, BACKED_UP_IN_PART
from jobsite.running.queries import backup_caution
from jobsite.running.sealed import key_is_weak
from jobsite.words import many, when

STALE = timedelta(minutes=30)
APART = timedelta(seconds=5)  # two clocks of one service
LEAST_FREE = 0.1  # of the disk
FILES_LOOKED_AT = 200
LEAST_POSTGRES = 18


@dataclass(frozen=True)
class Finding:
    """`wrong`: the service fails or loses something by it; else it is worth knowing."""

    wrong: bool
    words: str


def wrong(words: str) -> Finding:
    return Finding(True, words)


def worth_knowing(words: str) -> Finding:
    return Finding(False, words)


def examine(now: datetime) -> Iterator[Finding]:
    """All that is found, check by check. What needs the database is not asked where that does not answer."""
    yield from _apart(_addresses, now)
    yield from _apart(_mail, now)
    yield from _apart(_database, now)
    if connection.connection is None:
        return
    for check in (
        _migrations,
        _server_settings,
        _triggers,
        _cache,
        _broker,
        _clockwork,
        _stuck,
        _files,
        _disk,
        _backups,
    ):
        yield from _apart(check, now)


def _apart(check: Callable[[datetime], Iterator[Finding]], now: datetime) -> Iterator[Finding]:
    try:
        yield from check(now)
    except Exception as error:  # noqa: BLE001  whatever it is, the other checks go on
        what = check.__name__.strip("_").replace("_", " ")
        connection.close()
        yield wrong(f"Looking at {what} failed: {type(error).__name__}: {str(error).strip()[:300]}")


def _addresses(now: datetime) -> Iterator[Finding]:
    if settings.DEBUG:
        yield wrong(
            "DEBUG is on: error pages show the program and its settings to anybody. Take it out of the environment."
        )
    if settings.EMBEDDED:
        return
    host = settings.SITE_ADDRESS.partition("://")[2].partition("/")[0].partition(":")[0]
    if host not in settings.ALLOWED_HOSTS and "*" not in settings.ALLOWED_HOSTS:
        yield wrong(f"SITE_ADDRESS names {host}, which is not in ALLOWED_HOSTS: links in mails open nothing.")
    if "*" in settings.ALLOWED_HOSTS:
        yield wrong("ALLOWED_HOSTS takes any name: links in password mails could lead elsewhere. Name your own hosts.")
    if not settings.HTTPS:
        yield wrong(
            "HTTPS is off: passwords and private links cross the network readable. Only for one computer or a test."
        )
    elif not settings.SITE_ADDRESS.startswith("https://"):
        yield wrong(
            "SITE_ADDRESS does not begin with https://, so links in mails lead to a page that is not encrypted."
        )
    if settings.HTTPS and not settings.TRUSTED_PROXIES:
        yield wrong(
            "TRUSTED_PROXIES is 0 although https ends at a proxy: every page would lead to itself for ever, and all wrong links "
            "would count for one address. Name how many proxies of yours stand in front, mostly 1."
        )


def _mail(now: datetime) -> Iterator[Finding]:
    if not settings.EMAIL_URL:
        say = worth_knowing if settings.EMBEDDED else wrong
        yield say("EMAIL_URL is not set: mails are written as files below var/mail, and nobody gets them.")
    if settings.EMAIL_URL and settings.DEFAULT_FROM_EMAIL.endswith("@example.com"):
        yield wrong("FROM_EMAIL is the made-up office@example.com: mail servers refuse it. Name an address of yours.")
    if settings.EMAIL_URL and not settings.RETURN_EMAIL:
        yield worth_knowing("RETURN_EMAIL is not set: mails that come back are not noted. See manage.py take_returned.")


def _database(now: datetime) -> Iterator[Finding]:
    try:
        connection.ensure_connection()
    except Exception as error:  # noqa: BLE001
        yield wrong(f"The database does not answer: {str(error).strip()[:300]}")
        return
    major = programs.server_major()
    if major < LEAST_POSTGRES:
        yield wrong(f"The database is PostgreSQL {major}; the program needs {LEAST_POSTGRES}.")
    with connection.cursor() as cursor:
        cursor.execute("SELECT clock_timestamp()")
        apart = abs(cursor.fetchone()[0] - datetime.now(now.tzinfo))
    if apart > APART:
        yield wrong(
            f"The clocks of this machine and the database are {apart.total_seconds():.0f} s apart: keep both in time."
        )


def _migrations(now: datetime) -> Iterator[Finding]:
    executor = MigrationExecutor(connection)
    if plan := executor.migration_plan(executor.loader.graph.leaf_nodes()):
        yield wrong(f"{many(len(plan), 'migration')} did not run, the first is {plan[0][0]}: manage.py migrate.")


def _server_settings(now: datetime) -> Iterator[Finding]:
    names = ("fsync", "full_page_writes", "synchronous_commit", "archive_mode", "archive_timeout", "data_checksums")
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, setting FROM pg_settings WHERE name = ANY(%s)", [list(names)])
        found = dict(cursor.fetchall())
        cursor.execute("SELECT last_failed_time > coalesce(last_archived_time, '-infinity') FROM pg_stat_archiver")
        failing = cursor.fetchone()[0]
    for name in ("fsync", "full_page_writes", "synchronous_commit"):
        if found[name] == "off":
            yield wrong(f"{name} is off in PostgreSQL: a power cut loses or spoils what was entered. Switch it on.")
    if found["data_checksums"] == "off":
        yield worth_knowing(
            "The database keeps no checksums: a disk that spoils data is not found out (pg_checksums --enable)."
        )
    if found["archive_mode"] == "off":
        yield worth_knowing(
            "WAL archiving is off: a lost disk loses all since the last backup. DEVELOPERS.md says how to switch it on."
        )
        return
    if failing:
        yield wrong(
            "WAL archiving fails: nothing since then is safe elsewhere. PostgreSQL's log says why (archive_command)."
        )
    if not 0 < int(found["archive_timeout"]) <= 300:
        yield wrong("archive_timeout is not between 1 and 300 s: a lost disk may lose more than five minutes of work.")


def _triggers(now: datetime) -> Iterator[Finding]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT tgrelid::regclass::text, tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled = 'D' ORDER BY 1, 2"
        )
        off = cursor.fetchall()
    if off:
        tables = ", ".join(sorted({table for table, _ in off}))
        yield wrong(
            f"{many(len(off), 'trigger')} of {tables} switched off: what must not be changed can be. Look who did it."
        )


def _cache(now: datetime) -> Iterator[Finding]:
    cache.has_key("doctor")  # which asks Redis itself, where the rest falls back on the table
    cache.set("doctor", now.isoformat(), 60)
    if cache.get("doctor") != now.isoformat():
        yield wrong("The cache does not keep what is put in it: wrong links and passwords are not counted.")


def _broker(now: datetime) -> Iterator[Finding]:
    if not settings.REDIS_URL:
        if not settings.EMBEDDED:
            yield worth_knowing("REDIS_URL is not set: tasks go through a folder, which works on one machine only.")
        return
    with Redis.from_url(settings.REDIS_URL, socket_timeout=3, socket_connect_timeout=3) as redis:
        policy = redis.info("memory").get("maxmemory_policy", "noeviction")  # type: ignore[union-attr]
    if policy != "noeviction":
        yield wrong(
            f"Redis throws away what it likes when it is full (maxmemory-policy {policy}): set it to noeviction."
        )


def _clockwork(now: datetime) -> Iterator[Finding]:
    known = dict(Heartbeat.objects.values_list("name", "at"))
    since = known.get(FIRST_START)
    for name, said in (("sweep", "Reminders were last written"), ("sending", "Messages were last sent")):
        last = known.get(name)
        if last is None and since is not None and now - since < STALE:
            continue
        if last is None or now - last > STALE:
            yield wrong(
                f"{said} {'on ' + when(last) if last else 'never'}: the worker or beat does not run, or cannot."
            )
        elif last > now + STALE:
            yield wrong(f"{said} on {when(last)}, which is to come: the machine's clock was set back.")


def _stuck(now: datetime) -> Iterator[Finding]:
    waiting = Message.objects.filter(state=Message.State.WAITING, next_try_at__lt=now - timedelta(hours=1)).count()
    if waiting:
        yield wrong(f"{many(waiting, 'message')} should have gone out more than an hour ago: look at the mail server.")
    if unknown := Message.objects.filter(state=Message.State.UNKNOWN).count():
        yield worth_knowing(
            f"Of {many(unknown, 'message')} it is not known whether they were sent: the office decides."
        )
    unfinished = Progress.objects.filter(
        state__in=["waiting", "running"], changed_at__lt=now - timedelta(hours=1)
    ).count()
    if unfinished:
        yield wrong(f"{many(unfinished, 'piece')} of long work did not move for an hour: look at the worker.")


def _files(now: datetime) -> Iterator[Finding]:
    rows = list(
        islice(StoredFile.objects.order_by("-stored_at").values_list("hash", "size").iterator(), FILES_LOOKED_AT)
    )
    lost = [
        name
        for name, size in rows
        if not default_storage.exists(path_of(name)) or default_storage.size(path_of(name)) != size
    ]
    if lost:
        yield wrong(
            f"Of the {len(rows)} latest files {len(lost)} are missing or of another size, such as {lost[0][:12]}: "
            f"is the folder of files the right one?"
        )
    folder = _folder()
    if folder and folder.exists() and not os.access(folder, os.W_OK):
        yield wrong(f"This user may not write into {folder}: no photograph can be kept.")


def _disk(now: datetime) -> Iterator[Finding]:
    folder = _folder() or settings.VAR
    while not folder.exists():
        folder = folder.parent
    use = shutil.disk_usage(folder)
    if use.free / use.total < LEAST_FREE:
        yield wrong(f"The disk of {folder} is nearly full: {use.free / 2**30:.1f} GB are free.")


def _folder() -> Path | None:
    location = getattr(default_storage, "location", None)
    return Path(location) if location else None


def _backups(now: datetime) -> Iterator[Finding]:
    say = worth_knowing if settings.EMBEDDED else wrong
    known = dict(Heartbeat.objects.filter(pk__in=[BACKED_UP, BACKED_UP_IN_PART]).values_list("name", "at"))
    if caution := backup_caution(known, now):
        yield say(caution)
    key = os.environ.get("BACKUP_KEY", "")
    if not key:
        yield worth_knowing(
            "BACKUP_KEY is not set here: backups are not encrypted. Make one with manage.py backup --new-key."
        )
    elif why := key_is_weak(key):
        yield wrong(f"{why}.")
    programs.program("pg_dump")
    programs.program("pg_restore")
