"""What figures would send, read from the rows of the due list: counts, lines, letters, and what really went out."""

from datetime import date, timedelta

import pytest

from inspections.models import InspectionDue
from jobsite.messages.models import Message
from remedials.due.models import NoReminders, Reminding
from remedials.due.queries.foretelling import Plan, foretell, keys_said, really_sent
from remedials.due.queries.foretelling_letters import letters_foretold
from remedials.due.queries.foretold_page import opened, sending, told_page
from remedials.due.rules.sorts import SHIPPED, Days, Sort
from tests import factories as make
from tests.factories import NOON, TODAY

pytestmark = pytest.mark.django_db


def plan(rules=None, **figures):
    shipped = Reminding.shipped()
    for name, value in figures.items():
        setattr(shipped, name, value)
    return Plan(shipped, SHIPPED | (rules or {}), "england", NOON)


def owned(site, owner, *, code="C2", in_days=3, **fields):
    """An observation that somebody is to decide upon in so many days."""
    step_by = TODAY + timedelta(days=in_days)
    fields.setdefault("on", TODAY - timedelta(days=60))
    return make.make_observation(site, code=code, owner=owner, step_by=step_by, remedy_by=step_by, **fields)


@pytest.fixture
def firm(db):
    """An owner without any other part, the office, a manager and a qualified person."""
    return {
        "owner": make.make_user("Olga Owns", "engineer"),
        "office": make.make_user("Odo Office", "office"),
        "boss": make.make_user("Bess Manager", "manager"),
        "senior": make.make_qualified("Quinn Proved"),
    }


def days_said(by_day, person):
    return {(day - TODAY).days: counts[person.pk] for day, counts in by_day.items() if counts[person.pk]}


def test_lines_by_day_and_person(firm):
    site = make.make_site()
    owned(site, firm["owner"])
    owned(site, firm["owner"], text="Another")
    told = foretell(plan()).lines
    # TODAY is Tuesday 3 February 2026; due on Friday the 6th: from Friday 30 January on, then on working days
    mine = days_said(told, firm["owner"])
    assert {day: mine[day] for day in range(-6, 7) if day in mine} == {-4: 2, -1: 2, 0: 2, 1: 2, 2: 2, 3: 2, 6: 2}
    assert min(days_said(told, firm["senior"])) == 6  # Monday: 2 days late on Sunday
    assert min(days_said(told, firm["boss"])) == 8
    assert days_said(told, firm["office"]) == {}


def test_danger_is_apart_on_every_day_since_it_was_recorded(firm):
    owned(make.make_site(), firm["owner"], code="C1", on=TODAY - timedelta(days=4))
    told = foretell(plan())
    for person in ("owner", "senior", "boss"):
        assert sorted(days_said(told.dangers, firm[person])) == list(range(-4, 30))
    assert firm["office"].pk not in told.dangers[TODAY]
    assert sorted(days_said(told.lines, firm["owner"]))[:4] == [-4, -1, 0, 1]  # of working days only


def test_a_report_that_may_be_dangerous_is_told_once(firm):
    make.make_observation(
        make.make_site(),
        code="",
        may_be_dangerous=True,
        owner=firm["owner"],
        step_by=TODAY,
        on=TODAY - timedelta(days=2),
    )
    told = foretell(plan()).dangers
    assert days_said(told, firm["owner"]) == {-2: 1, 0: 1}  # none was written: it goes out now
    assert days_said(told, firm["senior"]) == {-2: 1, 0: 1}
    assert firm["boss"].pk not in told[TODAY]


def test_other_figures_say_otherwise(firm):
    owned(make.make_site(), firm["owner"])
    quiet = foretell(plan({Sort.C2: Days(0, 10, None, 20)})).lines
    assert sorted(days_said(quiet, firm["owner"])) == [3, 13, 23]
    assert sorted(days_said(quiet, firm["boss"])) == [23]
    daily = foretell(plan(working_days=[1, 2, 3, 4, 5, 6, 7])).lines
    assert sorted(days_said(daily, firm["owner"])) == list(range(-4, 30))


def test_the_office_hears_of_what_nobody_has(firm):
    owned(make.make_site(), None)
    told = foretell(plan()).lines
    assert days_said(told, firm["office"])[0] == 1
    assert days_said(told, firm["boss"])[-1] == 1


def test_a_subcontractor_hears_of_own_rows_at_sites_they_see(firm):
    lent = make.make_user("Sub Contractor", "engineer", subcontractor=True)
    seen, unseen = make.make_site("Seen"), make.make_site("Unseen")
    make.grant_access(seen, lent)
    owned(seen, lent)
    owned(unseen, lent)
    told = foretell(plan()).lines
    assert days_said(told, lent)[0] == 1
    assert days_said(told, firm["office"])[0] == 1


def inspection(customer_email="petra@example.com", *, in_days, by_law=False, name="Sample House"):
    site = make.make_site(name, customer=make.make_party(f"Owner of {name}", email=customer_email))
    unit = make.unit_of(site)
    InspectionDue.objects.update_or_create(
        unit=unit,
        defaults={
            "due_on": TODAY + timedelta(days=in_days),
            "basis": "as recommended",
            "by_law": by_law,
            "shows_from": TODAY - timedelta(days=300),
        },
    )
    return unit


def went(found):
    return {(day - TODAY).days: [sent.place for sent in sent] for day, sent in found.items()}


def test_letters_go_out_on_working_days_before_an_inspection_is_due():
    inspection(in_days=30 + 11)
    # 30 days before: 14 February, a Saturday, so on Monday; nothing was written at 90 days, so that goes now
    assert went(letters_foretold(plan())) == {0: ["Sample House"], 13: ["Sample House"]}


def test_letters_go_on_from_those_really_written():
    unit = inspection(in_days=30 + 11)
    Message.objects.create(
        occasion=f"inspection {unit.pk} {TODAY + timedelta(days=41)} {unit.site.customer_id} 90",
        to_kind="customer", to_id=unit.site.customer_id, address="petra@example.com", subject="s", body="b",
        reason_kind="inspection", reason_ref=unit.pk, written_at=NOON - timedelta(days=49), next_try_at=NOON,
        state="sent", settled_at=NOON - timedelta(days=49),
    )  # fmt: skip
    assert went(letters_foretold(plan())) == {13: ["Sample House"]}


def test_a_letter_that_waits_for_a_working_hour_is_still_to_come():
    unit = inspection(in_days=30)
    Message.objects.create(
        occasion=f"inspection {unit.pk} {TODAY + timedelta(days=30)} {unit.site.customer_id} 30",
        to_kind="customer", to_id=unit.site.customer_id, address="petra@example.com", subject="s", body="b",
        reason_kind="inspection", reason_ref=unit.pk, written_at=NOON, next_try_at=NOON + timedelta(days=1),
    )  # fmt: skip
    assert {day: places for day, places in went(letters_foretold(plan())).items() if day >= 0} == {
        1: ["Sample House"],
        23: ["Sample House"],
    }


def test_letters_of_days_past_are_as_if_these_figures_had_always_held():
    inspection(in_days=-10)
    assert sorted(went(letters_foretold(plan()))) == [-15, -8, -1, 0, 7, 14, 21, 28]
    # 17 January was a Saturday, the 25th and 1 February were Sundays; none of them was really written, so today again


def test_who_wants_no_reminders_hears_only_what_the_law_asks():
    polite, legal = inspection(in_days=5, name="Polite"), inspection(in_days=5, name="Legal", by_law=True)
    for unit in (polite, legal):
        NoReminders.objects.create(party=unit.site.customer, address="x@example.com", said_at=NOON)
    inspection("", in_days=5, name="No address")
    assert went(letters_foretold(plan()))[0] == ["Legal"]


def test_what_really_went_out_is_counted_by_its_day_in_london(firm):
    def sent(number, occasion, at, **fields):
        usual = {"to_kind": "staff", "to_id": firm["owner"].pk, "address": "a@example.com", "subject": "s", "body": "b"}
        Message.objects.create(
            occasion=f"{occasion} {number}",
            state="sent",
            written_at=at,
            next_try_at=at,
            settled_at=at,
            **usual | fields,
        )

    late = NOON.replace(month=1, day=20, hour=23, minute=30)
    sent(1, "digest", late)
    sent(2, "danger", late, danger=True)
    sent(3, "inspection", late, to_kind="customer", reason_kind="inspection")
    sent(4, "quote", late, to_kind="customer")
    sent(5, "digest", NOON - timedelta(days=31))
    assert really_sent(plan()) == {date(2026, 1, 20): {"digests": 1, "dangers": 1, "letters": 1, "others": 1}}


def test_a_day_opens_to_the_lines_that_were_counted(firm):
    site = make.make_site()
    first = owned(site, firm["owner"], text="Cover missing")
    owned(site, firm["owner"], in_days=25, text="Far away")
    owned(site, firm["office"], text="Somebody else's")
    assert list(keys_said(plan(), TODAY, firm["owner"].pk)) == [("decide", first.pk)]
    found = opened(plan(), f"{TODAY} {firm['owner'].pk}")
    assert (found["who"], [line["subject"] for line in found["lines"]]) == ("Olga Owns", ["Cover missing"])


@pytest.mark.parametrize("asked", ["", "today x", f"{TODAY}", f"{TODAY} nobody", "1999-01-01 customers"])
def test_nothing_opens_where_nothing_is_meant(firm, asked):
    assert opened(plan(), asked) is None


def test_letters_open_too(firm):
    inspection(in_days=5)
    found = opened(plan(), f"{TODAY} customers")
    assert [(row["customer"], row["place"]) for row in found["letters"]] == [("Owner of Sample House", "Sample House")]


@pytest.mark.parametrize("many", [1, 4])
def test_statements_are_the_same_at_any_size(firm, many, django_assert_num_queries):
    for number in range(many):
        owned(make.make_site(f"Site {number}"), firm["owner"], code="C1" if number % 2 else "C2")
        site = make.make_site(f"Works {number}")
        make.make_remedial(*(make.make_observation(site, code="C1") for _ in range(2)), owner=firm["owner"])
        inspection(in_days=5, name=f"House {number}")
        make.make_observation(
            make.make_site(f"Alarm {number}"), code="", may_be_dangerous=True, owner=firm["owner"], step_by=TODAY
        )
    with django_assert_num_queries(10):
        told_page(sending(plan()))
    with django_assert_num_queries(5):
        opened(plan(), f"{TODAY} {firm['owner'].pk}")
