"""The layout of charts and sheets of labels: gaps between ways, what fits on which paper."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobsite.premises.charts import SIZES_PT, Gap, Layout, gaps, layout_for

L123 = ("L1", "L2", "L3")


@pytest.mark.parametrize(
    ("ways", "phases", "found"),
    [
        ([], ("L1",), []),
        ([(1, "L1"), (2, "L1")], ("L1",), []),
        ([(2, "L1")], ("L1",), ["1"]),
        ([(1, "L1"), (5, "L1"), (7, "L1")], ("L1",), ["2–4", "6"]),
        ([(1, "L1"), (1, "L3"), (2, "3")], L123, ["1L2"]),
        ([(3, "L2")], L123, ["1–2", "3L1", "3L3"]),
    ],
)
def test_gaps(ways, phases, found) -> None:
    assert [gap.name for gap in gaps(ways, phases)] == found


@given(st.sets(st.tuples(st.integers(1, 60), st.sampled_from(L123))))
def test_ways_and_gaps_fill_every_place_once(ways) -> None:
    places = list(ways)
    for gap in gaps(ways, L123):
        for way in range(gap.first, gap.last + 1):
            places += [(way, phase) for phase in ([gap.phase] if gap.phase else L123)]
    last = max((way for way, _ in ways), default=0)
    assert sorted(places) == [(way, phase) for way in range(1, last + 1) for phase in L123]
    assert Gap(3, 3, "L2").name == "3L2"


def plan(rows: int, **more) -> Layout:
    return layout_for([("Lights", "")] * rows, **{"paper": "a4", "turned": None, "facts": 5, "sources": 0} | more)


def test_few_ways_lie_across_many_stand_upright() -> None:
    assert plan(6) == Layout("a4", True, 11)
    assert plan(30) == Layout("a4", False, 11)
    assert plan(400) == Layout("a4", False, SIZES_PT[-1])


@pytest.mark.parametrize("turned", [True, False])
def test_turned_as_asked_for_whatever_the_size(turned) -> None:
    assert {plan(rows, turned=turned).flipped for rows in (1, 40, 400)} == {turned}


@given(st.integers(0, 80), st.integers(1, 40), st.sampled_from(["a4", "a5"]))
def test_more_ways_never_make_larger_type(rows, more, paper) -> None:
    assert plan(rows + more, paper=paper).size_pt <= plan(rows, paper=paper).size_pt
