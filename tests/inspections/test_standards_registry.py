"""All facts by key: what a page of facts and the store of corrections rest on."""

import re
from datetime import date
from decimal import Decimal

import pytest

from inspections.standards.assessment import Code
from inspections.standards.clocks import RemedyPolicy, next_inspection, remedy_by
from inspections.standards.confidence import Confidence
from inspections.standards.duties import Trigger, duties_at
from inspections.standards.edition_rules import rules_of
from inspections.standards.editions import Edition, cmin, edition_in_force, editions_usable
from inspections.standards.facts import Correction, Facts
from inspections.standards.law import rule_in_force
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind, initial_interval
from inspections.standards.registry import FACTS, GROUPS, faults

# What has been stored stays readable: a key is never taken away or given another meaning.
KEYS_BY_GROUP = {
    "Assessment": 6,
    "Editions": 10,
    "Loop impedance": 14,
    "Fuses": 72,
    "Insulation": 7,
    "RCDs": 15,
    "Earth electrodes": 1,
    "Continuity and rings": 2,
    "Conductors": 9,
    "Recommended intervals": 30,
    "Law on rented homes": 40,
    "Papers due by law": 13,
    "Notifications that the firm owes": 12,
    "VAT": 24,
    "Consumers": 4,
}


def test_no_key_is_used_twice():
    assert {group: len(rows) for group, rows in GROUPS.items()} == KEYS_BY_GROUP
    assert len(FACTS) == sum(KEYS_BY_GROUP.values())


@pytest.mark.parametrize("fact", FACTS.values(), ids=lambda fact: fact.key)
def test_every_fact_can_be_shown_stored_and_corrected(fact):
    assert re.fullmatch(r"[A-Za-z0-9.+:-]{1,80}", fact.key)
    assert fact.title
    assert fact.source
    assert fact.shown
    assert (fact.least is None) == (fact.most is None)
    fact.check(fact.value)
    assert fact.read(fact.text(fact.value)) == fact.value
    facts = Facts({fact.key: Correction(fact.value, "the standard as bought")})
    assert (facts.of(fact).source, facts.of(fact).confidence) == ("the standard as bought", Confidence.GIVEN)


def test_what_is_not_sure_is_marked_so():
    unsure = {key for key, fact in FACTS.items() if not fact.confidence.sure}
    assert {key for key in FACTS if key.startswith("loop.trip.bs-3871")} <= unsure
    assert {key for key in FACTS if key.startswith("fuse.") and not key.endswith(".2008")} <= unsure
    assert not {key for key in FACTS if key.endswith(".2008")} & unsure
    assert {f"assessment.fi-alone.{edition}" for edition in Edition} <= unsure


def test_corrections_that_no_longer_fit_are_named():
    corrections = {
        "loop.cmin": Correction(Decimal("0.95"), "fine"),
        "loop.gone": Correction(Decimal(1), "an old one"),
        "insulation.to-500-v": Correction(Decimal(1000), "a slip"),
        "law.wales.2022.interval-years": Correction(True, "another kind"),
    }
    assert faults(corrections) == {
        "loop.gone": "No fact has this key any more.",
        "insulation.to-500-v": (
            "Lowest insulation resistance, up to and including 500 V: 1000 MΩ lies outside what can be, 0.01 MΩ to 100 MΩ."
        ),
        "law.wales.2022.interval-years": (
            "WSI 2022/6 regulation 6 (Wales), private and social tenancies: inspection at most every: "
            "True is no value for this."
        ),
    }


# --- corrections reach every rule -------------------------------------------------------------------------------------

LET = {"nation": Nation.WALES, "tenure": Tenure.PRIVATE_RENTED}
ON = date(2026, 12, 1)


def test_a_corrected_edition_date_moves_the_edition_in_force():
    facts = Facts({"edition.2018+A2:2022.withdrawn": Correction(date(2026, 12, 31), "the preface")})
    assert edition_in_force(ON, facts) is Edition.A4_2026
    assert Edition.A2_2022 in editions_usable(ON, facts)
    assert Edition.A2_2022 not in editions_usable(ON)


def test_a_legal_limit_that_was_found_out_sets_the_date():
    facts = Facts({"law.wales.2022.remedy-days": Correction(14, "the regulation as amended")})
    slow = RemedyPolicy(365, 365, 365)
    assert not remedy_by(Code.C2, ON, policy=slow, **LET).legal
    found = remedy_by(Code.C2, ON, policy=slow, facts=facts, **LET)
    assert (found.on, found.legal, found.confidence) == (date(2026, 12, 14), True, Confidence.GIVEN)


def test_a_corrected_interval_caps_the_next_inspection():
    facts = Facts({"law.wales.2022.interval-years": Correction(3, "the regulation as amended")})
    found = next_inspection(ON, premises_kind=PremisesKind.HOUSE, recommended_on=date(2036, 1, 1), facts=facts, **LET)
    assert (found.on, found.legal) == (date(2029, 11, 30), True)
    assert found.basis.endswith("3 years from 1 Dec 2026. As the firm corrected it, from the regulation as amended.")


def test_a_corrected_day_moves_the_beginning_of_a_rule():
    facts = Facts({"law.wales.2022.new-from": Correction(date(2027, 1, 1), "the regulation as amended")})
    assert rule_in_force(Nation.WALES, Tenure.PRIVATE_RENTED, ON) is not None
    assert rule_in_force(Nation.WALES, Tenure.PRIVATE_RENTED, ON, facts=facts) is None


def test_a_corrected_recommendation_counts_without_a_range():
    facts = Facts({"interval.cinema": Correction(36, "Guidance Note 3, Table 3.2")})
    found = initial_interval(PremisesKind.CINEMA, None, facts)
    assert (found.months, found.months_longest, found.confidence) == (36, None, Confidence.GIVEN)
    assert initial_interval(PremisesKind.HOUSE, Tenure.PRIVATE_RENTED, facts).months == 60


def test_a_corrected_duty_counts_anew_and_says_so():
    facts = Facts({"duty.wales.copy.inspection.days": Correction(7, "the regulation, paragraph 4")})
    (duty,) = duties_at(Trigger.INSPECTION, Nation.WALES, Tenure.PRIVATE_RENTED, ON, facts=facts)
    assert duty.last_day(ON) == date(2026, 12, 7)
    assert duty.basis(ON).endswith("As corrected from the regulation, paragraph 4.")


def test_what_an_edition_selects():
    assert [row.key for row in rules_of(Edition.A2_2022).rows] == [
        "assessment.fi-alone.2018+A2:2022",
        "loop.cmin",
        "insulation.selv",
        "insulation.to-500-v",
        "insulation.over-500-v",
        "rcd.single-test.since-2022",
    ]
    assert [row.key for row in rules_of(Edition.EARLIER).rows] == [
        "assessment.fi-alone.earlier",
        "loop.cmin",
        "insulation.selv.before-2008",
        "insulation.to-500-v.before-2008",
        "insulation.over-500-v.before-2008",
        "rcd.single-test.before-2022",
    ]
    for edition in Edition:
        for row in rules_of(edition).rows:
            assert edition in row.editions
    assert cmin(Edition.A1_2011) == rules_of(Edition.A1_2011).cmin.value
