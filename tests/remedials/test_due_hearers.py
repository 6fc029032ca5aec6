"""Whom a row's reminder reaches."""

from datetime import date
from uuid import UUID

import pytest

from remedials.due.rules.hearers import Hearer, hearers
from remedials.due.rules.levels import Level

TODAY = date(2026, 11, 24)
OWNER, OFFICE, BOSS, SENIOR, SUB = (UUID(int=n) for n in range(1, 6))
GONE = UUID(int=99)


def somebody(key, *, plans=False, manages=False, prices=False, subcontractor=False, qualified=()):
    return Hearer(key, plans, manages, prices, subcontractor, qualified)


STAFF = [
    somebody(OWNER),
    somebody(OFFICE, plans=True, prices=True),
    somebody(BOSS, plans=True, manages=True, prices=True),
    somebody(SENIOR, qualified=((date(2025, 1, 1), None),)),
    somebody(SUB, subcontractor=True, qualified=((date(2025, 1, 1), None),)),
]
ALL = {Level.OWNER, Level.QUALIFIED, Level.MANAGER}


def reached(*levels, owner=OWNER, kind="book", loose=False, staff=STAFF, today=TODAY):
    return hearers(staff, kind=kind, owner=owner, levels=levels, no_date_or_loose=loose, today=today)


@pytest.mark.parametrize(
    ("levels", "expected"),
    [
        ([], set()),
        ([Level.OWNER], {OWNER}),
        ([Level.OWNER, Level.QUALIFIED], {OWNER, SENIOR}),
        ([Level.OWNER, Level.MANAGER], {OWNER, BOSS}),
        (sorted(ALL), {OWNER, SENIOR, BOSS}),
    ],
)
def test_each_level_reaches_its_people_besides_the_owner(levels, expected):
    assert reached(*levels) == expected


@pytest.mark.parametrize("owner", [None, GONE])
def test_the_office_hears_of_what_nobody_who_works_here_has(owner):
    assert reached(Level.OWNER, owner=owner) == {OFFICE, BOSS}


def test_the_office_hears_of_a_loose_end_besides_its_owner():
    assert reached(Level.OWNER, Level.MANAGER, loose=True) == {OWNER, OFFICE, BOSS}


def test_prices_reach_only_those_who_see_them():
    assert reached(*ALL, kind="quote") == {OFFICE, BOSS}
    assert reached(Level.OWNER, kind="quote", owner=OFFICE) == {OFFICE}


def test_a_subcontractor_hears_of_their_own_rows_only():
    assert SUB not in reached(*ALL)
    assert reached(Level.OWNER, owner=SUB) == {SUB}


def test_the_managers_stand_in_where_nobody_is_qualified_on_that_day():
    ended = [p if p.key != SENIOR else somebody(SENIOR, qualified=((date(2025, 1, 1), TODAY),)) for p in STAFF]
    assert reached(Level.QUALIFIED, staff=ended) == {SENIOR}
    assert reached(Level.QUALIFIED, staff=ended, today=date(2026, 11, 25)) == {BOSS}
    assert reached(Level.QUALIFIED, today=date(2024, 12, 31)) == {BOSS}


def test_what_is_of_no_site_is_passed_on_to_those_only_who_plan_or_manage():
    both = [*STAFF, somebody(UUID(int=6), plans=True, qualified=((date(2025, 1, 1), None),))]
    told = hearers(both, kind="competence", owner=OWNER, levels=ALL, no_date_or_loose=False, today=TODAY, of_firm=True)
    assert told == {OWNER, BOSS, UUID(int=6)}
