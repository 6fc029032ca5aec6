"""Which work of a site is done in one visit."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.visits.rules.grouping import Work, grouped, on_site

A = Work("a", "mill", "", 60)
# The main board feeds shed and loft; the annexe has a supply of its own.
ABOVE = {"main": frozenset(), "shed": frozenset({"main"}), "bench": frozenset({"main", "shed"}),
         "loft": frozenset({"main"}), "annexe": frozenset()}  # fmt: skip


def off(*boards: str) -> frozenset[str]:
    return frozenset(boards)


def keys(*works: Work, least: int = 30, most: int = 480) -> list[str]:
    return ["".join(work.key for work in group.works) for group in grouped(works, above=ABOVE, least=least, most=most)]


@pytest.mark.parametrize(
    ("change", "together"),
    [
        ({}, True),
        ({"site": "barn"}, False),
        ({"skill": "fire alarms"}, False),
        ({"access": "flat 2"}, False),
        ({"first": 2}, False),
        ({"last": 2}, False),
        ({"off": off("main")}, False),
        ({"off": None}, False),
        ({"crew": 2}, True),
        ({"danger": 4, "remedy_by": 3}, True),
    ],
)
def test_what_shares_a_visit(change, together) -> None:
    assert keys(A, replace(A, key="b", **change)) in ([["ab"], ["ba"]] if together else [["a", "b"], ["b", "a"]])


def test_one_outage_takes_what_hangs_below() -> None:
    main, shed, bench, annexe = (
        replace(A, key=key, off=off(board))
        for key, board in (("m", "main"), ("s", "shed"), ("b", "bench"), ("x", "annexe"))
    )
    assert keys(main, shed, bench, annexe) == ["bms", "x"]
    # With nothing to do at the main board, the shed and the loft are two outages.
    assert keys(shed, bench, replace(A, key="l", off=off("loft"))) == ["bs", "l"]


def test_unknown_outages_stay_apart() -> None:
    assert keys(replace(A, off=None), replace(A, key="b", off=None)) == ["a", "b"]


def test_most_urgent_first_and_a_long_visit_is_cut() -> None:
    works = [replace(A, key="a", minutes=200), replace(A, key="b", minutes=200, danger=4)]
    works += [replace(A, key="c", minutes=200, danger=4, remedy_by=1), replace(A, key="d", minutes=500)]
    assert keys(*works) == ["cb", "a", "d"]
    groups = grouped(works, above={}, least=30, most=480)
    assert [(group.minutes, group.danger, group.remedy_by) for group in groups] == [(400, 4, 1), (200, 0, None), (500, 0, None)]  # fmt: skip


def test_short_work_takes_the_least_and_the_largest_crew_goes() -> None:
    (group,) = grouped([replace(A, minutes=5), replace(A, key="b", minutes=5, crew=3)], above={}, least=30, most=480)
    assert (group.minutes, group.crew) == (30, 3)


def test_minutes_of_a_crew_are_rounded_up() -> None:
    assert [on_site(61, 2), on_site(60, 2), on_site(1, 4), on_site(90, 1)] == [31, 30, 1, 90]


@given(
    st.lists(
        st.builds(
            Work,
            key=st.uuids().map(str),
            site=st.sampled_from("mb"),
            skill=st.sampled_from(["", "alarms"]),
            minutes=st.integers(1, 600),
            crew=st.integers(1, 3),
            danger=st.integers(0, 4),
            off=st.one_of(st.none(), st.frozensets(st.sampled_from(sorted(ABOVE)), max_size=2)),
        ),
        max_size=12,
        unique_by=lambda work: work.key,
    )
)
def test_everything_is_in_one_group_whatever_the_order(works) -> None:
    groups = grouped(works, above=ABOVE, least=30, most=480)
    assert sorted(work.key for group in groups for work in group.works) == sorted(work.key for work in works)
    assert groups == grouped(works[::-1], above=ABOVE, least=30, most=480)
    assert all(group.minutes <= 480 or len(group.works) == 1 for group in groups)
