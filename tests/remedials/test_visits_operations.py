"""Booking a visit and cancelling it: what clashes, what goes back, who may see the site."""

from datetime import timedelta

import pytest
from django.db import transaction

from jobsite.ids import new_id
from jobsite.premises.models import Site, SiteAccess
from jobsite.refused import NotAllowed, Refused
from remedials.visits.models import Attendance, Visit, VisitLine
from remedials.visits.operations import book_visit, cancel_visit
from remedials.works.models import Remedial
from remedials.works.operations import leave_remedial
from tests.at_once import at_once, behind
from tests.factories import (
    NOON,
    Told,
    anybody,
    make_observation,
    make_remedial,
    make_site,
    make_user,
    recorded,
)
from tests.remedials.work import close, on_the_way

HOUR = timedelta(hours=1)
MORNING = NOON + timedelta(days=1) - 3 * HOUR


def book(remedial, *engineers, by, now=NOON, **more):
    usual = {"id": new_id(), "remedials": [remedial], "start": MORNING, "end": MORNING + 2 * HOUR}
    return book_visit(remedial.site, **usual | {"engineers": engineers, "by": by, "now": now} | more)


def stages() -> list[str]:
    return list(Remedial.objects.order_by("number").values_list("stage", flat=True))


def test_book_visit(office, engineer, other_engineer, now) -> None:
    remedial = on_the_way("C2")
    second = make_remedial(make_observation(remedial.site), stage="approved")
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            visit = book(
                remedial, engineer, other_engineer, by=office, id=key, remedials=[remedial, second],
                access=" Key at the lodge ", outage="Ring 1, 9 to 10",
            )  # fmt: skip
    remedial.refresh_from_db()
    assert (remedial.stage, remedial.owner, remedial.step_by) == ("booked", engineer, MORNING.date())
    assert (visit.access, visit.outage, visit.state, Visit.objects.count()) == (
        "Key at the lodge",
        "Ring 1, 9 to 10",
        "booked",
        1,
    )
    assert set(visit.attendances.values_list("engineer", flat=True)) == {engineer.pk, other_engineer.pk}
    assert set(visit.lines.filter(active=True).values_list("remedial", flat=True)) == {remedial.pk, second.pk}
    facts = {
        "number": visit.number,
        "start": "2026-02-04T09:00:00+00:00",
        "end": "2026-02-04T11:00:00+00:00",
        "engineers": sorted([str(engineer.pk), str(other_engineer.pk)]),
        "remedials": sorted([str(remedial.pk), str(second.pk)]),
    }
    words = {"access": "Key at the lodge", "outage": "Ring 1, 9 to 10"}
    assert told[0] == Told("visit.booked", key, facts, words)
    booked = Told("remedial.booked", remedial.pk, {"day": "2026-02-04", "owner": str(engineer.pk)}, {})
    assert (booked in told, [entry.verb for entry in told[1:]]) == (True, ["remedial.booked", "remedial.booked"])


def test_a_form_used_for_another_site_is_refused(office, engineer, now) -> None:
    visit = book(on_the_way("C2"), engineer, by=office)
    with pytest.raises(Refused, match="already used for something else"):
        book(on_the_way("C2", site=make_site("Other")), engineer, by=office, id=visit.pk)


def test_a_clash_names_who_is_where(office, engineer, other_engineer, now) -> None:
    first = book(on_the_way("C2", site=make_site("Old Pottery")), engineer, by=office)
    remedial = on_the_way("C2", site=make_site("New Mill"))
    with pytest.raises(Refused) as refused:
        book(remedial, other_engineer, engineer, by=office, start=MORNING + HOUR, end=MORNING + 3 * HOUR)
    said = f"Edwin Wireman is at Old Pottery then: 4 Feb 2026, 09:00–11:00 (visit {first.number})."
    assert (refused.value.sentence, refused.value.field) == (said, "engineers")
    remedial.refresh_from_db()
    assert (remedial.stage, Visit.objects.count(), Attendance.objects.count()) == ("approved", 1, 1)


def test_one_visit_may_begin_where_the_other_ends(office, engineer, now) -> None:
    book(on_the_way("C2"), engineer, by=office)
    later = book(on_the_way("C2"), engineer, by=office, start=MORNING + 2 * HOUR, end=MORNING + 3 * HOUR)
    assert later.state == "booked"


def test_a_cancelled_visit_frees_the_engineer(office, engineer, now) -> None:
    visit = book(on_the_way("C2"), engineer, by=office)
    cancel_visit(visit, reason="Customer away", by=office, now=now)
    assert book(on_the_way("C2"), engineer, by=office).state == "booked"


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"end": MORNING}, "end"),
        ({"end": MORNING + timedelta(days=14, seconds=1)}, "end"),
        ({"start": NOON - timedelta(days=1)}, "start"),
        ({"engineers": ()}, "engineers"),
        ({"remedials": ()}, "remedials"),
    ],
)
def test_book_visit_refuses(office, engineer, now, more, field) -> None:
    with pytest.raises(Refused) as refused:
        book(on_the_way("C2"), engineer, by=office, **more)
    assert (refused.value.field, Visit.objects.count()) == (field, 0)


def test_a_visit_earlier_today_can_still_be_booked(office, engineer, now) -> None:
    assert book(on_the_way("C2"), engineer, by=office, start=NOON - 3 * HOUR, end=NOON - HOUR).state == "booked"


@pytest.mark.parametrize("stage", ["to-price", "quoted", "done", "reviewed", "declined", "cancelled", "by-others"])
def test_only_approved_work_is_booked(office, engineer, now, stage) -> None:
    with pytest.raises(Refused, match="cannot be booked: its stage is"):
        book(on_the_way("C2", stage=stage), engineer, by=office)


def test_work_of_another_site_is_not_booked(office, engineer, now) -> None:
    remedial, other = on_the_way("C2"), on_the_way("C2", site=make_site("Other"))
    with pytest.raises(Refused, match="all of this site"):
        book(remedial, engineer, by=office, remedials=[remedial, other])


def test_an_archived_site_is_not_visited(office, engineer, now) -> None:
    remedial = on_the_way("C2")
    Site.objects.update(archived_at=now)
    remedial.site.refresh_from_db()
    with pytest.raises(Refused, match="archived"):
        book(remedial, engineer, by=office)


def test_who_can_go(office, engineer, now) -> None:
    with pytest.raises(Refused, match="Olive Deskworth is no engineer of the firm now"):
        book(on_the_way("C2"), office, by=office)
    engineer.is_active = False
    engineer.save()
    with pytest.raises(Refused, match="Edwin Wireman is no engineer"):
        book(on_the_way("C2"), engineer, by=office)


def test_booking_is_the_offices(engineer, now) -> None:
    with pytest.raises(NotAllowed):
        book(on_the_way("C2"), engineer, by=engineer)


def test_booked_work_moves_only_when_asked(office, engineer, other_engineer, now) -> None:
    remedial = on_the_way("C2")
    first = book(remedial, engineer, by=office)
    with pytest.raises(Refused, match=rf"is booked already for 4 Feb 2026, 09:00 \(visit {first.number}\)"):
        book(remedial, other_engineer, by=office)
    second = book(remedial, other_engineer, by=office, move=True)
    remedial.refresh_from_db()
    assert (remedial.stage, remedial.owner) == ("booked", other_engineer)
    assert list(VisitLine.objects.filter(active=True).values_list("visit", flat=True)) == [second.pk]


def test_work_left_over_is_booked_again(office, engineer, now) -> None:
    remedial = on_the_way("C2")
    book(remedial, engineer, by=office)
    leave_remedial(remedial, id=new_id(), because="Second fix", by=engineer, now=now)
    again = book(
        remedial, engineer, by=office, start=MORNING + timedelta(days=1), end=MORNING + timedelta(days=1, hours=1)
    )
    assert list(VisitLine.objects.filter(active=True).values_list("visit", flat=True)) == [again.pk]


def test_a_subcontractor_sees_the_site_from_then_on(office, subcontractor, now) -> None:
    remedial = on_the_way("C2")
    assert not Site.objects.visible_to(subcontractor).exists()
    visit = book(remedial, subcontractor, by=office)
    assert list(Site.objects.visible_to(subcontractor)) == [remedial.site]
    assert list(Visit.objects.visible_to(subcontractor)) == [visit]


def test_an_employee_needs_no_access_of_their_own(office, engineer, now) -> None:
    book(on_the_way("C2"), engineer, by=office)
    assert SiteAccess.objects.count() == 0


# --- cancelling -------------------------------------------------------------------------------------------------------


def test_cancel_visit(office, manager, engineer, now) -> None:
    remedial = on_the_way("C2")
    visit = book(remedial, engineer, by=office)
    with recorded() as told:
        for _ in range(2):
            cancelled = cancel_visit(visit, reason="Customer away", by=manager, now=now)
    remedial.refresh_from_db()
    assert (cancelled.state, cancelled.cancelled_reason) == ("cancelled", "Customer away")
    assert (remedial.stage, remedial.owner, remedial.step_by) == ("approved", manager, NOON.date())
    assert not visit.lines.filter(active=True).exists()
    facts = {"number": visit.number, "remedials": [str(remedial.pk)]}
    assert told == [
        Told("visit.cancelled", visit.pk, facts, {"reason": "Customer away"}),
        Told("remedial.unbooked", remedial.pk, {}, {}),
    ]


def test_what_was_closed_stays_closed_when_its_visit_is_cancelled(office, engineer, now) -> None:
    remedial = on_the_way("C3")
    second = make_remedial(make_observation(remedial.site), stage="approved")
    visit = book(remedial, engineer, by=office, remedials=[remedial, second])
    close(remedial, by=engineer)
    cancel_visit(visit, reason="Rest not needed", by=office, now=now)
    assert stages() == ["done", "approved"]


def test_a_subcontractor_of_a_cancelled_visit_sees_the_site_no_more(office, subcontractor, now) -> None:
    remedial = on_the_way("C2")
    visit = book(remedial, subcontractor, by=office)
    with recorded() as told:
        cancel_visit(visit, reason="Customer away", by=office, now=now)
    assert not Site.objects.visible_to(subcontractor).exists()
    assert told[0].facts["sight_ended"] == [str(subcontractor.pk)]


@pytest.mark.parametrize("days", [-3, 3])
def test_a_subcontractor_of_another_visit_there_goes_on_seeing_the_site(office, subcontractor, now, days) -> None:
    remedial = on_the_way("C2")
    second = make_remedial(make_observation(remedial.site), stage="approved")
    visit = book(remedial, subcontractor, by=office)
    at = {"start": MORNING + timedelta(days=days), "end": MORNING + timedelta(days=days, hours=1), "despite": "Agreed"}
    book(second, subcontractor, by=office, now=now - timedelta(days=9), **at)
    with recorded() as told:
        cancel_visit(visit, reason="Customer away", by=office, now=now)
    assert list(Site.objects.visible_to(subcontractor)) == [remedial.site]
    assert "sight_ended" not in told[0].facts


def test_a_visit_elsewhere_gives_no_sight_of_this_site(office, subcontractor, now) -> None:
    remedial, elsewhere = on_the_way("C2"), on_the_way("C2", site=make_site("Elsewhere"))
    visit = book(remedial, subcontractor, by=office)
    book(elsewhere, subcontractor, by=office, start=MORNING + 3 * HOUR, end=MORNING + 4 * HOUR)
    cancel_visit(visit, reason="Customer away", by=office, now=now)
    assert list(Site.objects.visible_to(subcontractor)) == [elsewhere.site]


def test_closing_never_changes_the_visit(office, engineer, now) -> None:
    remedial = on_the_way("C3")
    visit = book(remedial, engineer, by=office)
    before = Visit.objects.filter(pk=visit.pk).values().get()
    close(remedial, by=engineer)
    assert Visit.objects.filter(pk=visit.pk).values().get() == before


def test_cancel_visit_refuses(office, engineer, now) -> None:
    visit = book(on_the_way("C2"), engineer, by=office)
    with pytest.raises(Refused, match="why the visit is cancelled"):
        cancel_visit(visit, reason=" ", by=office, now=now)
    with pytest.raises(NotAllowed):
        cancel_visit(visit, reason="x", by=engineer, now=now)
    assert stages() == ["booked"]


# --- two at once ------------------------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_two_people_booking_the_same_engineers_at_once_one_wins() -> None:
    office, people = anybody("office"), [make_user("Ada Wire", "engineer"), make_user("Bob Wire", "engineer")]
    one, two = on_the_way("C2", site=make_site("One")), on_the_way("C2", site=make_site("Two"))
    results = at_once(
        lambda: book(one, *people, by=office),
        lambda: book(two, *reversed(people), by=office),
    )
    won = [result for result in results if isinstance(result, Visit)]
    lost = [result for result in results if isinstance(result, Refused)]
    assert (len(won), len(lost), Visit.objects.count(), Attendance.objects.count()) == (1, 1, 1, 2)
    assert f"is at {won[0].site} then" in lost[0].sentence
    assert sorted(stages()) == ["approved", "booked"]


@pytest.mark.django_db(transaction=True)
def test_the_same_form_sent_twice_at_once_books_one_visit() -> None:
    office, engineer, key = anybody("office"), make_user("Ada Wire", "engineer"), new_id()
    remedial = on_the_way("C2")
    results = at_once(*[lambda: book(remedial, engineer, by=office, id=key).pk] * 2)
    assert (results, Visit.objects.count()) == ([key, key], 1)


@pytest.mark.django_db(transaction=True)
def test_two_people_booking_the_same_remedial_at_once_one_wins() -> None:
    office, people = anybody("office"), [make_user("Ada Wire", "engineer"), make_user("Bob Wire", "engineer")]
    remedial = on_the_way("C2")
    results = at_once(*(lambda who=who: book(remedial, who, by=office) for who in people))
    lost = [result for result in results if isinstance(result, Refused)]
    assert ([refused.field for refused in lost], Visit.objects.count()) == (["remedials"], 1)
    assert VisitLine.objects.filter(active=True).count() == 1


@pytest.mark.django_db(transaction=True)
def test_cancelling_while_the_engineer_closes_leaves_one_truth() -> None:
    office, engineer = anybody("office"), make_user("Ada Wire", "engineer")
    remedial = on_the_way("C3")
    visit = book(remedial, engineer, by=office)
    at_once(
        lambda: cancel_visit(visit, reason="Customer away", by=office, now=NOON),
        lambda: close(remedial, by=engineer),
    )
    remedial.refresh_from_db()
    visit.refresh_from_db()
    assert (remedial.stage, visit.state) == ("done", "cancelled")


@pytest.mark.django_db(transaction=True)
def test_work_that_moves_while_its_visit_is_cancelled_stays_on_the_other() -> None:
    office, people = anybody("office"), [make_user("Ada Wire", "engineer"), make_user("Bob Wire", "engineer")]
    remedial = on_the_way("C2")
    first = book(remedial, people[0], by=office)
    with transaction.atomic():
        second = book(remedial, people[1], by=office, move=True)
        cancelled = behind(lambda: cancel_visit(first, reason="Customer away", by=office, now=NOON))
    assert cancelled.result().state == "cancelled"
    remedial.refresh_from_db()
    assert (remedial.stage, remedial.owner) == ("booked", people[1])
    assert VisitLine.objects.get(active=True).visit == second
