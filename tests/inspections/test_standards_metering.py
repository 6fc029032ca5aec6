"""Two meters over one interval. The ratios are common practice: arithmetic on an even load, from no published table."""

from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.confidence import Confidence
from inspections.standards.metering import (
    FAULTS,
    Energy,
    Found,
    average_watts,
    compare,
    from_figure,
    from_registers,
    in_wh,
    shown_ratio,
)

D = Decimal
NOTHING_HIDDEN = D(0)
amounts = st.decimals(min_value=1000, max_value=10**9, places=1)


def energy(wh: object, hidden: object = 0) -> Energy:
    return Energy(D(str(wh)), D(str(hidden)))


def keys(relied_on: object, in_doubt: object, *, three_phase: bool = True, **more) -> list[str]:
    found = compare(energy(relied_on), energy(in_doubt), three_phase=three_phase, **more)
    return [fault.key for fault in found.points_to]


@pytest.mark.parametrize(
    ("in_doubt", "expected"),
    [
        (2000, ["twice"]),
        (1950, ["twice"]),
        (667, ["one-missing"]),
        (333, ["two-missing", "one-reversed"]),
        (-333, ["two-reversed"]),
        (-1000, ["reversed"]),
        (-500, ["wrong-phase"]),
        (0, ["swapped", "nothing"]),
        (500, ["half"]),
        (1732, ["root-3-high"]),
        (577, ["root-3-low"]),
        (10_000, ["factor-10"]),
        (1, ["part-1000", "swapped", "nothing"]),
        ("0.3", ["part-1000", "swapped", "nothing"]),
        ("-0.333", ["part-1000", "swapped", "nothing"]),
        (1_000_000, ["factor-1000"]),
        (330_000, ["factor-1000"]),
        (100_000, ["factor-100"]),
        (10, ["swapped", "nothing", "part-100"]),
    ],
)
def test_what_a_ratio_points_to(in_doubt: object, expected: list[str]) -> None:
    assert keys(1000, in_doubt) == expected


def test_a_factor_of_1000_says_what_it_would_leave_to_explain() -> None:
    found = compare(energy(1000), energy("0.333"), three_phase=True)
    assert "Without that factor it would be 0.33 to 1; or two of three clamps have changed places" in found.sentence


def test_one_phase_has_no_missing_phases() -> None:
    assert keys(1000, 667, three_phase=False) == []
    assert keys(1000, 0, three_phase=False) == ["nothing"]


@pytest.mark.parametrize(
    ("in_doubt", "found"),
    [(1050, Found.AGREE), (950, Found.AGREE), (1051, Found.UNEXPLAINED), (949, Found.UNEXPLAINED)],
)
def test_they_agree_within_the_tolerance(in_doubt: int, found: Found) -> None:
    assert compare(energy(1000), energy(in_doubt), three_phase=False).found is found


def test_the_firm_sets_its_own_tolerance() -> None:
    assert compare(energy(1000), energy(1080), three_phase=False, tolerance_percent=D(10)).found is Found.AGREE
    for wrong in ("0", "-1", "26", "NaN", "Infinity"):
        with pytest.raises(ValueError, match=r"between 0\.1 % and 25 %"):
            compare(energy(1), energy(1), three_phase=False, tolerance_percent=D(wrong))


def test_last_places_that_hide_more_than_the_tolerance_decide_nothing() -> None:
    short = compare(from_registers(D(120), D(124), "kWh"), from_registers(D(7), D(9), "kWh"), three_phase=False)
    assert (short.found, short.ratio) == (Found.TOO_LITTLE, D("0.5"))
    assert short.sentence.startswith(
        "Too little to tell: the last places of what was read may hide 2000 Wh of 4000 Wh."
    )
    fine = compare(
        from_registers(D("120.0"), D("124.0"), "kWh"), from_registers(D("7.0"), D("9.0"), "kWh"), three_phase=False
    )
    assert [fault.key for fault in fine.points_to] == ["half"]


def test_nothing_counted_by_either_says_to_read_under_load() -> None:
    both = compare(energy(0, 1), energy(0, 1), three_phase=False)
    assert (both.found, both.ratio) == (Found.TOO_LITTLE, None)
    assert both.sentence.startswith("Neither counted anything")


def test_nothing_counted_by_the_one_relied_on_has_no_ratio() -> None:
    found = compare(energy(0), energy(5000), three_phase=False)
    assert (found.found, found.ratio) == (Found.UNEXPLAINED, None)


@pytest.mark.parametrize(
    ("in_doubt", "expected"),
    [(13_000, "source-added"), (7000, "source-missing"), (4000, "source-reversed"), (16_000, "source-reversed-back")],
)
def test_a_second_source_explains_a_difference(in_doubt: int, expected: str) -> None:
    assert keys(10_000, in_doubt, three_phase=False, source_wh=D(3000))[0] == expected


def test_no_sentence_is_certain() -> None:
    for fault in FAULTS:
        found = compare(energy(10_000), Energy(10_000 * fault.ratio, D(0)), three_phase=True)
        assert "In common practice that points to this, and proves nothing" in found.sentence
        assert found.confidence is Confidence.PRACTICE


def test_a_reversed_clamp_is_the_only_fault_read_in_a_source() -> None:
    """Which way a clamp faces: a maker's manual, read; all others: common practice."""
    assert [fault.key for fault in FAULTS if fault.confidence is not Confidence.PRACTICE] == ["reversed"]


@given(relied_on=amounts, fault=st.sampled_from(FAULTS), off=st.decimals(min_value="0.97", max_value="1.03", places=3))
def test_every_common_fault_is_named_whatever_the_size(relied_on: Decimal, fault, off: Decimal) -> None:
    found = compare(
        Energy(relied_on, NOTHING_HIDDEN), Energy(relied_on * fault.ratio * off, NOTHING_HIDDEN), three_phase=True
    )
    assert fault.key in [one.key for one in found.points_to]


@given(one=amounts, other=amounts)
def test_agreeing_never_points_to_a_fault(one: Decimal, other: Decimal) -> None:
    found = compare(energy(one), energy(other), three_phase=True)
    assert bool(found.points_to) == (found.found is Found.POINTS)
    assert (abs(other / one - 1) <= D("0.05")) == (found.found is Found.AGREE)


@given(one=amounts, other=amounts, unit=st.sampled_from(["Wh", "kWh"]))
def test_the_unit_changes_nothing(one: Decimal, other: Decimal, unit: str) -> None:
    plain = compare(energy(one), energy(other), three_phase=True)
    scaled = compare(energy(in_wh(one, unit)), energy(in_wh(other, unit)), three_phase=True)
    assert (plain.found, plain.points_to) == (scaled.found, scaled.points_to)


def test_registers() -> None:
    assert from_registers(D("12.5"), D("14.0"), "MWh") == Energy(D(1_500_000), D(100_000))
    assert from_registers(D(120), D(120), "Wh") == Energy(D(0), D(1))
    with pytest.raises(ValueError, match="The end is below the start"):
        from_registers(D(120), D(119), "kWh")


def test_a_figure_keeps_its_sign_and_hides_half_its_last_place() -> None:
    assert from_figure(D("-3.20"), "kWh") == Energy(D(-3200), D(5))
    for wrong in ("NaN", "Infinity", "1e20"):
        with pytest.raises(ValueError, match="No installation"):
            from_figure(D(wrong), "kWh")
    with pytest.raises(ValueError, match="Choose Wh"):
        from_figure(D(1), "joules")


def test_average_power() -> None:
    assert average_watts(D(3000), timedelta(minutes=90)) == D(2000)
    with pytest.raises(ValueError, match="after it begins"):
        average_watts(D(1), timedelta(0))


@pytest.mark.parametrize(
    ("ratio", "words"), [("2.005", "2.00"), ("-0.334", "\u22120.33"), ("0.001", "0.0010"), ("0", "0.00")]
)
def test_ratio_in_words(ratio: str, words: str) -> None:
    assert shown_ratio(D(ratio)) == words
