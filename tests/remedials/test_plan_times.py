"""Minutes of a plan and instants, in ordinary weeks and in those in which the clocks change."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.visits.rules.times import both, instant_of, joined, midnight, minute_of, odd_hours, span_of, without

# Summer time in the United Kingdom begins and ends at 01:00 UTC on the last Sunday of March and of October:
# Summer Time Act 1972 as amended by the Summer Time Order 2002.
SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)
MONDAY_IN_SPRING, MONDAY_IN_AUTUMN = date(2026, 3, 23), date(2026, 10, 19)


@pytest.mark.parametrize(
    ("first", "minute", "instant"),
    [
        (date(2026, 2, 2), 0, datetime(2026, 2, 2, 0, 0, tzinfo=UTC)),
        (date(2026, 7, 6), 8 * 60, datetime(2026, 7, 6, 7, 0, tzinfo=UTC)),
        # Sunday is the seventh day; Monday after it has its 08:00 at 8 × 60 again.
        (MONDAY_IN_SPRING, 6 * 1440 + 60 - 1, datetime(2026, 3, 29, 0, 59, tzinfo=UTC)),
        (MONDAY_IN_SPRING, 6 * 1440 + 120, datetime(2026, 3, 29, 1, 0, tzinfo=UTC)),
        (MONDAY_IN_SPRING, 7 * 1440 + 480, datetime(2026, 3, 30, 7, 0, tzinfo=UTC)),
        (MONDAY_IN_AUTUMN, 6 * 1440 + 59, datetime(2026, 10, 24, 23, 59, tzinfo=UTC)),
        (MONDAY_IN_AUTUMN, 6 * 1440 + 120, datetime(2026, 10, 25, 2, 0, tzinfo=UTC)),
        (MONDAY_IN_AUTUMN, 7 * 1440 + 480, datetime(2026, 10, 26, 8, 0, tzinfo=UTC)),
    ],
)
def test_minute_and_instant(first, minute, instant) -> None:
    assert (instant_of(minute, first), minute_of(instant, first)) == (instant, minute)


def test_hours_that_are_no_time_to_plan_in() -> None:
    assert odd_hours(MONDAY_IN_SPRING, 7) == [(6 * 1440 + 60, 6 * 1440 + 120)]
    assert odd_hours(MONDAY_IN_AUTUMN, 7) == [(6 * 1440 + 60, 6 * 1440 + 120)]
    assert odd_hours(date(2026, 2, 2), 31) == []


def test_span_across_a_change_takes_the_whole_hour() -> None:
    # 01:10 summer time up to 01:05 winter time: 55 minutes, though the clock shows an earlier end.
    start = datetime(2026, 10, 25, 0, 10, tzinfo=UTC)
    assert span_of(start, start + timedelta(minutes=55), AUTUMN) == (60, 120)
    assert span_of(midnight(SPRING), midnight(SPRING) + timedelta(hours=2), SPRING) == (0, 180)
    assert span_of(datetime(2026, 2, 3, 9, 0, 30, tzinfo=UTC), datetime(2026, 2, 3, 9, 59, 1, tzinfo=UTC), date(2026, 2, 2)) == (1980, 2040)  # fmt: skip


@given(st.integers(0, 31 * 1440), st.dates(date(2020, 1, 1), date(2035, 1, 1)))
def test_there_and_back_outside_odd_hours(minute, first) -> None:
    odd = any(low <= minute < high for low, high in odd_hours(first, 32))
    assert odd or minute_of(instant_of(minute, first), first) == minute


windows = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), max_size=6)


def minutes(found) -> set[int]:
    return {minute for low, high in found for minute in range(low, high)}


@given(windows, windows)
def test_windows_as_sets_of_minutes(one, other) -> None:
    assert minutes(both(one, other)) == minutes(one) & minutes(other)
    assert minutes(without(one, other)) == minutes(one) - minutes(other)
    assert minutes(joined(one)) == minutes(one)
