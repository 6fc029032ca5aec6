"""What would be said on each day of a span: counted in heaps, against each row by itself."""

from collections import Counter
from datetime import date, timedelta
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from remedials.due.rules.foretelling import EVERYBODY, Alike, dangers_told, digests_of, said, told
from remedials.due.rules.hearers import hearers
from remedials.due.rules.moments import digest_days
from remedials.due.rules.sorts import SHIPPED, Days, Sort
from tests.remedials.test_due_hearers import BOSS, OFFICE, OWNER, SENIOR, STAFF
from tests.remedials.test_due_moments import hours

FIRST, LAST = date(2026, 11, 2), date(2026, 12, 31)
HOURS = hours()


def row(sort=Sort.C2, due=date(2026, 11, 24), **more):
    usual = {
        "kind": "book",
        "loose": False,
        "in_hand_until": None,
        "owner": OWNER,
        "of_firm": False,
        "first": date(2000, 1, 1),
        "last": date(9999, 12, 31),
        "danger": False,
    }
    return Alike(sort=sort, due=due, **usual | more)


def lines(*rows, rules=SHIPPED, first=FIRST, last=LAST):
    return told(rows, rules, STAFF, digests_of(first, last, HOURS))


def test_a_c2_is_said_to_its_owner_then_to_a_qualified_person_then_to_the_managers():
    found = lines(row(count=3), last=date(2026, 11, 30))
    assert found == {
        **{date(2026, 11, day): Counter({OWNER: 3}) for day in (17, 18, 19, 20, 23, 24, 25)},
        **{date(2026, 11, day): Counter({OWNER: 3, SENIOR: 3}) for day in (26, 27)},
        date(2026, 11, 30): Counter({OWNER: 3, SENIOR: 3, BOSS: 3}),
    }


def test_nothing_is_said_before_it_stood_in_the_list_nor_after():
    found = lines(row(first=date(2026, 11, 19), last=date(2026, 11, 23)))
    assert sorted(found) == [date(2026, 11, 19), date(2026, 11, 20), date(2026, 11, 23)]


def test_danger_is_in_every_digest_and_a_message_every_day():
    danger = row(Sort.C1, due=date(2026, 12, 20), danger=True, in_hand_until=date(2026, 12, 25))
    assert sorted(lines(danger)) == digest_days(FIRST, LAST, HOURS)
    days = [FIRST + timedelta(days=n) for n in range(3)]
    assert dangers_told([danger], STAFF, days) == {day: Counter({OWNER: 1, SENIOR: 1, BOSS: 1}) for day in days}


def test_everybody_hears_of_danger_where_the_rules_name_nobody():
    alone = [person for person in STAFF if person.key == OWNER]
    danger = row(Sort.C1, danger=True, owner=None)
    assert dangers_told([danger], alone, [FIRST]) == {FIRST: Counter({OWNER: 1})}


def test_a_loose_end_is_the_office_s_every_day():
    found = lines(row(due=None, loose=True), last=date(2026, 11, 4))
    assert found[date(2026, 11, 3)] == Counter({OWNER: 1, OFFICE: 1, BOSS: 1})
    assert len(found) == 3


NEAR = st.dates(date(2025, 6, 1), date(2027, 2, 1))
DAYS = st.builds(
    Days,
    before=st.integers(0, 40),
    every=st.integers(1, 20),
    qualified_after=st.none() | st.integers(0, 30),
    manager_after=st.none() | st.integers(0, 30),
)
ROWS = st.builds(
    Alike,
    kind=st.sampled_from(["book", "quote"]),
    sort=st.sampled_from([Sort.C2, Sort.OWN, Sort.C1]),
    due=st.none() | NEAR,
    loose=st.booleans(),
    in_hand_until=st.none() | NEAR,
    owner=st.sampled_from([None, *(person.key for person in STAFF), UUID(int=77)]),
    of_firm=st.booleans(),
    first=st.just(date(2000, 1, 1)) | st.dates(FIRST, LAST),
    last=st.just(date(9999, 12, 31)) | st.dates(FIRST, LAST),
    danger=st.booleans(),
    count=st.integers(1, 3),
)


@given(rows=st.lists(ROWS, max_size=12), days=DAYS)
def test_in_heaps_as_one_by_one(rows, days):
    rules = SHIPPED | {Sort.C2: days, Sort.OWN: days}
    digests = digests_of(FIRST, LAST, HOURS)
    expected: dict[date, Counter] = {}
    for one in rows:
        for day, levels in said(one, digests, rules[one.sort]):
            undated = not one.danger and (one.due is None or one.loose)
            reached = hearers(
                STAFF, kind=one.kind, owner=one.owner, levels=levels, no_date_or_loose=undated, today=day,
                of_firm=one.of_firm,
            )  # fmt: skip
            for person in reached:
                expected.setdefault(day, Counter())[person] += one.count
            assert (levels == EVERYBODY) or not one.danger
    assert told(rows, rules, STAFF, digests) == expected
