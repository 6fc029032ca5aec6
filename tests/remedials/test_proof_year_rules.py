"""A year's counts: defects and not records, and nothing gets lost between a year's beginning and its end."""

from collections import Counter
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from remedials.status.proof.year_rules import ORDER, Defect, Pace, Row, by_code, defects, open_by_unit, pace

FIRST, LAST = date(2025, 1, 1), date(2025, 12, 31)


def row(key: str, code: str = "C2", on: date = date(2025, 3, 1), **more) -> Row:
    return Row(key, "flat", code, on, **more)


def test_a_defect_that_is_noted_again_is_one() -> None:
    rows = [
        row("a", "C3", date(2023, 5, 1), ended="continued", ended_on=date(2025, 3, 9)),
        row("b", "C2", date(2025, 3, 1), continues="a", ended="remedied", ended_on=date(2025, 4, 1)),
    ]
    assert defects(rows) == [Defect("flat", "C2", date(2023, 5, 1), "remedied", date(2025, 4, 1))]
    told = by_code(defects(rows), FIRST, LAST)
    assert {code: (of.began, of.found, dict(of.closed), of.left) for code, of in told.items()} == {
        "C2": (1, 0, {"put right": 1}, 0)
    }


def test_an_investigation_is_closed_and_what_it_found_is_its_own() -> None:
    rows = [
        row("a", "FI", ended="finding", ended_on=date(2025, 4, 1)),
        row("b", "C2", date(2025, 4, 1), continues="a", ended="remedied", ended_on=date(2025, 5, 1)),
        row("c", "C3", date(2025, 4, 1), continues="a"),
    ]
    told = by_code(defects(rows), FIRST, LAST)
    assert {code: (of.found, dict(of.closed), of.left) for code, of in told.items()} == {
        "C2": (1, {"put right": 1}, 0),
        "FI": (1, {"investigated": 1}, 0),
        "C3": (1, {}, 1),
    }


def test_one_that_is_carried_on_by_two_is_open_until_both_are_closed() -> None:
    rows = [
        row("a", ended="continued", ended_on=date(2025, 4, 1)),
        row("b", "C1", date(2025, 4, 1), continues="a", ended="remedied", ended_on=date(2025, 5, 1)),
        row("c", "C3", date(2025, 4, 1), continues="a"),
    ]
    assert defects(rows) == [Defect("flat", "C3", date(2025, 3, 1))]


def test_what_nothing_carries_on_is_not_closed() -> None:
    assert defects([row("a", ended="continued", ended_on=date(2025, 4, 1))]) == [Defect("flat", "C2", date(2025, 3, 1))]


def test_what_continues_something_elsewhere_begins_anew() -> None:
    assert defects([row("b", continues="a")]) == [Defect("flat", "C2", date(2025, 3, 1))]


def test_counts_of_a_year() -> None:
    found = [
        Defect("flat", "C1", date(2024, 6, 1), "remedied", date(2025, 1, 1)),  # on the first day
        Defect("flat", "C2", date(2025, 12, 31)),  # found on the last day
        Defect("flat", "C2", date(2025, 2, 1), "others", date(2026, 1, 1), date(2025, 8, 1)),  # closed the day after
        Defect("flat", "C3", date(2024, 1, 1), "gone", date(2024, 12, 31)),  # closed before
        Defect("flat", "C3", date(2026, 1, 1)),  # found later
        Defect("flat", "", date(2025, 5, 1), "no-code", date(2025, 5, 2)),
    ]
    told = {
        code: (of.began, of.found, dict(of.closed), of.left, of.late)
        for code, of in by_code(found, FIRST, LAST).items()
    }
    assert told == {
        "C1": (1, 0, {"put right": 1}, 0, 0),
        "": (0, 1, {"closed otherwise": 1}, 0, 0),
        "C2": (0, 2, {}, 2, 1),
    }
    assert list(told) == ["C1", "", "C2"]


def test_how_fast_the_urgent_ones_were_closed() -> None:
    found = [
        Defect("a", "C1", date(2025, 1, 1), "remedied", date(2025, 1, 3), date(2025, 1, 2)),
        Defect("a", "C2", date(2025, 1, 1), "remedied", date(2025, 1, 11), date(2025, 1, 11)),
        Defect("a", "FI", date(2025, 1, 1), "finding", date(2025, 4, 11)),
        Defect("a", "C3", date(2020, 1, 1), "remedied", date(2025, 4, 11)),
    ]
    assert pace(found, FIRST, LAST) == Pace(closed=3, median_days=10, dated=2, in_time=1)
    assert pace([], FIRST, LAST) == Pace(0, None, 0, 0)


def test_what_each_unit_had_open() -> None:
    found = [Defect("a", "C1", FIRST), Defect("a", "C1", FIRST), Defect("b", "C3", FIRST, "gone", LAST)]
    assert open_by_unit(found, LAST) == {"a": Counter({"C1": 2})}


@st.composite
def histories(draw):
    """Records of any kind, some continuing an earlier one."""
    rows: list[Row] = []
    for key in range(draw(st.integers(0, 12))):
        on = FIRST + timedelta(days=draw(st.integers(-400, 400)))
        ended = draw(st.sampled_from(["", "remedied", "others", "gone", "no-code", "finding", "continued"]))
        ended_on = on + timedelta(days=draw(st.integers(0, 500))) if ended else None
        continues = draw(st.sampled_from([None, *(r.key for r in rows)]))
        rows.append(Row(key, "u", draw(st.sampled_from(ORDER)), on, continues, ended, ended_on))
    return rows


@given(histories())
def test_nothing_is_lost_between_the_beginning_and_the_end(rows) -> None:
    found = defects(rows)
    for code, of in by_code(found, FIRST, LAST).items():
        assert of.began + of.found == sum(of.closed.values()) + of.left, code
        assert of.left == sum(d.open_on(LAST) for d in found if d.code == code)
