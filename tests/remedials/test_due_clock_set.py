"""The computer's clock set forward and back, summer time and leap days: nothing waits for a time that was wrong."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core import mail

from jobsite.firm.models import Heartbeat
from jobsite.messages.models import Message
from jobsite.messages.operations import claim
from remedials.due.operations import send, sweep
from remedials.due.queries import SENDING, SWEEP
from tests.factories import NOON, make_observation

pytestmark = pytest.mark.django_db
YEAR = timedelta(days=365)
A_DAY = timedelta(days=1)


def subjects():
    return sorted(sent.subject for sent in mail.outbox)


def test_after_a_year_ahead_everything_is_said_on_its_own_day(site, office, manager):
    make_observation(site, code="C1", owner=manager, by=office)
    sweep(now=NOON)
    send(now=NOON)
    ahead = NOON + YEAR
    sweep(now=ahead)  # written a year ahead, and not sent before the clock was put right
    mail.outbox.clear()
    back = NOON + A_DAY
    for minutes in (0, 5):
        sweep(now=back + timedelta(minutes=minutes))
        send(now=back + timedelta(minutes=minutes))
    assert subjects().count("Due on 4 Feb 2026: 1") == 1
    assert Heartbeat.objects.get(name=SWEEP).at == Heartbeat.objects.get(name=SENDING).at == back + timedelta(minutes=5)
    assert not Message.objects.filter(state="waiting").exists()
    mail.outbox.clear()
    sweep(now=ahead)  # and a year later, on the day itself
    send(now=ahead)
    assert subjects() == ["Danger present, not made safe: Sample House", "Due on 3 Feb 2027: 1"]


def test_a_digest_of_a_day_that_has_not_come_is_not_sent(site, office):
    make_observation(site, owner=office, by=office)
    sweep(now=NOON + YEAR)
    send(now=NOON)
    assert mail.outbox == []
    sweep(now=NOON)
    send(now=NOON)
    assert subjects() == ["Due on 3 Feb 2026: 1"]


def test_what_was_tried_a_year_ahead_does_not_wait_for_a_year(site, manager):
    make_observation(site, code="C1", owner=manager, by=manager)
    sweep(now=NOON)
    Message.objects.update(next_try_at=NOON + YEAR, claimed_at=NOON + YEAR, attempts=1)
    sweep(now=NOON + timedelta(minutes=5))
    send(now=NOON + timedelta(minutes=5))
    assert len(mail.outbox) == Message.objects.filter(state="sent").count() == 2


def test_a_claim_of_a_year_ahead_does_not_stand_for_a_year(site, manager):
    make_observation(site, code="C1", owner=manager, by=manager)
    sweep(now=NOON)
    held = claim(now=NOON + YEAR)
    sweep(now=NOON + timedelta(minutes=5))
    send(now=NOON + timedelta(minutes=10))
    held.refresh_from_db()
    assert held.state in ("sent", "unknown")
    assert not Message.objects.filter(state="sending").exists()


def test_what_a_customer_was_written_ahead_is_not_written_again(site, office):
    row = Message.objects.create(
        occasion="inspection a test's own", to_kind="customer", to_id=site.customer.pk, address="pat@example.com",
        subject="Soon", body="x", written_at=NOON + YEAR, next_try_at=NOON + YEAR, state="sent", settled_at=NOON + YEAR,
    )  # fmt: skip
    sweep(now=NOON)
    row.refresh_from_db()
    assert row.occasion == "inspection a test's own"


# --- summer time and leap days ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at", "day"),
    [
        # British Summer Time in 2026: from 29 March to 25 October, both Sundays (gov.uk/when-do-the-clocks-change).
        (datetime(2026, 3, 27, 7, 0, tzinfo=UTC), date(2026, 3, 27)),
        (datetime(2026, 3, 30, 6, 0, tzinfo=UTC), date(2026, 3, 30)),
        (datetime(2026, 10, 23, 6, 0, tzinfo=UTC), date(2026, 10, 23)),
        (datetime(2026, 10, 26, 7, 0, tzinfo=UTC), date(2026, 10, 26)),
        (datetime(2028, 2, 29, 7, 0, tzinfo=UTC), date(2028, 2, 29)),
    ],
)
def test_the_digest_is_written_at_seven_by_the_clock_on_the_wall(site, office, at, day):
    make_observation(site, owner=office, by=office, on=day)
    sweep(now=at - timedelta(minutes=1))
    assert not Message.objects.exists()
    for minutes in (0, 60):
        sweep(now=at + timedelta(minutes=minutes))
    assert [m.occasion for m in Message.objects.all()] == [f"digest {office.pk} {day}"]


@pytest.mark.parametrize("sunday", [date(2026, 3, 29), date(2026, 10, 25)])
def test_danger_is_told_once_on_a_day_on_which_the_clocks_change(site, manager, sunday):
    make_observation(site, code="C1", owner=manager, by=manager, on=sunday - A_DAY)
    start = datetime(sunday.year, sunday.month, sunday.day, tzinfo=UTC) - A_DAY
    for hours in range(54):
        sweep(now=start + timedelta(hours=hours))
    days = sorted(str(m.occasion.split(" ")[2]) for m in Message.objects.filter(danger=True))
    assert days == [str(sunday + n * A_DAY) for n in (-1, 0)]


def test_nothing_is_lost_over_a_leap_day(site, office):
    make_observation(site, code="C3", owner=office, by=office, on=date(2028, 2, 22))
    for n in range(3):  # the seventh day is the 29th
        sweep(now=datetime(2028, 2, 28, 12, tzinfo=UTC) + n * A_DAY)
        send(now=datetime(2028, 2, 28, 12, tzinfo=UTC) + n * A_DAY)
    assert [m.occasion for m in Message.objects.all()] == [f"digest {office.pk} 2028-02-29"]
