"""Periods of days, months and years."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.counting import (
    day_words,
    last_day_of,
    last_day_starting_with,
    months_after,
    years_after,
    years_beginning_with,
)

DAYS = st.dates(date(1990, 1, 1), date(2090, 12, 31))


@pytest.mark.parametrize(
    ("first", "days", "last"),
    [
        (date(2026, 12, 1), 1, date(2026, 12, 1)),
        (date(2026, 12, 31), 2, date(2027, 1, 1)),
        (date(2028, 2, 28), 2, date(2028, 2, 29)),
        (date(2027, 2, 28), 2, date(2027, 3, 1)),
        (date(2026, 3, 28), 7, date(2026, 4, 3)),  # over the change of the clocks
    ],
)
def test_starting_with_includes_the_first_day(first, days, last):
    assert last_day_starting_with(first, days) == last


@given(day=DAYS, days=st.integers(1, 4000))
def test_starting_with_ends_a_day_before_of(day, days):
    assert last_day_starting_with(day, days) + timedelta(days=1) == last_day_of(day, days)


def test_periods_that_cannot_be_are_refused():
    with pytest.raises(ValueError, match="at least 1 day"):
        last_day_starting_with(date(2026, 1, 1), 0)
    with pytest.raises(ValueError, match="no negative"):
        last_day_of(date(2026, 1, 1), -1)
    with pytest.raises(ValueError, match="after the year 9999"):
        last_day_of(date.max, 1)
    with pytest.raises(ValueError, match="after the year 9999"):
        years_after(date(9999, 1, 1), 1)
    with pytest.raises(ValueError, match="after the year 9999"):
        last_day_of(date(2026, 1, 1), 2**63)


@pytest.mark.parametrize(
    ("event", "years", "after", "beginning_with"),
    [
        (date(2025, 3, 10), 5, date(2030, 3, 10), date(2030, 3, 9)),
        (date(2025, 1, 1), 5, date(2030, 1, 1), date(2029, 12, 31)),
        (date(2025, 3, 1), 3, date(2028, 3, 1), date(2028, 2, 29)),
        (date(2028, 2, 29), 4, date(2032, 2, 29), date(2032, 2, 28)),
        (date(2028, 2, 29), 1, date(2029, 2, 28), date(2029, 2, 28)),
    ],
)
def test_years(event, years, after, beginning_with):
    assert (years_after(event, years), years_beginning_with(event, years)) == (after, beginning_with)


@given(day=DAYS, years=st.integers(1, 20))
def test_years_beginning_with_never_ends_later_than_years_after(day, years):
    assert years_beginning_with(day, years) <= years_after(day, years)


def test_months_end_on_the_month_s_last_day():
    assert months_after(date(2026, 8, 31), 6) == date(2027, 2, 28)
    assert months_after(date(2026, 11, 30), 3) == date(2027, 2, 28)
    assert months_after(date(2026, 10, 15), 3) == date(2027, 1, 15)


def test_day_words():
    assert [day_words(date(2026, m, 3)) for m in (1, 5, 9, 12)] == [
        "3 Jan 2026",
        "3 May 2026",
        "3 Sep 2026",
        "3 Dec 2026",
    ]
