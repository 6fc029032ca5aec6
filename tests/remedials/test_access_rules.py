"""When a site may be entered: times of the week, closed days, both clock changes."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.visits.rules.access import Closed, Times, instant, joined, windows

WEEKDAYS = frozenset(range(5))
MORNINGS = Times(WEEKDAYS, time(9), time(12))
SATURDAY = Times(frozenset({5}), time(10), time(16))


def at(day: int, hour: int, month: int = 12) -> datetime:
    return datetime(2026, month, day, hour, tzinfo=UTC)


@pytest.mark.parametrize(
    ("times", "closed", "expected"),
    [
        ([], [], [(at(3, 0), at(6, 0))]),
        ([MORNINGS], [], [(at(3, 9), at(3, 12)), (at(4, 9), at(4, 12))]),
        ([MORNINGS, SATURDAY], [], [(at(3, 9), at(3, 12)), (at(4, 9), at(4, 12)), (at(5, 10), at(5, 16))]),
        ([MORNINGS], [Closed(date(2026, 12, 4), date(2026, 12, 8))], [(at(3, 9), at(3, 12))]),
        ([], [Closed(date(2026, 12, 4), date(2026, 12, 4))], [(at(3, 0), at(4, 0)), (at(5, 0), at(6, 0))]),
        ([MORNINGS, Times(WEEKDAYS, time(11), time(15))], [], [(at(3, 9), at(3, 15)), (at(4, 9), at(4, 15))]),
        ([SATURDAY], [Closed(date(2026, 1, 1), date(2027, 1, 1))], []),
    ],
)
def test_windows_from_thursday_to_saturday(times, closed, expected) -> None:
    assert windows(times, closed, date(2026, 12, 3), date(2026, 12, 5)) == expected


@pytest.mark.parametrize(("on", "hours"), [(date(2026, 3, 29), 23), (date(2026, 10, 25), 25), (date(2026, 7, 1), 24)])
def test_a_whole_day_has_the_hours_it_has(on, hours) -> None:
    """The clocks change on the last Sundays of March and October (Summer Time Act 1972 as amended; from memory)."""
    ((start, end),) = windows([], [], on, on)
    assert end - start == timedelta(hours=hours)


def test_hours_are_those_of_the_clock_in_london() -> None:
    assert instant(date(2026, 7, 1), time(9)) == at(1, 8, month=7)
    assert instant(date(2026, 12, 1), time(9)) == at(1, 9)


@given(st.lists(st.tuples(st.integers(0, 50), st.integers(0, 50)), max_size=12))
def test_joined_covers_the_same_hours_and_nothing_twice(pairs) -> None:
    start = at(1, 0)
    spans = [(start + timedelta(hours=a), start + timedelta(hours=b)) for a, b in pairs]
    made = joined(spans)
    assert all(one[1] < other[0] for one, other in pairwise(made))

    def hours(found):
        return {h for a, b in found for h in range(50) if a <= start + timedelta(hours=h) < b}

    assert hours(made) == hours(spans)
