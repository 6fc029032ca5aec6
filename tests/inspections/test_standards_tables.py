"""Editions, codes and confidence: the tables hang together, and fit what premises are stored with."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from inspections.choices import Code as StoredCode
from inspections.standards.assessment import FI_ALONE, Code, most_dangerous
from inspections.standards.confidence import Confidence, weaker
from inspections.standards.devices import CircuitRole, Device, Earthing
from inspections.standards.editions import FACTS, Edition, cmin, edition_in_force, editions_usable
from inspections.standards.limits import EnterLimit
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import INTERVALS, PremisesKind
from jobsite.premises import choices
from tests.inspections.loops import loop_limits


@pytest.mark.parametrize(
    ("on", "usable"),
    [
        # Published 15 Apr 2026, its predecessor withdrawn 15 Oct 2026: five trade pages that agree.
        (date(2026, 4, 14), [Edition.A2_2022]),
        (date(2026, 4, 15), [Edition.A4_2026, Edition.A2_2022]),
        (date(2026, 10, 14), [Edition.A4_2026, Edition.A2_2022]),
        (date(2026, 10, 15), [Edition.A4_2026]),
        # In force 1 Jul 2015: Wiring Matters 54, as reproduced.
        (date(2015, 6, 30), [Edition.A1_2011]),
        (date(2015, 7, 1), [Edition.A3_2015]),
        # From memory.
        (date(2022, 3, 28), [Edition.A2_2022, Edition.A1_2020]),
        (date(2022, 9, 27), [Edition.A2_2022]),
        (date(2018, 12, 31), [Edition.A3_2015]),
        (date(2019, 1, 1), [Edition.A1_2020]),
        (date(2008, 6, 30), [Edition.EARLIER]),
    ],
)
def test_editions_usable_on_a_day(on, usable):
    assert list(editions_usable(on)) == usable
    assert edition_in_force(on) is usable[0]


def test_no_day_is_without_an_edition():
    day = date(2000, 1, 1)
    while day < date(2030, 1, 1):
        assert editions_usable(day)
        day += timedelta(days=1)


def test_cmin_by_edition():
    assert {edition: cmin(edition) for edition in Edition} == {
        Edition.A4_2026: Decimal("0.95"),
        Edition.A2_2022: Decimal("0.95"),
        Edition.A1_2020: Decimal("0.95"),
        Edition.A3_2015: Decimal("0.95"),
        Edition.A1_2011: Decimal(1),
        Edition.EARLIER: Decimal("0.95"),  # not known: the stricter
    }


def test_every_table_has_a_row_for_every_member():
    assert set(FACTS) == set(Edition) == set(FI_ALONE)
    assert set(INTERVALS) == set(PremisesKind)
    assert all(kind.label for kind in PremisesKind)
    assert all(code.meaning and code.expected_action for code in Code)


def test_danger_ranks_fi_between_c2_and_c3():
    assert sorted(Code, key=lambda code: -code.danger) == [Code.C1, Code.C2, Code.FI, Code.C3]
    assert most_dangerous([Code.C3, Code.FI]) is Code.FI
    assert most_dangerous([]) is None


def test_unsure_facts_have_words_to_show():
    unsure = {c for c in Confidence if not c.sure}
    assert unsure == {Confidence.PRACTICE, Confidence.VERIFY, Confidence.MEMORY}
    assert {c for c in Confidence if c.note} == unsure
    assert weaker(Confidence.MEMORY, Confidence.READ) is Confidence.MEMORY


def test_what_premises_are_stored_with_is_known_here():
    """A choice that the standards don't know would fail at the first report on such a unit."""
    assert {n.value for n in choices.Nation} == {n.value for n in Nation}
    assert {t.value for t in choices.Tenure} == {t.value for t in Tenure}
    assert {k.value for k in choices.PremisesKind} <= {k.value for k in PremisesKind}
    assert {e.value for e in choices.Earthing} == {e.value for e in Earthing}
    assert {c.value for c in StoredCode} == {c.value for c in Code}


@pytest.mark.parametrize("standard", choices.DeviceStandard)
def test_every_stored_standard_gets_a_limit_or_a_reason(standard):
    decides = loop_limits(Device(standard.value, "B", Decimal(32)), Earthing.TN_S, CircuitRole.FINAL).decides
    shipped = standard in (choices.DeviceStandard.BS_EN_60898, choices.DeviceStandard.BS_EN_61009)
    assert isinstance(decides, EnterLimit) != shipped
