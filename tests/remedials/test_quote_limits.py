"""Up to what sum who may say yes, and what is said when it is passed."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobsite.premises.choices import RoleAtUnit
from remedials.quotes.rules.limits import Role, by_unit, limit_of, over_limit

PASS_ON = "pass the quote on to whoever may approve it."
D250, D500, NOTHING = Decimal(250), Decimal(500), Decimal(0)


def test_roles_are_those_that_are_stored() -> None:
    assert set(Role) - {"customer"} <= set(RoleAtUnit.values)


@pytest.mark.parametrize(
    ("roles", "somebody_approves", "limit"),
    [
        ([("owner", None)], True, None),
        ([("customer", None)], True, None),
        ([("owner", None), ("approver", D250)], True, None),
        ([("approver", D250)], True, D250),
        ([("approver", None)], True, None),
        ([("approver", D250), ("approver", D500)], True, D500),
        ([("agent", None), ("approver", D250)], True, D250),
        ([("agent", None)], True, NOTHING),
        ([("occupier", None), ("payer", None)], True, NOTHING),
        ([], True, NOTHING),
        ([("agent", None)], False, None),
        ([], False, None),
    ],
)
def test_the_limit_of_a_party(roles, somebody_approves, limit) -> None:
    assert limit_of(roles, somebody_approves=somebody_approves) == limit


def test_somebody_else_answers_nothing_where_nobody_approves() -> None:
    assert limit_of([("agent", None)], somebody_approves=False, addressed=False) == NOTHING
    assert limit_of([("owner", None)], somebody_approves=False, addressed=False) is None


@given(st.lists(st.tuples(st.sampled_from(["agent", "occupier", "payer"]), st.none()), max_size=4))
def test_other_roles_never_raise_an_approvers_limit(roles) -> None:
    assert limit_of([*roles, ("approver", D250)], somebody_approves=True) == D250


def test_a_line_for_several_units_counts_at_each() -> None:
    assert by_unit([(D250, ["a", "b"]), (Decimal(10), ["a", "a"])]) == {"a": Decimal(260), "b": D250}


@pytest.mark.parametrize(
    ("chosen", "limits", "said"),
    [
        ({"a": D250}, {"a": D250}, []),
        ({"a": D500}, {"a": None}, []),
        ({"a": D500}, {}, []),
        ({"a": NOTHING}, {"a": NOTHING}, []),
        (
            {"a": Decimal("250.01"), "b": D250},
            {"a": D250, "b": D250},
            [f"You may approve up to £250.00 at Flat 1, and this comes to £250.01: {PASS_ON}"],
        ),
        (
            {"b": Decimal("1.00")},
            {"b": NOTHING},
            [f"You may not approve work at the barn, and this comes to £1.00: {PASS_ON}"],
        ),
    ],
)
def test_what_is_said_above_a_limit(chosen, limits, said) -> None:
    assert over_limit(chosen, limits, {"a": "Flat 1", "b": "the barn"}) == said


def test_a_unit_without_a_name_is_not_named() -> None:
    (said,) = over_limit({1: D500}, {1: D250})
    assert said.startswith("You may approve up to £250.00, and this comes to £500.00:")
