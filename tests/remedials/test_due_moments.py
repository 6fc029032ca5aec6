"""Working days, digests and quiet hours by the clock on the wall, over both clock changes.

In the United Kingdom clocks go forward at 01:00 UTC on 29 March 2026 and back at 01:00 UTC on 25 October 2026 (last Sunday
of the month; Summer Time Order 2002, from memory), so that 01:00 to 02:00 is skipped, or shown twice.
"""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from jobsite.clock import LONDON, local_day
from remedials.due.rules.moments import (
    Hours,
    digest_day_before,
    digest_days,
    digest_moment,
    is_quiet,
    is_working,
    may_go,
    next_moment,
)
from remedials.visits.rules.days import bank_holidays

SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)
EVERY_DAY = frozenset(range(1, 8))
WEEK = frozenset({1, 2, 3, 4, 5})


def hours(**figures):
    holidays = frozenset(bank_holidays("england", date(2025, 1, 1), date(2028, 12, 31)))
    shipped = {
        "digest_at": time(7),
        "working_days": WEEK,
        "quiet_from": time(20),
        "quiet_until": time(7),
        "holidays": holidays,
    }
    return Hours(**shipped | figures)


def utc(*at):
    return datetime(*at, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2026, 11, 24), True),
        (date(2026, 11, 28), False),  # a Saturday
        (date(2026, 12, 25), False),
        (date(2026, 12, 28), False),  # a Monday, for Boxing Day
        (date(2026, 12, 29), True),
        (date(2028, 2, 29), True),  # a Tuesday
    ],
)
def test_working_days(day, expected):
    assert is_working(day, hours()) is expected


def test_bank_holidays_are_the_nation_s():
    scottish = frozenset(bank_holidays("scotland", date(2026, 1, 1), date(2026, 12, 31)))
    assert not is_working(date(2026, 11, 30), hours(holidays=scottish))
    assert is_working(date(2026, 11, 30), hours())


@pytest.mark.parametrize(
    ("day", "at", "expected"),
    [
        (date(2026, 1, 15), time(7), utc(2026, 1, 15, 7)),
        (date(2026, 7, 15), time(7), utc(2026, 7, 15, 6)),
        (SPRING, time(7), utc(2026, 3, 29, 6)),
        (AUTUMN, time(7), utc(2026, 10, 25, 7)),
        (SPRING, time(0, 59), utc(2026, 3, 29, 0, 59)),
        (SPRING, time(1, 30), utc(2026, 3, 29, 1, 30)),  # skipped: 02:30 on the wall
        (SPRING, time(2, 0), utc(2026, 3, 29, 1, 0)),
        (AUTUMN, time(1, 30), utc(2026, 10, 25, 0, 30)),  # twice: the first
        (AUTUMN, time(2, 0), utc(2026, 10, 25, 2, 0)),
        (date(2028, 2, 29), time(0), utc(2028, 2, 29)),
        (date(2026, 7, 1), time(0), utc(2026, 6, 30, 23)),
    ],
)
def test_the_moment_of_a_digest(day, at, expected):
    assert digest_moment(day, hours(digest_at=at)) == expected


@given(day=st.dates(date(2026, 1, 1), date(2028, 12, 31)), at=st.times())
@example(day=SPRING, at=time(1, 59, 59))
@example(day=AUTUMN, at=time(1, 0))
def test_a_digest_has_one_moment_on_its_own_day_and_days_keep_their_order(day, at):
    figures = hours(digest_at=at)
    assert local_day(digest_moment(day, figures)) == day
    assert digest_moment(day, figures) < digest_moment(day + timedelta(days=1), figures)


@pytest.mark.parametrize(
    ("day", "before"),
    [
        (date(2026, 11, 25), date(2026, 11, 24)),
        (date(2026, 11, 30), date(2026, 11, 27)),
        (date(2026, 12, 29), date(2026, 12, 24)),
        (date(2026, 4, 7), date(2026, 4, 2)),  # Good Friday and Easter Monday
        (date(2028, 3, 1), date(2028, 2, 29)),
        (date(2027, 1, 4), date(2026, 12, 31)),
    ],
)
def test_the_digest_day_before(day, before):
    assert digest_day_before(day, hours()) == before


def test_digest_days_of_a_span():
    assert digest_days(date(2026, 12, 24), date(2026, 12, 30), hours()) == [
        date(2026, 12, 24),
        date(2026, 12, 29),
        date(2026, 12, 30),
    ]


@given(day=st.dates(date(2026, 1, 1), date(2028, 12, 31)), week=st.frozensets(st.integers(1, 7), min_size=1))
def test_no_working_day_lies_between_a_digest_and_the_one_before(day, week):
    figures = hours(working_days=week)
    before = digest_day_before(day, figures)
    assert digest_days(before, day - timedelta(days=1), figures) == [before]


@pytest.mark.parametrize(
    ("at", "quiet"), [(time(6, 59), True), (time(7), False), (time(19, 59), False), (time(20), True), (time(0), True)]
)
def test_quiet_hours_over_midnight(at, quiet):
    assert is_quiet(at, hours()) is quiet


@pytest.mark.parametrize(("at", "quiet"), [(time(11, 59), False), (time(12), True), (time(14), False)])
def test_quiet_hours_within_a_day(at, quiet):
    assert is_quiet(at, hours(quiet_from=time(12), quiet_until=time(14))) is quiet


def test_no_hour_is_quiet_where_both_are_alike():
    assert not any(is_quiet(time(hour), hours(quiet_from=time(8), quiet_until=time(8))) for hour in range(24))


@pytest.mark.parametrize(
    ("now", "expected"),
    [
        (utc(2026, 11, 24, 10), utc(2026, 11, 24, 10)),
        (utc(2026, 11, 24, 5), utc(2026, 11, 24, 7)),
        (utc(2026, 11, 24, 20), utc(2026, 11, 25, 7)),
        (utc(2026, 11, 27, 21), utc(2026, 11, 30, 7)),  # Friday evening: Monday
        (utc(2026, 12, 24, 21), utc(2026, 12, 29, 7)),
        (utc(2026, 7, 15, 19), utc(2026, 7, 16, 6)),  # 20:00 in summer
        (utc(2026, 3, 27, 20), utc(2026, 3, 30, 6)),  # over the change to summer time
        (utc(2026, 10, 23, 19), utc(2026, 10, 26, 7)),  # and back
        (utc(2028, 2, 28, 22), utc(2028, 2, 29, 7)),
    ],
)
def test_the_next_moment_for_a_polite_message(now, expected):
    assert next_moment(now, hours()) == expected


@pytest.mark.parametrize(
    ("now", "until", "expected"),
    [
        (utc(2026, 3, 29, 0, 10), time(1, 30), utc(2026, 3, 29, 1, 0)),  # skipped: as soon as the wall shows 02:00
        (utc(2026, 10, 24, 23, 10), time(1, 30), utc(2026, 10, 25, 0, 30)),
        (utc(2026, 10, 25, 1, 0), time(1, 30), utc(2026, 10, 25, 1, 30)),  # the wall shows 01:00 again
    ],
)
def test_quiet_hours_that_end_in_the_skipped_or_doubled_hour(now, until, expected):
    assert next_moment(now, hours(working_days=EVERY_DAY, quiet_until=until)) == expected


def test_a_week_without_a_working_day_is_refused():
    with pytest.raises(ValueError, match="working day"):
        hours(working_days=frozenset())


MINUTES = st.builds(time, st.integers(0, 23), st.sampled_from([0, 15, 30, 45]))
FIGURES = st.builds(
    hours, quiet_from=MINUTES, quiet_until=MINUTES, working_days=st.frozensets(st.integers(1, 7), min_size=2)
)
NEAR_CHANGES = st.sampled_from([SPRING, AUTUMN]).flatmap(
    lambda day: st.integers(-2 * 24 * 12, 2 * 24 * 12).map(
        lambda n: datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(minutes=5 * n)
    )
)


@given(now=NEAR_CHANGES, figures=FIGURES)
@example(
    now=utc(2026, 3, 29, 0, 5), figures=hours(working_days=EVERY_DAY, quiet_from=time(2, 30), quiet_until=time(1, 30))
)
def test_the_next_moment_is_the_first_that_is_allowed(now, figures):
    found = next_moment(now, figures)
    assert found >= now
    assert may_go(found, figures)
    assert next_moment(found, figures) == found
    step = now
    while step < found:
        assert not may_go(step, figures), step.astimezone(LONDON)
        step += timedelta(minutes=5)
