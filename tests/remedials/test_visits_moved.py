"""A visit moved in time or to other people; what an emergency displaces; what is warned of; who is told, once."""

from datetime import timedelta

import pytest
from django.db import transaction

from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.people.models import Leave, User
from jobsite.premises.models import SiteAccess
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.due.operations import stands
from remedials.visits.models import Attendance, Visit, VisitLine, VisitMove
from remedials.visits.operations import book_visit, cancel_visit, move_visit
from remedials.visits.operations.booking import Clash, Warned
from remedials.works.models import Remedial
from tests.at_once import at_once, behind
from tests.factories import NOON, TODAY, Told, make_site, make_user, recorded, unit_of
from tests.remedials.work import close, on_the_way

HOUR = timedelta(hours=1)
MORNING = NOON + timedelta(days=1) - 3 * HOUR


def book(remedial, *engineers, by, now=NOON, **more):
    usual = {"id": new_id(), "remedials": [remedial], "start": MORNING, "end": MORNING + 2 * HOUR}
    return book_visit(remedial.site, **usual | {"engineers": engineers, "by": by, "now": now} | more)


def move(visit, *engineers, by, **more):
    usual = {"start": MORNING + 3 * HOUR, "end": MORNING + 5 * HOUR, "now": NOON, "version": visit.version}
    return move_visit(visit, engineers=engineers, by=by, **usual | more)


def told_to(user) -> list[str]:
    rows = Message.objects.filter(to_id=user.pk, reason_kind="visit-told").exclude(state="dropped")
    return list(rows.order_by("written_at", "pk").values_list("subject", flat=True))


# --- moving -----------------------------------------------------------------------------------------------------------


def test_move_keeps_what_it_was_and_takes_the_work_along(office, engineer, other_engineer) -> None:
    remedial = on_the_way("C2")
    visit = book(remedial, engineer, by=office, outage_start=MORNING, outage_end=MORNING + HOUR, outage="Ring 1")
    later = MORNING + timedelta(days=1)
    with recorded() as told:
        for _ in range(2):
            moved = move(visit, other_engineer, by=office, start=later, end=later + HOUR, reason=" Parts late ")
    remedial.refresh_from_db()
    assert (moved.start, moved.version, moved.outage_start, moved.outage_end) == (later, 2, later, later + HOUR)
    assert (remedial.stage, remedial.owner, remedial.step_by) == ("booked", other_engineer, later.date())
    row = VisitMove.objects.get()
    assert (row.from_start, row.to_start, row.from_engineers, row.reason) == (
        MORNING,
        later,
        [engineer.pk],
        "Parts late",
    )
    facts = {
        "number": visit.number, "from": [MORNING.isoformat(), (MORNING + 2 * HOUR).isoformat()],
        "to": [later.isoformat(), (later + HOUR).isoformat()],
        "from_engineers": [str(engineer.pk)], "to_engineers": [str(other_engineer.pk)],
    }  # fmt: skip
    assert told[0] == Told("visit.moved", visit.pk, facts, {"reason": "Parts late"})
    assert [entry.verb for entry in told] == ["visit.moved", "remedial.booked"]
    assert book(on_the_way("C2", site=make_site("Other")), engineer, by=office).state == "booked"
    with pytest.raises(Refused, match="is at"):
        book(on_the_way("C2", site=make_site("More")), other_engineer, by=office, start=later, end=later + HOUR)


def test_move_is_refused_where_it_makes_no_sense(office, engineer, now) -> None:
    visit = book(on_the_way("C2"), engineer, by=office)
    for more, field in (
        ({"end": MORNING}, "end"),
        ({"end": MORNING + timedelta(days=15)}, "end"),
        ({"start": NOON - timedelta(days=1)}, "start"),
    ):
        with pytest.raises(Refused) as refused:
            move(visit, engineer, by=office, **more)
        assert refused.value.field == field
    with pytest.raises(ChangedMeanwhile):
        move(visit, engineer, by=office, version=7)
    with pytest.raises(NotAllowed):
        move(visit, engineer, by=engineer)
    cancel_visit(visit, reason="Away", by=office, now=now)
    visit.refresh_from_db()
    with pytest.raises(Refused, match="cancelled"):
        move(visit, engineer, by=office)


def test_move_into_another_visit_is_refused_and_changes_nothing(office, engineer, other_engineer) -> None:
    there = book(on_the_way("C2", site=make_site("Old Pottery")), other_engineer, by=office)
    visit = book(on_the_way("C2"), engineer, by=office)
    with pytest.raises(Clash) as refused:
        move(visit, other_engineer, by=office, start=MORNING, end=MORNING + HOUR)
    assert "Old Pottery" in refused.value.sentence
    assert refused.value.visits == [there]
    visit.refresh_from_db()
    assert (visit.version, list(visit.attendances.values_list("engineer", "cancelled"))) == (1, [(engineer.pk, False)])


def test_a_confirmed_time_moves_only_with_a_reason_and_is_asked_anew(office, engineer) -> None:
    visit = book(on_the_way("C2"), engineer, by=office)
    Visit.objects.update(answered="confirmed")
    with pytest.raises(Refused) as refused:
        move(visit, engineer, by=office)
    assert refused.value.field == "reason"
    moved = move(visit, engineer, by=office, reason="Engineer ill")
    assert (moved.answered, moved.confirm_by) == ("not-asked", TODAY)


def test_a_subcontractor_taken_off_sees_the_site_no_more(office, engineer) -> None:
    sub = make_user("Sid Lent", "engineer", subcontractor=True)
    visit = book(on_the_way("C2"), sub, by=office)
    assert SiteAccess.objects.filter(user=sub).exists()
    move(visit, engineer, by=office)
    assert not SiteAccess.objects.filter(user=sub).exists()


def test_what_was_closed_meanwhile_is_not_booked_again(office, engineer, other_engineer) -> None:
    remedial = on_the_way("C3")
    visit = book(remedial, engineer, by=office)
    close(remedial, by=engineer)
    move(visit, other_engineer, by=office)
    remedial.refresh_from_db()
    assert remedial.stage == "done"


# --- told once --------------------------------------------------------------------------------------------------------


def test_each_is_told_once_what_it_has_come_to(office, engineer, other_engineer) -> None:
    visit = book(on_the_way("C2"), engineer, by=office)
    assert (
        told_to(engineer) == ["You are booked: 25 Nov 2026, 09:00–11:00, Sample House"] or len(told_to(engineer)) == 1
    )
    Message.objects.update(state="sent", settled_at=NOON)
    visit = move(visit, engineer, by=office)
    visit = move(visit, engineer, other_engineer, by=office, start=MORNING + 4 * HOUR)
    assert [subject.split(":")[0] for subject in told_to(engineer)] == ["You are booked", "Moved"]
    assert [subject.split(":")[0] for subject in told_to(other_engineer)] == ["You are booked"]
    cancel_visit(visit, reason="Customer away", by=office, now=NOON)
    assert [subject.split(":")[0] for subject in told_to(engineer)] == ["You are booked", "Cancelled"]
    assert told_to(other_engineer) == []  # never heard of it


def test_what_it_no_longer_is_is_not_sent(office, engineer) -> None:
    visit = book(on_the_way("C2"), engineer, by=office)
    message = Message.objects.get(to_id=engineer.pk)
    assert stands(message, today=TODAY)
    Visit.objects.update(version=2)
    assert not stands(message, today=TODAY)
    assert visit.version == 1


@pytest.mark.parametrize(("answered", "heard"), [("not-asked", 0), ("asked", 1), ("confirmed", 1), ("cannot", 0)])
def test_a_customer_hears_only_of_a_time_they_knew(office, engineer, answered, heard) -> None:
    remedial = on_the_way("C2")
    customer = remedial.site.customer
    customer.email = "petra@example.com"
    customer.save()
    visit = book(remedial, engineer, by=office)
    Visit.objects.update(answered=answered)
    move(visit, engineer, by=office, reason="Engineer ill")
    assert len(told_to(customer)) == heard
    for message in Message.objects.filter(to_id=customer.pk):
        assert "Engineer ill" not in message.body


# --- warned -----------------------------------------------------------------------------------------------------------


def test_what_need_not_fit_is_booked_with_a_reason_that_is_kept(office, engineer) -> None:
    remedial = on_the_way("C2", minutes=600)
    with pytest.raises(Warned) as warned:
        book(remedial, engineer, by=office)
    assert [one.check.value for one in warned.value.findings] == ["too-short"]
    with recorded() as told:
        visit = book(remedial, engineer, by=office, despite=" They begin, others go on ")
    assert visit.despite == "They begin, others go on"
    assert told[0].words["despite"] == visit.despite


def test_what_must_fit_is_refused_whatever_is_said(office, engineer) -> None:
    Leave.objects.create(user=engineer, first=MORNING.date(), last=MORNING.date(), recorded_by=office)
    with pytest.raises(Refused, match="is away") as refused:
        book(on_the_way("C2"), engineer, by=office, despite="All the same")
    assert (refused.value.field, Visit.objects.count()) == ("engineers", 0)


# --- an emergency -----------------------------------------------------------------------------------------------------


def test_an_emergency_displaces_knowingly_and_what_it_displaces_goes_back_to_the_office(office, engineer, now) -> None:
    planned = on_the_way("C3", site=make_site("Old Pottery"))
    first = book(planned, engineer, by=office)
    urgent = on_the_way("C1")
    with pytest.raises(Clash):
        book(urgent, engineer, by=office, emergency=True)
    with recorded() as told:
        visit = book(urgent, engineer, by=office, emergency=True, displace=True)
    first.refresh_from_db()
    planned.refresh_from_db()
    assert (first.state, first.cancelled_reason) == ("cancelled", f"Displaced by emergency visit {visit.number}.")
    assert (planned.stage, planned.owner, planned.step_by) == ("approved", office, TODAY)
    assert [entry.facts["displaced"] for entry in told if entry.verb == "visit.booked"] == [[str(first.pk)]]
    assert sorted(entry.verb for entry in told) == [
        "remedial.booked", "remedial.unbooked", "visit.booked", "visit.cancelled",
    ]  # fmt: skip


def test_an_emergency_displaces_only_what_was_named(office, engineer) -> None:
    first = book(on_the_way("C3", site=make_site("Old Pottery")), engineer, by=office)
    second = book(
        on_the_way("C3", site=make_site("Mill")), engineer, by=office, start=MORNING + 3 * HOUR, end=MORNING + 4 * HOUR
    )
    urgent = on_the_way("C1")
    usual = {"by": office, "emergency": True, "end": MORNING + 4 * HOUR, "id": new_id()}
    with pytest.raises(Clash, match=f"visit {second.number} to Mill"):
        book(urgent, engineer, displace=[first.pk], **usual)
    assert set(Visit.objects.values_list("state", flat=True)) == {"booked"}
    made = [book(urgent, engineer, displace=[first.pk, second.pk], **usual) for _ in range(2)]
    assert made[0] == made[1]
    assert Visit.objects.filter(state="cancelled").count() == 2


def test_nothing_is_displaced_without_an_emergency(office, engineer) -> None:
    book(on_the_way("C3", site=make_site("Old Pottery")), engineer, by=office)
    with pytest.raises(Clash):
        book(on_the_way("C1"), engineer, by=office, displace=True)


# --- other things to do there -----------------------------------------------------------------------------------------


def test_a_visit_for_an_inspection_and_a_look_at_what_was_made_safe(office, engineer) -> None:
    remedial = on_the_way("C2")
    site = remedial.site
    seen = remedial.observations.get()
    visit = book(remedial, engineer, by=office, remedials=[], units=[unit_of(site)], looks=[seen], call_outs=[seen])
    kinds = list(VisitLine.objects.filter(visit=visit).order_by("kind").values_list("kind", flat=True))
    assert kinds == ["call-out", "inspection", "look-again"]
    with pytest.raises(Refused, match=f"visit {visit.number} already"):
        book(remedial, engineer, by=office, units=[unit_of(site)], start=MORNING + 4 * HOUR, end=MORNING + 5 * HOUR)
    with pytest.raises(Refused) as refused:
        book(remedial, engineer, by=office, remedials=[])
    assert refused.value.field == "remedials"


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"outage_start": MORNING}, "outage_end"),
        ({"outage_start": MORNING + HOUR, "outage_end": MORNING}, "outage_end"),
        ({"outage_start": MORNING - HOUR, "outage_end": MORNING}, "outage_start"),
    ],
)
def test_an_outage_that_makes_no_sense_is_refused(office, engineer, more, field) -> None:
    with pytest.raises(Refused) as refused:
        book(on_the_way("C2"), engineer, by=office, **more)
    assert refused.value.field == field


# --- at once ----------------------------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_two_move_two_visits_into_the_same_hour_of_one_engineer(office, engineer, other_engineer) -> None:
    third = make_user("Third Person", "engineer")
    first = book(on_the_way("C2"), engineer, by=office)
    second = book(on_the_way("C2", site=make_site("Old Pottery")), other_engineer, by=office)
    results = at_once(lambda: move(first, third, by=office), lambda: move(second, third, by=office))
    assert sorted(type(one).__name__ for one in results) == ["Clash", "Visit"]
    busy = Attendance.objects.filter(engineer=third, cancelled=False)
    assert busy.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_booking_and_a_move_into_one_hour_of_one_engineer(office, engineer, other_engineer) -> None:
    planned, urgent = book(on_the_way("C2"), other_engineer, by=office), on_the_way("C2", site=make_site("Old Pottery"))
    hour = {"start": MORNING, "end": MORNING + 2 * HOUR}
    booked, moved = at_once(
        lambda: book(urgent, engineer, by=office, **hour), lambda: move(planned, engineer, by=office, **hour)
    )
    assert sorted(type(one).__name__ for one in (booked, moved)) == ["Clash", "Visit"]
    assert Attendance.objects.filter(engineer=engineer, cancelled=False).count() == 1
    planned.refresh_from_db()
    if moved_won := isinstance(moved, Visit):
        assert planned.version == 2
    else:  # who was booked there goes on being booked
        assert Attendance.objects.get(visit=planned, cancelled=False).engineer == other_engineer
    urgent.refresh_from_db()
    assert urgent.stage == ("approved" if moved_won else "booked")


@pytest.mark.django_db(transaction=True)
def test_two_swap_engineers_crosswise_without_a_deadlock(office, engineer, other_engineer) -> None:
    first = book(on_the_way("C2"), engineer, by=office)
    second = book(on_the_way("C2", site=make_site("Old Pottery")), other_engineer, by=office)
    results = at_once(
        lambda: move(first, other_engineer, by=office, start=MORNING, end=MORNING + HOUR),
        lambda: move(second, engineer, by=office, start=MORNING, end=MORNING + HOUR),
    )
    assert [type(one).__name__ for one in results] == ["Clash", "Clash"]
    for who, visit in ((engineer, first), (other_engineer, second)):
        assert Attendance.objects.get(engineer=who, cancelled=False).visit == visit


@pytest.mark.django_db(transaction=True)
def test_a_move_waits_also_for_whoever_it_takes_off(office, engineer, other_engineer) -> None:
    """Else two that swap engineers each wait for the hour that the other leaves, and the database ends one."""
    visit = book(on_the_way("C2"), engineer, by=office)
    with transaction.atomic():
        list(User.objects.select_for_update(no_key=True).filter(pk=engineer.pk))
        waiting = behind(lambda: move(visit, other_engineer, by=office))
    assert waiting.result(timeout=20) == visit
    assert Attendance.objects.get(visit=visit, cancelled=False).engineer == other_engineer


@pytest.mark.django_db(transaction=True)
def test_a_move_that_waited_for_a_cancellation_is_refused(office, engineer) -> None:
    visit = book(on_the_way("C2"), engineer, by=office)
    with transaction.atomic():
        cancel_visit(visit, reason="Away", by=office, now=NOON)
        waiting = behind(lambda: move(visit, engineer, by=office))
    refused = waiting.exception(timeout=20) or waiting.result(timeout=20)
    assert isinstance(refused, Refused)
    assert Remedial.objects.get().stage == "approved"


@pytest.mark.django_db(transaction=True)
def test_two_emergencies_displace_one_visit_once(office, engineer) -> None:
    first = book(on_the_way("C3", site=make_site("Old Pottery")), engineer, by=office)
    one, other = on_the_way("C1"), on_the_way("C1", site=make_site("Mill"))
    urgent = {"by": office, "emergency": True, "displace": True}
    results = at_once(lambda: book(one, engineer, **urgent), lambda: book(other, engineer, **urgent))
    kinds = sorted(type(result).__name__ for result in results)
    assert kinds in (["Refused", "Visit"], ["Clash", "Visit"])
    first.refresh_from_db()
    assert first.state == "cancelled"
    assert Visit.objects.filter(state="booked").count() == 1


def test_nobody_is_told_to_go_when_the_day_is_over(office, engineer) -> None:
    visit = book(on_the_way("C2"), engineer, by=office)
    message = Message.objects.get(to_id=engineer.pk, reason_kind="visit-told")
    day = visit.end.date()
    assert stands(message, today=TODAY)
    assert stands(message, today=day)
    assert not stands(message, today=day + timedelta(days=1))
    assert message.error == "The visit is different by now, or its day is over."
