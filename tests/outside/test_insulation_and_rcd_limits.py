"""Insulation resistance and RCD operating times against the tables and handbooks that were read."""

from decimal import Decimal

import pytest

from inspections.standards.devices import Rcd
from inspections.standards.editions import Edition
from inspections.standards.readings import Quantity, Situation, judge, limits_for, read
from inspections.standards.situation import ExtraLow, Multiple
from inspections.standards.verdicts import Result, Verdict

D = Decimal
M = Multiple
SINCE_2008 = [edition for edition in Edition if edition is not Edition.EARLIER]


def least(edition, **circuit):
    limit = limits_for(Quantity.INSULATION, Situation(edition=edition, **circuit)).decides
    return limit.least, limit.basis


@pytest.mark.parametrize("edition", SINCE_2008)
@pytest.mark.parametrize(
    ("circuit", "megohms", "volts"),
    [
        # EW (trade magazine), May 2023, p.25: up to and including 500 V, 500 V d.c., 1.0 MΩ.
        ({}, "1.0", 500),
        ({"nominal_volts": D(400)}, "1.0", 500),
        ({"nominal_volts": D(500)}, "1.0", 500),
        # NICEIC/ELECSA Pocket Guide 27: SELV and PELV, 250 V d.c., 0.5 MΩ.
        ({"extra_low": ExtraLow.SELV}, "0.5", 250),
        ({"extra_low": ExtraLow.PELV}, "0.5", 250),
        # The same limits as tables of the IEC standard: FELV as other circuits; above 500 V, 1000 V d.c., 1.0 MΩ.
        ({"extra_low": ExtraLow.FELV}, "1.0", 500),
        ({"nominal_volts": D(690)}, "1.0", 1000),
        # EW, May 2023, on Reg. 643.3.3: 250 V where connected equipment could be harmed.
        ({"equipment_connected": True}, "1.0", 250),
    ],
)
def test_insulation_table(edition, circuit, megohms, volts):
    found, basis = least(edition, **circuit)
    assert found == D(megohms)
    assert f"tested at {volts} V d.c." in basis


def test_sheets_of_the_16th_edition_go_by_half_a_megohm():
    # Table 71A of the 16th edition, as a web page reproduces it.
    assert least(Edition.EARLIER)[0] == D("0.5")


BS_EN = ["BS EN 61008", "BS EN 61009", "BS EN 61008-1", "BS EN 61009-1"]
# A technical article's trip-time table; handbook IRT2310, p.7, for EN 61008 and 61009: milliseconds.
GENERAL = {M.ONE: (None, 300), M.TWO: (None, 150), M.FIVE: (None, 40)}
TYPE_S = {M.ONE: (130, 500), M.FIVE: (50, 150)}
OLD = {M.ONE: (None, 200), M.FIVE: (None, 40)}

ROWS = [
    *[
        (Rcd(D(30), kind, standard), m, *b)
        for standard in BS_EN
        for kind in ("AC", "A", "F")
        for m, b in GENERAL.items()
    ],
    *[(Rcd(D(100), "S", standard), m, *b) for standard in BS_EN for m, b in TYPE_S.items()],
    *[(Rcd(D(30), "AC", standard), m, *b) for standard in ("BS 4293", "BS 7288") for m, b in OLD.items()],
]


@pytest.mark.parametrize("edition", Edition)
@pytest.mark.parametrize(("rcd", "multiple", "shortest", "longest"), ROWS, ids=str)
def test_rcd_trip_times(rcd, multiple, shortest, longest, edition):
    def passes(ms):
        value = read(Quantity.RCD_TIME, str(ms))
        verdict = judge(Quantity.RCD_TIME, value, Situation(edition=edition, rcd=rcd, multiple=multiple))
        assert isinstance(verdict, Verdict)
        return verdict.passes

    assert (passes(longest), passes(longest + 1)) == (True, False)
    if shortest:
        assert (passes(shortest), passes(shortest - 1)) == (True, False)


def test_type_s_at_twice_its_current_takes_200_ms_at_most():
    # The same table; the shortest time beside it is remembered.
    limit = limits_for(Quantity.RCD_TIME, Situation(edition=Edition.A4_2026, rcd=ROWS[-5][0], multiple=M.TWO)).decides
    assert limit.most == 200


def test_an_old_one_with_a_rated_delay():
    # The same table: between 200 ms plus 50 % and plus 100 % of the delay; at 5 × IΔn 40 ms plus the same.
    rcd = Rcd(D(100), "S", "BS 4293", delay_ms=D(100))
    for multiple, bounds in ((M.ONE, (250, 300)), (M.FIVE, (90, 140))):
        limit = limits_for(Quantity.RCD_TIME, Situation(edition=Edition.EARLIER, rcd=rcd, multiple=multiple)).decides
        assert (limit.least, limit.most) == bounds


@pytest.mark.parametrize(("typed", "result"), [("no trip", Result.PASS), ("1999", Result.FAIL)])
def test_at_half_its_current_it_must_not_trip_within_2_seconds(typed, result):
    # The same table and handbook.
    value = read(Quantity.RCD_TIME, typed)
    situation = Situation(edition=Edition.A4_2026, rcd=ROWS[0][0], multiple=M.HALF)
    verdict = judge(Quantity.RCD_TIME, value, situation)
    assert isinstance(verdict, Verdict)
    assert verdict.result is result


@pytest.mark.parametrize("edition", Edition)
def test_additional_protection_was_shown_at_5_times_until_2022(edition):
    # Reg. 415.1.1 as it stood before Amendment 2 (Wiring Matters 91, July 2022).
    before = edition not in (Edition.A4_2026, Edition.A2_2022)
    basis = limits_for(Quantity.RCD_TIME, Situation(edition=edition, rcd=ROWS[0][0], multiple=M.FIVE)).decides.basis
    assert ("shows additional protection by this test" in basis) == before
