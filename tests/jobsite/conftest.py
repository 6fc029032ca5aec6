"""Who does it, who is signed in, and a site with every kind of row."""

import pytest

from tests import factories as make


@pytest.fixture
def who(office, now):
    return {"by": office, "now": now}


@pytest.fixture
def worker(engineer, now):
    return {"by": engineer, "now": now}


@pytest.fixture
def yard():
    """A site with two units, two boards, a link, a second source: every kind of row that a page can be about."""
    site = make.make_site("Yard", phases=("L1", "L2", "L3"))
    make.make_unit(site, "Slip 2")
    intake = make.make_board(site, "Intake board")
    shed = make.make_board(site, "Shed", phases=("L2",), fed=False, designation_verified=False)
    way = make.make_circuit(intake, 1, phase="L2")
    make.make_feed(shed, way, verified=False)
    make.make_link_of_circuits(way, make.make_circuit(shed, 1))
    make.make_second_source(shed)
    site.units.update(whole_site=False)
    role = {"party": site.customer, "role": "owner", "since": make.TODAY}
    make.unit_of(site).parties.create(**role)
    return site


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


@pytest.fixture
def on_site(client, engineer):
    client.force_login(engineer)
    return client
