"""The computer's clock: a year ahead and back, both changes of summer time, 29 February. Sunday's and Monday's rounds too."""

import itertools
from collections import Counter
from datetime import UTC, date, datetime, timedelta

import pytest

from inspections.models import InspectionDue
from jobsite import clock
from jobsite.messages.models import Message
from tests.factories import NOON
from tests.faults.stack import SEND, STATE, SWEEP
from tests.faults.town import all_went_once, make_town

pytestmark = pytest.mark.parametrize("stack", ["any"], indirect=True)  # the broker has no part in it

YEAR = timedelta(days=365)
MORNING = (5.5, 6.5, 7.5, 12)  # hours of UTC around seven by the clock on the wall


def told_of_danger(town) -> Counter[date]:
    """On how many days (London's) the engineer was told of the danger, and how often on each."""
    sent = Message.objects.filter(occasion__startswith=f"danger {town.danger.pk}", to_id=town.engineer.pk)
    return Counter(clock.local_day(at) for at in sent.values_list("written_at", flat=True))


def test_a_year_ahead_and_back(stack):
    """In that other year the mail server was down and a worker was killed: what that left must not wait for it."""
    town = make_town()
    stack.set_clock(NOON + YEAR)
    stack.mail.stop()
    stack.work()
    stack.tick()
    stack.until(lambda: stack.swept() and stack.idle(), "a sweep, and a vain try")
    stack.mail.start()
    stack.later(days=3)
    stack.mail.held = True
    stack.tick(SEND)
    stack.until(lambda: stack.mail.taken, "a mail taken")
    stack.kill_workers()
    stack.mail.held = False
    stack.set_clock(NOON)
    for _ in range(4):
        stack.round(minutes=15)
    all_went_once(stack, unknown=1)
    assert not Message.objects.filter(state__in=[STATE.WAITING, STATE.SENDING]).exists()
    # What is due this year is said this year, whatever was said in the other.
    assert told_of_danger(town)[NOON.date()] == 1
    for house in town.houses:
        about = Message.objects.filter(to_id=house.customer_id, written_at__lt=NOON + timedelta(days=1))
        assert [message.state for message in about] == [STATE.SENT], "the 30 days before the inspection"


@pytest.mark.parametrize("sunday", [date(2026, 3, 29), date(2026, 10, 25)], ids=["begins", "ends"])
def test_summer_time(stack, sunday):
    """The clocks change at 01:00 UTC on the last Sundays of March and October (The Summer Time Order 2002)."""
    town = make_town()
    InspectionDue.objects.update(due_on=sunday + timedelta(days=29))  # the 30 days before are the Saturday
    midnight = datetime(sunday.year, sunday.month, sunday.day, tzinfo=UTC)
    hours = [day * 24 + hour for day in (-2, -1, 0, 1) for hour in ((0.5, 1.5, 2.5) if day == 0 else ()) + MORNING]
    for hour in hours:
        stack.set_clock(midnight + timedelta(hours=hour))
        stack.round()
    all_went_once(stack, *town.addresses)
    days = [sunday + timedelta(days=n) for n in range(-2, 2)]
    assert {day: told_of_danger(town)[day] for day in days} == dict.fromkeys(days, 1)
    digests = Message.objects.filter(occasion__startswith=f"digest {town.engineer.pk}")
    mornings = [
        at.astimezone(clock.LONDON) for at in digests.values_list("written_at", flat=True).order_by("written_at")
    ]
    assert len({morning.date() for morning in mornings}) == len(mornings)
    assert {days[0], days[-1]} <= {morning.date() for morning in mornings}
    assert {morning.hour for morning in mornings if morning.date() != days[0]} <= {7}, (
        "at seven by the clock on the wall"
    )


def test_29_february(stack):
    """In a leap year: one day more, on which danger is told, and on which an inspection may come due."""
    town = make_town()
    leap = date(2028, 2, 29)
    InspectionDue.objects.update(due_on=leap)
    stack.set_clock(datetime(2028, 1, 30, 9, tzinfo=UTC))  # 30 days before
    stack.work()
    for hours in (0, 24, 24 * 21, 24, 24 * 5, 24, 24, 24, 24, 24, 24, 24, 24):
        stack.round(hours=hours or 0.1)
    days = [leap + timedelta(days=n) for n in (-1, 0, 1)]
    assert {day: told_of_danger(town)[day] for day in days} == dict.fromkeys(days, 1)
    about = Message.objects.filter(to_id=town.houses[0].customer_id).order_by("written_at")
    assert [message.state for message in about] == [STATE.SENT] * len(about)
    gaps = [b.written_at - a.written_at for a, b in itertools.pairwise(about)]
    assert len(about) >= 2
    assert all(gap >= timedelta(days=7) for gap in gaps), gaps
    stack.tick(SWEEP)
    all_went_once(stack)
