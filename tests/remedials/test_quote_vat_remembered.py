"""VAT examples that are remembered or were computed, not read in a source: no outside check.

They hold the rule of rounding steady until somebody lays the tax authority's text beside them.
"""

from decimal import ROUND_DOWN, Decimal

import pytest

from inspections.standards.confidence import Confidence
from inspections.standards.registry import FACTS
from remedials.quotes.rules.money import penny
from remedials.quotes.rules.totals import totals
from remedials.quotes.rules.vat import vat_number_doubt, vat_number_fault, vat_of
from tests.remedials.quote_sums import line


def test_the_remembered_example_of_notice_700() -> None:
    # Paragraph 17.5 of VAT Notice 700, from memory: 86.76p rounds to 87p by the nearest penny.
    assert penny(Decimal("0.8676")) == Decimal("0.87")


# Computed: three like lines, VAT by line, and what whole invoices would come to instead.
@pytest.mark.parametrize(
    ("net", "by_line", "of_all", "whole", "whole_down"),
    [("10.07", "2.01", "6.03", "6.04", "6.04"), ("1.03", "0.21", "0.63", "0.62", "0.61")],
)
def test_three_like_lines(net, by_line, of_all, whole, whole_down) -> None:
    sums = [line(key, net) for key in "abc"]
    assert [row.vat for row in sums] == [Decimal(by_line)] * 3
    assert totals(sums, reverse_charge=False).vat == Decimal(of_all)
    together = 3 * Decimal(net) * 20 / 100
    assert penny(together) == Decimal(whole)
    assert together.quantize(Decimal("0.01"), ROUND_DOWN) == Decimal(whole_down)


@pytest.mark.parametrize(
    ("key", "shown"),
    [
        ("vat.standard", "20 %"),
        ("vat.energy.from-gb", "1 Apr 2022"),
        ("vat.energy.from-ni", "1 May 2023"),
    ],
)
def test_remembered_facts_are_marked(key, shown) -> None:
    assert (FACTS[key].shown, FACTS[key].confidence) == (shown, Confidence.MEMORY)


def test_no_other_fact_of_vat_or_consumers_is_unsure() -> None:
    unsure = {key for key, fact in FACTS.items() if key.startswith(("vat.", "consumer.")) and not fact.confidence.sure}
    assert unsure == {"vat.standard", "vat.energy.from-gb", "vat.energy.from-ni"}


# The form of a number and its check digits are from memory. These numbers were made up to fit, nobody's.
@pytest.mark.parametrize("number", ["GB 123 4567 82", "123456782", "GB123456727", "XI123456782001", "gb-123.4567.82"])
def test_check_digits_that_agree(number) -> None:
    assert (vat_number_fault(number), vat_number_doubt(number)) == ("", "")


def test_check_digits_that_do_not_agree_are_doubted_not_refused() -> None:
    assert vat_number_fault("GB 123 4567 83") == ""
    assert vat_number_doubt("GB 123 4567 83") == "The check digits of this VAT number don't agree: check it."
    assert vat_number_doubt("GBGD012") == ""
    assert vat_number_doubt("nonsense") == ""


def test_vat_of_the_usual_sums() -> None:
    assert [vat_of(Decimal(net), Decimal(20)) for net in ("0", "1", "99.99", "1000000")] == [
        Decimal(vat) for vat in ("0.00", "0.20", "20.00", "200000.00")
    ]
