"""Making a remedial, changing it, giving its next step to somebody."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from jobsite.ids import new_id
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.works.models import Remedial
from remedials.works.operations import edit_remedial, make_remedial, take_on
from tests.factories import (
    TODAY,
    Told,
    make_board,
    make_circuit,
    make_inspection,
    make_observation,
    make_site,
    make_unit,
    recorded,
    unit_of,
)
from tests.factories import (
    make_remedial as row,
)
from tests.remedials.work import close, on_the_way


def made(observations, by, now, **more):
    return make_remedial(observations, **{"id": new_id(), "work": "Fit a cover", "by": by, "now": now} | more)


def test_make_remedial(office, site, now) -> None:
    one, two = make_observation(site, "Cover missing"), make_observation(site, "Blank missing", code="C3")
    circuit = make_circuit(make_board(site))
    with recorded() as told:
        remedial = made([one, two], office, now, minutes=45, readings=[(circuit, None, "")], power_off=True)
    assert (remedial.stage, remedial.unit, remedial.owner) == ("to-price", unit_of(site), office)
    assert (remedial.step_by, remedial.minutes, remedial.power_off) == (TODAY + timedelta(days=5), 45, True)
    assert set(remedial.observations.all()) == {one, two}
    assert [need.circuit for need in remedial.required_readings.all()] == [circuit]
    facts = {
        "number": remedial.number,
        "observations": sorted([str(one.pk), str(two.pk)]),
        "readings": [{"circuit": str(circuit.pk), "quantity": "loop-impedance"}],
        "owner": str(office.pk),
        "step_by": "2026-02-08",
    }
    assert told == [Told("remedial.made", remedial.pk, facts, {"work": "Fit a cover"})]


def test_make_remedial_twice_with_one_form_makes_one(office, site, now) -> None:
    one, key = make_observation(site), new_id()
    first = made([one], office, now, id=key)
    with recorded() as told:
        again = made([one], office, now, id=key)
    assert (again.pk, told, Remedial.objects.count()) == (first.pk, [], 1)


def test_make_remedial_refuses_a_form_used_for_other_observations(office, site, now) -> None:
    one, two, key = make_observation(site), make_observation(site), new_id()
    made([one], office, now, id=key)
    with pytest.raises(Refused, match="already used for something else"):
        made([two], office, now, id=key)


def test_the_step_is_due_no_later_than_the_observation_must_be_remedied(office, site, now) -> None:
    hurry = make_observation(site, code="C1", remedy_by=TODAY + timedelta(days=2))
    assert made([hurry], office, now).step_by == TODAY + timedelta(days=2)


def test_the_step_can_be_given_to_somebody_else(office, manager, site, now) -> None:
    remedial = made([make_observation(site)], office, now, owner=manager, step_by=date(2026, 2, 20))
    assert (remedial.owner, remedial.step_by) == (manager, date(2026, 2, 20))


def test_make_remedial_is_not_for_engineers(engineer, site, now) -> None:
    with pytest.raises(NotAllowed, match="Only the office"):
        made([make_observation(site)], engineer, now)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"ended": "remedied", "ended_on": TODAY}, "needs no remedial: it is remedied"),
        ({"draft": True}, "of a report that is not issued yet"),
    ],
)
def test_make_remedial_refuses_what_is_not_open(office, site, now, fields, sentence) -> None:
    with pytest.raises(Refused, match=sentence) as refused:
        made([make_observation(site, **fields)], office, now)
    assert refused.value.field == "observations"


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"work": "  "}, "work"),
        ({"step_by": TODAY - timedelta(days=1)}, "step_by"),
    ],
)
def test_make_remedial_refuses(office, site, now, more, field) -> None:
    with pytest.raises(Refused) as refused:
        made([make_observation(site)], office, now, **more)
    assert refused.value.field == field
    assert Remedial.objects.count() == 0


def test_make_remedial_refuses_nothing_and_two_sites(office, site, now) -> None:
    with pytest.raises(Refused, match="at least one observation"):
        made([], office, now)
    with pytest.raises(Refused, match="belongs to one site"):
        made([make_observation(site), make_observation(make_site("Other"))], office, now)


def test_make_remedial_asks_whose_it_is_where_units_differ(office, site, now) -> None:
    flat = make_unit(site, "Flat 2")
    both = [make_observation(site), make_observation(site, unit=flat)]
    with pytest.raises(Refused, match="several units"):
        made(both, office, now)
    assert made(both, office, now, unit=flat).unit == flat
    with pytest.raises(Refused, match="not of the observations' site"):
        made(both, office, now, unit=unit_of(make_site("Other")))


def test_make_remedial_refuses_a_person_who_left(office, engineer, site, now) -> None:
    engineer.is_active = False
    engineer.save()
    with pytest.raises(Refused, match="has left the firm"):
        made([make_observation(site)], office, now, owner=engineer)


@pytest.mark.parametrize(("limit", "source"), [(Decimal(0), "Table"), (Decimal(-1), "Table"), (Decimal(1), " ")])
def test_make_remedial_refuses_a_limit_without_sense_or_source(office, site, now, limit, source) -> None:
    circuit = make_circuit(make_board(site))
    with pytest.raises(Refused, match="says where it is from"):
        made([make_observation(site)], office, now, readings=[(circuit, limit, source)])


def test_make_remedial_refuses_a_circuit_of_another_site(office, site, now) -> None:
    circuit = make_circuit(make_board(make_site("Other")))
    with pytest.raises(Refused, match="another site"):
        made([make_observation(site)], office, now, readings=[(circuit, None, "")])


def test_a_finding_of_an_issued_report_can_have_a_remedial(office, site, now) -> None:
    observation = make_observation(site, inspection=make_inspection(site))
    assert made([observation], office, now).observations.get() == observation


def test_edit_remedial(office, site, now) -> None:
    remedial = row(make_observation(site))
    circuit = make_circuit(make_board(site))
    with recorded() as told:
        changed = edit_remedial(
            remedial, version=1, by=office, now=now, work="Fit two covers", minutes=60, photo_required=False,
            readings=[(circuit, None, "")],
        )  # fmt: skip
    assert (changed.work, changed.minutes, changed.version) == ("Fit two covers", 60, 2)
    facts = {"changed": ["minutes", "photo_required", "work"], "minutes": 60, "photo_required": False}
    facts |= {"readings": [{"circuit": str(circuit.pk), "quantity": "loop-impedance"}]}
    assert told == [Told("remedial.edited", remedial.pk, facts, {"work": "Fit two covers"})]


def test_a_reading_that_is_asked_for_still_keeps_its_key(office, site, now) -> None:
    """The engineer's page is open meanwhile: what is typed there must find its place."""
    board = make_board(site)
    kept, gone, new = (make_circuit(board, way=way) for way in (1, 2, 3))
    remedial = made([make_observation(site)], office, now, readings=[(kept, None, ""), (gone, None, "")])
    key = remedial.required_readings.get(circuit=kept).pk
    twice = [(kept, Decimal("0.8"), "Maker's data"), (new, None, ""), (new, None, "")]
    edit_remedial(remedial, version=1, by=office, now=now, readings=twice)
    asked = {need.circuit: (need.pk == key, need.limit_entered) for need in remedial.required_readings.all()}
    assert asked == {kept: (True, Decimal("0.8")), new: (False, None)}


def test_edit_remedial_with_nothing_new_leaves_no_trace(office, site, now) -> None:
    remedial = row(make_observation(site))
    with recorded() as told:
        same = edit_remedial(remedial, version=1, by=office, now=now, work=remedial.work, readings=[])
    assert (same.version, told) == (1, [])


def test_edit_remedial_gives_the_second_person_the_first_ones_version(office, site, now) -> None:
    remedial = row(make_observation(site))
    edit_remedial(remedial, version=1, by=office, now=now, work="Theirs")
    with pytest.raises(ChangedMeanwhile) as changed:
        edit_remedial(remedial, version=1, by=office, now=now, work="Mine")
    assert changed.value.theirs.work == "Theirs"


@pytest.mark.parametrize("stage", ["done", "reviewed", "declined", "cancelled", "by-others"])
def test_edit_remedial_refuses_what_is_closed(office, site, now, stage) -> None:
    remedial = row(make_observation(site), stage=stage)
    with pytest.raises(Refused, match="not changed any more"):
        edit_remedial(remedial, version=1, by=office, now=now, work="Other")


def test_edit_remedial_is_not_for_engineers(engineer, site, now) -> None:
    with pytest.raises(NotAllowed):
        edit_remedial(row(make_observation(site)), version=1, by=engineer, now=now, work="Other")


def test_edit_remedial_knows_what_may_be_edited(office, site, now) -> None:
    with pytest.raises(TypeError, match="stage"):
        edit_remedial(row(make_observation(site)), version=1, by=office, now=now, stage="done")


def test_take_on(office, engineer, site, now) -> None:
    remedial = row(make_observation(site))
    with recorded() as told:
        for _ in range(2):
            take_on(remedial, owner=engineer, step_by=date(2026, 2, 10), by=office, now=now)
    remedial.refresh_from_db()
    assert (remedial.owner, remedial.step_by) == (engineer, date(2026, 2, 10))
    facts = {"owner": str(engineer.pk), "step_by": "2026-02-10"}
    assert told == [Told("remedial.taken-on", remedial.pk, facts, {})]


@pytest.mark.parametrize("stage", ["reviewed", "cancelled", "by-others", "declined"])
def test_take_on_refuses_what_has_no_step(office, site, now, stage) -> None:
    with pytest.raises(Refused, match="no step of it is to come"):
        take_on(row(make_observation(site), stage=stage), owner=office, step_by=TODAY, by=office, now=now)


def test_take_on_refuses_what_is_done_and_awaits_no_review(office, engineer, now) -> None:
    finished, reviewed_later = (
        close(on_the_way("C3"), by=engineer).remedial,
        close(on_the_way("C2"), by=engineer).remedial,
    )
    with pytest.raises(Refused, match="is done: no step of it is to come"):
        take_on(finished, owner=office, step_by=TODAY, by=office, now=now)
    assert take_on(reviewed_later, owner=office, step_by=TODAY, by=office, now=now).owner == office
    assert list(Remedial.objects.carrying()) == [reviewed_later]
    assert (finished.step_to_come, reviewed_later.step_to_come) == (False, True)


def test_take_on_refuses_a_past_day_and_engineers(office, engineer, site, now) -> None:
    remedial = row(make_observation(site))
    with pytest.raises(Refused, match="past"):
        take_on(remedial, owner=office, step_by=TODAY - timedelta(days=1), by=office, now=now)
    with pytest.raises(NotAllowed):
        take_on(remedial, owner=engineer, step_by=TODAY, by=engineer, now=now)
