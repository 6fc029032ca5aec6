"""RCD operating times: which limit a standard, a test current and an edition select."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.confidence import Confidence
from inspections.standards.devices import VOLTAGE_OPERATED, CircuitRole, Earthing, Rcd
from inspections.standards.editions import Edition
from inspections.standards.facts import Correction, Facts
from inspections.standards.limits import Entered, EnterLimit
from inspections.standards.readings import Quantity, Situation, judge, limits_for, read
from inspections.standards.situation import Multiple
from inspections.standards.verdicts import Doubt, Result, Verdict

D = Decimal
M = Multiple
GENERAL = Rcd(D(30), "A", "BS EN 61008")
BARE = Rcd(D(30))
DELAYED = Rcd(D(100), "S", "BS EN 61008-1")
OLD = Rcd(D(30), "AC", "BS 4293")


def judged(typed, rcd=GENERAL, multiple=M.ONE, edition=Edition.A4_2026, *, as_read=False, facts=None, **more):
    situation = Situation(edition=edition, rcd=rcd, multiple=multiple, **more)
    value = read(Quantity.RCD_TIME, typed)
    return judge(Quantity.RCD_TIME, value, situation, facts=facts or Facts(), as_read=as_read)


def result(*args, **more):
    verdict = judged(*args, **more)
    assert isinstance(verdict, Verdict)
    return verdict.result


@pytest.mark.parametrize(
    ("typed", "rcd", "multiple", "outcome"),
    [
        ("300", GENERAL, M.ONE, Result.PASS),
        ("301", GENERAL, M.ONE, Result.FAIL),
        ("150", GENERAL, M.TWO, Result.PASS),
        ("151", GENERAL, M.TWO, Result.FAIL),
        ("40", GENERAL, M.FIVE, Result.PASS),
        ("40.1", GENERAL, M.FIVE, Result.FAIL),
        ("129", DELAYED, M.ONE, Result.FAIL),
        ("130", DELAYED, M.ONE, Result.PASS),
        ("500", DELAYED, M.ONE, Result.PASS),
        ("501", DELAYED, M.ONE, Result.FAIL),
        ("100", DELAYED, M.TWO, Result.WARNING),  # its shortest time is remembered
        ("150", DELAYED, M.FIVE, Result.PASS),
        ("49", DELAYED, M.FIVE, Result.FAIL),
        ("200", OLD, M.ONE, Result.PASS),
        ("201", OLD, M.ONE, Result.FAIL),
        ("40", OLD, M.FIVE, Result.PASS),
        ("41", OLD, M.FIVE, Result.FAIL),
        ("200", Rcd(D(10), "", "BS 7288:1990"), M.ONE, Result.PASS),
        ("201", Rcd(D(10), "", "BS 7288:1990"), M.ONE, Result.FAIL),
        (">300 ms", GENERAL, M.ONE, Result.FAIL),
        ("0.2 s", GENERAL, M.ONE, Result.PASS),
    ],
)
def test_times_by_standard_and_test_current(typed, rcd, multiple, outcome):
    assert result(typed, rcd, multiple) is outcome


@pytest.mark.parametrize("rcd", [GENERAL, DELAYED, OLD, BARE])
@pytest.mark.parametrize("multiple", [M.ONE, M.FIVE])
def test_no_trip_fails_at_its_rated_current_and_above(rcd, multiple):
    verdict = judged("no trip", rcd, multiple)
    assert verdict.result is Result.FAIL
    assert verdict.sentence.startswith(f"No trip at {multiple.words}.")


@pytest.mark.parametrize("edition", Edition)
@pytest.mark.parametrize("rcd", [GENERAL, DELAYED, OLD, BARE])
def test_no_trip_passes_at_half_its_rated_current(rcd, edition):
    assert result("no trip", rcd, M.HALF, edition) is Result.PASS
    assert result("28", rcd, M.HALF, edition) is Result.FAIL
    assert result(">1999 ms", rcd, M.HALF, edition) is Result.PASS
    assert result(">300 ms", rcd, M.HALF, edition) is Result.WARNING


@pytest.mark.parametrize(
    ("edition", "both"), [(Edition.A4_2026, True), (Edition.A2_2022, True), (Edition.A1_2020, False)]
)
def test_an_old_one_shows_both_bases_where_the_edition_asks_for_one_test(edition, both):
    verdict = judged("250", OLD, edition=edition)
    assert (verdict.result, verdict.limit.most) == (Result.FAIL, 200)
    assert ("It is within 300 ms: " in verdict.sentence) == both
    assert (verdict.other is not None) == both
    assert judged("350", OLD, edition=edition).warnings == ()
    assert judged("250", DELAYED, edition=edition).other is None


def test_a_range_that_ends_before_the_limit_cannot_tell():
    assert isinstance(judged(">200", as_read=True), Doubt)


def test_at_half_its_rated_current_the_limit_is_told_as_no_trip():
    limit = limits_for(Quantity.RCD_TIME, Situation(edition=Edition.A4_2026, rcd=GENERAL, multiple=M.HALF)).decides
    assert (limit.shown, limit.least) == ("no trip within 2000 ms", 2000)


def test_old_ones_with_a_delay_have_a_window():
    delayed = Rcd(D(100), "", "BS 4293", delay_ms=D(200))
    outcomes = [result(t, delayed) for t in ("299", "300", "400", "401")]
    assert outcomes == [Result.FAIL, Result.PASS, Result.PASS, Result.FAIL]
    assert [result(t, delayed, M.FIVE) for t in ("139", "140", "240", "241")] == outcomes
    assert isinstance(judged("300", Rcd(D(100), "S", "BS 4293")), EnterLimit)


@pytest.mark.parametrize(
    ("rcd", "multiple"),
    [
        (None, M.ONE),
        (None, M.HALF),
        (OLD, M.TWO),
        (Rcd(D(30), "", "another"), M.ONE),
        (Rcd(None, VOLTAGE_OPERATED), M.ONE),
    ],
)
@pytest.mark.parametrize("typed", ["28", "no trip"])
def test_what_has_no_limit_asks_for_one(rcd, multiple, typed):
    assert isinstance(judged(typed, rcd, multiple), EnterLimit)
    assert result("28", rcd, multiple, entered=Entered(D(40), "the maker")) is Result.PASS
    assert result("no trip", rcd, M.ONE, entered=Entered(D(40), "the maker")) is Result.FAIL


@pytest.mark.parametrize(
    ("edition", "multiple", "words"),
    [
        (Edition.A4_2026, M.ONE, "BS 7671:2018+A4:2026 asks for this test alone (from memory: check the standard)"),
        (Edition.A2_2022, M.FIVE, "asks for the test at 1 × IΔn alone (from memory: check the standard)"),
        (Edition.A1_2020, M.ONE, "shows additional protection by the test at 5 × IΔn"),
        (Edition.A1_2020, M.FIVE, "shows additional protection by this test"),
    ],
)
def test_the_basis_says_what_the_edition_makes_of_the_test(edition, multiple, words):
    assert limits_for(
        Quantity.RCD_TIME, Situation(edition=edition, rcd=GENERAL, multiple=multiple)
    ).decides.basis.endswith(words)


def test_a_tt_final_circuit_has_less_time_than_its_rcd_may_take():
    tt = {"earthing": Earthing.TT}
    assert [result(t, **tt) for t in ("200", "201", "300", "301")] == [
        Result.PASS,
        Result.WARNING,
        Result.WARNING,
        Result.FAIL,
    ]
    assert "within 200 ms: a qualified person decides" in judged("250", **tt).sentence
    assert result("250", role=CircuitRole.DISTRIBUTION, **tt) is Result.PASS
    assert result("140", multiple=M.TWO, **tt) is Result.PASS


def test_an_unrecorded_standard_is_taken_as_today_s_and_says_when_it_matters():
    assert result("200", BARE) is Result.PASS
    verdict = judged("201", BARE)
    assert verdict.result is Result.WARNING
    assert "its standard not recorded, taken as BS EN 61008 or 61009" in verdict.basis
    assert verdict.warnings == ("One to BS 4293 or BS 7288 would have to operate within 200 ms: look at its standard.",)


@pytest.mark.parametrize(
    ("typed", "asked"),
    [("0.028", "did you mean 28 ms?"), ("28000", "did you mean 28 ms?"), ("28 s", "did you mean 28 ms?")],
)
def test_seconds_typed_as_milliseconds_are_asked_about(typed, asked):
    doubt = judged(typed)
    assert isinstance(doubt, Doubt)
    assert doubt.question.endswith(asked)
    assert isinstance(judged(typed, as_read=True), Verdict)


def test_no_time_at_all_is_refused():
    with pytest.raises(ValueError, match="No instrument shows 0 ms"):
        judged("0")


def test_corrections_decide():
    facts = Facts(
        {
            "rcd.general.1x.most": Correction(D(200), "the design"),
            "rcd.single-test.since-2022": Correction(True, "Reg. 643.7.3"),
        }
    )
    verdict = judged("250", facts=facts)
    assert verdict.result is Result.FAIL
    assert verdict.basis.endswith("asks for this test alone")


def test_the_remembered_shortest_time_is_marked():
    limit = limits_for(Quantity.RCD_TIME, Situation(edition=Edition.A4_2026, rcd=DELAYED, multiple=M.TWO)).decides
    assert (limit.shown, limit.confidence) == ("60 to 200 ms", Confidence.MEMORY)


@given(ms=st.integers(1, 5000), edition=st.sampled_from(Edition), multiple=st.sampled_from([M.ONE, M.TWO, M.FIVE]))
def test_the_edition_changes_no_time_of_a_device(ms, edition, multiple):
    verdict = judged(str(ms), multiple=multiple, edition=edition)
    assert verdict.passes == (ms <= {M.ONE: 300, M.TWO: 150, M.FIVE: 40}[multiple])
