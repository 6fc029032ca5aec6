"""Values that were computed or are remembered, not read in a source: no outside check.

They hold the arithmetic and its rounding steady until somebody lays the current standard beside
them.
"""

from decimal import ROUND_HALF_UP, Decimal

import pytest

from inspections.standards.conductors import expected_ohms
from inspections.standards.confidence import Confidence
from inspections.standards.devices import CircuitRole, Device, Earthing
from inspections.standards.editions import Edition
from inspections.standards.fuses import LATER_04, LATER_5, READ_04
from inspections.standards.impedance import limits as limits_of
from inspections.standards.limits import EnterLimit, Limit
from inspections.standards.registry import FACTS
from tests.inspections.loops import entered, loop_limits

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
    limits = limits_of(entered(Decimal("0.91"), "BS 7671 Table 41.4"))
    assert isinstance(limits.decides, Limit)
    assert (limits.decides.ohms_exact, limits.decides.ohms_shown) == (Decimal("0.728"), Decimal("0.72"))


# --- fuses ------------------------------------------------------------------------------------------------------------

# Later editions' fuse tables, from memory: 0.4 s, then 5 s. They judge nothing until somebody looked them up.
FUSES_04 = """
BS 3036 5:9.10 15:2.43 20:1.68 30:1.04 45:0.56
BS 1362 3:15.6 13:2.30
BS 88-2 6:7.80 10:4.65 16:2.43 20:1.68 25:1.29 32:0.99
BS 88-3 5:9.93 16:2.30 20:1.93 32:0.91 45:0.57 63:0.36
"""
FUSES_5 = """
BS 88-2 6:12.0 10:6.80 16:4.00 20:2.80 25:2.20 32:1.70 40:1.30 50:0.99 63:0.78 80:0.55 100:0.42 125:0.32 160:0.27 200:0.18
BS 88-3 5:14.6 16:3.90 20:3.20 32:1.60 45:1.00 63:0.68 80:0.51 100:0.38
BS 3036 5:16.8 15:5.08 20:3.64 30:2.51 45:1.51 60:1.07 100:0.51
BS 1362 3:22.0 13:3.64
"""


def fuse_cells(table):
    return [
        pytest.param(line[:7], Decimal(cell.split(":")[0]), Decimal(cell.split(":")[1]), id=f"{line[:7]} {cell}")
        for line in table.strip().splitlines()
        for cell in line[8:].split()
    ]


@pytest.mark.parametrize(("standard", "rating", "ohms"), fuse_cells(FUSES_04))
def test_fuses_for_0_4_s_as_remembered(standard, rating, ohms):
    row = LATER_04[standard, rating.normalize()]
    assert (row.value, row.confidence) == (ohms, Confidence.MEMORY)
    decides = loop_limits(Device(standard, "", rating), Earthing.TN_S, CircuitRole.FINAL).decides
    assert isinstance(decides, EnterLimit)


@pytest.mark.parametrize(("standard", "rating", "ohms"), fuse_cells(FUSES_5))
def test_fuses_for_5_s_as_remembered(standard, rating, ohms):
    row = LATER_5[standard, rating.normalize()]
    assert (row.value, row.confidence) == (ohms, Confidence.MEMORY)
    decides = loop_limits(Device(standard, "", rating), Earthing.TN_S, CircuitRole.DISTRIBUTION).decides
    assert isinstance(decides, EnterLimit)


@pytest.mark.parametrize("key", sorted(set(READ_04) & set(LATER_04)), ids=str)
def test_what_is_remembered_is_what_was_read_times_0_95(key):
    # Computed: the values of 2008 and 2010 were read, the factor too; what later tables round is remembered.
    computed = Decimal("0.95") * READ_04[key].value
    assert abs(LATER_04[key].value - computed) <= Decimal("0.006") * computed


def test_five_seconds_allow_more_than_0_4():
    assert all(LATER_5[key].value > LATER_04[key].value for key in set(LATER_5) & set(LATER_04))


# --- old circuit-breakers, RCDs, bonding, the origin ------------------------------------------------------------------


@pytest.mark.parametrize(("kind", "times"), [("1", 4), ("2", 7), ("3", 10), ("4", 50)])
def test_bs_3871_trips_at_a_multiple_that_the_trade_remembers(kind, times):
    decides = loop_limits(Device("BS 3871", kind, Decimal(30)), Earthing.TN_S, CircuitRole.FINAL).decides
    assert isinstance(decides, Limit)
    assert decides.tabulated_ohms == Decimal("0.95") * 230 / (times * 30)
    assert decides.confidence is Confidence.MEMORY


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("rcd.s.2x.least", Decimal(60)),
        ("rcd.single-test.since-2022", True),
        ("continuity.bonding", Decimal("0.05")),
        ("origin.usual-most.tn-s", Decimal("0.80")),
        ("origin.usual-most.tn-c-s", Decimal("0.35")),
        ("insulation.selv.before-2008", Decimal("0.25")),
        ("insulation.over-500-v.before-2008", Decimal("1.0")),
        ("loop.touch.tn", Decimal(50)),
        ("loop.trip.d.5-s", Decimal(10)),
    ],
)
def test_other_remembered_facts_are_marked(key, value):
    assert (FACTS[key].value, FACTS[key].confidence) == (value, Confidence.MEMORY)


def test_advice_of_the_trade_is_marked_as_common_practice():
    assert {key for key, fact in FACTS.items() if fact.confidence is Confidence.PRACTICE} == {
        "insulation.look-below",
        *(f"assessment.fi-alone.{edition}" for edition in Edition if edition is not Edition.A4_2026),
    }


def test_a_computed_example_of_a_circuit_and_of_a_ring():
    # 20 m of 2.5/1.5 mm² from a Ze of 0.35 Ω: 0.3902 Ω, 0.74 Ω cold; 50 m loop: r1 0.3705, r2 0.605, a quarter 0.2439.
    assert expected_ohms([Decimal("2.5"), Decimal("1.5")], Decimal(20)) == Decimal("0.3902")
    ends = [expected_ohms([Decimal(size)], Decimal(50)) for size in ("2.5", "1.5")]
    assert ends == [Decimal("0.3705"), Decimal("0.605")]
    assert (ends[0] + ends[1]) / 4 == Decimal("0.243875")


@pytest.mark.parametrize(
    ("key", "days"),
    [
        # Building Regulations 2010 regulation 20: "not more than 30 days after completion".
        ("duty.england.notify.building-control.days", 30),
        ("duty.wales.notify.building-control.days", 30),
        # Systems of their own: no number of days was found.
        ("duty.scotland.notify.building-control.days", 0),
        ("duty.northern-ireland.notify.building-control.days", 0),
        # EREC G98: within 28 days of commissioning; charging points: "about a month".
        ("duty.england.notify.generation.days", 28),
        ("duty.england.notify.charging-point.days", 28),
    ],
)
def test_when_the_firm_notifies_is_remembered(key, days):
    assert (FACTS[key].value, FACTS[key].confidence) == (days, Confidence.MEMORY)
