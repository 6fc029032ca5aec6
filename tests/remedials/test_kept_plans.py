"""Pages whose statements the database plans once: another person, another site, another day are no reason to plan again."""

from datetime import timedelta

import pytest
from django.db import connection

from jobsite import clock
from jobsite.warming import warm_up
from tests import factories as make

pytestmark = pytest.mark.django_db


def planned() -> dict[str, int]:
    """Every statement whose plan is kept, and how often it has run."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT statement, generic_plans FROM pg_prepared_statements")
        return dict(cursor.fetchall())


def neglected(name: str, observations: int):
    """A site with so many defects and a work on each second of them."""
    today = clock.local_day(clock.now())
    site = make.make_site(name)
    seen = [
        make.make_observation(site, f"Defect {n}", code="C2", step_by=today + timedelta(days=n))
        for n in range(observations)
    ]
    for one in seen[::2]:
        make.make_remedial(one, step_by=today)
    return site, seen


def opened(client, person, site, seen) -> None:
    client.force_login(person)
    for address in ("/", f"/sites/{site.pk}/", f"/observations/{seen[0].pk}/", f"/observations/{seen[-1].pk}/"):
        assert client.get(address).status_code == 200


def test_nothing_is_planned_anew_for_others(client):
    first, second = neglected("One house", 3), neglected("Another house", 8)
    opened(client, make.make_user("Olive Office", "office"), *first)
    once = planned()
    assert len(once) >= 5
    opened(client, make.make_user("Odo Office", "office"), *second)
    again = planned()
    assert set(again) == set(once)
    assert all(again[statement] > times for statement, times in once.items())


@pytest.mark.parametrize("role", ["office", "manager", "engineer"])
def test_a_thread_that_was_warmed_up_has_nothing_left_to_plan(client, role):
    site, seen = neglected("A house", 3)
    person = make.make_user("Will Warm", role)
    make.make_user("Lena Left", "office", is_active=False)
    warm_up()
    before = planned()
    assert len(before) >= 5
    opened(client, person, site, seen)
    assert set(planned()) == set(before)
