"""Survival curves and shares of few, against published worked examples and against SciPy.

Sources: the trial of 6-mercaptopurine (Freireich and others 1963, printed in Gehan 1965 and in most textbooks since): times and
estimates from memory. The two examples of Boston University's School of Public Health ("Survival Analysis", module BS704, tables
of the follow-up method) and the band of the second, with and without logarithms: read in the tests of SciPy 1.17, which quote
them with their addresses.
"""

import warnings
from math import isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from remedials.desk.figures.rules.shares import wilson
from remedials.desk.figures.rules.survival import at_risk, incidence, kaplan_meier, median, on_day, spans, total

LEUKAEMIA = (
    [(days, "remedied") for days in (6, 6, 6, 7, 10, 13, 16, 22, 23)]
    + [(days, "open") for days in (6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35)]
)  # fmt: skip
BOSTON_TIMES = [24, 3, 11, 19, 24, 13, 14, 2, 18, 17, 24, 21, 12, 1, 10, 23, 6, 5, 9, 17]
BOSTON_DIED = [0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 1, 0, 1, 0, 1, 0, 1]
BOSTON = [(t, "remedied" if d else "open") for t, d in zip(BOSTON_TIMES, BOSTON_DIED, strict=True)]


def test_the_published_trial():
    steps = kaplan_meier(spans(LEUKAEMIA))
    assert [(step.day, step.at_risk, step.remedied, round(step.share, 3)) for step in steps] == [
        (6, 21, 3, 0.857), (7, 17, 1, 0.807), (10, 15, 1, 0.753), (13, 12, 1, 0.69), (16, 11, 1, 0.627), (22, 7, 1, 0.538),
        (23, 6, 1, 0.448),
    ]  # fmt: skip
    assert median(steps).day == 23


def test_the_published_table_of_boston():
    steps = kaplan_meier(spans(BOSTON))
    # its table prints three digits, each product made of rounded ones
    assert [step.share for step in steps] == pytest.approx([0.95, 0.897, 0.844, 0.76, 0.676, 0.507], abs=1e-3)


def test_the_published_band_of_boston_on_the_log_log_scale():
    steps = kaplan_meier(spans(BOSTON))
    assert [step.low for step in steps] == pytest.approx(
        [0.694743, 0.647529, 0.591142, 0.464605, 0.370359, 0.160489], abs=1e-6
    )
    assert [step.high for step in steps] == pytest.approx(
        [0.992802, 0.973299, 0.947073, 0.906422, 0.856521, 0.776724], abs=1e-6
    )


ITEMS = st.lists(
    st.tuples(st.integers(0, 40), st.sampled_from(["remedied", "open", "otherwise"])), min_size=1, max_size=60
)


@given(ITEMS)
def test_curve_and_band_are_those_of_the_reference(items):
    times, left = [days for days, _ in items], [came != "remedied" for _, came in items]
    reference = stats.ecdf(stats.CensoredData.right_censored(times, left)).sf
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # of the band where nothing is left
        band = reference.confidence_interval(method="log-log")
    steps = kaplan_meier(spans(items))
    for at, day in enumerate(reference.quantiles):
        step = on_day(steps, int(day))
        assert isclose(step.share if step else 1.0, reference.probabilities[at], abs_tol=1e-12)
        if step and step.low is not None:
            assert isclose(step.low, band.low.probabilities[at], abs_tol=1e-9)
            assert isclose(step.high, band.high.probabilities[at], abs_tol=1e-9)


@given(ITEMS)
def test_incidences_and_those_still_open_are_a_whole(items):
    found = spans(items)
    ended = stats.ecdf(
        stats.CensoredData.right_censored([days for days, _ in items], [came == "open" for _, came in items])
    ).sf
    for day in range(42):
        remedied, otherwise = incidence(found, day)
        assert isclose(remedied + otherwise, 1 - ended.evaluate(day), abs_tol=1e-9)
        assert 0 <= remedied <= 1 + 1e-12


@given(ITEMS)
def test_incidences_without_anything_open_are_plain_shares(items):
    closed = [(days, came) for days, came in items if came != "open"]
    for day in (0, 7, 40):
        wanted = [
            sum(1 for days, came in closed if came == kind and days <= day) / len(closed) if closed else 0
            for kind in ("remedied", "otherwise")
        ]
        assert incidence(spans(closed), day) == pytest.approx(tuple(wanted), abs=1e-12)


@given(ITEMS)
def test_other_ends_never_make_the_curve_fall_and_the_reverse(items):
    found = spans(items)
    remedied, _ = incidence(found, 40)
    step = on_day(kaplan_meier(found), 40)
    # Without other ends the two say the same; with them the curve says what would be, which is more remedied.
    assert (1 - step.share if step else 0.0) >= remedied - 1e-12
    assert total(found).all == at_risk(found, 0) == len(items)


@given(st.integers(1, 300).flatmap(lambda whole: st.tuples(st.integers(0, whole), st.just(whole))))
def test_ranges_of_shares_are_those_of_the_reference(part_of_whole):
    part, whole = part_of_whole
    reference = stats.binomtest(part, whole).proportion_ci(method="wilson")
    assert wilson(part, whole) == pytest.approx((reference.low, reference.high), abs=1e-12)
