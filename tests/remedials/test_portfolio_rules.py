"""How many units stand together: by tables of cases, and by properties over any of them."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.status.portfolio.rules import (
    Danger,
    Dates,
    Item,
    Level,
    Standing,
    by_code,
    figures,
    first_words,
    fits,
    level,
    order,
    overdue,
    steps,
    vain_words,
)

TODAY = date(2026, 2, 3)
SEEN = date(2025, 5, 1)


def unit(name: str = "Flat 1", **fields) -> Standing:
    codes = tuple(fields.pop("codes", {}).items())
    return Standing(name, codes=codes, **{"inspected": SEEN} | fields)


@pytest.mark.parametrize(
    ("standing", "worst"),
    [
        (unit(codes={"C1": 1, "": 1}, now=1), Level.DANGER_NOW),
        (unit(codes={"C1": 1, "": 1}), Level.UNCODED),
        (unit(codes={"C1": 1, "C2": 3}), Level.MADE_SAFE),
        (unit(codes={"C2": 1, "FI": 1}), Level.DANGEROUS),
        (unit(codes={"FI": 1}, inspected=None), Level.INVESTIGATE),
        (unit(codes={"C3": 1}, inspected=None), Level.NEVER),
        (unit(codes={"C3": 1}, next=TODAY - timedelta(days=1)), Level.OVERDUE),
        (unit(codes={"C3": 1}, next=TODAY), Level.IMPROVE),
        (unit(next=TODAY), Level.CLEAR),
    ],
)
def test_the_worst_that_is_known_decides(standing, worst) -> None:
    assert level(standing, TODAY) == worst


@pytest.mark.parametrize(
    ("units", "said"),
    [
        ([], ["No unit is on record here now: as owner, agent, payer or approver, or as our customer."]),
        ([unit()], ["No dangerous item is recorded open in the one unit, from inspections of 1 May 2025."]),
        (
            [unit(), unit("Flat 2", inspected=date(2025, 6, 1), partly=True)],
            [
                ("No dangerous item is recorded open in any of the 2 units, from inspections between 1 May 2025 and 1 June 2025;"
                " 1 of these units was not covered in full.")
            ],
        ),
        (
            [unit(inspected=None), unit(inspected=None)],
            ["All 2 units have no inspection on record: nobody can say from here whether they are safe."],
        ),
        (
            [unit(inspected=None)],
            ["1 unit has no inspection on record: nobody can say from here whether it is safe."],
        ),
        (
            [unit("The hall", codes={"C1": 2}, now=2)],
            ["Danger now in The hall. It is not recorded as made safe: keep everybody away from it."],
        ),
        (
            [*(unit(f"Flat {n}, Mill Court", codes={"C1": 1}, now=1, unsafe=1) for n in range(1, 6)), unit("Hall", codes={"C2": 1}), unit()],
            [
                ("Danger now in 5 of 7 units: Flat 1, Mill Court; Flat 2, Mill Court; Flat 3, Mill Court; and 2 more. It is not"
                " recorded as made safe: keep everybody away from it."),
                "In 1 more a dangerous item is open, made safe for now.",
                "No dangerous item is recorded open in the other one, from inspections of 1 May 2025.",
            ],
        ),
        (
            [unit(codes={"": 1, "C2": 1}, unsafe=1), unit(codes={"FI": 1})],
            [
                "In 1 of 2 units a dangerous item is open, not made safe.",
                "In 1 more something must first be investigated or looked at: nobody can say yet whether it is dangerous.",
            ],
        ),
        (
            [unit(next=date(2026, 1, 1), vain=2), unit(next=date(2026, 3, 1))],
            [
                "No dangerous item is recorded open in any of the 2 units, from inspections of 1 May 2025.",
                "The next inspection of 1 unit is overdue.",
                "Nobody let us in to 1 unit when we last came.",
            ],
        ),
    ],
)  # fmt: skip
def test_sentences(units, said) -> None:
    assert first_words(units, TODAY) == said


@pytest.mark.parametrize(
    ("times", "words"), [(0, ""), (1, "not let in"), (2, "not let in, twice"), (5, "not let in, 5 times")]
)
def test_how_often_nobody_let_us_in(times, words) -> None:
    assert vain_words(unit(vain=times)) == words


@pytest.mark.parametrize(
    ("asked", "there"),
    [
        ({"dates": Dates.SOON}, [0, 90]),
        ({"dates": Dates.LATE}, [-1]),
        ({}, [-1, 0, 90, 91]),
    ],
)
def test_an_inspection_is_late_from_the_day_after_and_soon_for_ninety_days(asked, there) -> None:
    found = [n for n in (-1, 0, 90, 91) if fits(unit(next=TODAY + timedelta(days=n)), TODAY, **asked)]
    assert found == there


def test_items_are_counted_by_how_far_their_repair_is_the_furthest_first() -> None:
    items = [Item("C2", open=True, step=step) for step in ("", "booked", "declined", "over", "booked", "done")]
    assert steps(items) == [
        ("done, the proof still to be reviewed", 1),
        ("booked", 2),
        ("booked for a day that is past, with no outcome recorded yet", 1),
        ("declined", 1),
        ("being decided or priced", 1),
    ]


def test_improvements_and_what_is_closed_have_no_step() -> None:
    assert steps([Item("C3", open=True), Item("C1", open=False), Item("", open=True)]) == []


def test_items_are_counted_by_code() -> None:
    items = [
        Item("C1", open=True, made_safe=True, by=TODAY - timedelta(days=1)), Item("C1", open=True, by=TODAY),
        Item("C1", open=False), Item("C3", open=True, by=TODAY - timedelta(days=9)), Item("", open=False),
    ]  # fmt: skip
    assert by_code(items, TODAY) == [("C1", 2, 1, 1, 1), ("C2", 0, 0, 0, 0), ("FI", 0, 0, 0, 0), ("C3", 1, 0, 0, 0)]


# --- over any units ---------------------------------------------------------------------------------------------------

days = st.none() | st.dates(date(2025, 1, 1), date(2027, 1, 1))


@st.composite
def standings(draw) -> Standing:
    codes = {code: draw(st.integers(0, 2)) for code in ("C1", "", "C2", "FI", "C3")}
    now = draw(st.integers(0, codes["C1"]))
    return unit(
        codes={code: n for code, n in codes.items() if n}, now=now, by=draw(days), inspected=draw(days), next=draw(days),
        vain=draw(st.integers(0, 3)),
    )  # fmt: skip


@given(st.lists(standings(), max_size=8))
def test_no_unit_is_called_free_of_danger_that_is_not_known_to_be(units) -> None:
    """The number in the sentence on what is free of danger is that of the units with an inspection and nothing but C3 open."""
    clear = [u for u in units if u.inspected and not u.count("C1", "C2", "FI", "")]
    sentence = next((s for s in first_words(units, TODAY) if s.startswith("No dangerous item")), "")
    assert bool(sentence) == bool(clear)
    if len(units) > 1 and 1 < len(clear) < len(units):
        assert f"in the other {len(clear)}, from" in sentence


@given(st.lists(standings(), max_size=8))
def test_every_unit_is_in_just_one_of_the_parts_by_danger(units) -> None:
    for one in units:
        parts = [
            bool(one.now), fits(one, TODAY, danger=Danger.OPEN) and not one.now,
            fits(one, TODAY, danger=Danger.UNKNOWN) and not fits(one, TODAY, danger=Danger.OPEN),
            fits(one, TODAY, danger=Danger.NONE),
        ]  # fmt: skip
        assert sum(parts) == 1


@given(st.lists(standings(), max_size=8))
def test_the_order_never_puts_a_danger_now_below_anything_else(units) -> None:
    ordered = sorted(units, key=lambda one: order(one, TODAY))
    assert [bool(one.now) for one in ordered] == sorted((bool(one.now) for one in units), reverse=True)
    assert dict(figures(units, TODAY))["with their next inspection overdue"] == sum(overdue(u, TODAY) for u in units)


def test_homes_of_which_no_letting_is_recorded_are_counted_with_the_days_that_are_past() -> None:
    units = [unit(if_let=TODAY), unit(if_let=TODAY - timedelta(days=1)), unit()]
    assert first_words(units, TODAY)[-1] == (
        "The next inspection of 2 homes of which no letting is recorded here is due sooner if they are let; "
        "1 of those days is past."
    )


def test_a_c2_that_nobody_made_safe_is_never_counted_as_safe() -> None:
    units = [unit(codes={"C2": 1}, unsafe=1), unit(codes={"C2": 1}), unit(codes={"C1": 1})]
    assert first_words(units, TODAY) == ["In 3 of 3 units a dangerous item is open, not made safe in 1."]
    told = dict(figures(units, TODAY))
    assert told["with a C1 or C2 that is not made safe"] == 1
    assert told["with a danger now: a C1 that is not made safe"] == 0
