"""Electrode resistance, conductor resistance and rings against the pages that were read."""

from decimal import ROUND_HALF_UP, Decimal

import pytest

from inspections.standards.conductors import RESISTANCES, expected_ohms, milliohms_per_m
from inspections.standards.devices import Earthing, Rcd
from inspections.standards.editions import Edition
from inspections.standards.readings import Quantity, Situation, judge, limits_for, read
from inspections.standards.verdicts import Doubt, Result, Verdict

D = Decimal
Q = Quantity


def result(quantity, typed, **fields):
    verdict = judge(quantity, read(quantity, typed), Situation(edition=Edition.A4_2026, **fields))
    assert isinstance(verdict, Verdict)
    return verdict.result


@pytest.mark.parametrize(("residual_ma", "ohms"), [(30, 1667), (100, 500), (300, 167), (500, 100)])
def test_electrodes_go_by_table_41_5(residual_ma, ohms):
    # NICEIC in a trade Q&A of 20 Dec 2012 (167 Ω), threads of the IET's forum (1667 Ω), a forum page (the full row).
    limit = limits_for(Q.ELECTRODE, Situation(edition=Edition.A4_2026, rcd=Rcd(D(residual_ma)))).decides
    assert limit.most.quantize(D(1), ROUND_HALF_UP) == ohms


@pytest.mark.parametrize(
    ("typed", "expected"),
    [("200", Result.PASS), ("201", Result.WARNING), ("1666", Result.WARNING), ("1668", Result.FAIL)],
)
def test_between_200_ohms_and_the_limit_an_electrode_passes_with_a_warning(typed, expected):
    # Note 2 of Table 41.5, the same Q&A.
    assert result(Q.ELECTRODE, typed, earthing=Earthing.TT, rcd=Rcd(D(30))) is expected


# Locke, Wiley 2008, Tables 4.1 to 4.3; IEC 60228 as three pages tabulate it; a wholesaler's table: mΩ/m at 20 °C.
COPPER = {
    "1.0": "18.1",
    "1.5": "12.1",
    "2.5": "7.41",
    "4": "4.61",
    "6": "3.08",
    "10": "1.83",
    "16": "1.15",
    "25": "0.727",
    "35": "0.524",
}
# The same sources print the sums for line and protective conductor.
PAIRS = """
1.0/1.0 36.2
1.5/1.0 30.2
1.5/1.5 24.2
2.5/1.0 25.51
2.5/1.5 19.51
2.5/2.5 14.82
4/1.5 16.71
4/2.5 12.02
6/2.5 10.49
6/4 7.69
10/4 6.44
10/6 4.91
16/6 4.23
16/10 2.98
25/10 2.557
25/16 1.877
"""


def test_conductor_table():
    found = {size: fact.value for size, fact in RESISTANCES.items()}
    assert found == {D(size).normalize(): D(milliohms) for size, milliohms in COPPER.items()}


@pytest.mark.parametrize(("pair", "milliohms"), [line.split() for line in PAIRS.strip().splitlines()])
def test_line_and_protective_conductor_together(pair, milliohms):
    assert milliohms_per_m([D(size) for size in pair.split("/")]) == D(milliohms)
    assert expected_ohms([D(size) for size in pair.split("/")], D(1000)) == D(milliohms)


def test_ring_ends_lie_within_a_twentieth_of_an_ohm():
    # Basic Electrical Installation Work, p.354, as copied.
    outcomes = [result(Q.RING_RN, typed, others={Q.RING_R1: D("0.40")}) for typed in ("0.45", "0.46")]
    assert outcomes == [Result.PASS, Result.FAIL]


def test_the_protective_ends_are_1_67_times_the_line_s():
    # Trade forum threads 16502 and 36313: 2.5/1.5 mm², the ratio of the areas.
    cable = {"line_mm2": D("2.5"), "cpc_mm2": D("1.5"), "others": {Q.RING_R1: D("0.60")}}
    verdict = judge(Q.RING_R2, read(Q.RING_R2, "1.00"), Situation(edition=Edition.A4_2026, **cable))
    assert isinstance(verdict, Verdict)
    assert verdict.result is Result.PASS
    assert "× 1.67 for 2.5/1.5 mm² is 1.00 Ω" in verdict.sentence


def test_cross_connected_readings_are_a_quarter_of_the_sum():
    # The same book: (r1+rn)/4 and (r1+r2)/4, substantially the same at each point, spurs higher.
    ring = {Q.RING_R1: D("0.60"), Q.RING_RN: D("0.60"), Q.RING_R2: D("1.00")}
    assert result(Q.RING_CROSS_RN, "0.30", others=ring) is Result.PASS
    assert result(Q.RING_CROSS_R2, "0.40", others=ring) is Result.PASS
    assert result(Q.RING_CROSS_R2, "0.60", others=ring) is Result.WARNING
    situation = Situation(edition=Edition.A4_2026, others=ring)
    assert isinstance(judge(Q.RING_CROSS_R2, read(Q.RING_CROSS_R2, "1.60"), situation), Doubt)
