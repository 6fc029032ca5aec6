"""What every test stands on: the test database, a closed network, and the people of a small firm."""

import os
import socket
from collections.abc import Iterator
from datetime import UTC, datetime
from ipaddress import ip_address

import pytest
from django.conf import settings
from django.db import connection

NOON = datetime(2026, 2, 3, 12, 0, tzinfo=UTC)


# --- the database -----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def django_db_modify_db_settings_tox_suffix() -> None:
    """Name the test database after PYTEST_DB, so that two runs on one machine don't meet; xdist adds its worker."""
    if name := os.environ.get("PYTEST_DB"):
        settings.DATABASES["default"].setdefault("TEST", {})["NAME"] = f"test_{name}"


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker) -> None:
    """Let the flush after a test with real commits empty the ledger, whose trigger refuses TRUNCATE elsewhere."""
    with django_db_blocker.unblock(), connection.cursor() as cursor:
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


# --- people -----------------------------------------------------------------------------------------------------------


@pytest.fixture
def now() -> datetime:
    """A fixed instant: noon on an ordinary winter Tuesday, when London's clock shows UTC."""
    return NOON


def make_user(name: str, *roles: str):
    """A person of the firm with a password ("a long password") and a confirmed address, as an invitation leaves them."""
    from allauth.account.models import EmailAddress

    from jobsite.people.models import User

    user = User(name=name, email=f"{name.split(maxsplit=1)[0].lower()}@example.com", roles=list(roles))
    user.set_password("a long password")
    user.save()
    EmailAddress.objects.create(user=user, email=user.email, verified=True, primary=True)
    return user


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
def qualified(db, manager):
    """An engineer whom the firm records as a qualified person, since long before `now`."""
    from jobsite.people.models import Competence

    user = make_user("Quentin Prover", "engineer")
    Competence.objects.create(
        user=user, since=NOON.date().replace(year=2020), evidence="invented certificate", recorded_by=manager
    )
    return user
