"""The disk is lost, or somebody made a great mistake: back to any instant, by WAL that was archived meanwhile.

What DEVELOPERS.md says to set is set here, but for `archive_timeout`, which is a second so that the test need not wait.
"""

import shutil
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import connection

from jobsite import embedded
from jobsite.firm.operations import describe_firm
from jobsite.ledger.queries import faults
from jobsite.people.models import User
from jobsite.premises.models import Site
from tests.factories import NOON, make_site, make_user
from tests.faults.cluster import Cluster, _give, _told
from tests.jobsite.test_running_backup import folder_for_servers


class Archived(Cluster):
    """A server that puts each piece of WAL beside, as soon as it is full or a second old."""

    def __init__(self, folder: Path) -> None:
        self.wal, self.base = folder / "wal", folder / "base"
        super().__init__(folder)
        for place in (self.wal, self.base):
            place.mkdir()
            _give(place)
        self.stop(signal.SIGINT)
        self.set(
            "archive_mode = on",
            f"archive_command = 'test ! -f {self.wal}/%f && cp %p {self.wal}/%f'",
            "archive_timeout = 1",
        )
        self.start()

    def set(self, *lines: str) -> None:
        with open(self.data / "postgresql.conf", "a") as conf:
            conf.write("\n".join(["", *lines, ""]))

    def take_base(self) -> None:
        _told("pg_basebackup", "-h", str(self.sock), "-U", "postgres", "-D", str(self.base), "-X", "none", "-c", "fast")

    def wait_until_archived(self, seconds: float = 30) -> None:
        """Until what was committed by now is in the archive."""
        until = time.monotonic() + seconds
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_walfile_name(pg_current_wal_insert_lsn())")
            (wanted,) = cursor.fetchone()
            while not (self.wal / wanted).exists():
                assert time.monotonic() < until, "the WAL was not archived"
                time.sleep(0.1)

    def lose(self) -> None:
        """The machine goes down at once, and its disk with it."""
        self.stop(signal.SIGKILL)
        shutil.rmtree(self.data)

    def recover(self, *target: str) -> None:
        """What DEVELOPERS.md says: the base back, where the WAL is, up to when."""
        shutil.copytree(self.base, self.data)
        (self.data / "recovery.signal").touch()
        self.set("archive_mode = off", f"restore_command = 'cp {self.wal}/%f %p'", *target)
        _give(self.data)
        embedded.forget_dead(self.data, self.sock)
        self.start()
        until = time.monotonic() + 60
        while True:
            with self.connect() as looking:
                if not looking.execute("SELECT pg_is_in_recovery()").fetchone()[0]:
                    return
            assert time.monotonic() < until, "the recovery did not end"
            time.sleep(0.1)


@pytest.fixture
def firm(django_db_setup, django_db_blocker) -> Iterator[Archived]:
    folder = folder_for_servers()
    with django_db_blocker.unblock():
        made = Archived(folder)
        try:
            with made.database():
                made.empty()
                yield made
        finally:
            if made.server and made.server.poll() is None:
                made.close()
            shutil.rmtree(folder, ignore_errors=True)


def work(manager: User, name: str) -> str:
    """Something is entered; returns the instant after it by the database's clock."""
    make_site(name)
    describe_firm(by=manager, now=NOON, name=f"Firm of {name}")
    with connection.cursor() as cursor:
        cursor.execute("SELECT clock_timestamp()::text")
        return str(cursor.fetchone()[0])


def names() -> list[str]:
    return sorted(Site.objects.values_list("name", flat=True))


def test_back_to_the_instant_before_a_mistake(firm):
    manager = make_user("Mabel Ledgerton", "manager")
    work(manager, "Before the base")
    firm.take_base()
    good = work(manager, "After the base")
    time.sleep(0.05)
    work(manager, "The mistake")
    firm.wait_until_archived()
    firm.lose()
    firm.recover(f"recovery_target_time = '{good}'", "recovery_target_action = promote")
    assert names() == ["After the base", "Before the base"]
    assert list(faults()) == []
    work(manager, "Work goes on")


def test_a_lost_disk_loses_nothing_that_was_archived(firm):
    manager = make_user("Mabel Ledgerton", "manager")
    firm.take_base()
    for number in range(5):
        work(manager, f"Site {number}")
    firm.wait_until_archived()
    firm.lose()
    firm.recover()
    assert names() == [f"Site {number}" for number in range(5)]
    assert list(faults()) == []
