"""Values that were computed or are remembered, not read in a source: no outside check.

They hold the arithmetic and its rounding steady until somebody lays the current standard beside
them.
"""

from decimal import ROUND_HALF_UP, Decimal

import pytest

from inspections.standards.confidence import Confidence
from inspections.standards.devices import CircuitRole, Device, Earthing
from inspections.standards.impedance import Limit, entered_limit, loop_limits

# Table 41.3 of the current edition, from memory: rating, then types B, C and D at 0.4 s.
TABLE_41_3 = """
6   7.28 3.64 1.82
10  4.37 2.19 1.09
16  2.73 1.37 0.68
20  2.19 1.09 0.55
25  1.75 0.87 0.44
32  1.37 0.68 0.34
40  1.09 0.55 0.27
50  0.87 0.44 0.22
63  0.69 0.35 0.17
80  0.55 0.27 0.14
100 0.44 0.22 0.11
125 0.35 0.17 0.09
"""

# 0.8 times the exact value, rounded down: computed.
COLD_LIMITS = """
3   11.65 5.82 2.91
4   8.74 4.37 2.18
6   5.82 2.91 1.45
10  3.49 1.74 0.87
13  2.68 1.34 0.67
16  2.18 1.09 0.54
20  1.74 0.87 0.43
25  1.39 0.69 0.34
32  1.09 0.54 0.27
40  0.87 0.43 0.21
45  0.77 0.38 0.19
50  0.69 0.34 0.17
63  0.55 0.27 0.13
80  0.43 0.21 0.10
100 0.34 0.17 0.08
125 0.27 0.13 0.06
"""


def cells(table):
    for line in table.strip().splitlines():
        rating, *values = line.split()
        for kind, value in zip("BCD", values, strict=True):
            yield pytest.param(kind, Decimal(rating), Decimal(value), id=f"{kind}{rating}")


def limit_of(kind, rating, *, role=CircuitRole.FINAL, earthing=Earthing.TN_S):
    decides = loop_limits(Device("BS EN 60898", kind, rating), earthing, role).decides
    assert isinstance(decides, Limit)
    return decides


@pytest.mark.parametrize(("kind", "rating", "ohms"), list(cells(TABLE_41_3)))
def test_table_41_3_as_remembered(kind, rating, ohms):
    assert limit_of(kind, rating).tabulated_ohms.quantize(Decimal("0.01"), ROUND_HALF_UP) == ohms


@pytest.mark.parametrize(("kind", "rating", "ohms"), list(cells(COLD_LIMITS)))
def test_limit_shown_for_a_cold_conductor_is_rounded_down(kind, rating, ohms):
    assert limit_of(kind, rating).ohms_shown == ohms


def test_type_d_distribution_in_tn_is_remembered_at_ten_times_the_rating():
    limit = limit_of("D", Decimal(32), role=CircuitRole.DISTRIBUTION)
    assert limit.tabulated_ohms == 2 * limit_of("D", Decimal(32)).tabulated_ohms
    assert limit.confidence is Confidence.MEMORY


def test_type_d_distribution_in_tt_keeps_the_stricter_value():
    limit = limit_of("D", Decimal(32), role=CircuitRole.DISTRIBUTION, earthing=Earthing.TT)
    assert limit.tabulated_ohms == limit_of("D", Decimal(32)).tabulated_ohms
    assert limit.confidence is Confidence.COMPUTED


def test_an_entered_fuse_limit_is_rounded_down_as_niceic_does():
    # 0.72 for a 32 A fuse to BS 88-3 was read (NICEIC Connections, spring 2015); the 0.91 that it
    # comes from is remembered.
    limits = entered_limit(Decimal("0.91"), "BS 7671 Table 41.4", Earthing.TN_S, already_corrected=False)
    assert isinstance(limits.decides, Limit)
    assert (limits.decides.ohms_exact, limits.decides.ohms_shown) == (Decimal("0.728"), Decimal("0.72"))
