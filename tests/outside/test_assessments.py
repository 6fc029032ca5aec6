"""Overall assessment and action required over every combination of codes and edition.

C1, C2, C3: IET forum threads 24309 and 32142, which agree; FI by edition: the same threads for
A4 of 2026 (the text of Appendix 6 was not read), trade guidance before it (common practice).
Action: England, SI 2020/312 reg 3(4), in reproductions.
"""

from itertools import combinations

import pytest

from inspections.standards.assessment import Assessment, Code, action_required, overall_assessment
from inspections.standards.confidence import Confidence
from inspections.standards.editions import Edition
from inspections.standards.facts import Correction, Facts

EVERY_MIX = [mix for size in range(5) for mix in combinations(Code, size)]


@pytest.mark.parametrize("edition", Edition)
@pytest.mark.parametrize("codes", EVERY_MIX, ids="-".join)
def test_overall_assessment(codes, edition):
    fi_counts = edition is not Edition.A4_2026
    bad = "C1" in codes or "C2" in codes or ("FI" in codes and fi_counts)
    expected = Assessment.UNSATISFACTORY if bad else Assessment.SATISFACTORY
    assert overall_assessment(codes, edition).assessment is expected


@pytest.mark.parametrize("codes", EVERY_MIX, ids="-".join)
def test_action_required_knows_nothing_of_the_edition(codes):
    assert action_required(codes) == bool({"C1", "C2", "FI"} & set(codes))


def test_an_fi_alone_under_a4_is_satisfactory_and_still_asks_for_action():
    outcome = overall_assessment([Code.FI], Edition.A4_2026)
    assert (outcome.assessment, outcome.confidence) == (Assessment.SATISFACTORY, Confidence.VERIFY)
    assert outcome.basis == (
        "Satisfactory: an FI alone does not count by guidance in Appendix 6 of BS 7671:2018+A4:2026; "
        "the investigation is still required."
    )
    assert action_required([Code.FI])


def test_an_fi_alone_before_a4_is_marked_as_common_practice():
    outcome = overall_assessment([Code.FI, Code.C3], Edition.A2_2022)
    assert (outcome.assessment, outcome.confidence) == (Assessment.UNSATISFACTORY, Confidence.PRACTICE)


@pytest.mark.parametrize("edition", Edition)
@pytest.mark.parametrize("counts", [True, False])
def test_the_firm_s_own_fi_rule_goes_before_the_shipped_one(edition, counts):
    facts = Facts({f"assessment.fi-alone.{edition}": Correction(counts, "the firm's reading")})
    outcome = overall_assessment([Code.FI], edition, facts)
    assert (outcome.assessment is Assessment.UNSATISFACTORY) == counts
    assert (outcome.confidence, "the firm's reading" in outcome.basis) == (Confidence.GIVEN, True)
    assert overall_assessment([Code.C2, Code.FI], edition, facts).assessment is Assessment.UNSATISFACTORY
