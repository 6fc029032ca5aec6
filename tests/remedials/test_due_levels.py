"""Who hears of a row on which day: by a table, and against the same rule told day by day."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.due.rules.levels import Level, heard_by, level_on, said_on
from remedials.due.rules.sorts import SHIPPED, Days, Sort

DUE = date(2026, 11, 24)
C2 = Days(7, 1, 2, 5)
CHASE = Days(0, 3, None, 7)


def on(day, days=C2, *, due=DUE, loose=False, until=None):
    return level_on(due=due, loose=loose, in_hand_until=until, days=days, today=day)


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2026, 11, 16), Level.NOBODY),
        (date(2026, 11, 17), Level.OWNER),
        (date(2026, 11, 24), Level.OWNER),
        (date(2026, 11, 25), Level.OWNER),
        (date(2026, 11, 26), Level.QUALIFIED),
        (date(2026, 11, 28), Level.QUALIFIED),
        (date(2026, 11, 29), Level.MANAGER),
        (date(2027, 11, 29), Level.MANAGER),
    ],
)
def test_a_c2_goes_from_its_owner_to_a_qualified_person_and_to_the_managers(day, expected):
    assert on(day) is expected


@pytest.mark.parametrize(
    ("due", "day", "expected"),
    [
        (date(2028, 2, 24), date(2028, 2, 29), Level.MANAGER),  # 2028 is a leap year: 5 days after the 24th
        (date(2028, 2, 25), date(2028, 3, 1), Level.MANAGER),
        (date(2027, 2, 24), date(2027, 3, 1), Level.MANAGER),
        (date(2027, 2, 24), date(2027, 2, 28), Level.QUALIFIED),
        (date(2028, 2, 29), date(2028, 2, 22), Level.OWNER),
        (date(2028, 3, 7), date(2028, 2, 29), Level.OWNER),
        (date(2028, 3, 7), date(2028, 2, 28), Level.NOBODY),
        (date(2026, 12, 30), date(2027, 1, 4), Level.MANAGER),
    ],
)
def test_days_are_calendar_days_over_the_29th_of_february_and_the_year_s_end(due, day, expected):
    assert on(day, due=due) is expected


def test_never_is_never():
    never = Days(0, 7, None, None)
    assert on(DUE + timedelta(days=3000), never) is Level.OWNER


def test_a_loose_end_and_what_has_no_date_are_the_managers_every_day():
    assert on(date(2026, 1, 1), loose=True) is Level.MANAGER
    assert on(date(2026, 1, 1), due=None) is Level.MANAGER
    assert said_on(due=None, loose=False, in_hand_until=None, days=C2, today=date(2026, 1, 2), since=date(2026, 1, 1))


def test_what_has_no_date_is_said_in_its_rhythm_by_the_calendar():
    weekly, daily = Days(7, 7, None, 28), Days(7, 1, 2, 5)
    week = [date(2026, 11, day) for day in range(23, 30)]  # from Monday on

    def said(days, **row):
        facts = {"due": None, "loose": False, "in_hand_until": None} | row
        return [day.day for day in week if said_on(days=days, today=day, since=day - timedelta(days=1), **facts)]

    assert said(weekly) == [23]
    assert said(daily) == [23, 24, 25, 26, 27, 28, 29]
    assert said(weekly, loose=True) == [23, 24, 25, 26, 27, 28, 29]


def test_what_falls_on_a_bank_holiday_is_made_good():
    facts = {"due": None, "loose": False, "in_hand_until": None, "days": Days(7, 7, None, 28)}
    assert said_on(today=date(2026, 12, 29), since=date(2026, 12, 24), **facts)  # Monday the 28th has no digest
    assert not said_on(today=date(2026, 12, 30), since=date(2026, 12, 29), **facts)


def test_nobody_hears_of_what_is_in_hand_and_all_of_it_the_day_after():
    late = DUE + timedelta(days=9)
    assert on(late, until=late) is Level.NOBODY
    assert on(late + timedelta(days=1), until=late) is Level.MANAGER
    assert on(late, loose=True, until=late) is Level.NOBODY


def test_who_is_passed_over_hears_nothing():
    """A sort that no qualified person hears of goes to the managers past them."""
    heard = heard_by(due=DUE, loose=False, in_hand_until=None, days=CHASE, today=DUE + timedelta(days=7))
    assert heard == {Level.OWNER, Level.MANAGER}


def test_the_days_of_a_chase():
    """Every third day once late, and the day on which the managers hear of it."""
    said = [n for n in range(-3, 14) if day_of(n, CHASE)]
    assert said == [0, 3, 6, 7, 9, 12]


def day_of(n, days, **rest):
    """Whether the digest `n` days after DUE has it, with a digest on each day."""
    today = DUE + timedelta(days=n)
    facts = {"due": DUE, "loose": False, "in_hand_until": None} | rest
    return said_on(days=days, today=today, since=today - timedelta(days=1), **facts)


def test_the_day_after_it_was_in_hand_it_is_said_whatever_its_rhythm():
    weekly = Days(7, 7, None, 28)
    said = [n for n in range(16) if day_of(n, weekly, in_hand_until=DUE + timedelta(days=9))]
    assert said == [10, 14]


def test_the_digest_before_cannot_be_of_the_same_day():
    with pytest.raises(ValueError, match="2026-11-24"):
        said_on(due=DUE, loose=False, in_hand_until=None, days=C2, today=DUE, since=DUE)


def test_every_shipped_sort_is_heard_of_before_or_on_its_day_and_ends_with_the_managers():
    for sort, days in SHIPPED.items():
        assert on(DUE, days) >= Level.OWNER, sort
        assert on(DUE + timedelta(days=365), days) is Level.MANAGER, sort
    assert set(SHIPPED) == set(Sort)


DAYS = st.builds(
    Days,
    before=st.integers(0, 40),
    every=st.integers(1, 30),
    qualified_after=st.none() | st.integers(0, 40),
    manager_after=st.none() | st.integers(0, 40),
)
NEAR = st.dates(date(2027, 12, 1), date(2028, 4, 30))
ROW = st.fixed_dictionaries(
    {"due": st.none() | NEAR, "loose": st.booleans(), "in_hand_until": st.none() | NEAR, "days": DAYS}
)


def told_of(row, day):
    """Whether `day` is a day on which the row is said: the rule of DEVELOPERS.md word by word, one day at a time."""
    due, days = row["due"], row["days"]
    if row["loose"]:
        return True
    if row["in_hand_until"] is not None and day == row["in_hand_until"] + timedelta(days=1):
        return True
    if due is None:
        return (day - date(1, 1, 1)).days % days.every == 0
    if day <= due:
        return day >= due - timedelta(days=days.before)
    marks = [due + timedelta(days=n) for n in (days.qualified_after, days.manager_after) if n is not None]
    if day in marks:
        return True
    step = due
    while step < day:
        step += timedelta(days=days.every)
    return step == day


@given(row=ROW, today=NEAR, gap=st.integers(1, 12))
def test_a_digest_says_what_fell_on_it_and_on_the_days_without_one(row, today, gap):
    since = today - timedelta(days=gap)
    between = [since + timedelta(days=n) for n in range(1, gap + 1)]
    heard = level_on(today=today, **row) is not Level.NOBODY
    assert said_on(today=today, since=since, **row) == (heard and any(told_of(row, day) for day in between))


@given(row=ROW, today=NEAR)
def test_a_row_rises_and_never_falls_by_itself(row, today):
    row = row | {"in_hand_until": None}
    assert level_on(today=today, **row) <= level_on(today=today + timedelta(days=1), **row)


@given(row=ROW, today=NEAR, gaps=st.lists(st.integers(1, 6), min_size=1, max_size=6))
def test_whatever_days_have_no_digest_nothing_heard_of_is_dropped(row, today, gaps):
    """A row that is late is in some digest within `every` days and the longest gap, unless it is in hand."""
    if row["in_hand_until"] is not None:
        row = row | {"in_hand_until": None}
    days, since, said, heard = today, today - timedelta(days=1), False, False
    for n in range(200):
        heard = heard or level_on(today=days, **row) is not Level.NOBODY
        said = said or said_on(today=days, since=since, **row)
        since, days = days, days + timedelta(days=gaps[n % len(gaps)])
        if (
            heard
            and (days - today).days > row["days"].every + row["days"].before + 2 * max(gaps)
            and since > (row["due"] or since - timedelta(days=1))
        ):
            break
    assert said == heard
