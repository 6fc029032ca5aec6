"""What customers are reminded of: few and polite words, at most once a week about the same thing, at hours that suit."""

from datetime import date, timedelta

import pytest
from django.core import mail
from django.db import IntegrityError, transaction

from inspections.models import InspectionDue
from jobsite.messages.models import Message
from jobsite.premises.operations import hand_over_site
from remedials.due.models import NoReminders, Reminding
from remedials.due.operations import customer_messages, send, sweep
from tests import factories as make
from tests.factories import NOON, TODAY, unit_of

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def due_in(site, days: int, **fields) -> InspectionDue:
    usual = {"due_on": TODAY + timedelta(days=days), "basis": "As report 1001 recommends.", "shows_from": TODAY}
    return InspectionDue.objects.create(unit=unit_of(site), **usual | fields)


def told() -> list[str]:
    """Which times were written of, in order."""
    rows = Message.objects.filter(reason_kind="inspection").order_by("written_at")
    return [" ".join(row.occasion.split()[4:]) for row in rows]


def days_written(first: int, last: int) -> list[int]:
    """The days from `first` to `last`, counted from TODAY, on which the sweep wrote to a customer."""
    found = []
    for n in range(first, last + 1):
        before = Message.objects.filter(reason_kind="inspection").count()
        sweep(now=NOON + n * DAY)
        if Message.objects.filter(reason_kind="inspection").count() > before:
            found.append(n)
    return found


def test_ninety_thirty_and_seven_days_before_then_weekly_when_overdue(site) -> None:
    due_in(site, 91)
    assert days_written(0, 0) == []
    assert days_written(1, 2) == [1]
    assert days_written(60, 62) == [61]
    assert days_written(83, 120) == [84, 92, 99, 106, 113, 120]
    assert told() == ["90", "30", "7", "late 0", "late 1", "late 2", "late 3", "late 4"]


def test_the_firms_own_days_hold(site) -> None:
    figures = Reminding.shipped()
    figures.inspection_days, figures.inspection_overdue_every = [45, 14], 28
    figures.save()
    due_in(site, 46)
    assert days_written(0, 110) == [1, 32, 47, 74, 102]


def test_days_that_lie_closer_than_a_week_are_one_word(site) -> None:
    figures = Reminding.shipped()
    figures.inspection_days = [5, 4, 3, 2, 1]
    figures.save()
    due_in(site, 5)
    assert days_written(0, 8) == [0, 7]


@pytest.mark.parametrize("by_law", [False, True])
def test_what_the_law_asks_for_is_no_reminder_and_comes_as_rarely(site, by_law) -> None:
    due_in(site, 7, by_law=by_law, basis="The invented rule.")
    assert days_written(0, 15) == [0, 8, 15]
    row = Message.objects.filter(reason_kind="inspection").earliest("written_at")
    assert row.reminder is not by_law
    assert ("check the current law" in row.body) is by_law
    assert ("We have no report of an inspection" in row.body) is by_law
    assert "Why: The invented rule." in row.body


def test_the_database_holds_the_week_whoever_writes(site) -> None:
    make.make_reminder(site)
    with pytest.raises(IntegrityError), transaction.atomic():
        make.make_reminder(site, at=NOON + 6 * DAY)
    make.make_reminder(site, at=NOON + 7 * DAY)


@pytest.mark.parametrize(
    ("at", "goes"),
    [
        ("2026-02-03T12:00+00:00", "2026-02-03T12:00+00:00"),  # a Tuesday at noon
        ("2026-02-03T20:00+00:00", "2026-02-04T07:00+00:00"),  # quiet from eight
        ("2026-02-06T21:00+00:00", "2026-02-09T07:00+00:00"),  # Friday night: Monday
        ("2026-04-02T21:00+00:00", "2026-04-07T06:00+00:00"),  # Easter of 2026, and summer time by then
    ],
)
def test_polite_words_wait_for_a_working_hour(site, at, goes) -> None:
    now = NOON.fromisoformat(at)
    InspectionDue.objects.create(unit=unit_of(site), due_on=now.date() + 5 * DAY, basis="b", shows_from=TODAY)
    sweep(now=now)
    assert Message.objects.get(reason_kind="inspection").next_try_at == NOON.fromisoformat(goes)


def test_it_says_what_is_due_why_and_whom_to_ring_and_the_office_why_it_went(site) -> None:
    due_in(site, 30)
    sweep(now=NOON)
    row = Message.objects.get(reason_kind="inspection")
    assert row.subject == "Electrical inspection due by 5 Mar 2026: Sample House"
    assert "at Sample House is due by 5 Mar 2026, in 30 days." in row.body
    assert "Why: As report 1001 recommends." in row.body
    assert row.why == (
        "To the customer, at most once a week: the inspection is due in at most 30 days (a polite reminder). By the "
        "settings of reminders."
    )


def test_overdue_says_since_when(site) -> None:
    due_in(site, -10)
    sweep(now=NOON)
    row = Message.objects.get(reason_kind="inspection")
    assert row.subject == "Electrical inspection overdue since 24 Jan 2026: Sample House"
    assert "was due by 24 Jan 2026, 10 days ago." in row.body


def booked(site, due, office) -> None:
    make.make_visit_line(make.make_visit(site, start=NOON + DAY), unit=unit_of(site))


def done(site, due, office) -> None:
    InspectionDue.objects.update(due_on=date(2031, 2, 1))


def archived(site, due, office) -> None:
    type(site).objects.update(archived_at=NOON)


def handed_over(site, due, office) -> None:
    new = make.make_party("Nora Newowner", email="nora@example.com")
    hand_over_site(site, to=new, on=TODAY, reason="sold", version=site.version, by=office, now=NOON)


def stopped(site, due, office) -> None:
    NoReminders.objects.create(party=site.customer, address="petra@example.com", said_at=NOON)


def we_leave(site, due, office) -> None:
    make.make_leaving(site, by=office)


@pytest.mark.parametrize("happens", [booked, done, archived, handed_over, stopped, we_leave])
def test_the_reason_is_looked_at_again_before_it_goes_out(site, office, happens) -> None:
    due = due_in(site, 7)
    sweep(now=NOON)
    happens(site, due, office)
    send(now=NOON)
    assert [m for m in mail.outbox if m.to == ["petra@example.com"]] == []
    assert Message.objects.get(reason_kind="inspection", to_id=site.customer_id).state == "dropped"


@pytest.mark.parametrize("happens", [booked, done, archived, stopped, we_leave])
def test_nor_is_it_written_at_all_then(site, office, happens) -> None:
    happens(site, due_in(site, 7), office)
    sweep(now=NOON)
    assert told() == []


@pytest.mark.parametrize("happens", [stopped, we_leave])
def test_what_the_law_asks_for_goes_out_all_the_same(site, office, happens) -> None:
    happens(site, due_in(site, 7, by_law=True), office)
    sweep(now=NOON)
    send(now=NOON)
    assert [m.to for m in mail.outbox if "inspection" in m.subject] == [["petra@example.com"]]


def test_a_new_customer_hears_of_what_the_former_heard(site, office) -> None:
    due_in(site, 7)
    sweep(now=NOON)
    handed_over(site, None, office)
    sweep(now=NOON + DAY)
    to = Message.objects.filter(reason_kind="inspection").order_by("written_at").values_list("address", flat=True)
    assert list(to) == ["petra@example.com", "nora@example.com"]


def test_without_an_address_nothing_is_written(site) -> None:
    type(site.customer).objects.update(email="")
    due_in(site, 7)
    sweep(now=NOON)
    assert told() == []


@pytest.mark.parametrize("many", [1, 4])
def test_number_of_statements_does_not_grow(django_assert_num_queries, many) -> None:
    for n in range(many):
        due_in(make.make_site(f"Site {n}"), 7)
    with django_assert_num_queries(12):
        assert len(customer_messages(today=TODAY, now=NOON)) == many


def test_without_any_day_before_only_what_is_overdue_is_said(site) -> None:
    figures = Reminding.shipped()
    figures.inspection_days = []
    figures.save()
    due_in(site, 1)
    assert days_written(0, 3) == [2]


def test_what_one_sweep_leaves_the_next_writes_and_whoever_wants_none_holds_up_nobody(
    site, office, monkeypatch
) -> None:
    monkeypatch.setattr("remedials.due.operations.customers.AT_ONCE", 2)
    stopped(site, due_in(site, -50), office)
    for n in range(3):
        due_in(make.make_site(f"Site {n}", customer=make.make_party(f"Customer {n}")), 5)
    counts = []
    for minutes in (0, 5, 10):
        sweep(now=NOON + timedelta(minutes=minutes))
        counts.append(len(told()))
    assert counts == [2, 3, 3]
