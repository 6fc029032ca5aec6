"""A site with a fed board, and a draft report of it."""

from datetime import date

import pytest

from inspections import operations
from jobsite.ids import new_id
from tests import factories as make

INSPECTED = date(2026, 1, 20)


@pytest.fixture
def site(db):
    return make.make_site("Kiln Cottage", tenure="private-rented", earthing="TN-S")


@pytest.fixture
def board(site):
    return make.make_board(site, "Hall")


@pytest.fixture
def start(site, office, qualified, now):
    """Begin a draft: `start()` of our own by the qualified person, `start(other_firm=True)` of another firm's."""

    def begin(**fields):
        other = fields.get("other_firm", False)
        usual = {"id": new_id(), "units": [make.unit_of(site)], "kind": "periodic", "other_firm": False}
        usual |= {
            "inspected_on": INSPECTED,
            "edition": "2018+A2:2022",
            "by": office if other else qualified,
            "now": now,
        }
        usual |= {"firm_name": "Invented Sparks"} if other else {}
        return operations.start_inspection(site, **usual | fields)

    return begin


@pytest.fixture
def note(site, now):
    """Note an observation on a draft, by whoever recorded it."""

    def add(inspection, code="C2", text="Cover missing", **fields):
        usual = {"id": new_id(), "unit": make.unit_of(site), "by": inspection.recorded_by, "now": now}
        return operations.note_observation(inspection, text=text, code=code, **usual | fields)

    return add


@pytest.fixture
def issued(start, note, now):
    """An issued report with one observation for each code given: `issued("C1", "C3", other_firm=True)`."""

    def make_one(*codes, **fields):
        inspection = start(**fields)
        observations = [note(inspection, code, f"Defect {n}") for n, code in enumerate(codes, 1)]
        inspection = operations.issue_inspection(inspection, by=inspection.recorded_by, now=now)
        for observation in observations:
            observation.refresh_from_db()
        return inspection, observations

    return make_one


@pytest.fixture
def at_noon(now, monkeypatch):
    """The pages read the clock once, at the edge."""
    monkeypatch.setattr("jobsite.clock.now", lambda: now)


@pytest.fixture
def as_(client):
    def sign_in(user):
        client.force_login(user)
        return client

    return sign_in
