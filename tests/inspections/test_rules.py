"""Small rules, by tables and by properties."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections import rules
from inspections.choices import Code, Ended
from inspections.rules import (
    Item,
    NormalFeed,
    Origin,
    codes_in_words,
    count_codes,
    origins_of,
    read_way,
    required_and_complete,
    shows_from,
    step_by,
)

DAYS = st.dates(date(2000, 1, 1), date(2100, 1, 1))


@pytest.mark.parametrize(
    ("text", "way"),
    [
        ("5", (5, "")),
        (" 5L1 ", (5, "L1")),
        ("5/l2", (5, "L2")),
        ("12 L3", (12, "L3")),
        ("way 7", (7, "")),
        ("5 TPN", (5, "3")),
        ("5 three-phase", (5, "3")),
        ("5 3-phase", (5, "3")),
    ],
)
def test_ways_as_people_write_them(text, way) -> None:
    assert read_way(text) == way


@pytest.mark.parametrize("text", ["", "L1", "five", "5L4", "1234", "5 6", "5L1L2"])
def test_what_is_no_way(text) -> None:
    with pytest.raises(ValueError, match="Write the way as it stands at the board"):
        read_way(text)


@given(way=st.integers(1, 999), phase=st.sampled_from(["", "L1", "L2", "L3"]))
def test_a_way_reads_back(way, phase) -> None:
    assert read_way(f"{way}{phase}") == (way, phase)


@given(
    code=st.sampled_from(["C1", "C2", "FI", "C3", ""]),
    today=DAYS,
    days=st.integers(1, 60),
    remedy_by=st.none() | DAYS,
)
def test_the_next_step_is_never_past_nor_after_what_the_firm_allows(code, today, days, remedy_by) -> None:
    day = step_by(code, today, days, remedy_by)
    if code == "C3":
        assert day is None
    else:
        assert today <= day <= today + timedelta(days=days - 1)
        if remedy_by and remedy_by >= today:
            assert day <= remedy_by
        if code in ("C1", ""):
            assert day == today


@given(due=st.dates(), notice=st.integers(0, 400))
def test_an_inspection_shows_before_it_is_due(due, notice) -> None:
    assert shows_from(due, notice) <= due


def test_counts_in_words() -> None:
    assert codes_in_words(count_codes(["C3", "C1", "C3", ""])) == "1 × C1, 2 × C3, 1 not coded"
    assert codes_in_words(count_codes([])) == "none"


TN, TT = Origin("TN-S", 230), Origin("TT", 230)


def test_a_ring_of_feeds_ends() -> None:
    feeds = [NormalFeed("a", "b"), NormalFeed("b", "a"), NormalFeed("b", None, TN)]
    assert origins_of("a", feeds, {}) == {TN}


names = st.sampled_from("abcdef")
feeds_of = st.lists(
    st.builds(NormalFeed, names, st.none(), st.sampled_from([TN, TT])) | st.builds(NormalFeed, names, names),
    max_size=12,
)


@given(board=names, feeds=feeds_of, own=st.dictionaries(names, st.sampled_from(["TT", "TN-C-S"]), max_size=3))
def test_a_board_with_an_earth_of_its_own_hands_on_nothing_else(board, feeds, own) -> None:
    found = {origin.earthing for origin in origins_of(board, feeds, own)}
    if board in own:
        assert found <= {own[board]}
    assert found <= {"TN-S", "TT", *own.values()}


@given(board=names, feeds=feeds_of)
def test_another_feed_never_takes_an_origin_away(board, feeds) -> None:
    before = origins_of(board, feeds, {})
    assert before <= origins_of(board, [*feeds, NormalFeed(board, None, TN)], {})


# --- how much of what a report requires is complete -------------------------------------------------------------------

R = "the report"


@pytest.mark.parametrize(
    ("items", "required", "complete"),
    [
        ([Item("a", "C2", "", None, R)], 1, 0),
        ([Item("a", "C1", "remedied", None, R)], 1, 1),
        ([Item("a", "C2", "others", None, R)], 1, 1),
        ([Item("a", "FI", "finding", None, R)], 1, 1),  # nothing was found
        # Not required: C3, uncoded, found to deserve no code, withdrawn, in no report.
        ([Item("a", "C3", "", None, R)], 0, 0),
        ([Item("a", "", "", None, R)], 0, 0),
        ([Item("a", "", "no-code", None, R)], 0, 0),
        ([Item("a", "C2", "no-code", None, R)], 0, 0),
        ([Item("a", "C2", "withdrawn", None, R)], 0, 0),
        ([Item("a", "C2", "")], 0, 0),
        # A finding counts by what it found.
        ([Item("a", "FI", "finding", None, R), Item("b", "C2", "", "a")], 1, 0),
        ([Item("a", "FI", "finding", None, R), Item("b", "", "", "a")], 1, 0),
        ([Item("a", "FI", "finding", None, R), Item("b", "C3", "", "a")], 1, 1),
        ([Item("a", "FI", "finding", None, R), Item("b", "C1", "remedied", "a")], 1, 1),
        ([Item("a", "FI", "finding", None, R), Item("b", "C2", "withdrawn", "a")], 1, 0),
        ([Item("a", "FI", "finding", None, R), Item("b", "", "no-code", "a")], 1, 1),
        # A later report carries it on: to the end of the chain, and every branch of it.
        ([Item("a", "C2", "continued", None, R)], 1, 0),
        ([Item("a", "C2", "continued", None, R), Item("b", "C2", "", "a")], 1, 0),
        ([Item("a", "C2", "continued", None, R), Item("b", "C2", "remedied", "a")], 1, 1),
        ([Item("a", "C2", "continued", None, R), Item("b", "C3", "", "a")], 1, 1),
        ([Item("a", "C2", "continued", None, R), Item("b", "FI", "finding", "a"), Item("c", "C2", "", "b")], 1, 0),
        ([Item("a", "C2", "continued", None, R), Item("b", "FI", "finding", "a"), Item("c", "C2", "others", "b")], 1, 1),
        ([Item("a", "C2", "continued", None, R), Item("b", "C2", "remedied", "a"), Item("c", "C2", "", "a")], 1, 0),
        # Found again after it was remedied.
        ([Item("a", "C2", "remedied", None, R), Item("b", "C2", "", "a", "a later report")], 1, 0),
        ([Item("a", "C2", "remedied", None, R), Item("b", "FI", "", None, R), Item("c", "C3", "", None, R)], 2, 1),
    ],
)  # fmt: skip
def test_required_and_complete(items, required, complete) -> None:
    assert required_and_complete(items).get(R, (0, 0)) == (required, complete)


def test_each_report_counts_its_own() -> None:
    items = [Item("a", "C2", "continued", None, "old"), Item("b", "C2", "", "a", "new")]
    assert required_and_complete(items) == {"old": (1, 0), "new": (1, 0)}


@st.composite
def chains(draw):
    """Up to eight items, each continuing one of any, even in a ring that the record cannot hold; some in a report."""
    keys = range(draw(st.integers(1, 8)))
    codes, ends = st.sampled_from(["", *Code.values]), st.sampled_from(Ended.values)
    return [
        Item(k, draw(codes), draw(ends), draw(st.sampled_from([None, *keys])), draw(st.sampled_from([None, R])))
        for k in keys
    ]


@given(items=chains())
def test_never_more_complete_than_required_nor_than_items(items) -> None:
    required, complete = required_and_complete(items).get(R, (0, 0))
    assert 0 <= complete <= required <= sum(item.report == R for item in items)


@given(items=chains(), code=st.sampled_from(["C1", "C2", "FI", ""]))
def test_what_is_open_at_the_end_of_a_chain_leaves_nothing_before_it_complete(items, code) -> None:
    behind, at = {items[0].key}, items[0]
    while at.continues is not None and at.continues not in behind:
        behind.add(at.continues)
        at = items[at.continues]
    open_again = [*items, Item("last", code, "", items[0].key)]
    chain_only = [item for item in open_again if item.key in behind or item.key == "last"]
    assert required_and_complete(chain_only).get(R, (0, 0))[1] == 0


@given(items=chains(), order=st.randoms(use_true_random=False))
def test_the_order_of_the_items_does_not_matter(items, order) -> None:
    shuffled = list(items)
    order.shuffle(shuffled)
    assert required_and_complete(shuffled) == required_and_complete(items)


WORKED = ("remedied", "others", "finding")
MARCH, APRIL = date(2026, 3, 2), date(2026, 4, 6)


@pytest.mark.parametrize(
    ("items", "done", "on"),
    [
        ([Item("a", "C2", "remedied", None, R)], {"a": MARCH}, MARCH),
        ([Item("a", "C2", "remedied", None, R), Item("b", "FI", "finding", None, R)], {"a": APRIL, "b": MARCH}, APRIL),
        ([Item("a", "C2", "continued", None, R), Item("b", "C2", "others", "a")], {"b": MARCH}, MARCH),
        # One that is still open.
        ([Item("a", "C2", "remedied", None, R), Item("b", "C1", "", None, R)], {"a": MARCH}, None),
        # Nothing was done: found gone; nothing is required.
        ([Item("a", "C2", "gone", None, R)], {}, None),
        ([Item("a", "C3", "remedied", None, R)], {"a": MARCH}, None),
        # Work on what was decided to need no code was not asked for by the report, nor what continues it.
        ([Item("a", "C2", "gone", None, R), Item("b", "C1", "no-code", None, R), Item("c", "C1", "remedied", "b")],
         {"c": MARCH}, None),
        ([Item("a", "C2", "remedied", None, R), Item("b", "C1", "no-code", None, R), Item("c", "C1", "remedied", "b")],
         {"a": MARCH, "c": APRIL}, MARCH),
        ([Item("a", "C2", "remedied", None, R), Item("b", "C1", "withdrawn", None, R), Item("c", "C1", "remedied", "b")],
         {"a": MARCH, "c": APRIL}, MARCH),
    ],
)  # fmt: skip
def test_completed_on_the_day_of_the_last_work_that_the_report_asked_for(items, done, on) -> None:
    assert rules.completed_on(items, done).get(R) == on


def _carried_on(some, items) -> set:
    """The keys of these and of all that continue them, found by going round until nothing is new."""
    found = {item.key for item in some}
    while more := {item.key for item in items if item.continues in found} - found:
        found |= more
    return found


@given(items=chains(), order=st.randoms(use_true_random=False))
def test_completed_are_just_those_with_all_complete_of_which_something_was_done(items, order) -> None:
    done = {item.key: MARCH + timedelta(days=number) for number, item in enumerate(items) if item.ended in WORKED}
    required, complete = required_and_complete(items).get(R, (0, 0))
    on = rules.completed_on(items, done).get(R)
    asked = [item for item in items if item.report == R and rules.is_asked_for(item.code, item.ended)]
    assert (on is not None) == (0 < required == complete and bool(done.keys() & _carried_on(asked, items)))
    assert on is None or on in done.values()
    shuffled = list(items)
    order.shuffle(shuffled)
    assert rules.completed_on(shuffled, done).get(R) == on


# --- another firm's assessment beside ours ----------------------------------------------------------------------------

OLD, NEW = "2018+A2:2022", "2018+A4:2026"


def judged(*pairs: tuple[str, str], missed: tuple[str, ...] = ()) -> list[rules.Judged]:
    return [rules.Judged(*pair) for pair in pairs] + [rules.Judged("", code, missed=True) for code in missed]


@pytest.mark.parametrize(
    ("edition", "rows", "outcomes", "action"),
    [
        (OLD, judged(("C3", "C3")), ("satisfactory", "satisfactory", ""), (False, False)),
        (OLD, judged(("C3", "C2")), ("satisfactory", "unsatisfactory", ""), (False, True)),
        (OLD, judged(("C2", "")), ("unsatisfactory", "satisfactory", ""), (True, False)),
        (OLD, judged(("FI", "C3")), ("unsatisfactory", "satisfactory", ""), (True, False)),
        (NEW, judged(("FI", "FI")), ("satisfactory", "satisfactory", ""), (True, True)),
        (OLD, judged(("C3", "C3"), missed=("C1",)), ("satisfactory", "satisfactory", "unsatisfactory"), (False, True)),
        (OLD, judged(("C3", "C3"), missed=("",)), ("satisfactory", "satisfactory", ""), (False, False)),
        (OLD, [], ("satisfactory", "satisfactory", ""), (False, False)),
    ],
)
def test_both_assessments_go_by_the_reports_edition(edition, rows, outcomes, action) -> None:
    """The rule of each edition is checked against its sources in tests/outside/test_assessments.py."""
    found = rules.compare(edition, rows)
    assert (found.theirs[0], found.ours[0], found.with_missed[0] if found.with_missed else "") == outcomes
    assert (found.action_by_theirs, found.action_by_ours) == action


def test_the_differences_are_told_by_kind() -> None:
    rows = judged(
        ("C2", "C2"), ("C3", "C2"), ("C3", "C2"), ("FI", "C1"), ("C3", ""), ("", "C3"), missed=("C2", "C1", "C2")
    )
    assert rules.comparison_in_words(rules.compare(OLD, rows)) == [
        "We agree with 1 of its 6 codes.",
        "We recode 1 from FI to C1, 2 from C3 to C2.",
        "We find that these need no code: 1 × C3.",
        "It gave no code that could be read to what we code 1 × C3.",
        "It missed, and we added: 1 × C1, 2 × C2.",
        "Action by law or policy is required, by its codes as by ours.",
    ]


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (judged(("C3", "C3")), "Action by law or policy is required neither by its codes nor by ours."),
        (judged(("C3", "C2")), "Action by law or policy is required by our codes, but not by its own."),
        (judged(("C2", "C3")), "Action by law or policy is required by its codes, but not by ours."),
    ],
)
def test_action_is_told_apart_from_the_assessment(rows, said) -> None:
    assert rules.comparison_in_words(rules.compare(OLD, rows))[-1] == said
