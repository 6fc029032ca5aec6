"""Readings of loop impedance: typed, doubted, judged."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.devices import CircuitRole, Device, Earthing, Rcd
from inspections.standards.judging import judge
from inspections.standards.limits import EnterLimit
from inspections.standards.quantities import Quantity
from inspections.standards.typed import Value, read
from inspections.standards.verdicts import Doubt, Result, Verdict
from tests.inspections.loops import entered, loop, loop_limits

B32 = Device("BS EN 60898", "B", Decimal(32))
RCD30 = Rcd(Decimal(30))
TN = loop(B32, Earthing.TN_S, CircuitRole.FINAL)
TN_WITH_RCD = loop(B32, Earthing.TN_S, CircuitRole.FINAL, RCD30)
TN_ON_RCD = loop(B32, Earthing.TN_S, CircuitRole.FINAL, RCD30, rests_on_rcd=True)
TT = loop(B32, Earthing.TT, CircuitRole.FINAL, RCD30)


def ohms(typed):
    return read(Quantity.LOOP, typed)


def result_of(reading, limits, **more):
    verdict = judge(ohms(reading), limits, **more)
    assert isinstance(verdict, Verdict)
    return verdict.result


@pytest.mark.parametrize(
    ("typed", "reading"),
    [
        ("0.35", Value(Decimal("0.35"))),
        (" .35 Ω ", Value(Decimal("0.35"))),
        ("0.35 \u2126", Value(Decimal("0.35"))),
        ("0.35ohm", Value(Decimal("0.35"))),
        ("350 mΩ", Value(Decimal("0.350"))),
        ("1.2 kΩ", Value(Decimal("1200.0"))),
        (">1999", Value(Decimal(1999), above=True)),
        ("> 1999 Ω", Value(Decimal(1999), above=True)),
    ],
)
def test_readings_as_people_type_them(typed, reading):
    assert ohms(typed) == reading


@pytest.mark.parametrize("typed", ["", "n/a", "0,35", "0.35 MΩ", "1e5", "<1", "NaN", "0.3.5", "0" * 21, "٣"])
def test_anything_else_is_refused_with_an_example(typed):
    with pytest.raises(ValueError, match="Enter ohms as the tester shows them"):
        ohms(typed)


@pytest.mark.parametrize("number", ["0", "-0.35", "NaN", "sNaN", "Infinity", "1E+7", "1E+999999"])
def test_the_impossible_is_refused(number):
    for reading in (Value(Decimal(number)), Value(Decimal(number), above=True)):
        with pytest.raises(ValueError, match="more than 0 Ω"):
            judge(reading, TN)


@pytest.mark.parametrize(
    ("reading", "result"),
    [
        ("0.35", Result.PASS),
        ("1.09", Result.PASS),
        ("1.0925", Result.PASS),  # the exact limit itself
        ("1.0926", Result.FAIL),
        ("1.10", Result.FAIL),
        ("43.69", Result.FAIL),  # high, but no thousandfold slip is likely
        (">1.99", Result.FAIL),
        (">1999", Result.FAIL),
    ],
)
def test_verdict_in_tn(reading, result):
    assert result_of(reading, TN) is result


def test_sentences_name_reading_limit_and_basis():
    basis = "0.8 × 1.366 Ω (0.95 × 230 V ÷ (5 × 32 A)): final circuit, TN-S, BS EN 60898 type B 32 A, conductor cold"
    passed, close, failed, above = (judge(ohms(r), TN) for r in ("1.00", "1.0924", "1.20", ">1999"))
    assert isinstance(passed, Verdict)
    assert isinstance(close, Verdict)
    assert isinstance(failed, Verdict)
    assert isinstance(above, Verdict)
    assert passed.sentence == f"1.00 Ω is within 1.09 Ω. Limit: {basis}."
    assert close.sentence == f"1.0924 Ω is within 1.0925 Ω. Limit: {basis}."
    assert failed.sentence == f"1.20 Ω is above 1.09 Ω. Limit: {basis}."
    assert above.sentence == f"More than 1999 Ω is above 1.09 Ω. Limit: {basis}."
    assert (passed.passes, failed.passes) == (True, False)


@pytest.mark.parametrize(
    ("reading", "limits", "question"),
    [
        ("350", TN, "350 Ω is very high here: did you mean 0.35 Ω?"),
        ("1640", TN, "1640 Ω is very high here: did you mean 1.64 Ω?"),  # which would fail too
        ("0.005", TN, "0.005 Ω is very low here: did you mean 5 Ω?"),
        ("0.35", TT, "0.35 Ω is very low here: did you mean 350 Ω?"),
        ("180000", TT, "180000 Ω is very high here: did you mean 180 Ω?"),
    ],
)
def test_a_value_a_thousand_times_off_is_asked_about_once(reading, limits, question):
    assert judge(ohms(reading), limits) == Doubt(question)
    assert isinstance(judge(ohms(reading), limits, as_read=True), Verdict)


def test_confirmed_values_are_judged_as_they_stand():
    assert result_of("350", TN, as_read=True) is Result.FAIL
    assert result_of("0.35", TT, as_read=True) is Result.PASS


def test_a_range_below_the_limit_cannot_tell_however_often_confirmed():
    question = "The tester's range ends at 20 Ω, below the limit of 1666 Ω: measure again in a higher range."
    for as_read in (False, True):
        assert judge(ohms(">20"), TT, as_read=as_read) == Doubt(question)


def test_a_fail_by_the_device_says_when_the_rcd_would_pass():
    verdict = judge(ohms("1.2"), TN_WITH_RCD)
    assert isinstance(verdict, Verdict)
    assert verdict.result is Result.FAIL
    assert verdict.sentence.endswith(
        "It is within 1666 Ω for the RCD: whether fault protection may rest on the RCD "
        "is for a qualified person to decide."
    )


def test_tt_by_rcd_is_far_above_the_devices_limit_as_a_matter_of_course():
    assert result_of("150", TT) is Result.PASS


def test_tn_on_an_rcd_passes_with_warnings_above_the_devices_limit():
    verdict = judge(ohms("1.2"), TN_ON_RCD)
    assert isinstance(verdict, Verdict)
    assert verdict.result is Result.WARNING
    assert verdict.sentence.endswith(
        "It is above the overcurrent device's limit: fault protection rests on the RCD alone. "
        "The limit is from memory: check the standard."
    )


def test_a_remembered_limit_never_passes_without_saying_so():
    limits = loop(Device("BS EN 60898", "D", Decimal(32)), Earthing.TN_S, CircuitRole.DISTRIBUTION)
    verdict = judge(ohms("0.2"), limits)
    assert isinstance(verdict, Verdict)
    assert verdict.result is Result.WARNING
    assert verdict.sentence.endswith("The limit is from memory: check the standard.")


def test_no_verdict_without_a_limit():
    fuse = (Device("BS 3036", "", Decimal(30)), Earthing.TN_S, CircuitRole.FINAL)
    found = judge(ohms("0.5"), loop(*fuse))
    assert isinstance(found, EnterLimit)
    assert found == loop_limits(*fuse).decides


def test_an_entered_limit_judges():
    limits = entered(Decimal("1.04"), "BS 7671 Table 41.2")
    assert [result_of(r, limits) for r in ("0.83", "0.832", "0.84")] == [Result.PASS, Result.PASS, Result.FAIL]


@given(number=st.decimals("0.02", "40", places=3))
def test_pass_means_at_or_below_the_exact_limit(number):
    verdict = judge(Value(number), TN)
    assert isinstance(verdict, Verdict)
    assert verdict.passes == (number <= Decimal("1.0925"))
