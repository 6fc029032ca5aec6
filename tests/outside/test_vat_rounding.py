"""The named rule of rounding VAT against what HMRC publishes of rounding on invoices.

HMRC's manual, VATREC12010 and VATREC12030 (gov.uk), read: VAT worked out for each line may be rounded to the nearer penny;
it must never be rounded down to whole pennies; what is below half a penny goes down, half a penny and more goes up. The
published example of 86.76p is remembered, not read: it stands in `tests/remedials/test_quote_vat_remembered.py`.
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.confidence import Confidence
from remedials.quotes.rules.vat import PER_LINE_NEAREST_PENNY, vat_of

NETS = st.decimals(0, 1_000_000, places=2)
PERCENTS = st.sampled_from([Decimal(20), Decimal(5), Decimal("17.5"), Decimal(0)])


def test_the_rule_names_where_it_was_read() -> None:
    assert (PER_LINE_NEAREST_PENNY.key, PER_LINE_NEAREST_PENNY.confidence) == (
        "per-line-nearest-penny",
        Confidence.READ,
    )
    for words in ("VATREC12010", "VATREC12030", "never down to whole pennies"):
        assert words in PER_LINE_NEAREST_PENNY.source


# Net price, rate, exact VAT in pence, VAT on the line.
@pytest.mark.parametrize(
    ("net", "percent", "pence", "vat"),
    [
        ("0.02", 20, "0.4", "0.00"),
        ("0.03", 20, "0.6", "0.01"),
        ("0.09", 5, "0.45", "0.00"),
        ("0.10", 5, "0.5", "0.01"),
        ("0.30", 5, "1.5", "0.02"),
        ("12.48", 20, "249.6", "2.50"),
        ("12.47", 20, "249.4", "2.49"),
    ],
)
def test_below_half_a_penny_goes_down_and_half_a_penny_goes_up(net, percent, pence, vat) -> None:
    exact = Decimal(net) * percent
    assert exact == Decimal(pence)
    assert vat_of(Decimal(net), Decimal(percent)) == Decimal(vat)


@given(NETS, PERCENTS)
def test_each_line_goes_to_the_nearer_penny(net, percent) -> None:
    off = Fraction(vat_of(net, percent)) - Fraction(net) * Fraction(percent) / 100
    assert -Fraction(1, 200) < off <= Fraction(1, 200)


def test_over_many_lines_it_is_not_a_rounding_down() -> None:
    """A rule that only goes down loses half a penny a line; over all pence of a pound, this one loses nothing."""
    nets = [Decimal(pence) / 100 for pence in range(1, 101)]
    shown = sum(vat_of(net, Decimal(20)) for net in nets)
    exact = sum(net * 20 / 100 for net in nets)
    assert shown == exact == Decimal("10.10")
