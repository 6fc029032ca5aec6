"""What every test stands on: the test database, a closed network, and the people of a small firm."""

import os
import socket
from collections.abc import Iterator
from datetime import datetime
from ipaddress import ip_address

import hypothesis
import pytest
from django.conf import settings
from django.db import connection
from django.test import TransactionTestCase

from jobsite.garbage import set_aside_what_stays
from tests import emptying, prepared
from tests.factories import NOON, make_qualified, make_site, make_user
from tests.smtp_server import SMTP, SmtpServer

# A time limit on each example fails where the machine is busy and says nothing about the code.
hypothesis.settings.register_profile("house", deadline=None, suppress_health_check=[hypothesis.HealthCheck.too_slow])
hypothesis.settings.load_profile("house")


def pytest_collection_finish() -> None:
    """Thousands of tests stay until the end: without this a tenth of the run's time goes into looking through them."""
    set_aside_what_stays()


# --- the database -----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def django_db_modify_db_settings_tox_suffix() -> None:
    """Name the test database after PYTEST_DB, so that two runs on one machine don't meet; xdist adds its worker."""
    if name := os.environ.get("PYTEST_DB"):
        settings.DATABASES["default"].setdefault("TEST", {})["NAME"] = f"test_{name}"


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings, django_db_blocker) -> None:
    """Migrate once for all processes of all runs and copy that: migrating takes seconds, a copy a part of one."""
    with django_db_blocker.unblock():
        settings.DATABASES["default"].setdefault("TEST", {})["TEMPLATE"] = prepared.template()


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker) -> Iterator[None]:
    """Empty the database quickly after a test with real commits (`emptying.py`).

    Where its user may not, Django's flush does it, for which the ledger's trigger that refuses TRUNCATE must be off.
    """
    patch = pytest.MonkeyPatch()
    with django_db_blocker.unblock():
        if emptying.may_set_triggers_aside():
            patch.setattr(TransactionTestCase, "_fixture_teardown", emptying.empty_quickly)
        else:
            _let_truncate()
    yield
    patch.undo()


def _let_truncate() -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT tgrelid::regclass::text, tgname FROM pg_trigger WHERE tgname LIKE 'pgtrigger_no_truncate%'"
        )
        for table, trigger in cursor.fetchall():
            cursor.execute(f'ALTER TABLE {table} DISABLE TRIGGER "{trigger}"')


# --- the network ------------------------------------------------------------------------------------------------------


class NetworkClosed(RuntimeError):
    """A test tried to reach another machine."""


def _stays_here(family: int, address: object) -> bool:
    if family not in {socket.AF_INET, socket.AF_INET6}:
        return True  # unix sockets
    host = address[0] if isinstance(address, tuple) else ""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


@pytest.fixture(scope="session", autouse=True)
def closed_network() -> Iterator[None]:
    """Refuse connections to other machines: a test that needs one passes here and fails on the next computer."""
    patch = pytest.MonkeyPatch()
    for name in ("connect", "connect_ex"):
        patch.setattr(socket.socket, name, _guarded(getattr(socket.socket, name)))
    yield
    patch.undo()


def _guarded(real):
    def connect(self, address):
        if not _stays_here(self.family, address):
            raise NetworkClosed(f"Tests don't leave this machine, but this one asked for {address!r}.")
        return real(self, address)

    return connect


@pytest.fixture
def smtp(settings) -> Iterator[SmtpServer]:
    """A mail server on this machine, to which what the test sends goes; it takes until it is told otherwise."""
    with SmtpServer() as server:
        settings.EMAIL_BACKEND, settings.EMAIL_HOST, settings.EMAIL_PORT = SMTP, "127.0.0.1", server.port
        yield server


# --- people -----------------------------------------------------------------------------------------------------------


@pytest.fixture
def now() -> datetime:
    """A fixed instant: noon on an ordinary winter Tuesday, when London's clock shows UTC."""
    return NOON


@pytest.fixture
def office(db):
    """Schedules, prices and speaks with customers."""
    return make_user("Olive Deskworth", "office")


@pytest.fixture
def engineer(db):
    return make_user("Edwin Wireman", "engineer")


@pytest.fixture
def other_engineer(db):
    return make_user("Otto Ampleby", "engineer")


@pytest.fixture
def manager(db):
    return make_user("Mabel Ledgerton", "manager")


@pytest.fixture
def qualified(db):
    """An engineer whom the firm records as a qualified person, since long before `now`."""
    return make_qualified()


@pytest.fixture
def subcontractor(db):
    """An engineer from outside, who sees only the sites of their own visits."""
    return make_user("Sid Lent", "engineer", subcontractor=True)


@pytest.fixture
def site(db):
    """A plain house: one unit, one single-phase supply."""
    return make_site()
