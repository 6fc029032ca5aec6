"""Classification codes, and the two answers kept apart: overall assessment, and action required.

An assessment is by the rules of the report's own edition and never changes after the fact.
Action required by law or policy follows from the codes alone, whatever the assessment says.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from inspections.standards.confidence import Confidence
from inspections.standards.editions import Edition
from inspections.standards.facts import SHIPPED, Fact, Facts


class Code(StrEnum):
    """Codes of the condition report in BS 7671, Appendix 6. Coding is the inspector's judgement."""

    C1 = "C1"
    C2 = "C2"
    FI = "FI"
    C3 = "C3"

    @property
    def meaning(self) -> str:
        """In plain words, as in the model report (restated)."""
        return _MEANINGS[self]

    @property
    def expected_action(self) -> str:
        return _ACTIONS[self]

    @property
    def danger(self) -> int:
        """4 is the most dangerous. FI stands between C2 and C3: it may turn out to be either."""
        return _DANGER[self]

    @property
    def needs_action(self) -> bool:
        """C1, C2 and FI ask for work or further investigation; C3 does not.

        Source: England, SI 2020/312 regulation 3(4), read in reproductions; council pages that
        reproduce the codes say the same.
        """
        return self is not Code.C3


_MEANINGS = {
    Code.C1: "Danger present: risk of injury",
    Code.C2: "Potentially dangerous",
    Code.FI: "Further investigation required without delay",
    Code.C3: "Improvement recommended",
}
_ACTIONS = {
    Code.C1: "Make safe at once, then remedy",
    Code.C2: "Remedy urgently",
    Code.FI: "Investigate without delay",
    Code.C3: "No action is needed for a satisfactory result; consider the improvement",
}
FI_DOES_NOT_COUNT = "FI alone does not count"  # in the basis of an assessment that rests on that
_DANGER = {Code.C1: 4, Code.C2: 3, Code.FI: 2, Code.C3: 1}


class Assessment(StrEnum):
    SATISFACTORY = "satisfactory"
    UNSATISFACTORY = "unsatisfactory"


@dataclass(frozen=True, slots=True)
class Outcome:
    """`basis` is one sentence that says which rule decided."""

    assessment: Assessment
    basis: str
    confidence: Confidence


# The footnote of A2's model report names C1 and C2 only, while guides and schemes treated an FI as
# unsatisfactory until A4: the cautious practice is what ships (forum of the IET, threads 24309 and
# 32142; Best Practice Guide 4 to Issue 6).
_PRACTICE = (True, "trade guidance before Amendment 4 of 2026", Confidence.PRACTICE)
_BY_EDITION = {
    # Reported by practitioners on the IET's forum in April 2026; the text of Appendix 6 not read.
    Edition.A4_2026: (False, "guidance in Appendix 6 of BS 7671:2018+A4:2026", Confidence.VERIFY),
    Edition.A2_2022: _PRACTICE,
    Edition.A1_2020: _PRACTICE,
    Edition.A3_2015: _PRACTICE,
    Edition.A1_2011: _PRACTICE,
    Edition.EARLIER: _PRACTICE,
}
# Whether an FI that stands without a C1 or C2 makes a report unsatisfactory, by the report's edition.
FI_ALONE = {
    edition: Fact(
        key=f"assessment.fi-alone.{edition}",
        title=f"{edition.label}: an FI alone makes the report unsatisfactory",
        value=counts,
        source=source,
        confidence=confidence,
        editions=(edition,),
    )
    for edition, (counts, source, confidence) in _BY_EDITION.items()
}
ROWS = tuple(FI_ALONE.values())


def overall_assessment(codes: Iterable[Code], edition: Edition, facts: Facts = SHIPPED) -> Outcome:
    """Satisfactory or unsatisfactory, by the rule of the report's edition.

    C1 or C2: unsatisfactory; C3 alone: satisfactory (all editions; IET forum, read in secondary
    pages that agree). An FI alone goes by the row for the edition, or what the firm put in its place.
    Observations without a code are not handed in: the caller settles those first.
    """
    found = set(codes)
    dangerous = sorted(found & {Code.C1, Code.C2})
    if dangerous:
        basis = f"Unsatisfactory: {' and '.join(dangerous)} recorded."
        return Outcome(Assessment.UNSATISFACTORY, basis, Confidence.SECONDARY)
    if Code.FI in found:
        return _by_fi(facts.of(FI_ALONE[edition]))
    basis = "Satisfactory: only C3 recorded." if found else "Satisfactory: no code recorded."
    return Outcome(Assessment.SATISFACTORY, basis, Confidence.SECONDARY)


def action_required(codes: Iterable[Code]) -> bool:
    """Whether law or policy asks for work or investigation: any C1, C2 or FI.

    Independent of the overall assessment. Source: see `Code.needs_action`.
    """
    return any(code.needs_action for code in codes)


def most_dangerous(codes: Iterable[Code]) -> Code | None:
    """The code that a board, a unit or a site is marked with; None where there is none."""
    return max(codes, key=lambda code: code.danger, default=None)


def _by_fi(rule: Fact[bool]) -> Outcome:
    if rule.value:
        basis = f"Unsatisfactory: FI recorded, which counts by {rule.source}."
        return Outcome(Assessment.UNSATISFACTORY, basis, rule.confidence)
    basis = f"Satisfactory: an {FI_DOES_NOT_COUNT} by {rule.source}; the investigation is still required."
    return Outcome(Assessment.SATISFACTORY, basis, rule.confidence)
