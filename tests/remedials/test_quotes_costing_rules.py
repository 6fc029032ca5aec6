"""What work costs and is charged at: by a table worked out by hand, and by properties."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.quotes.rules import costing
from remedials.quotes.rules.costing import Hour, below_cost, hour_of, margin_percent, work_out
from remedials.works.operations import Take

D = Decimal
sums = st.decimals(0, 10_000, places=2)
percents = st.decimals(0, 1000, places=2)
takes = st.builds(
    Take,
    what=st.just("Thing"),
    kind=st.sampled_from(["material", "access", "fixed"]),
    quantity=st.decimals("0.001", 1000, places=3),
    cost_each=sums,
    markup_percent=st.none() | percents,
)


@pytest.mark.parametrize(
    ("minutes", "crew", "items", "cost", "price"),
    [
        (None, 1, [], "0.00", "0.00"),
        (60, 1, [], "30.00", "60.00"),
        (20, 1, [], "10.00", "20.00"),
        (1, 1, [], "0.50", "1.00"),
        (50, 3, [], "75.00", "150.00"),
        (None, 1, [Take("m", quantity=D("2.5"), cost_each=D("3.33"))], "8.33", "10.00"),  # 8.325; 20 % of 8.33 is 1.666
        (None, 1, [Take("m", cost_each=D("10"), markup_percent=D(0))], "10.00", "10.00"),
        (None, 1, [Take("f", kind="fixed", cost_each=D("80"))], "80.00", "80.00"),
        (None, 1, [Take("a", kind="access", cost_each=D("100"), markup_percent=D("12.5"))], "100.00", "112.50"),
        (60, 2, [Take("m", quantity=D(3), cost_each=D("0.05"))] * 2, "60.30", "120.36"),  # 20 % of 0.15 is 0.03, twice
    ],
)
def test_work_out_by_hand(minutes, crew, items, cost, price) -> None:
    worked = work_out(minutes=minutes, crew=crew, hour=Hour(D(30), D(60)), items=items, firms_markup=D(20))
    assert (worked.cost, worked.price) == (D(cost), D(price))


@given(
    minutes=st.none() | st.integers(1, 10_000), crew=st.integers(1, 20), cost=sums, price=sums,
    items=st.lists(takes, max_size=8), markup=percents,
)  # fmt: skip
def test_what_is_shown_adds_up_in_whole_pence(minutes, crew, cost, price, items, markup) -> None:
    worked = work_out(minutes=minutes, crew=crew, hour=Hour(cost, price), items=items, firms_markup=markup)
    assert worked.cost == worked.labour.cost + sum(part.cost for part in worked.items)
    assert worked.price == worked.labour.price + sum(part.price for part in worked.items)
    assert worked.items_price == worked.items_cost + worked.items_markup
    for part in (worked.labour, *worked.items, costing.Part(worked.cost, worked.price)):
        assert part.cost == round(part.cost, 2)
        assert part.price == round(part.price, 2)
    for one, part in zip(items, worked.items, strict=True):
        assert part.price >= part.cost  # a mark-up is never less than nothing
        assert abs(part.cost - one.quantity * one.cost_each) <= D("0.005")
        if one.kind == "fixed":
            assert part.price == part.cost


@given(items=st.lists(takes, max_size=8), more=takes)
def test_another_item_adds_just_itself(items, more) -> None:
    def price(taken):
        return work_out(minutes=None, crew=1, hour=None, items=taken, firms_markup=D(20)).price

    assert price([*items, more]) == price(items) + price([more])


def test_the_rate_of_a_skill_else_that_of_any_other() -> None:
    rates = {"": Hour(D(1), D(2)), "Tester": Hour(D(3), D(4))}
    assert hour_of(rates, " TESTER ").price == 4
    assert hour_of(rates, "joiner").price == 2
    assert hour_of({"Tester": Hour(D(3), D(4))}, "joiner") is None
    with pytest.raises(ValueError, match="without a rate"):
        work_out(minutes=1, crew=1, hour=None, items=[], firms_markup=D(0))


@pytest.mark.parametrize(
    ("cost", "price", "percent", "warning"),
    [
        ("50", "100", "50.0", ""),
        ("66.67", "100", "33.3", ""),
        ("100", "100", "0.0", ""),
        ("1100.50", "100", "-1000.5", "This price is £1,000.50 below what the work costs."),
        ("5", "0", None, "This price is £5.00 below what the work costs."),
    ],
)
def test_margin_and_its_warning(cost, price, percent, warning) -> None:
    assert margin_percent(D(cost), D(price)) == (None if percent is None else D(percent))
    assert below_cost(D(cost), D(price)) == warning
