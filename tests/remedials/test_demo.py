"""The demo firm: every stage and code, one loose end, nothing that could be somebody's."""

import re
from datetime import UTC, datetime, time, timedelta
from io import StringIO

import pytest
import time_machine
from django.core.management import call_command
from django.db import transaction

from inspections.models import DangerNotice, Inspection, MadeSafe, Observation, Reading, Review
from inspections.standards.example_codings import EXAMPLES
from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.queries import faults
from jobsite.people.models import Instrument, Leave, Skill, User, WorkingWeek
from jobsite.premises.models import Board, CircuitLink, Feed, Party, SecondSource, Site, SwitchingTest, Unit
from jobsite.premises.queries.disagreements import labels_page
from remedials.desk.demo.loading import load_demo
from remedials.desk.demo.people import sign_ins
from remedials.desk.demo.quotes import answering_path
from remedials.due.models import DueRow, Leaving, NoReminders
from remedials.quotes.models import LineAnswer, Offer, Question, Quote, StandardJob
from remedials.quotes.states import Standing
from remedials.status.portfolio import queries
from remedials.visits.models import Attempt, Plan, Visit, VisitMove
from remedials.visits.operations.checking_in import check_in
from remedials.visits.operations.codes import look_at_code
from remedials.works.models import PowerStep, Remedial, Stint
from tests.factories import NOON, TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def demo(django_db_setup, django_db_blocker):
    """Loaded once for all tests of this file that ask for it, and gone after them."""
    with django_db_blocker.unblock(), transaction.atomic():
        with time_machine.travel(NOON):  # the worker plans from its own now on
            load_demo(now=NOON)
        yield
        transaction.set_rollback(True)


@pytest.mark.parametrize(
    "at",
    [
        datetime(2028, 2, 28, 12, tzinfo=UTC),  # a Monday before a 29 February, and so on to Sunday
        datetime(2027, 12, 29, 12, tzinfo=UTC),
        datetime(2026, 12, 24, 23, 55, tzinfo=UTC),
        datetime(2027, 1, 1, 0, 10, tzinfo=UTC),
        datetime(2026, 10, 24, 22, 50, tzinfo=UTC),  # ten minutes before midnight and the clocks change
        datetime(2026, 3, 29, 0, 30, tzinfo=UTC),
    ],
    ids=str,
)
def test_it_loads_on_every_day(at):
    """Whoever looks at the program does so on a day of their own; what is booked ahead must not meet on a Monday."""
    with time_machine.travel(at):
        assert load_demo(now=at) > 5
    booked = Visit.objects.filter(state="booked", start__gt=at + timedelta(hours=24))
    days = {clock.local_day(visit.start).weekday() for visit in booked}
    assert days
    assert days <= {0, 1, 2, 3, 4}


def values(rows, name):
    return set(rows.values_list(name, flat=True))


def test_sites_of_different_kinds(demo):
    assert Site.objects.count() == 13
    assert len(values(Unit.objects, "kind")) == 7
    assert Board.objects.filter(site__name="Orrin Reach boatyard").count() == 8
    assert Unit.objects.filter(site__name="Tollgate House").count() == 5
    assert Unit.objects.get(site__name="3 Lantern Row").whole_site is True


def test_an_agent_with_many_flats_has_a_line_for_each(demo):
    agent = Party.objects.get(name="Cormorant Row Management")
    page = queries.portfolio(agent, queries.Asked(), now=NOON)
    assert page.units == 142  # 140 flats and the common parts of two buildings
    assert [line.name for line in page.lines[:4]] == [
        "Flat 7, Ropehouse Court", "Flat 18, Ropehouse Court", "Flat 52, Ropehouse Court", "Flat 33, Ropehouse Court",
    ]  # fmt: skip
    assert page.first_words[-1] == "Nobody let us in to 2 units when we last came."
    partly = {line.name for line in page.lines if "did not cover" in line.says}
    assert partly == {f"Flat {n}, Capstan Walk" for n in range(20, 24)}
    assert {line.next_basis for line in page.lines if line.name.startswith("Flat")} == {"by law"}
    told = Attempt.objects.filter(how="visit", got_in=False).select_related("unit")
    for attempt in told:  # what is said to have been done at a time was done before it was written down
        times = [time(int(hour), int(minute)) for hour, minute in re.findall(r"\b(\d{1,2}):(\d\d)\b", attempt.said)]
        assert all(at <= attempt.recorded_at.astimezone(clock.LONDON).time() for at in times), attempt.said


def test_an_old_report_with_disputed_codes(demo):
    recoded = Review.objects.filter(decision="recode", observation__inspection__other_firm=True)
    assert {(r.code_before, r.code) for r in recoded} == {("C3", "C2"), ("C3", "C1"), ("C2", "C3")}
    report = Inspection.objects.get(reference="SE-0417")
    assert (report.outcome_written, report.outcome) == ("satisfactory", "unsatisfactory")


def test_open_items_of_every_code_and_of_every_age(demo):
    found = Observation.objects.open()
    assert values(found, "code") == {"", "C1", "C2", "C3", "FI"}
    ages = {(TODAY - day).days for day in values(found, "first_recorded_on")}
    assert min(ages) == 0
    assert max(ages) > 4 * 365


def test_remedials_in_every_stage(demo):
    stages = {stage for stage, _ in Remedial.STAGES}
    assert values(Remedial.objects, "stage") == stages


def test_exactly_one_loose_end(demo):
    assert [(row.code, row.subject) for row in DueRow.objects.filter(loose=True)] == [
        ("C2", "No RCD for the pillar sockets")
    ]


def test_every_kind_of_due_row_but_quotes_about_to_lapse(demo):
    kinds = {
        "uncoded",
        "decide",
        "price",
        "answer",
        "question",
        "notice",
        "book",
        "visit",
        "review",
        "offer-again",
        "look-again",
        "chase",
        "inspection",
        "codes",
        "access",
        "confirm",
        "key",
        "see-to",
        "unclosed",
        "paper",
        "insurance",
        "instrument",
        "competence",
    }
    assert values(DueRow.objects, "kind") == kinds


def test_quotes_in_every_state_and_a_variation(demo):
    standing = Offer.objects.with_standing(TODAY).values_list("standing", flat=True)
    assert set(standing) == set(Standing)
    assert Quote.objects.exclude(variation_of=None).get().variation_of.name == "Unit A made safe"
    refused = LineAnswer.objects.get(says="no").line.remedials.get()
    assert DueRow.objects.filter(kind="notice", observation__in=refused.observations.all()).exists()
    assert Question.objects.get().open is True
    assert StandardJob.objects.count() == 12


def test_the_owner_answers_on_a_link_that_is_printed_at_the_start(demo, client):
    with time_machine.travel(NOON, tick=False):
        response = client.get(answering_path())
    assert "What the inspection found" in response.content.decode()
    out = StringIO()
    call_command("sign_ins", stdout=out)
    assert answering_path() in out.getvalue()


def test_the_same_defects_again(demo):
    survey = Inspection.objects.get(kind="survey")
    assert {(o.text, o.continues.text) for o in survey.observations.exclude(continues=None)} == {
        ("Hoist isolator: cover still missing, locked off when seen", "Live parts exposed at the hoist isolator"),
        ("Armoured cable without a gland, earthing of the armour not known",) * 2,
    }
    assert all(o.first_recorded_on < o.recorded_on and o.remedials.exists() for o in survey.observations.all())
    isolator = survey.observations.get(code="C1")
    assert (isolator.made_safe, MadeSafe.objects.get(ended="", observation=isolator).lock) == (True, "14")
    said = {(row.observation.text, row.answer) for row in survey.not_seen_again.all()}
    assert said >= {("No circuit chart inside the door", "gone"), ("Blank missing at way 8", "not-looked")}
    assert ("Blank missing at way 9", "") in said
    assert Observation.objects.get(text="No circuit chart inside the door").ended == "gone"


def test_a_report_was_corrected(demo):
    reissued = Inspection.objects.exclude(replaces=None).get()
    assert (reissued.state, reissued.replaces.state) == ("issued", "replaced")
    assert reissued.next_due_on < reissued.replaces.next_due_on


def test_codes_to_practise_on(demo):
    report = Inspection.objects.get(reference="PRACTICE-1")
    assert report.observations.count() == len(EXAMPLES)
    assert not report.observations.filter(reviewed=True).exists()


def test_feeds_to_trace_and_labels_that_disagree(demo):
    store = Board.objects.get(designation="Boat store")
    assert set(store.feeds.values_list("verified", flat=True)) == {False}
    assert store.feeds.count() == 2
    assert SwitchingTest.objects.get().seen.count() == 2
    disagree = labels_page(Site.objects.get(name="Orrin Reach boatyard"))["rows"]
    assert any("Chandlery" in str(row) for row in disagree)


def test_the_supply_has_what_the_drawing_shows(demo):
    assert values(Feed.objects, "verified") == {True, False}
    assert values(SecondSource.objects, "kind") == {"pv", "generator"}
    assert values(CircuitLink.objects, "kind") == {"neutral"}
    assert MadeSafe.objects.exists()
    assert DangerNotice.objects.exists()


def test_a_week_is_proposed_around_visits_of_every_standing(demo):
    """Moved, confirmed, asked, one the customer cannot keep, one that gave way to an emergency; and reasons for the rest."""
    assert values(Visit.objects.filter(start__gt=NOON), "answered") == {"not-asked", "asked", "confirmed", "cannot"}
    assert VisitMove.objects.get().reason == "Ms Larkspur is at home a day later."
    assert Visit.objects.get(emergency=True).number > Visit.objects.get(state="cancelled").number
    plan = Plan.objects.get()
    assert (plan.state, plan.sentence) == ("ready", "")
    assert plan.proposals.filter(state="open").exists(), [(row.remedial.work, row.why) for row in plan.unplanned.all()]
    assert all(row.why for row in plan.unplanned.all())


def test_the_engineer_goes_where_an_alarm_is_set_today(demo):
    start, end = (NOON.replace(hour=hour) for hour in (11, 14))  # London keeps UTC on that day
    visit = Visit.objects.get(start=start, end=end)
    assert (visit.site.name, visit.site.alarm_codes.exists()) == ("Saltings Bakery", True)
    dirk = visit.attendances.get().engineer
    assert dirk.name == "Dirk Achterberg"
    with transaction.atomic():
        assert look_at_code(visit.site.alarm_codes.get(), by=dirk, now=start) == "not a code 19"
        assert check_in(visit, id=new_id(), out_by=end, by=dirk, now=start).visit == visit
        transaction.set_rollback(True)


def test_who_goes_can_do_the_work_and_is_there(demo):
    assert values(User.objects, "apprentice") == {True, False}
    assert User.objects.get(subcontractor=True).insured_until > TODAY
    assert Skill.objects.get(name="solar panels").until > TODAY
    assert (WorkingWeek.objects.count(), Leave.objects.count()) == (1, 1)
    assert not User.objects.filter(roles=["engineer"], home_latitude=None).exists()
    assert not Site.objects.filter(latitude=None).exists()


def test_its_ledger_holds(demo):
    assert list(faults()) == []


DRAMA = re.compile(r"01632 960\d{3}|07700 900\d{3}|020 7946 0\d{3}|")


def test_numbers_and_addresses_belong_to_nobody(demo):
    phones = values(User.objects, "phone") | values(Party.objects, "phone")
    assert [number for number in phones if not DRAMA.fullmatch(number)] == []
    emails = values(User.objects, "email") | values(Party.objects, "email")
    assert {address.partition("@")[2] for address in emails} == {"example.com", "example.org"}
    assert all(code.startswith("QX") for code in values(Site.objects, "postcode"))  # no post town has QX


def test_every_kind_of_person_can_sign_in(demo, client):
    for address, password, _ in sign_ins():
        answer = client.post("/accounts/login/", {"login": address, "password": password})
        assert (address, answer.status_code, answer.get("Location")) == (address, 302, "/")
        client.logout()


def test_what_the_engineers_phone_has_to_show(demo):
    """A job begun and to be finished today, with its picture and a reading from before; proof to review; testers in every state."""
    stint = Stint.objects.get(came=Stint.Came.PART_DONE, remedial__work__startswith="Renew the heating element")
    work = stint.remedial
    assert list(PowerStep.objects.filter(remedial=work).order_by("at", "pk").values_list("kind", flat=True)) == [
        "off",
        "on",
    ]
    assert Visit.objects.filter(start__date=TODAY, lines__remedial=work).exists()
    trips = work.observations.get()
    assert trips.photos.exists()
    assert Reading.objects.filter(circuit=trips.circuit).count() >= 2
    assert Remedial.objects.filter(stage="done").exists()
    states = {
        i.name: (bool(i.check_due and i.check_due < TODAY), i.checks.filter(result="failed").exists())
        for i in Instrument.objects.filter(archived_at=None)
    }
    assert states == {
        "Multifunction tester": (False, False),
        "Loop and RCD tester": (True, False),
        "Insulation tester": (False, True),
    }


def test_a_house_was_left_with_a_closing_letter(demo):
    letter = Leaving.objects.get()
    assert (letter.site.name, letter.why, letter.delivered_how) == ("Ferry Cottage", "sold", "hand")
    assert [item["code"] for item in letter.open_items["items"]] == ["C2", "C3"]
    assert letter.site.archived_at is not None
    assert not DueRow.objects.filter(site=letter.site).exists()
    assert NoReminders.objects.get().party.name == "The Wrens"
