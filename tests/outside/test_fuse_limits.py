"""Fuse limits of the editions whose tables were read in reproductions, and what is done about the later ones.

The tables that later editions print were not read: what is remembered of them stands in
tests/inspections/test_standards_remembered.py, and judges nothing.
"""

from decimal import Decimal

import pytest

from inspections.standards.devices import CircuitRole, Device, Earthing
from inspections.standards.editions import Edition
from inspections.standards.limits import EnterLimit, Limit
from tests.inspections.loops import loop_limits

# D. Locke, Guide to the Wiring Regulations, Wiley 2008, App. 3: Table 41.2 of BS 7671:2008, 0.4 s, ohms.
TABLE_41_2_OF_2008 = """
BS 3036   5:9.58 15:2.55 20:1.77 30:1.09
BS 1361   5:10.45 15:3.28 20:1.70 30:1.15
BS 1362   3:16.4 13:2.42
BS 88-2.2 6:8.52 10:5.11 16:2.70 20:1.77 25:1.44 32:1.04
BS 88-6   6:8.52 10:5.11 16:2.70 20:1.77 25:1.44 32:1.04
"""
# NICEIC Connections, winter 2011-12, p.60: BS 88-2 of 2010, systems E and G, 0.4 s.
BS_88_2_OF_2010 = "BS 88-2   6:8.21 10:4.89 16:2.56 20:1.77 25:1.35 32:1.04"

CELLS = [
    (line[:9].strip(), *cell.split(":"))
    for line in [*TABLE_41_2_OF_2008.strip().splitlines(), BS_88_2_OF_2010]
    for cell in line[9:].split()
]


def limit_of(standard, rating, edition, *, cold=False, role=CircuitRole.FINAL):
    device = Device(standard, "", Decimal(rating))
    return loop_limits(device, Earthing.TN_S, role, edition=edition, conductor_cold=cold).decides


@pytest.mark.parametrize(("standard", "rating", "ohms"), CELLS)
def test_limit_of_a_report_of_2008_or_2011_is_the_table_s(standard, rating, ohms):
    limit = limit_of(standard, rating, Edition.A1_2011)
    assert isinstance(limit, Limit)
    assert limit.tabulated_ohms == limit.ohms_exact == Decimal(ohms)


@pytest.mark.parametrize(("standard", "rating", "ohms"), CELLS)
def test_a_cold_conductor_is_judged_by_eight_tenths_of_it(standard, rating, ohms):
    # NICEIC Connections, spring 2015, p.61: the rule of thumb of Appendix 3 serves fuses too.
    limit = limit_of(standard, rating, Edition.A1_2011, cold=True)
    assert isinstance(limit, Limit)
    assert limit.ohms_exact == Decimal("0.8") * Decimal(ohms)


@pytest.mark.parametrize("edition", [edition for edition in Edition if edition is not Edition.A1_2011])
@pytest.mark.parametrize(("standard", "rating", "ohms"), CELLS)
def test_tables_of_three_editions_are_never_mixed(standard, rating, ohms, edition):
    # All three circulate (Wiring Matters, spring 2011; NICEIC 2011-12 and 2015): one is not used for another.
    assert isinstance(limit_of(standard, rating, edition), EnterLimit)


def test_a_distribution_circuit_s_fuse_has_no_table_that_was_read():
    assert isinstance(limit_of("BS 3036", 30, Edition.A1_2011, role=CircuitRole.DISTRIBUTION), EnterLimit)
