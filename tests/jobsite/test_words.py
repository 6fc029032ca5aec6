"""Dates, ages and sums in words."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobsite import words

TODAY = date(2026, 11, 24)
DATES = st.dates(date(1900, 1, 1), date(2199, 12, 31))


@pytest.mark.parametrize(("on", "said"), [(TODAY, "24 Nov 2026"), (date(2024, 2, 29), "29 Feb 2024"), (None, "")])
def test_day(on, said):
    assert words.day(on) == said


@pytest.mark.parametrize(
    ("days", "said"),
    [(0, "today"), (1, "tomorrow"), (-1, "yesterday"), (2, "Thu 26 Nov"), (-6, "Wed 18 Nov"), (7, "1 Dec 2026")],
)
def test_near_day(days, said):
    assert words.near_day(TODAY + timedelta(days=days), TODAY) == said


def test_near_day_without_a_date():
    assert words.near_day(None, TODAY) == ""


@pytest.mark.parametrize(
    ("first", "said"),
    [
        (date(2022, 2, 3), "4 years 9 months"),
        (date(2025, 11, 24), "1 year"),
        (date(2025, 11, 25), "11 months"),
        (date(2026, 8, 24), "3 months"),
        (date(2026, 10, 25), "30 days"),
        (date(2026, 11, 23), "1 day"),
        (TODAY, "today"),
        (date(2026, 12, 1), "today"),
    ],
)
def test_since(first, said):
    assert words.since(first, TODAY) == said


@pytest.mark.parametrize(
    ("first", "last", "months"),
    [
        (date(2026, 1, 31), date(2026, 2, 28), 1),  # a month's last day completes the month
        (date(2024, 2, 29), date(2025, 2, 28), 12),
        (date(2024, 2, 29), date(2024, 3, 28), 0),
        (date(2026, 1, 30), date(2026, 2, 27), 0),
    ],
)
def test_months_between_at_the_ends_of_months(first, last, months):
    assert words.months_between(first, last) == months


@given(DATES, st.integers(0, 20_000))
def test_months_between_never_overstates(first, days):
    last = first + timedelta(days=days)
    months = words.months_between(first, last)
    assert months >= 0
    assert months * 28 <= days  # no month is shorter than 28 days


@pytest.mark.parametrize(
    ("due", "said"),
    [
        (date(2026, 11, 20), "4 days late"),
        (date(2026, 11, 23), "1 day late"),
        (date(2026, 9, 25), "60 days late"),
        (date(2026, 9, 24), "2 months late"),
        (TODAY, ""),
        (date(2026, 11, 25), ""),
        (None, ""),
    ],
)
def test_late(due, said):
    assert words.late(due, TODAY) == said


@pytest.mark.parametrize(
    ("instant", "said"),
    [
        (datetime(2026, 11, 24, 9, 30, tzinfo=UTC), "24 Nov 2026, 09:30"),
        (datetime(2026, 6, 30, 23, 30, tzinfo=UTC), "1 Jul 2026, 00:30"),
        # the clocks change at 01:00 UTC: 29 March and 25 October 2026
        (datetime(2026, 3, 29, 0, 59, tzinfo=UTC), "29 Mar 2026, 00:59"),
        (datetime(2026, 3, 29, 1, 0, tzinfo=UTC), "29 Mar 2026, 02:00"),
        (datetime(2026, 10, 25, 0, 30, tzinfo=UTC), "25 Oct 2026, 01:30"),
        (datetime(2026, 10, 25, 1, 30, tzinfo=UTC), "25 Oct 2026, 01:30"),
        (None, ""),
    ],
)
def test_when_is_the_clock_in_london(instant, said):
    assert words.when(instant) == said


def test_span_names_both_days_only_where_they_differ():
    start = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
    assert words.span(start, start + timedelta(minutes=90)) == "24 Nov 2026, 09:00–10:30"
    assert words.span(start, start + timedelta(days=1)) == "24 Nov 2026, 09:00 – 25 Nov 2026, 09:00"


@pytest.mark.parametrize(
    ("count", "noun", "said"),
    [(1, ("board",), "1 board"), (0, ("board",), "0 boards"), (1200, ("entry", "entries"), "1,200 entries")],
)
def test_many(count, noun, said):
    assert words.many(count, *noun) == said


@pytest.mark.parametrize(
    ("pounds", "said"), [("1234.5", "£1,234.50"), ("0", "£0.00"), ("-20", "\u2212£20.00"), ("1000000", "£1,000,000.00")]
)
def test_money(pounds, said):
    assert words.money(Decimal(pounds)) == said


def test_measure_keeps_number_and_unit_together():
    assert words.measure(Decimal("0.64"), "Ω") == "0.64\u202fΩ"
    assert words.measure(None, "Ω") == ""


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (None, "nothing"),
        ("", "nothing"),
        (True, "yes"),
        (False, "no"),
        (0, "0"),
        (TODAY, "24 Nov 2026"),
        (datetime(2026, 6, 1, 8, 0, tzinfo=UTC), "1 Jun 2026, 09:00"),
    ],
)
def test_plain(value, said):
    assert words.plain(value) == said
