"""What the tests of the pages of works share: the clock at noon, somebody at the desk, somebody on site."""

import pytest
import time_machine

from tests.factories import NOON


@pytest.fixture
def at_noon():
    """The clock of the pages stands at NOON, as that of the factories."""
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


@pytest.fixture
def on_site(client, engineer):
    client.force_login(engineer)
    return client
