"""What the tests of the pages of works share: the clock at noon, somebody at the desk, somebody on site."""

import pytest
import time_machine

from jobsite.firm.models import Firm
from tests.factories import NOON


@pytest.fixture
def at_noon():
    """The clock of the pages stands at NOON, as that of the factories."""
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def firm(db):
    """The firm as customers read it."""
    return Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


@pytest.fixture
def on_site(client, engineer):
    client.force_login(engineer)
    return client
