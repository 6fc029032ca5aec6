"""Insulation resistance: which limit an edition and a voltage select, and what is asked or warned of."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.editions import Edition
from inspections.standards.facts import Correction, Facts
from inspections.standards.readings import Quantity, Situation, judge, limits_for, read
from inspections.standards.situation import ExtraLow
from inspections.standards.verdicts import Doubt, Result, Verdict

A4, EARLIER = Edition.A4_2026, Edition.EARLIER
D = Decimal


def judged(typed, edition=A4, *, as_read=False, facts=None, **more):
    situation = Situation(edition=edition, **more)
    value = read(Quantity.INSULATION, typed)
    return judge(Quantity.INSULATION, value, situation, facts=facts or Facts(), as_read=as_read)


def result(*args, **more):
    verdict = judged(*args, **more)
    assert isinstance(verdict, Verdict)
    return verdict.result


@pytest.mark.parametrize(
    ("typed", "outcome"),
    [
        (">200 MΩ", Result.PASS),
        ("200", Result.PASS),
        ("2.0", Result.PASS),
        ("1.99", Result.WARNING),
        ("1.0", Result.WARNING),
        ("0.99", Result.FAIL),
        ("0", Result.FAIL),
        ("0.00 MΩ", Result.FAIL),
    ],
)
def test_up_to_500_volts(typed, outcome):
    assert result(typed) is outcome


def test_the_sentence_names_limit_voltage_and_edition():
    verdict = judged("0.6")
    assert verdict.sentence == (
        "0.6 MΩ is below 1.0 MΩ. Limit: at least 1.0 MΩ: circuit up to and including 500 V, tested at 500 V d.c., "
        "insulation table, BS 7671:2018+A4:2026."
    )
    assert (verdict.limit.least, verdict.limit.shown) == (D("1.0"), "at least 1.0 MΩ")


@pytest.mark.parametrize(
    ("more", "least", "volts"),
    [
        ({}, "1.0", 500),
        ({"extra_low": ExtraLow.SELV}, "0.5", 250),
        ({"extra_low": ExtraLow.PELV}, "0.5", 250),
        ({"extra_low": ExtraLow.FELV}, "1.0", 500),
        ({"nominal_volts": D(500)}, "1.0", 500),
        ({"nominal_volts": D(690)}, "1.0", 1000),
        ({"equipment_connected": True}, "1.0", 250),
    ],
)
def test_limit_and_test_voltage_by_circuit(more, least, volts):
    limit = limits_for(Quantity.INSULATION, Situation(edition=A4, **more)).decides
    assert limit.least == D(least)
    assert f"tested at {volts} V d.c." in limit.basis


def test_an_older_sheet_is_not_failed_by_today_s_limit():
    verdict = judged("0.6", EARLIER)
    assert (verdict.result, verdict.limit.least) == (Result.WARNING, D("0.5"))
    assert "The editions since 2008 ask for 1.0 MΩ" in verdict.sentence
    assert result("0.49", EARLIER) is Result.FAIL
    assert all(result("0.6", edition) is Result.FAIL for edition in Edition if edition is not EARLIER)


def test_too_low_a_test_voltage_passes_with_a_warning_only():
    assert result("200", test_volts=500) is Result.PASS
    verdict = judged("200", test_volts=250)
    assert verdict.result is Result.WARNING
    assert verdict.warnings == ("It was tested at 250 V, where 500 V is asked for.",)
    assert result("200", test_volts=250, equipment_connected=True) is Result.PASS


@pytest.mark.parametrize(
    ("typed", "question"),
    [
        ("0.005", "0.005 MΩ is very low here: did you mean 5 MΩ?"),
        ("200000", "200000 MΩ is very high here: did you mean 200 MΩ?"),
    ],
)
def test_a_value_a_thousand_times_off_is_asked_about(typed, question):
    assert judged(typed) == Doubt(question)
    assert isinstance(judged(typed, as_read=True), Verdict)


def test_a_range_that_ends_below_the_limit_cannot_tell():
    for as_read in (False, True):
        asked = judged(">0.5", as_read=as_read)
        assert asked == Doubt("The tester's range ends at 0.5 MΩ, so this cannot tell: measure in a higher range.")


def test_the_firm_s_correction_decides_and_is_named():
    facts = Facts({"insulation.to-500-v": Correction(D("1.5"), "the standard as bought, Table 64")})
    verdict = judged("1.2", facts=facts)
    assert verdict.result is Result.FAIL
    assert verdict.basis.endswith("tested at 500 V d.c., as corrected from the standard as bought, Table 64")


@given(number=st.decimals("0.01", "9999", places=2), edition=st.sampled_from(Edition))
def test_passes_at_or_above_the_limit_and_nowhere_else(number, edition):
    verdict = judged(f"{number:f}", edition)
    assert verdict.passes == (number >= (D("0.5") if edition is EARLIER else D("1.0")))
