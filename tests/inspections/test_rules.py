"""Small rules, by tables and by properties."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.rules import NormalFeed, Origin, codes_in_words, count_codes, origins_of, read_way, shows_from, step_by

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
