"""Continuity, rings and fault current: what is expected, what is asked, what fails."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.devices import Device, Earthing
from inspections.standards.editions import Edition
from inspections.standards.facts import Correction, Facts
from inspections.standards.limits import Entered
from inspections.standards.readings import Quantity, Situation, judge, limits_for, read
from inspections.standards.rings import highest_cross_connected
from inspections.standards.verdicts import Doubt, Result, Verdict

D = Decimal
Q = Quantity
B32 = Device("BS EN 60898", "B", D(32))
CABLE = {"line_mm2": D("2.5"), "cpc_mm2": D("1.5")}
RING = {Q.RING_R1: D("0.37"), Q.RING_RN: D("0.38"), Q.RING_R2: D("0.61")}


def judged(quantity, typed, *, facts=None, as_read=False, **fields):
    situation = Situation(edition=Edition.A4_2026, **fields)
    return judge(quantity, read(quantity, typed), situation, facts=facts or Facts(), as_read=as_read)


def result(*args, **fields):
    verdict = judged(*args, **fields)
    assert isinstance(verdict, Verdict)
    return verdict.result


# --- R1+R2, R2, bonding -----------------------------------------------------------------------------------------------


def test_without_a_length_there_is_nothing_to_judge_by():
    verdict = judged(Q.R1_R2, "0.39", **CABLE)
    assert (verdict.result, verdict.sentence, verdict.limit, verdict.passes) == (Result.NOTED, "0.39 Ω.", None, True)


@pytest.mark.parametrize(
    ("quantity", "typed", "outcome"),
    [
        # 20 m of 2.5/1.5 mm² by the conductor table: 0.39 Ω, its protective conductor 0.24 Ω.
        (Q.R1_R2, "0.39", Result.PASS),
        (Q.R1_R2, "0.50", Result.PASS),
        (Q.R1_R2, "0.53", Result.WARNING),
        (Q.R1_R2, "0.25", Result.WARNING),
        (Q.R2, "0.24", Result.PASS),
        (Q.R2, "0.39", Result.WARNING),
    ],
)
def test_against_what_the_length_should_read(quantity, typed, outcome):
    verdict = judged(quantity, typed, length_m=D(20), **CABLE)
    assert verdict.result is outcome
    assert "20 m of" in verdict.sentence
    assert "mm² copper should read about" in verdict.sentence


def test_a_size_that_is_in_no_table_is_only_noted():
    assert result(Q.R1_R2, "0.39", length_m=D(20), line_mm2=D("2.9"), cpc_mm2=D("1.5")) is Result.NOTED


@pytest.mark.parametrize(
    ("typed", "outcome", "words"), [("0.80", Result.PASS, "within"), ("0.90", Result.WARNING, "likely to fail")]
)
def test_with_the_board_s_impedance_it_foretells_the_loop(typed, outcome, words):
    verdict = judged(Q.R1_R2, typed, device=B32, earthing=Earthing.TN_S, others={Q.LOOP_BOARD: D("0.21")})
    assert (verdict.result, words in verdict.sentence) == (outcome, True)
    assert f"comes to {D('0.21') + D(typed)} Ω" in verdict.sentence


@pytest.mark.parametrize("quantity", [Q.R1_R2, Q.R2, Q.BONDING, Q.RING_R1, Q.RING_R2, Q.RING_CROSS_RN])
def test_more_than_the_range_is_no_continuity(quantity):
    assert result(quantity, ">99.9", others=RING) is Result.FAIL


@pytest.mark.parametrize("quantity", [Q.R1_R2, Q.R2, Q.BONDING, Q.RING_R1])
@pytest.mark.parametrize(("typed", "asked"), [("0.0002", "did you mean 0.2 Ω?"), ("350", "did you mean 0.35 Ω?")])
def test_milliohms_typed_as_ohms_are_asked_about(quantity, typed, asked):
    doubt = judged(quantity, typed)
    assert isinstance(doubt, Doubt)
    assert doubt.question.endswith(asked)
    assert isinstance(judged(quantity, typed, as_read=True), Verdict)


def test_zero_is_kept_with_a_warning():
    assert result(Q.R1_R2, "0.00") is Result.WARNING


def test_bonding_of_memory_never_passes_without_saying_so():
    assert [result(Q.BONDING, t) for t in ("0.03", "0.05", "0.06")] == [Result.WARNING] * 3
    assert "from memory: check the standard" in judged(Q.BONDING, "0.03").sentence
    facts = Facts({"continuity.bonding": Correction(D("0.05"), "Guidance Note 3, page looked up")})
    assert [result(Q.BONDING, t, facts=facts) for t in ("0.05", "0.06")] == [Result.PASS, Result.WARNING]


def test_a_long_bonding_conductor_is_judged_by_its_length():
    # 30 m of 10 mm²: 1.83 mΩ/m × 30 m = 0.055 Ω
    assert result(Q.BONDING, "0.06", length_m=D(30), cpc_mm2=D(10)) is Result.PASS
    assert result(Q.BONDING, "0.15", length_m=D(30), cpc_mm2=D(10)) is Result.WARNING


def test_an_entered_limit_decides():
    entered = Entered(D("0.5"), "the design")
    assert [result(Q.R2, t, entered=entered) for t in ("0.5", "0.51")] == [Result.PASS, Result.FAIL]


# --- rings ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "outcome"),
    [("0.32", Result.PASS), ("0.31", Result.FAIL), ("0.37", Result.PASS), ("0.42", Result.PASS), ("0.43", Result.FAIL)],
)
def test_line_and_neutral_ends_lie_within_a_twentieth_of_an_ohm(typed, outcome):
    assert result(Q.RING_RN, typed, others={Q.RING_R1: D("0.37")}) is outcome
    assert result(Q.RING_R1, typed, others={Q.RING_RN: D("0.37")}) is outcome


def test_the_first_end_is_only_noted():
    assert result(Q.RING_R1, "0.37") is Result.NOTED
    assert limits_for(Q.RING_R1, Situation(edition=Edition.A4_2026)).decides is None


@pytest.mark.parametrize(
    ("typed", "outcome"),
    [("0.62", Result.PASS), ("0.72", Result.PASS), ("0.74", Result.WARNING), ("0.37", Result.WARNING)],
)
def test_the_protective_ends_go_by_the_ratio_of_sizes(typed, outcome):
    verdict = judged(Q.RING_R2, typed, others=RING, **CABLE)
    assert verdict.result is outcome
    assert "r1 of 0.37 Ω × 1.67 for 2.5/1.5 mm² is 0.62 Ω" in verdict.sentence


def test_without_sizes_the_protective_ends_are_noted():
    assert result(Q.RING_R2, "0.62", others=RING) is Result.NOTED


@pytest.mark.parametrize(("quantity", "more"), [(Q.RING_CROSS_R2, {}), (Q.R1_R2, {"ring": True})])
@pytest.mark.parametrize(
    ("typed", "outcome"),
    [("0.24", Result.PASS), ("0.31", Result.PASS), ("0.40", Result.WARNING), ("0.15", Result.WARNING)],
)
def test_cross_connected_is_a_quarter_of_the_sum(quantity, more, typed, outcome):
    # (0.37 + 0.61) / 4 = 0.245
    assert result(quantity, typed, others=RING, **more) is outcome


def test_a_spur_reads_higher():
    assert "a spur reads higher" in judged(Q.RING_CROSS_RN, "0.40", others=RING).sentence


@pytest.mark.parametrize("typed", ["0.98", "0.90", "1.10"])
def test_a_value_near_the_whole_sum_is_questioned(typed):
    doubt = judged(Q.R1_R2, typed, ring=True, others=RING)
    assert doubt == Doubt(f"{typed} Ω is near r1+r2, 0.98 Ω: were the ends cross-connected? (r1+r2)/4 is 0.25 Ω.")
    assert result(Q.R1_R2, typed, ring=True, others=RING, as_read=True) is Result.WARNING


def test_a_ring_s_highest_reading_foretells_the_loop_too():
    others = RING | {Q.LOOP_BOARD: D("0.90")}
    verdict = judged(Q.R1_R2, "0.24", ring=True, others=others, device=B32, earthing=Earthing.TN_S)
    assert verdict.result is Result.WARNING
    assert "likely to fail" in verdict.sentence


def test_a_ring_without_its_ends_is_noted():
    assert result(Q.R1_R2, "0.24", ring=True) is Result.NOTED


def test_r1_r2_of_a_ring_is_the_highest_at_its_points():
    assert highest_cross_connected([D("0.24"), D("0.31"), D("0.25")]) == D("0.31")


@given(r1=st.decimals("0.1", "2", places=2), r2=st.decimals("0.1", "3", places=2))
def test_a_good_ring_passes_and_one_not_cross_connected_never_passes_unasked(r1, r2):
    others = {Q.RING_R1: r1, Q.RING_R2: r2}
    quarter = ((r1 + r2) / 4).quantize(D("0.01"))
    assert result(Q.R1_R2, f"{quarter:f}", ring=True, others=others) is Result.PASS
    assert isinstance(judged(Q.R1_R2, f"{r1 + r2:f}", ring=True, others=others), Doubt)


# --- prospective fault current ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "outcome"), [("6", Result.PASS), ("6.01", Result.FAIL), (">20", Result.FAIL), ("1200 A", Result.PASS)]
)
def test_fault_current_against_what_the_device_breaks(typed, outcome):
    assert result(Q.FAULT_CURRENT, typed, breaking_capacity_ka=D(6)) is outcome


def test_a_board_goes_by_its_weakest_device_and_says_of_how_many_none_is_on_record():
    at_board = {"breaking_capacity_ka": D(6)}
    complete = judged(Q.FAULT_CURRENT, "5.9", devices_unrecorded=0, **at_board)
    assert complete.result is Result.PASS
    assert complete.basis == "rated breaking capacity of the weakest device of the board on record, 6 kA"
    partly = judged(Q.FAULT_CURRENT, "5.9", devices_unrecorded=2, **at_board)
    assert (partly.result, partly.warnings) == (
        Result.WARNING,
        ("Of 2 devices of the board the breaking capacity isn't recorded: look at each.",),
    )
    assert result(Q.FAULT_CURRENT, "6.1", devices_unrecorded=2, **at_board) is Result.FAIL
    assert judged(Q.FAULT_CURRENT, "5.9", devices_unrecorded=3).result is Result.NOTED


def test_without_a_breaking_capacity_it_is_noted():
    verdict = judged(Q.FAULT_CURRENT, "1.2")
    assert verdict.result is Result.NOTED
    assert verdict.sentence == "1.2 kA. The device's rated breaking capacity isn't recorded."


def test_a_range_below_the_breaking_capacity_cannot_tell():
    assert isinstance(judged(Q.FAULT_CURRENT, ">5", breaking_capacity_ka=D(6), as_read=True), Doubt)


def test_less_than_the_loop_gives_is_warned_of():
    # 230 V ÷ 0.21 Ω = 1.095 kA
    loop = {"others": {Q.LOOP_BOARD: D("0.21")}, "breaking_capacity_ka": D(6)}
    assert result(Q.FAULT_CURRENT, "1.0", **loop) is Result.PASS
    verdict = judged(Q.FAULT_CURRENT, "0.7", **loop)
    assert verdict.result is Result.WARNING
    assert verdict.warnings == ("0.21 Ω gives 1.09 kA, more than was read: the highest at the point counts.",)


@pytest.mark.parametrize(("typed", "asked"), [("1200", "did you mean 1.2 kA?"), ("0.0012", "did you mean 1.2 kA?")])
def test_amperes_typed_as_kiloamperes_are_asked_about(typed, asked):
    doubt = judged(Q.FAULT_CURRENT, typed)
    assert isinstance(doubt, Doubt)
    assert doubt.question.endswith(asked)


def test_no_current_is_refused():
    with pytest.raises(ValueError, match="No instrument shows 0 kA"):
        judged(Q.FAULT_CURRENT, "0")
    with pytest.raises(ValueError, match="breaking capacity"):
        judged(Q.FAULT_CURRENT, "1", breaking_capacity_ka=D(0))


# --- every quantity ---------------------------------------------------------------------------------------------------


@given(
    quantity=st.sampled_from(Q), number=st.decimals("0", "99999", places=3), above=st.booleans(), as_read=st.booleans()
)
def test_any_value_is_judged_or_refused_with_a_sentence(quantity, number, above, as_read):
    typed = "OK" if quantity.yes_no else f"{'>' if above else ''}{number:f}"
    try:
        found = judged(quantity, typed, as_read=as_read)
        words = getattr(found, "sentence", "") or getattr(found, "question", "") or getattr(found, "reason", "")
    except ValueError as refused:
        words = str(refused)
    assert words.endswith((".", "?"))
