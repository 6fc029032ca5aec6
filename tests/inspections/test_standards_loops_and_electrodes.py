"""Loop impedance at circuit, board and origin, and electrodes, by the one door of `readings`."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.devices import VOLTAGE_OPERATED, CircuitRole, Device, Earthing, Rcd
from inspections.standards.editions import Edition
from inspections.standards.facts import Correction, Facts
from inspections.standards.limits import Entered, EnterLimit
from inspections.standards.readings import Quantity, Situation, judge, limits_for, read
from inspections.standards.verdicts import Doubt, Result, Verdict

D = Decimal
Q = Quantity
B32 = Device("BS EN 60898", "B", D(32))
RCD30 = Rcd(D(30))


def situation(**fields):
    return Situation(**{"edition": Edition.A4_2026, "earthing": Earthing.TN_S, "device": B32} | fields)


def judged(quantity, typed, *, facts=None, as_read=False, **fields):
    return judge(quantity, read(quantity, typed), situation(**fields), facts=facts or Facts(), as_read=as_read)


def result(*args, **fields):
    verdict = judged(*args, **fields)
    assert isinstance(verdict, Verdict)
    return verdict.result


def test_a_circuit_comes_with_both_bases():
    verdict = judged(Q.LOOP, "0.35", rcd=RCD30)
    assert verdict.result is Result.PASS
    assert (verdict.limit.shown, verdict.other.shown) == ("at most 1.09 Ω", "at most 1666 Ω")
    assert verdict.basis.startswith("0.8 × 1.366 Ω")
    found = limits_for(Q.LOOP, situation(rcd=RCD30))
    assert (found.decides, found.other) == (verdict.limit, verdict.other)


def test_a_board_is_judged_by_the_circuit_that_feeds_it():
    verdict = judged(Q.LOOP_BOARD, "0.60", role=CircuitRole.DISTRIBUTION)
    assert (verdict.result, "distribution circuit" in verdict.basis) == (Result.PASS, True)
    assert isinstance(judged(Q.LOOP_BOARD, "0.60", device=None), EnterLimit)


def test_an_entered_limit_goes_before_the_computed_one():
    verdict = judged(Q.LOOP, "1", entered=Entered(D("1.04"), "Table 41.2"))
    assert (verdict.result, verdict.limit.most) == (Result.FAIL, D("0.832"))
    assert result(Q.LOOP, "1", entered=Entered(D("1.04"), "a guide", already_corrected=True)) is Result.PASS


def test_the_rcds_behind_a_board_never_stand_in_for_what_feeds_it():
    tn = judged(Q.LOOP_BOARD, "2.00", role=CircuitRole.DISTRIBUTION, rcd=Rcd(D(30)))
    assert (tn.result, tn.other, "RCD" in tn.sentence) == (Result.FAIL, None, False)
    tt = judged(Q.LOOP_BOARD, "90", earthing=Earthing.TT, device=None, role=CircuitRole.DISTRIBUTION, rcd=Rcd(D(30)))
    assert tt.result is Result.WARNING
    assert "protect nothing on their supply side" in tt.sentence


def test_the_feeder_s_rcd_counts_at_the_board():
    fed = {"role": CircuitRole.DISTRIBUTION, "rcd": Rcd(D(100)), "feeder_rcd": Rcd(D(100))}
    tt = judged(Q.LOOP_BOARD, "90", earthing=Earthing.TT, device=None, **fed)
    assert (tt.result, tt.limit.shown, tt.warnings) == (Result.PASS, "at most 500 Ω", ())
    tn, circuit = (
        judged(q, "2.00", **{**fed, "rcd": RCD30 if q is Q.LOOP_BOARD else Rcd(D(100))}) for q in (Q.LOOP_BOARD, Q.LOOP)
    )
    assert (tn.result, tn.limit, tn.other) == (circuit.result, circuit.limit, circuit.other)


@pytest.mark.parametrize("quantity", [Q.LOOP, Q.LOOP_BOARD, Q.LOOP_ORIGIN, Q.ELECTRODE])
def test_an_entered_limit_needs_a_source(quantity):
    with pytest.raises(ValueError, match="where the limit is from"):
        judged(quantity, "1", entered=Entered(D(1), " "))


@pytest.mark.parametrize(
    ("typed", "earthing", "outcome"),
    [
        ("0.30", Earthing.TN_C_S, Result.NOTED),
        ("0.35", Earthing.TN_C_S, Result.NOTED),
        ("0.36", Earthing.TN_C_S, Result.WARNING),
        ("0.80", Earthing.TN_S, Result.NOTED),
        ("0.81", Earthing.TN_S, Result.WARNING),
        (">20", Earthing.TN_S, Result.WARNING),
        ("3", Earthing.UNKNOWN, Result.NOTED),
    ],
)
def test_at_the_origin_nothing_decides_and_the_usual_only_warns(typed, earthing, outcome):
    verdict = judged(Q.LOOP_ORIGIN, typed, earthing=earthing)
    assert (verdict.result, verdict.limit) == (outcome, None)
    assert ("from memory: check the standard" in verdict.sentence) == (outcome is Result.WARNING)


def test_the_origin_of_a_tt_system_is_its_electrode():
    assert result(Q.LOOP_ORIGIN, "250", earthing=Earthing.TT, rcd=RCD30) is Result.WARNING
    assert result(Q.LOOP_ORIGIN, "1700", earthing=Earthing.TT, rcd=RCD30) is Result.FAIL


def test_what_the_distributor_declared_can_be_entered():
    declared = Entered(D("0.35"), "the distributor's letter")
    assert result(Q.LOOP_ORIGIN, "0.36", earthing=Earthing.TN_C_S, entered=declared) is Result.FAIL


@pytest.mark.parametrize(
    ("typed", "outcome"),
    [
        ("21", Result.PASS),
        ("200", Result.PASS),
        ("200.1", Result.WARNING),
        ("1666", Result.WARNING),
        ("1667", Result.FAIL),
    ],
)
def test_electrodes(typed, outcome):
    assert result(Q.ELECTRODE, typed, earthing=Earthing.TT, rcd=RCD30) is outcome


def test_the_electrode_s_sentence_names_its_table():
    verdict = judged(Q.ELECTRODE, "250", rcd=Rcd(D(100)))
    assert verdict.sentence == (
        "250 Ω is within 500 Ω. Limit: 50 V ÷ 100 mA = 500 Ω (Table 41.5 of BS 7671, as NICEIC in a trade Q&A of "
        "20 Dec 2012 and threads of the IET's forum have it). Above 200 Ω the earth electrode may not be stable."
    )


@pytest.mark.parametrize("rcd", [None, Rcd(None, VOLTAGE_OPERATED)])
def test_an_electrode_without_an_rcd_asks_for_the_limit(rcd):
    assert isinstance(judged(Q.ELECTRODE, "20", rcd=rcd), EnterLimit)
    assert result(Q.ELECTRODE, "20", rcd=rcd, entered=Entered(D(10), "the design")) is Result.FAIL


@pytest.mark.parametrize(("typed", "asked"), [("0.02", "did you mean 20 Ω?"), ("68000", "did you mean 68 Ω?")])
def test_an_unlikely_electrode_is_asked_about(typed, asked):
    doubt = judged(Q.ELECTRODE, typed, rcd=RCD30)
    assert isinstance(doubt, Doubt)
    assert doubt.question.endswith(asked)
    assert isinstance(judged(Q.ELECTRODE, typed, rcd=RCD30, as_read=True), Verdict)


@pytest.mark.parametrize("quantity", [Q.LOOP, Q.LOOP_BOARD, Q.LOOP_ORIGIN, Q.ELECTRODE])
def test_zero_is_shown_by_no_loop_tester(quantity):
    with pytest.raises(ValueError, match=r"more than 0 Ω|No instrument shows 0"):
        judged(quantity, "0.00", rcd=RCD30)


def test_corrected_touch_voltage_and_stability_decide():
    facts = Facts(
        {"loop.touch.tt": Correction(D(25), "the design"), "electrode.unstable-above": Correction(D(100), "BS 7430")}
    )
    assert result(Q.ELECTRODE, "150", rcd=Rcd(D(100)), facts=facts) is Result.WARNING
    assert result(Q.ELECTRODE, "251", rcd=Rcd(D(100)), facts=facts) is Result.FAIL


@given(ohms=st.decimals("0.2", "1999", places=1), residual=st.sampled_from([30, 100, 300, 500]))
def test_electrode_passes_at_or_below_50_volts_only(ohms, residual):
    verdict = judged(Q.ELECTRODE, f"{ohms:f}", rcd=Rcd(D(residual)))
    assert verdict.passes == (ohms * residual <= 50_000)
    assert verdict.result is not Result.PASS or ohms <= 200
