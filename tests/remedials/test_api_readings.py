"""Readings by the API: taken as the instrument shows them, judged, listed; asked for when a remedial is made."""

import pytest
import time_machine

from inspections.models import Reading
from jobsite.ids import new_id
from remedials.works.models import RequiredReading
from tests import factories as make
from tests.factories import NOON
from tests.remedials.test_api_verbs import post, refusal

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def circuit(db):
    return make.make_circuit(make.make_board(make.make_site(earthing="TN-S"), "Hall"), rcd_ma=30)


def test_take_a_reading_twice_makes_one(client, engineer, circuit) -> None:
    body = {"id": str(new_id()), "quantity": "rcd-time", "value": "no trip", "multiple": "0.5"}
    body |= {"instrument": str(make.make_instrument().pk)}
    answers = [post(client, engineer, f"circuits/{circuit.pk}/take-reading", **body) for _ in range(2)]
    assert [a.status_code for a in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    shown = answers[0].json()
    assert (shown["shown"], shown["verdict"], shown["multiple"], shown["circuit"]) == (
        "no trip",
        "pass",
        "0.5",
        str(circuit.pk),
    )
    assert Reading.objects.count() == 1
    listed = client.get("/api/v1/readings/", {"circuit": str(circuit.pk)}).json()["results"]
    assert listed == [shown]
    assert client.get(f"/api/v1/readings/{shown['id']}/").json() == shown


@pytest.mark.parametrize(
    ("fields", "field", "sentence"),
    [
        ({"value": "-1"}, "value", "No instrument shows a negative value here"),
        ({"value": "640"}, "value", "did you mean 0.64 Ω?"),
        ({"instrument": None}, "instrument", "Choose the instrument that showed it."),
        ({"limit": "1.09"}, "limit_source", "Say where the limit is from"),
    ],
)
def test_what_cannot_be_is_a_problem_beside_its_field(client, engineer, circuit, fields, field, sentence) -> None:
    body = {"id": str(new_id()), "quantity": "loop-impedance", "value": "0.64"}
    body |= {"instrument": str(make.make_instrument().pk)} | fields
    told = refusal(post(client, engineer, f"circuits/{circuit.pk}/take-reading", **body), 409)
    assert (told["field"], sentence in told["detail"]) == (field, True)
    assert Reading.objects.count() == 0


def test_a_remedial_is_made_with_the_readings_that_it_must_pass(client, office, circuit) -> None:
    seen = make.make_observation(circuit.site)
    asked = [{"circuit": str(circuit.pk), "quantity": "polarity"}, {"circuit": str(circuit.pk)}]
    body = {"id": str(new_id()), "observations": [str(seen.pk)], "work": "Remake the joint", "readings": asked}
    shown = post(client, office, "remedials/make", **body).json()
    usual = {"circuit": str(circuit.pk), "limit_entered": None, "limit_source": ""}
    keys = {reading.quantity: str(reading.pk) for reading in RequiredReading.objects.all()}
    assert sorted(shown["required_readings"], key=lambda one: one["quantity"]) == [
        usual | {"id": keys["loop-impedance"], "quantity": "loop-impedance"},
        usual | {"id": keys["polarity"], "quantity": "polarity"},
    ]
    elsewhere = [{"circuit": str(new_id())}]
    assert (
        post(client, office, "remedials/make", **body | {"id": str(new_id()), "readings": elsewhere}).status_code == 400
    )


def test_a_reading_asked_for_in_an_edit_is_whole_too(client, office, circuit) -> None:
    seen = make.make_observation(circuit.site)
    body = {"id": str(new_id()), "observations": [str(seen.pk)], "work": "Remake the joint"}
    made = post(client, office, "remedials/make", **body).json()["id"]
    without = post(client, office, f"remedials/{made}/edit", readings=[{"quantity": "bonding"}])
    assert without.status_code == 400
    assert b"circuit" in without.content
    answer = post(client, office, f"remedials/{made}/edit", readings=[{"circuit": str(circuit.pk)}])
    assert [one["quantity"] for one in answer.json()["required_readings"]] == ["loop-impedance"]
