"""What an engineer's time came to, leaving work unfinished, and power off and on by their word."""

from datetime import timedelta
from decimal import Decimal

import pytest

from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from remedials.works.models import PowerStep, Proof, ProofPhoto, Remedial, Stint, Used
from remedials.works.operations import (
    Material,
    add_proof_photo,
    cancel_remedial,
    close_remedial,
    leave_remedial,
    record_power,
)
from tests.factories import Told, make_user, picture, recorded
from tests.remedials.work import on_the_way

CABLE = Material("Cable  2.5 mm²", Decimal("2.5"), "m")


@pytest.fixture
def remedial(site):
    return on_the_way("C3", site=site, stage="booked", photo_required=False)


def test_closing_keeps_minutes_and_what_was_used(remedial, engineer, now) -> None:
    earlier, form = now - timedelta(hours=3), new_id()
    with recorded() as told:
        for _ in range(2):
            close_remedial(
                remedial, id=form, minutes=45, used=[CABLE, Material("Clip")], made_at=earlier, by=engineer, now=now
            )
    stint = Stint.objects.get()
    proof = Proof.objects.get()
    assert (stint.proof, stint.came, stint.minutes, stint.by, stint.at) == (proof, "finished", 45, engineer, earlier)
    assert proof.done_at == earlier
    assert list(Used.objects.values_list("what", "quantity", "unit")) == [
        ("Cable 2.5 mm²", Decimal("2.5"), "m"),
        ("Clip", Decimal(1), ""),
    ]
    closed = next(entry for entry in told if entry.verb == "remedial.closed")
    assert {name: closed.facts[name] for name in ("stint", "minutes", "used")} == {
        "stint": str(stint.pk),
        "minutes": 45,
        "used": ["2.5", "1"],
    }
    assert closed.words["used"] == "Cable 2.5 mm²; Clip"


def test_a_closing_that_says_neither_leaves_no_stint(remedial, engineer, now) -> None:
    close_remedial(remedial, id=new_id(), by=engineer, now=now)
    assert not Stint.objects.exists()


def test_closed_beside_keeps_that_engineers_time_too(remedial, engineer, other_engineer, now) -> None:
    for person, minutes in ((engineer, 30), (other_engineer, 20)):
        close_remedial(remedial, id=new_id(), minutes=minutes, by=person, now=now)
    assert set(Stint.objects.values_list("by__name", "minutes", "proof__state")) == {
        (engineer.name, 30, "stands"),
        (other_engineer.name, 20, "beside"),
    }


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"minutes": 0}, "minutes"),
        ({"minutes": 10_001}, "minutes"),
        ({"used": [CABLE, Material(" ")]}, "used-1-what"),
        ({"used": [Material("x" * 201)]}, "used-0-what"),
        ({"used": [Material("Cable", Decimal(0))]}, "used-0-quantity"),
        ({"used": [Material("Cable", Decimal("0.0005"))]}, "used-0-quantity"),
        ({"used": [Material("Cable", Decimal(1), "m" * 201)]}, "used-0-unit"),
        ({"used": [CABLE] * 301}, None),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(remedial, engineer, now, given, field) -> None:
    for act in (close_remedial, leave_remedial):
        more = {"because": "No time left"} if act is leave_remedial else {}
        with pytest.raises(Refused) as refused:
            act(remedial, id=new_id(), by=engineer, now=now, **more, **given)
        assert refused.value.field == field
    assert (Stint.objects.count(), Proof.objects.count()) == (0, 0)


@pytest.mark.parametrize(("came", "verb"), [("part-done", "remedial.part-done"), ("could-not", "remedial.could-not")])
def test_left_it_goes_back_to_the_office_with_the_reason(remedial, office, engineer, now, came, verb) -> None:
    form = new_id()
    with recorded() as told:
        for _ in range(2):
            leave_remedial(
                remedial,
                id=form,
                came=came,
                because="No key to the riser",
                minutes=15,
                used=[CABLE],
                by=engineer,
                now=now,
            )
    facts = {"stint": str(form), "minutes": 15, "used": ["2.5"]}
    words = {"left": "No key to the riser", "used": "Cable 2.5 mm²"}
    assert told == [Told(verb, remedial.pk, facts, words)]
    assert Remedial.objects.get().stage == "approved"


@pytest.mark.parametrize("stage", ["approved", "done", "reviewed"])
def test_left_where_nothing_is_booked_any_more_it_is_kept_and_moves_nothing(remedial, engineer, now, stage) -> None:
    Remedial.objects.update(stage=stage)
    stint = leave_remedial(remedial, id=new_id(), because="Second fix to come", by=engineer, now=now)
    assert (Remedial.objects.get().stage, Stint.objects.get()) == (stage, stint)


def test_leaving_says_why_and_is_an_engineers(remedial, office, engineer, now) -> None:
    for given, field in (({"because": " "}, "because"), ({"because": "x", "came": "finished"}, "came")):
        with pytest.raises(Refused) as refused:
            leave_remedial(remedial, id=new_id(), by=engineer, now=now, **given)
        assert refused.value.field == field
    with pytest.raises(NotAllowed):
        leave_remedial(remedial, id=new_id(), because="x", by=office, now=now)
    Remedial.objects.update(stage="to-price")
    with pytest.raises(Refused, match="cannot be part done"):
        leave_remedial(remedial, id=new_id(), because="x", by=engineer, now=now)


def test_a_form_is_one_stint_or_one_step_and_no_other_remedials(remedial, engineer, site, now) -> None:
    other, form = on_the_way("C2", site=site), new_id()
    leave_remedial(remedial, id=form, because="x", by=engineer, now=now)
    with pytest.raises(Refused):
        leave_remedial(other, id=form, because="x", by=engineer, now=now)
    record_power(remedial, id=form, kind="on", by=engineer, now=now)
    with pytest.raises(Refused):
        record_power(other, id=form, kind="on", by=engineer, now=now)


def test_power_off_and_on_by_the_engineers_word(remedial, engineer, now) -> None:
    off, on = new_id(), new_id()
    with recorded() as told:
        for _ in range(2):
            record_power(
                remedial,
                id=off,
                kind="off",
                where="Way 5, lock 14 ",
                made_at=now - timedelta(hours=1),
                by=engineer,
                now=now,
            )
        record_power(remedial, id=on, kind="on", by=engineer, now=now)
    assert list(PowerStep.objects.order_by("at").values_list("kind", "where", "at")) == [
        ("off", "Way 5, lock 14", now - timedelta(hours=1)),
        ("on", "", now),
    ]
    assert told == [
        Told("remedial.power-off", remedial.pk, {"step": str(off)}, {"where": "Way 5, lock 14"}),
        Told("remedial.power-on", remedial.pk, {"step": str(on)}, {}),
    ]


def test_power_steps_say_where_and_are_an_engineers(remedial, office, engineer, now) -> None:
    for given, field in (({"kind": "off", "where": " "}, "where"), ({"kind": "up"}, "kind")):
        with pytest.raises(Refused) as refused:
            record_power(remedial, id=new_id(), by=engineer, now=now, **given)
        assert refused.value.field == field
    with pytest.raises(NotAllowed):
        record_power(remedial, id=new_id(), kind="on", by=office, now=now)
    Remedial.objects.update(stage="cancelled")
    with pytest.raises(Refused, match="nothing is switched off for it"):
        record_power(remedial, id=new_id(), kind="on", by=engineer, now=now)


def test_a_photo_that_arrives_after_the_office_cancelled_the_work_is_kept(remedial, office, engineer, now) -> None:
    cancel_remedial(remedial, reason="Sold", by=office, now=now)
    add_proof_photo(remedial, data=picture(), by=engineer, now=now)
    assert ProofPhoto.objects.get().added_by == engineer


def test_a_stranger_of_the_site_does_none_of_it(remedial, now) -> None:
    lent = make_user("Sid Lent", "engineer", subcontractor=True)
    for act in (
        lambda: leave_remedial(remedial, id=new_id(), because="x", by=lent, now=now),
        lambda: record_power(remedial, id=new_id(), kind="on", by=lent, now=now),
    ):
        with pytest.raises(NotAllowed):
            act()
