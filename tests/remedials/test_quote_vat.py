"""How VAT falls on lines, when the energy-saving rate is doubtful, the reverse charge and numbers: our own sentences."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards import vat as published
from inspections.standards.confidence import Confidence
from inspections.standards.facts import Correction, Facts
from remedials.quotes.rules.vat import (
    Treatment,
    energy_warning,
    percent_words,
    rate_on,
    reverse_charge_missing,
    vat_number_fault,
    vat_of,
)

ON = date(2026, 12, 1)
LAST = date(2027, 3, 31)
DAY = timedelta(days=1)
# The relief lasts a year longer, at another rate after it.
LONGER = Facts(
    {
        "vat.energy.until": Correction(date(2028, 3, 31), "the Act as amended"),
        "vat.energy.rate-after": Correction(Decimal(20), "the Act as amended"),
    }
)


@pytest.mark.parametrize(
    ("treatment", "on", "nation", "percent", "words"),
    [
        ("standard", ON, "england", 20, "20 %, standard rate"),
        ("reduced", ON, "", 5, "5 %, reduced rate"),
        ("energy-saving", ON, "wales", 0, "0 %, energy-saving materials until 31 Mar 2027"),
        ("energy-saving", LAST + DAY, "wales", 5, "5 %, energy-saving materials"),
        ("energy-saving", date(2022, 4, 1), "england", 0, "0 %, energy-saving materials until 31 Mar 2027"),
        ("energy-saving", date(2022, 3, 31), "england", 5, "5 %, energy-saving materials before the relief"),
        ("energy-saving", date(2023, 4, 30), "northern-ireland", 5, "5 %, energy-saving materials before the relief"),
        ("energy-saving", date(2023, 4, 30), "", 5, "5 %, energy-saving materials before the relief"),
        ("energy-saving", date(2023, 5, 1), "northern-ireland", 0, "0 %, energy-saving materials until 31 Mar 2027"),
    ],
)
def test_the_rate_on_a_day(treatment, on, nation, percent, words) -> None:
    rate = rate_on(treatment, on, nation=nation)
    assert (rate.percent, rate.words) == (percent, words)


def test_another_treatment_is_refused() -> None:
    with pytest.raises(ValueError, match="exempt"):
        rate_on("exempt", ON, nation="england")


def test_what_is_not_sure_says_so_in_its_basis() -> None:
    assert rate_on("standard", ON, nation="").basis.endswith("(from memory)")
    assert "from memory" not in rate_on("reduced", ON, nation="").basis


def test_the_firms_corrections_count() -> None:
    rate = rate_on("energy-saving", LAST + DAY, nation="england", facts=LONGER)
    assert (rate.percent, rate.ends_on, rate.later) == (0, date(2028, 3, 31), 20)
    assert "the Act as amended" in rate.basis
    facts = Facts({"vat.standard": Correction(Decimal("17.5"), "looked up")})
    rate = rate_on("standard", ON, nation="england", facts=facts)
    assert (rate.words, rate.confidence) == ("17.5 %, standard rate", Confidence.GIVEN)


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.sampled_from(list(Treatment)))
def test_a_rate_with_an_end_changes_on_the_day_after_it(on, treatment) -> None:
    rate = rate_on(treatment, on, nation="scotland")
    assert (rate.ends_on is None) == (rate.later is None)
    if rate.ends_on:
        assert on <= rate.ends_on
        assert rate_on(treatment, rate.ends_on, nation="scotland") == rate
        assert rate_on(treatment, rate.ends_on + DAY, nation="scotland").percent == rate.later


@pytest.mark.parametrize(("percent", "words"), [("20.00", "20 %"), ("0", "0 %"), ("17.50", "17.5 %"), ("100", "100 %")])
def test_a_rate_in_words(percent, words) -> None:
    assert percent_words(Decimal(percent)) == words


@given(st.decimals(0, 1_000_000, places=2), st.decimals(0, 100, places=2))
def test_vat_has_pence_and_is_never_less_than_nothing(net, percent) -> None:
    vat = vat_of(net, percent)
    assert vat >= 0
    assert vat.as_tuple().exponent == -2


# --- work that may fall after the relief ------------------------------------------------------------------------------

SAID = "Energy-saving materials bear 0 % VAT until 31 Mar 2027. This work {}: what is done after 31 Mar 2027 bears 5 %."


@pytest.mark.parametrize(
    ("treatments", "on", "work_until", "said"),
    [
        (["energy-saving"], ON, None, SAID.format("has no date by which it is done")),
        (["standard", "energy-saving"], ON, LAST + DAY, SAID.format("may be done until 1 Apr 2027")),
        (["energy-saving"], LAST, date(2027, 6, 1), SAID.format("may be done until 1 Jun 2027")),
        (["energy-saving"], ON, LAST, ""),
        (["standard", "reduced"], ON, None, ""),
        ([], ON, None, ""),
        (["energy-saving"], LAST + DAY, None, ""),
    ],
)
def test_work_that_may_fall_after_the_relief_says_so(treatments, on, work_until, said) -> None:
    assert energy_warning(treatments, on=on, work_until=work_until) == said
    assert bool(energy_warning(treatments, on=on, work_until=work_until, office=True)) == bool(said)


def test_the_office_reads_that_the_tax_point_is_remembered() -> None:
    said = energy_warning(["energy-saving"], on=ON, work_until=None, office=True)
    assert said.endswith(published.TAX_POINT)
    assert "from memory: check it" in said


def test_the_warning_follows_the_firms_corrections() -> None:
    said = energy_warning(["energy-saving"], on=ON, work_until=date(2028, 4, 1), facts=LONGER)
    assert said.endswith("what is done after 31 Mar 2028 bears 20 %.")
    assert energy_warning(["energy-saving"], on=ON, work_until=date(2028, 3, 31), facts=LONGER) == ""


@given(st.dates(date(2023, 6, 1), LAST), st.none() | st.dates(date(2023, 6, 1), date(2030, 1, 1)))
def test_no_warning_means_the_rate_will_hold(on, work_until) -> None:
    now = rate_on("energy-saving", on, nation="england").percent
    later = work_until and rate_on("energy-saving", work_until, nation="england").percent
    assert bool(energy_warning(["energy-saving"], on=on, work_until=work_until)) == (later != now)


# --- the reverse charge and numbers -----------------------------------------------------------------------------------


def test_everything_that_is_missing_is_named_at_once() -> None:
    found = reverse_charge_missing(
        vat_registered=False, consumer=True, customer_vat_number=" ", cis_reportable=None, end_user=None, rates=[]
    )
    assert found == [
        ("vat_registered", "The firm must be registered for VAT."),
        ("consumer", "It never applies to a consumer."),
        ("customer_vat_number", "Enter the customer's VAT registration number."),
        ("cis_reportable", "Say whether the payment is reportable under the CIS."),
        ("end_user", "Say whether the customer told you in writing that it is an end user."),
    ]


def test_a_number_that_is_none_is_missing_too() -> None:
    found = reverse_charge_missing(
        vat_registered=True, consumer=False, customer_vat_number="12345", cis_reportable=True, end_user=False, rates=[]
    )
    assert found == [("customer_vat_number", vat_number_fault("12345"))]


@pytest.mark.parametrize("text", ["GB 123 4567 82", "gb123456782", "123456782", "XI 123456782", "GB123456782001"])
def test_numbers_as_people_write_them(text) -> None:
    assert vat_number_fault(text) == ""


@pytest.mark.parametrize(
    "text", ["12345678", "GB12345678X", "FR12345678901", "1234567890", "<b>", "１２３４５６７８２", "GB"]
)
def test_what_no_uk_number_looks_like(text) -> None:
    assert vat_number_fault(text).startswith("A UK VAT registration number has 9 digits")


def test_no_number() -> None:
    assert vat_number_fault("  ") == "Enter the VAT registration number."
