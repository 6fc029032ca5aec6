"""The days on which a customer is written to about an inspection, against the same rule told day by day."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.due.rules.letters import Letter, letters, mark_of

DUE = date(2026, 11, 24)
SHIPPED = {"days": [90, 30, 7], "every": 7}


def days_of(until, **more):
    return [(letter.on - DUE).days for letter in letters(DUE, until=DUE + timedelta(days=until), **SHIPPED | more)]


def test_ninety_thirty_and_seven_days_before_then_weekly():
    assert days_of(40) == [-90, -30, -7, 1, 8, 15, 22, 29, 36]


def test_a_letter_waits_until_a_week_after_the_one_before():
    assert days_of(30, days=[3]) == [-3, 4, 11, 18, 25]
    assert days_of(30, days=[8], every=14) == [-8, 1, 14, 28]


def test_what_is_known_late_begins_with_the_nearest_mark():
    assert days_of(0, begin=DUE - timedelta(days=20)) == [-20, -7]
    assert days_of(20, begin=DUE + timedelta(days=10)) == [10, 17]


def test_what_was_said_is_not_said_again():
    said = Letter(DUE - timedelta(days=29), 30)
    assert days_of(0, begin=DUE - timedelta(days=20), said=said) == [-7]
    assert days_of(0, said=Letter(DUE - timedelta(days=10), 30)) == [-3]


@pytest.mark.parametrize(("on", "mark"), [(-91, 91), (-90, 90), (-31, 90), (-30, 30), (0, 7), (1, 0), (6, 0), (7, -1)])
def test_the_mark_of_a_day(on, mark):
    assert mark_of(DUE, DUE + timedelta(days=on), **SHIPPED) == mark


def test_an_inspection_due_on_the_29th_of_february():
    found = letters(date(2028, 2, 29), days=[30, 7], every=7, until=date(2028, 3, 10))
    assert [letter.on for letter in found] == [date(2028, 1, 30), date(2028, 2, 22), date(2028, 3, 1), date(2028, 3, 8)]


def day_by_day(due, begin, until, days, every, said):
    """What a sweep does each day: the mark of the day, unless it was said or something was said within a week."""
    found, last, known = [], said, {said.mark} if said else set()
    day = begin
    while day <= until:
        mark = mark_of(due, day, days=days, every=every)
        if mark <= max(days) and mark not in known and (last is None or day >= last.on + timedelta(days=7)):
            last = Letter(day, mark)
            known.add(mark)
            found.append(last)
        day += timedelta(days=1)
    return found


@given(
    begin=st.dates(date(2026, 6, 1), date(2027, 3, 1)),
    length=st.integers(0, 120),
    days=st.lists(st.integers(1, 120), min_size=1, max_size=5, unique=True),
    every=st.integers(7, 40),
    ago=st.none() | st.integers(1, 60),
)
def test_as_a_sweep_of_each_day_says_it(begin, length, days, every, ago):
    until = begin + timedelta(days=length)
    said = None
    if ago is not None:
        on = begin - timedelta(days=ago)
        said = Letter(on, mark_of(DUE, on, days=days, every=every))
    expected = day_by_day(DUE, begin, until, days, every, said)
    assert letters(DUE, days=days, every=every, begin=begin, until=until, said=said) == expected
