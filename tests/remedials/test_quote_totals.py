"""What lines come to: for any lines, the sum of what is shown is the total shown."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.quotes import choices
from remedials.quotes.rules import money, totals, vat
from remedials.quotes.rules.totals import NOTHING, RateSum, Totals
from tests.remedials.quote_sums import keys_by_chance, line, lines_by_chance

PENNY = Decimal("0.01")


def test_values_are_those_that_lines_are_stored_with() -> None:
    assert set(totals.Kind) == set(choices.LineKind.values)
    assert set(totals.Certainty) == set(choices.Certainty.values)
    assert set(vat.Treatment) == set(choices.Treatment.values)


def test_an_example() -> None:
    sums = [line("a", "120.00"), line("b", "10.07"), line("c", "80.00", 5), line("d", "500.00", 0)]
    expected = Totals(
        rates=(
            RateSum(Decimal(20), Decimal("130.07"), Decimal("26.01")),
            RateSum(Decimal(5), Decimal("80.00"), Decimal("4.00")),
            RateSum(Decimal(0), Decimal("500.00"), Decimal("0.00")),
        ),
        net=Decimal("710.07"),
        vat=Decimal("30.01"),
        to_pay=Decimal("740.08"),
        reverse_vat=NOTHING,
        provisional=False,
    )
    assert totals.totals(sums, reverse_charge=False) == expected
    assert totals.totals(sums, reverse_charge=True) == replace(
        expected, vat=NOTHING, to_pay=Decimal("710.07"), reverse_vat=Decimal("30.01")
    )


def test_no_lines_come_to_nothing() -> None:
    assert totals.totals([], reverse_charge=False) == Totals((), NOTHING, NOTHING, NOTHING, NOTHING, False)


@given(st.data(), st.booleans())
def test_the_sum_of_what_is_shown_is_the_total_shown(data, reverse_charge) -> None:
    """Of any lines, any chosen among them, in any order."""
    sums = data.draw(lines_by_chance())
    chosen = data.draw(keys_by_chance(sums))
    shown = [row for row in sums if row.key in chosen]
    found = totals.totals(shown, reverse_charge=reverse_charge)
    assert found.to_pay == sum(row.to_pay(reverse_charge=reverse_charge) for row in shown)
    assert found.net == sum(row.price for row in shown) == sum(rate.net for rate in found.rates)
    assert found.vat + found.reverse_vat == sum(row.vat for row in shown) == sum(rate.vat for rate in found.rates)
    assert found.to_pay == found.net + found.vat
    assert found == totals.totals(data.draw(st.permutations(shown)), reverse_charge=reverse_charge)


@given(lines_by_chance(), st.booleans())
def test_every_sum_is_whole_pennies(sums, reverse_charge) -> None:
    found = totals.totals(sums, reverse_charge=reverse_charge)
    amounts = [found.net, found.vat, found.to_pay, found.reverse_vat]
    amounts += [amount for rate in found.rates for amount in (rate.net, rate.vat)]
    assert [amount.as_tuple().exponent for amount in amounts] == [-2] * len(amounts)


@given(lines_by_chance())
def test_under_the_reverse_charge_vat_is_stated_and_not_to_pay(sums) -> None:
    usual, reversed_ = (totals.totals(sums, reverse_charge=charge) for charge in (False, True))
    assert (reversed_.vat, reversed_.to_pay, reversed_.reverse_vat) == (NOTHING, usual.net, usual.vat)
    assert (reversed_.rates, usual.reverse_vat) == (usual.rates, NOTHING)


@given(lines_by_chance())
def test_each_rate_stands_once_the_highest_first(sums) -> None:
    percents = [rate.percent for rate in totals.totals(sums, reverse_charge=False).rates]
    assert percents == sorted({row.percent for row in sums}, reverse=True)


@pytest.mark.parametrize(
    ("certainties", "words"),
    [
        (["fixed"], ""),
        (["fixed", "provisional"], "Some lines are provisional: they are charged by what they take, so"),
        (["capped"], "Some lines are capped: the total can become less, not more."),
        (["capped", "provisional"], "Some lines are provisional and some are capped"),
    ],
)
def test_what_is_not_fixed_is_said_beside_the_total(certainties, words) -> None:
    sums = [line(str(n), certainty=certainty) for n, certainty in enumerate(certainties)]
    found = totals.totals(sums, reverse_charge=False)
    assert found.words.startswith(words)
    assert bool(found.words) == bool(words)
    assert (found.provisional, found.capped) == ("provisional" in certainties, "capped" in certainties)


# --- pennies and bounds -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("amount", "rounded"),
    [("0.004", "0.00"), ("0.005", "0.01"), ("1.015", "1.02"), ("1.025", "1.03"), ("2", "2.00"), ("0.0049999", "0.00")],
)
def test_half_a_penny_goes_up(amount, rounded) -> None:
    assert str(money.penny(Decimal(amount))) == rounded


@pytest.mark.parametrize(
    ("amount", "sentence"),
    [
        ("0", ""),
        ("1000000.00", ""),
        ("120.5", ""),
        ("120.500", ""),
        ("-0.01", "The price cannot be less than nothing."),
        ("1000000.01", "The price is more than £1,000,000.00: check the figures."),
        ("1000000000", "The price is more than £1,000,000.00: check the figures."),
        ("1E+400", "The price is more than £1,000,000.00: check the figures."),
        ("1.005", "The price has parts of a penny: enter pounds and pence, such as 120.50."),
        ("NaN", "Enter a sum in pounds, such as 120.50."),
        ("Infinity", "Enter a sum in pounds, such as 120.50."),
    ],
)
def test_what_is_wrong_with_a_sum(amount, sentence) -> None:
    assert money.in_bounds(Decimal(amount), what="The price") == sentence


def test_a_whole_offer_may_be_ten_times_a_line() -> None:
    assert money.in_bounds(Decimal("9999999.99"), most=money.MOST_OFFER) == ""
    assert "£10,000,000.00" in money.in_bounds(Decimal("10000000.01"), most=money.MOST_OFFER)
