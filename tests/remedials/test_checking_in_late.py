"""Working alone without signal: what reaches us later is kept with both times, and neither raises nor ends an alarm wrongly."""

from datetime import timedelta

import pytest
from django.core import mail

from jobsite.ids import new_id
from jobsite.ledger import made
from jobsite.messages.models import Message
from jobsite.refused import NotAllowed, Refused
from remedials.due.operations import send, sweep
from remedials.visits.models import CheckIn
from remedials.visits.operations import checking_in
from tests import factories as make
from tests.factories import NOON, recorded

pytestmark = pytest.mark.django_db
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
GRACE = timedelta(minutes=30)  # the firm's, as it is shipped


@pytest.fixture
def visit(site, engineer, office):
    return make.make_visit(site, engineers=[engineer])


@pytest.fixture
def elsewhere(engineer):
    return make.make_visit(make.make_site("New Mill"), engineers=[engineer], start=NOON + 4 * HOUR)


def go_in(visit, engineer, *, at=NOON, now=NOON, hours: float = 2, **more):
    usual = {"id": new_id(), "out_by": at + hours * HOUR, "now": now, "made_at": at}
    return checking_in.check_in(visit, by=engineer, **usual | more)


def alarms() -> list[str]:
    return [message.subject for message in mail.outbox if message.subject.startswith("Not out")]


def tell(now) -> None:
    sweep(now=now)
    send(now=now)


# --- what comes late is kept ------------------------------------------------------------------------------------------


def test_a_check_in_keeps_when_it_was_said_and_when_it_came(visit, engineer) -> None:
    token = made.begin(made.Made(NOON))
    try:
        with recorded() as told:
            row = go_in(visit, engineer, now=NOON + HOUR)
    finally:
        made.end(token)
    assert (row.in_at, row.said_at, row.heard_at, row.out_at) == (NOON, NOON, NOON + HOUR, None)
    assert told[0].facts["made_at"].startswith(NOON.isoformat()[:19])


def test_one_that_came_at_once_says_nothing_of_it(visit, engineer) -> None:
    assert go_in(visit, engineer, now=NOON + MINUTE / 2).heard_at is None


def test_the_same_form_again_is_the_same_row(visit, engineer) -> None:
    key = new_id()
    rows = {go_in(visit, engineer, now=NOON + HOUR, id=key).pk for _ in range(2)}
    assert rows == {key}


def test_it_is_kept_though_the_visit_went_to_somebody_else_meanwhile(visit, engineer, other_engineer) -> None:
    visit.attendances.update(cancelled=True)
    with pytest.raises(NotAllowed):
        go_in(visit, engineer)
    with pytest.raises(NotAllowed):
        go_in(visit, other_engineer, now=NOON + HOUR)
    assert go_in(visit, engineer, now=NOON + HOUR).out_at is None


def test_it_is_kept_though_the_visit_was_moved_to_another_day(visit, engineer) -> None:
    visit.start, visit.end = visit.start + 48 * HOUR, visit.end + 48 * HOUR
    visit.save()
    with pytest.raises(Refused):
        go_in(visit, engineer)
    assert go_in(visit, engineer, now=NOON + HOUR).out_at is None


# --- alarms -----------------------------------------------------------------------------------------------------------


def test_who_came_out_before_signal_came_back_raises_no_alarm(visit, engineer) -> None:
    """In at noon, out at two, signal at five: in between the sweep runs."""
    came = NOON + 5 * HOUR
    row = go_in(visit, engineer, now=came)
    tell(came)
    tell(came + MINUTE)
    checking_in.check_out(row, by=engineer, now=came + 2 * MINUTE, made_at=NOON + 2 * HOUR)
    tell(came + HOUR)
    assert alarms() == []
    assert CheckIn.objects.get().out_at == NOON + 2 * HOUR


def test_a_phone_that_was_heard_of_once_and_then_no_more_raises_it(visit, engineer, office) -> None:
    """Signal for a moment is no sign that its owner is well."""
    came = NOON + 5 * HOUR
    go_in(visit, engineer, now=came)
    tell(came + 4 * MINUTE)
    assert alarms() == []
    tell(came + 5 * MINUTE)
    assert alarms() == [f"Not out: {engineer.name} at {visit.site.name}"]
    assert "That reached us only at 3 Feb 2026, 17:00: their phone had no signal before." in mail.outbox[-1].body


def test_a_time_that_is_still_to_come_when_it_reaches_us_counts_as_any_other(visit, engineer) -> None:
    go_in(visit, engineer, now=NOON + 2 * HOUR - MINUTE)
    assert checking_in.overdue(NOON + 2 * HOUR + GRACE - MINUTE) == []
    assert len(checking_in.overdue(NOON + 2 * HOUR + GRACE)) == 1


def test_who_stays_longer_is_not_told_of_by_an_alarm_that_waited_for_the_mail(visit, engineer) -> None:
    row = go_in(visit, engineer)
    due = NOON + 2 * HOUR + GRACE
    sweep(now=due)
    checking_in.stay_longer(row, out_by=due + HOUR, by=engineer, now=due + MINUTE)
    send(now=due + 2 * MINUTE)
    assert alarms() == []
    assert set(Message.objects.filter(reason_kind="check-in").values_list("state", flat=True)) == {"dropped"}
    tell(due + HOUR + GRACE)
    assert len(alarms()) == 1, "for the time that they said last"


def test_whom_an_alarm_reached_hears_that_all_is_well(visit, engineer, office) -> None:
    row = go_in(visit, engineer)
    due = NOON + 2 * HOUR + GRACE
    tell(due)
    assert len(alarms()) == 1
    checking_in.check_out(row, by=engineer, now=due + HOUR, made_at=due - HOUR)
    tell(due + HOUR)
    tell(due + 2 * HOUR)
    well = [message for message in mail.outbox if message.subject.startswith("All is well")]
    assert [message.to for message in well] == [[office.email]]
    assert "is out and well since 3 Feb 2026, 13:30. This reached us at 3 Feb 2026, 15:30." in well[0].body


def test_staying_longer_said_in_time_ends_the_alarm_that_it_came_too_late_for(visit, engineer, office) -> None:
    row = go_in(visit, engineer)
    due = NOON + 2 * HOUR + GRACE
    tell(due)
    checking_in.stay_longer(row, out_by=due + 2 * HOUR, by=engineer, now=due + HOUR, made_at=NOON + HOUR)
    assert checking_in.overdue(due + HOUR) == []
    tell(due + HOUR)
    assert [m.subject for m in mail.outbox[-1:]] == [f"All is well: {engineer.name} at {visit.site.name}"]


# --- what was said earlier than what stands ---------------------------------------------------------------------------


def test_an_old_word_that_all_is_done_does_not_take_out_who_went_in_again(visit, engineer) -> None:
    row = go_in(visit, engineer, at=NOON + HOUR, now=NOON + HOUR)
    with recorded() as told:
        checking_in.check_out(row, by=engineer, now=NOON + 2 * HOUR, made_at=NOON)
    assert [one.verb for one in told] == ["check-in.overtaken"]
    assert CheckIn.objects.get().out_at is None
    assert len(checking_in.overdue(NOON + 4 * HOUR)) == 1


def test_an_old_word_does_not_take_out_who_said_since_that_it_takes_longer(visit, engineer) -> None:
    row = go_in(visit, engineer)
    row = checking_in.stay_longer(row, out_by=NOON + 4 * HOUR, by=engineer, now=NOON + 2 * HOUR)
    checking_in.check_out(row, by=engineer, now=NOON + 3 * HOUR, made_at=NOON + HOUR)
    assert CheckIn.objects.get().out_at is None


def test_a_longer_time_that_was_said_first_does_not_replace_a_shorter_one_said_later(visit, engineer) -> None:
    row = go_in(visit, engineer)
    row = checking_in.stay_longer(row, out_by=NOON + 3 * HOUR, by=engineer, now=NOON + 2 * HOUR)
    with recorded() as told:
        checking_in.stay_longer(row, out_by=NOON + 9 * HOUR, by=engineer, now=NOON + 2.5 * HOUR, made_at=NOON + HOUR)
    assert [one.verb for one in told] == ["check-in.overtaken"]
    assert CheckIn.objects.get().out_by == NOON + 3 * HOUR


def test_a_longer_time_that_comes_after_they_are_out_is_kept_and_changes_nothing(visit, engineer) -> None:
    row = go_in(visit, engineer)
    row = checking_in.check_out(row, by=engineer, now=NOON + 2 * HOUR)
    checking_in.stay_longer(row, out_by=NOON + 9 * HOUR, by=engineer, now=NOON + 3 * HOUR, made_at=NOON + HOUR)
    with pytest.raises(Refused, match="checked out already"):
        checking_in.stay_longer(row, out_by=NOON + 9 * HOUR, by=engineer, now=NOON + 3 * HOUR)


def test_a_check_in_that_comes_after_they_were_elsewhere_is_past(visit, elsewhere, engineer) -> None:
    there = go_in(elsewhere, engineer, at=NOON + 4 * HOUR, now=NOON + 4 * HOUR)
    row = go_in(visit, engineer, now=NOON + 5 * HOUR)
    there.refresh_from_db()
    assert (row.in_at, row.out_at, there.out_at) == (NOON, NOON + 4 * HOUR, None)
    assert [one.pk for one in checking_in.overdue(NOON + 9 * HOUR)] == [there.pk]


def test_a_check_in_that_comes_after_they_are_out_again_is_past(visit, engineer) -> None:
    first = go_in(visit, engineer, at=NOON + HOUR, now=NOON + HOUR)
    checking_in.check_out(first, by=engineer, now=NOON + 2 * HOUR)
    row = go_in(visit, engineer, now=NOON + 3 * HOUR)
    assert row.out_at == NOON + HOUR
    assert checking_in.overdue(NOON + 9 * HOUR) == []


def test_that_the_office_found_them_safe_is_not_their_own_word(visit, elsewhere, engineer, office) -> None:
    row = go_in(visit, engineer)
    checking_in.found_safe(row, how="Spoke to him on the road", by=office, now=NOON + 4 * HOUR)
    late = go_in(elsewhere, engineer, at=NOON + 3.9 * HOUR, now=NOON + 5 * HOUR)
    assert late.out_at is None


def test_who_went_on_to_another_place_is_out_of_the_first(visit, elsewhere, engineer) -> None:
    first = go_in(visit, engineer)
    second = go_in(elsewhere, engineer, at=NOON + 4 * HOUR, now=NOON + 6 * HOUR)
    first.refresh_from_db()
    assert (first.out_at, second.out_at) == (NOON + 4 * HOUR, None)
    assert [one.pk for one in checking_in.overdue(NOON + 9 * HOUR)] == [second.pk]


def test_checking_in_twice_in_one_place_without_signal_is_staying_longer(visit, engineer) -> None:
    first = go_in(visit, engineer, now=NOON + 5 * HOUR)
    again = go_in(visit, engineer, at=NOON + HOUR, now=NOON + 5 * HOUR, hours=3)
    assert again.pk == first.pk
    assert again.out_by == NOON + 4 * HOUR
