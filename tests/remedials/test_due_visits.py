"""Visits in the due list: what is booked says so; what is to confirm, to settle, to try again; keys, and who is alone."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from inspections.models import InspectionDue, MadeSafe
from remedials.due.models import DueRow
from remedials.due.queries import as_dicts, rows_due, rows_to_read
from remedials.visits.models import CheckIn, Confirmation, Visit, VisitLine
from tests import factories as make
from tests.factories import NOON, TODAY

pytestmark = pytest.mark.django_db
SOON = NOON + timedelta(days=3)
DAY = SOON.date()


def days(count: int) -> date:
    return TODAY + timedelta(days=count)


def row(kind: str, **only) -> tuple[str, str, date]:
    """Of the one row of a kind: its step, who has it or is waited for, and its day."""
    found = DueRow.objects.get(kind=kind, **only)
    who = found.waits_on or (found.owner.name if found.owner else "")
    return found.next_step, who, found.due


def stands(kind: str, on: date) -> bool:
    return DueRow.objects.filter(kind=kind, shows_from__lte=on, shows_until__gte=on).exists()


# --- what is booked ---------------------------------------------------------------------------------------------------


@pytest.fixture
def due(site, office):
    return InspectionDue.objects.create(
        unit=make.unit_of(site), due_on=days(9), basis="as recommended", shows_from=days(5), owner=office
    )


def test_an_inspection_that_is_booked_is_the_engineers_on_that_day(site, due, engineer) -> None:
    assert row("inspection") == ("Offer and book the next inspection", "Olive Deskworth", days(9))
    visit = make.make_visit(site, engineers=[engineer], start=SOON)
    line = make.make_visit_line(visit, unit=due.unit)
    assert row("inspection", visit=visit.pk) == ("Booked for 6 Feb 2026: do it and record it", "Edwin Wireman", DAY)
    assert stands("inspection", TODAY)
    line.settled_at = NOON
    line.save()
    assert row("inspection") == ("Offer and book the next inspection", "Olive Deskworth", days(9))
    assert not stands("inspection", TODAY)


def test_a_cancelled_visit_is_none(site, due, engineer) -> None:
    visit = make.make_visit(site, engineers=[engineer], start=SOON, state="cancelled", cancelled_reason="Away")
    make.make_visit_line(visit, unit=due.unit)
    assert row("inspection")[0] == "Offer and book the next inspection"


def test_booked_too_late_says_so(site, due, engineer) -> None:
    make.make_visit_line(make.make_visit(site, engineers=[engineer], start=SOON + timedelta(days=9)), unit=due.unit)
    assert row("inspection") == (
        "Booked for 15 Feb 2026, after it is due: do it and record it", "Edwin Wireman", days(12)
    )  # fmt: skip


def test_who_has_left_does_not_have_it(site, due, engineer, other_engineer) -> None:
    visit = make.make_visit(site, engineers=[engineer, other_engineer], start=SOON)
    make.make_visit_line(visit, unit=due.unit)
    assert row("inspection")[1] == "Edwin Wireman"
    for who, then in ((engineer, "Otto Ampleby"), (other_engineer, "Olive Deskworth")):
        who.is_active = False
        who.save()
        assert row("inspection")[1] == then


def test_a_look_again_and_a_report_that_are_booked_say_so(site, office, engineer) -> None:
    held = make.make_observation(site, code="C1", made_safe=True)
    fields = {"how": "covered", "what": "lid on", "agreed_with": "Petra", "at": NOON, "by": office}
    MadeSafe.objects.create(observation=held, look_again_on=days(7), **fields)
    told = make.make_observation(site, code="", owner=office)
    visit = make.make_visit(site, engineers=[engineer], start=SOON)
    make.make_visit_line(visit, observation=held, kind="look-again")
    assert row("look-again") == ("Booked for 6 Feb 2026: look again at what was made safe", "Edwin Wireman", DAY)
    assert row("uncoded")[:2] == ("Have it coded by a qualified person", "Olive Deskworth")
    make.make_visit_line(visit, observation=told, kind="call-out")
    # A visit that is booked for later puts off neither the day to look again nor the day to have it coded.
    assert row("uncoded") == ("Booked for 6 Feb 2026: look at it and have it coded", "Edwin Wireman", TODAY)


@pytest.mark.parametrize(
    ("step_by", "parts", "remedy_by", "due"),
    [
        (0, None, 20, 0),
        (0, 6, 20, 6),
        (0, 6, None, 6),
        (0, 30, 20, 20),  # it must be remedied earlier: that the parts come late is for the office to settle by then
        (9, 6, 20, 9),
    ],
)
def test_work_is_not_to_be_booked_before_its_parts_are_ready(site, step_by, parts, remedy_by, due) -> None:
    seen = make.make_observation(site, remedy_by=days(remedy_by) if remedy_by else None)
    ready = days(parts) if parts else None
    make.make_remedial(seen, stage="approved", step_by=days(step_by), parts_ready_on=ready)
    words = {None: "Book the work", 6: "Book the work: parts are ready on 9 Feb 2026"}
    step, _, on = row("book")
    assert (step, on) == (words.get(parts, "Book the work: parts are ready on 5 Mar 2026"), days(due))


def test_work_without_a_day_stays_a_loose_end_whatever_its_parts(site) -> None:
    make.make_remedial(make.make_observation(site), stage="approved", step_by=None, parts_ready_on=DAY)
    found = DueRow.objects.get()
    assert (found.loose, found.due) == (True, date(9999, 12, 31))


def test_a_booked_remedial_names_its_visit(site, engineer) -> None:
    remedial = make.make_remedial(make.make_observation(site), stage="booked", owner=engineer)
    visit = make.make_visit(site, remedial, engineers=[engineer], start=SOON)
    assert DueRow.objects.get(kind="visit").visit == visit.pk
    VisitLine.objects.update(active=False)
    found = DueRow.objects.get(kind="visit")
    assert (found.visit, found.loose) == (None, True)


# --- confirming, settling ---------------------------------------------------------------------------------------------


@pytest.fixture
def to_confirm(site, office, engineer):
    remedial = make.make_remedial(make.make_observation(site), stage="booked", owner=engineer)
    return make.make_visit(site, remedial, engineers=[engineer], start=SOON, confirm_by=days(1), by=office)


def test_a_visit_is_to_be_confirmed(to_confirm, office) -> None:
    assert row("confirm", visit=to_confirm.pk) == ("Ask whether the time suits", "Olive Deskworth", days(1))
    assert DueRow.objects.get(kind="confirm").subject == "Visit 1 on 6 Feb 2026 at 12:00"
    Confirmation.objects.create(
        visit=to_confirm, answered="asked", how="phone", whom="Petra", start=SOON, recorded_by=office, at=NOON
    )
    for answered, step, who in (
        ("asked", "Chase the confirmation", "Petra"),
        ("cannot", "Find another time", "Olive Deskworth"),
    ):
        Visit.objects.update(answered=answered)
        assert row("confirm") == (step, who, days(1))


@pytest.mark.parametrize("fields", [{"confirm_by": None}, {"answered": "confirmed"}, {"state": "cancelled"}])
def test_one_that_need_not_be_confirmed_is_not_asked_for(to_confirm, fields) -> None:
    Visit.objects.update(cancelled_reason="Away", **fields)
    assert not DueRow.objects.filter(kind="confirm").exists()


def test_nobody_is_asked_after_the_visit_or_where_nothing_is_left_to_do(to_confirm) -> None:
    assert [stands("confirm", DAY + timedelta(days=n)) for n in (-1, 0, 1)] == [True, True, False]
    to_confirm.remedials.update(stage="done")
    assert not DueRow.objects.filter(kind="confirm").exists()


def test_summer_days_are_those_of_the_clock_on_the_wall(site, engineer) -> None:
    late = NOON.replace(month=6, day=9, hour=23, minute=30)
    visit = make.make_visit(site, engineers=[engineer], start=late, hours=1, confirm_by=TODAY)
    make.make_visit_line(visit, unit=make.unit_of(site))
    assert DueRow.objects.get(kind="confirm").subject == "Visit 1 on 10 Jun 2026 at 00:30"
    assert DueRow.objects.get(kind="unclosed").due == date(2026, 6, 11)


def test_what_a_visit_was_for_is_settled_the_day_after(site, engineer) -> None:
    visit = make.make_visit(site, engineers=[engineer], start=SOON)
    line = make.make_visit_line(visit, unit=make.unit_of(site))
    assert row("unclosed", visit=visit.pk) == (
        "Say what was done at the visit",
        "Edwin Wireman",
        DAY + timedelta(days=1),
    )
    assert [stands("unclosed", DAY + timedelta(days=n)) for n in (0, 1)] == [False, True]
    line.settled_at = SOON
    line.save()
    assert not DueRow.objects.filter(kind="unclosed").exists()


def test_remedials_of_a_visit_have_rows_of_their_own(to_confirm) -> None:
    assert not DueRow.objects.filter(kind="unclosed").exists()


# --- getting in -------------------------------------------------------------------------------------------------------


def test_who_was_not_let_in_tries_again(site, office, engineer) -> None:
    visit = make.make_visit(site, engineers=[engineer], by=office)
    make.make_attempt(site, by=engineer, visit=visit, next_on=days(2))
    assert row("access") == ("Try again to get in", "Olive Deskworth", days(2))
    make.make_attempt(site, at=NOON + timedelta(hours=3))
    assert not DueRow.objects.filter(kind="access").exists()


def test_an_attempt_elsewhere_does_not_end_it(site) -> None:
    flats = [make.make_unit(site, name) for name in ("Flat 1", "Flat 2")]
    for flat in flats:
        make.make_attempt(site, unit=flat, next_on=days(2))
    make.make_attempt(site, at=NOON + timedelta(hours=3))
    assert {found.unit_id for found in DueRow.objects.filter(kind="access")} == {flat.pk for flat in flats}


@pytest.mark.parametrize(("of_unit", "at_unit", "left"), [(0, 0, 0), (0, 1, 1), (None, 0, 0)])
def test_a_visit_booked_since_is_the_next_try(site, engineer, of_unit, at_unit, left) -> None:
    flats = [make.make_unit(site, name) for name in ("Flat 1", "Flat 2")]
    make.make_attempt(site, unit=None if of_unit is None else flats[of_unit], next_on=days(2))
    remedial = make.make_remedial(make.make_observation(site, unit=flats[at_unit]), stage="booked", unit=flats[at_unit])
    later = NOON + timedelta(hours=1)
    visit = make.make_visit(site, remedial, engineers=[engineer], start=SOON, booked_at=later)
    assert DueRow.objects.filter(kind="access").count() == left
    Visit.objects.filter(pk=visit.pk).update(state="cancelled", cancelled_reason="Away")
    assert DueRow.objects.filter(kind="access").count() == 1


def test_what_is_to_be_seen_to_is_its_owners(site, office) -> None:
    asked = make.make_see_to(site, owner=office, by=days(4))
    assert row("see-to") == ("See to it before work begins", "Olive Deskworth", days(4))
    asked.met_on, asked.met_how, asked.holds_until = TODAY, "Register of 2026 read", days(30)
    asked.save()
    assert not DueRow.objects.filter(kind="see-to").exists()  # no work is open there
    make.make_remedial(make.make_observation(site), stage="approved")
    assert row("see-to") == ("See to it again: it held until 5 Mar 2026", "Olive Deskworth", days(31))
    assert [stands("see-to", days(n)) for n in (30, 31)] == [False, True]
    asked.holds_until = None
    asked.save()
    assert not DueRow.objects.filter(kind="see-to").exists()


def test_what_one_remedial_needs_ends_with_it(site) -> None:
    remedial = make.make_remedial(make.make_observation(site), stage="approved")
    asked = make.make_see_to(site, remedial=remedial)
    found = DueRow.objects.get(kind="see-to")
    assert (found.remedial, found.unit_id) == (remedial.pk, remedial.unit_id)
    remedial.stage = "cancelled"
    remedial.save()
    assert not DueRow.objects.filter(kind="see-to").exists()
    remedial.stage = "approved"
    remedial.save()
    asked.withdrawn_at = NOON
    asked.save()
    assert not DueRow.objects.filter(kind="see-to").exists()


def test_a_key_that_is_out_comes_back(site, engineer) -> None:
    key = make.make_key(site, "K77", out_to=engineer, back_by=DAY)
    assert row("key") == ("Bring the key back", "Edwin Wireman", DAY)
    assert [stands("key", DAY + timedelta(days=n)) for n in (-1, 0)] == [False, True]
    assert "K77" not in DueRow.objects.get(kind="key").subject  # a mail never says tag and address together
    key.out_to = key.back_by = None
    key.save()
    assert not DueRow.objects.filter(kind="key").exists()


def test_who_is_in_there_alone_stands_first_of_the_day(site, engineer) -> None:
    make.make_remedial(make.make_observation(site, code="C2"), step_by=TODAY)
    visit = make.make_visit(site, engineers=[engineer])
    alone = CheckIn.objects.create(site=site, visit=visit, user=engineer, in_at=NOON, out_by=NOON + timedelta(hours=2))
    first = rows_due(engineer, today=TODAY).order_by("due", "-rank").first()
    assert (first.kind, first.visit, first.rank) == ("check-out", visit.pk, 4)
    assert first.subject == "Edwin Wireman works alone here, to be out by 14:00"
    alone.out_at = NOON
    alone.save()
    assert not DueRow.objects.filter(kind="check-out").exists()


def test_times_offered_are_chased_and_offered_anew(site, office) -> None:
    remedial = make.make_remedial(make.make_observation(site), stage="approved")
    offer = make.make_times_offer(site, remedial, by=office, party=site.customer, answer_by=days(2))
    assert row("times") == ("Chase the answer to the times offered", "Petra Landlady", days(2))
    assert [stands("times", days(n)) for n in (1, 2)] == [False, True]
    offer.state, offer.answered_at = "none-suits", NOON
    offer.save()
    assert row("times") == ("Offer other times: none of those suits", "Olive Deskworth", TODAY)
    make.make_times_offer(site, remedial, made_at=NOON + timedelta(hours=1), answer_by=days(4))
    assert row("times")[2] == days(4)
    remedial.stage = "booked"
    remedial.save()
    assert not DueRow.objects.filter(kind="times").exists()


# --- who sees them ----------------------------------------------------------------------------------------------------


def test_a_subcontractor_sees_of_visits_only_what_is_theirs(site, subcontractor, engineer) -> None:
    make.grant_access(site, subcontractor)
    for number, who in enumerate((engineer, subcontractor)):
        make.make_key(site, f"K{number}", out_to=who, back_by=TODAY)
    make.make_see_to(site)
    make.make_attempt(site, next_on=TODAY)
    assert [(found.kind, found.owner) for found in rows_due(subcontractor, today=TODAY)] == [("key", subcontractor)]
    assert rows_due(engineer, today=TODAY).count() == 4


def test_rows_of_visits_lead_to_their_pages(to_confirm, office) -> None:
    (shown,) = as_dicts(rows_to_read(office, today=TODAY).filter(kind="confirm"), today=TODAY, user=office)
    assert (shown["href"], shown["take_on"]) == (reverse("visits:visit", args=[to_confirm.pk]), "")


def test_rows_have_one_key_each(site, to_confirm, engineer) -> None:
    make.make_visit_line(to_confirm, unit=make.unit_of(site))
    make.make_visit_line(to_confirm, observation=make.make_observation(site, code=""), kind="call-out")
    keys = list(DueRow.objects.values_list("kind", "ref"))
    assert len(keys) == len(set(keys)) == 4
