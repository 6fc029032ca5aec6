"""Limits of loop impedance against what was read in published sources.

The current Table 41.3 itself was not read: values remembered of it stand in
tests/inspections/test_standards_remembered.py.
"""

from decimal import ROUND_HALF_UP, Decimal

import pytest

from inspections.standards.devices import RATINGS_A, CircuitRole, Device, Earthing, Rcd
from inspections.standards.editions import Edition
from inspections.standards.judging import judge
from inspections.standards.limits import Limit
from inspections.standards.typed import Value
from inspections.standards.verdicts import Result, Verdict
from tests.inspections.loops import loop, loop_limits

# D. Locke, Guide to the Wiring Regulations, Wiley 2008, App. 3, which reproduces the tables of
# BS 7671:2008: the formulas printed for types B, C and D.
TABLES_OF_2008 = {"B": Decimal(46), "C": Decimal(23), "D": Decimal("11.5")}


def limit_of(kind, rating, *, standard="BS EN 60898", role=CircuitRole.FINAL, edition=Edition.A4_2026, cold=False):
    limits = loop_limits(Device(standard, kind, rating), Earthing.TN_S, role, conductor_cold=cold, edition=edition)
    assert isinstance(limits.decides, Limit)
    return limits.decides


@pytest.mark.parametrize("standard", ["BS EN 60898", "BS EN 61009"])
@pytest.mark.parametrize("kind", TABLES_OF_2008)
@pytest.mark.parametrize("rating", sorted(RATINGS_A))
def test_limit_of_2008_is_the_formula_of_its_tables(standard, kind, rating):
    limit = limit_of(kind, rating, standard=standard, edition=Edition.A1_2011)
    assert limit.ohms_exact == TABLES_OF_2008[kind] / rating


@pytest.mark.parametrize("kind", TABLES_OF_2008)
@pytest.mark.parametrize("rating", sorted(RATINGS_A))
@pytest.mark.parametrize("edition", [Edition.A3_2015, Edition.A1_2020, Edition.A2_2022, Edition.A4_2026])
def test_limit_since_amendment_3_is_the_older_one_times_0_95(kind, rating, edition):
    # A maker's published answer (FAQ FA175048): multiply the older tables by 0.95; Wiring Matters 54
    # (2015), as reproduced, and a NICEIC article give the same Cmin.
    limit = limit_of(kind, rating, edition=edition)
    assert limit.ohms_exact.quantize(Decimal("1E-20")) == (Decimal("0.95") * TABLES_OF_2008[kind] / rating).quantize(
        Decimal("1E-20")
    )


@pytest.mark.parametrize("kind", ["B", "C"])
def test_the_same_value_serves_5_seconds_for_types_b_and_c(kind):
    # The tables of 2008 (Locke, App. 3) print one formula for both times.
    final = limit_of(kind, Decimal(32))
    distribution = limit_of(kind, Decimal(32), role=CircuitRole.DISTRIBUTION)
    assert distribution.ohms_exact == final.ohms_exact


@pytest.mark.parametrize("kind", TABLES_OF_2008)
def test_a_cold_conductor_is_judged_by_eight_tenths(kind):
    # NICEIC Connections, spring 2015, p.61; rule of thumb of Appendix 3.
    warm, cold = limit_of(kind, Decimal(16)), limit_of(kind, Decimal(16), cold=True)
    assert cold.ohms_exact == Decimal("0.8") * warm.ohms_exact


# Table 41.5: NICEIC in a trade Q&A of 20 Dec 2012 (167 Ω), threads of the IET's forum (1667 Ω),
# and a forum page that prints the full row.
TABLE_41_5 = {30: 1667, 100: 500, 300: 167, 500: 100}


@pytest.mark.parametrize(("residual_ma", "ohms"), TABLE_41_5.items())
def test_tt_limit_is_table_41_5(residual_ma, ohms):
    limits = loop_limits(None, Earthing.TT, CircuitRole.FINAL, Rcd(Decimal(residual_ma)))
    assert isinstance(limits.decides, Limit)
    assert limits.decides.ohms_exact.quantize(Decimal(1), ROUND_HALF_UP) == ohms


@pytest.mark.parametrize(
    ("reading", "result"),
    [
        ("199", Result.PASS),
        ("200", Result.PASS),
        ("200.1", Result.WARNING),
        ("1666", Result.WARNING),
        ("1700", Result.FAIL),
    ],
)
def test_tt_above_200_ohms_passes_with_a_warning(reading, result):
    # Note 2 of Table 41.5: above 200 Ω the electrode may be unstable (same Q&A of 2012).
    verdict = judge(Value(Decimal(reading)), loop(None, Earthing.TT, CircuitRole.FINAL, Rcd(Decimal(30))))
    assert isinstance(verdict, Verdict)
    assert verdict.result is result
