"""The dates of an observation, stored when its code is decided, each with the rule that says so."""

from datetime import date, datetime

from inspections import rules
from inspections.choices import DANGEROUS, Code, Ended
from inspections.models import Observation
from inspections.queries.facts import facts_on
from inspections.standards import clocks
from inspections.standards.assessment import Code as StandardCode
from inspections.standards.facts import Facts
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind
from jobsite import clock
from jobsite.firm.models import Policy
from jobsite.firm.queries import policy_on
from jobsite.people.models import User

CLOCK_FIELDS = ["make_safe_by", "remedy_by", "remedy_basis", "remedy_by_law"]
STEP_FIELDS = ["owner", "step_by"]


def set_clocks(
    observation: Observation,
    *,
    policy: Policy | None = None,
    next_due: date | None = None,
    anew: bool = False,
    facts: Facts | None = None,
) -> None:
    """Set make safe by and remedy by with their basis, from the code in force and the day it was recorded.

    By the firm's policy and the facts of that day; a C3 by `next_due`, the next inspection of its unit. No code: no
    dates. A defect that is seen again keeps an earlier date to remedy it by, the copy in a reissue counts from the day of
    the corrected report; what an investigation found starts `anew`.
    """
    if not observation.code:
        observation.make_safe_by = observation.remedy_by = None
        observation.remedy_basis, observation.remedy_by_law = "", False
        return
    code = StandardCode(observation.code)
    safe = clocks.make_safe_by(code, observation.recorded_on)
    facts = facts or facts_on(observation.recorded_on)
    deadline = _remedy_by(observation, code, policy or policy_on(observation.recorded_on), next_due, facts)
    observation.make_safe_by = safe.on if safe else None
    observation.remedy_by, observation.remedy_by_law = deadline.on, deadline.legal
    observation.remedy_basis = in_words(deadline)
    if not anew:
        _keep_earlier_date(observation)


def _keep_earlier_date(observation: Observation) -> None:
    """What was late stays late: being seen again never moves the day by which to remedy a C1, C2 or FI."""
    earlier = _seen_before(observation)
    if earlier is None or earlier.ended == Ended.FINDING or not (earlier.dangerous and observation.dangerous):
        return
    if earlier.remedy_by and observation.remedy_by and earlier.remedy_by < observation.remedy_by:
        observation.remedy_by, observation.remedy_by_law = earlier.remedy_by, earlier.remedy_by_law
        observation.remedy_basis = (
            f"As observation {earlier.number}, which this continues. {earlier.remedy_basis}".strip()
        )


def _seen_before(observation: Observation) -> Observation | None:
    """The earlier observation of its defect. A copy in a reissue was not seen again: that which its record continues.

    Otherwise a mistyped day of the inspection, put right by the reissue, would still set the dates.
    """
    while observation.corrects and observation.continues:
        observation = observation.continues
    return observation.continues


def _remedy_by(
    observation: Observation, code: StandardCode, policy: Policy, next_due: date | None, facts: Facts
) -> clocks.Deadline:
    inspection = observation.inspection
    return clocks.remedy_by(
        code,
        observation.recorded_on,
        nation=Nation(observation.site.nation),
        tenure=Tenure(observation.unit.tenure),
        policy=clocks.RemedyPolicy(policy.c1_days, policy.c2_days, policy.fi_days),
        report_limit_days=inspection.remedy_limit_days if inspection else None,
        next_inspection_on=next_due,
        tenancy_granted_on=observation.unit.tenancy_granted_on,
        premises_kind=PremisesKind(observation.unit.kind),
        by_inspection=_by_inspection(observation),
        facts=facts,
    )


def _by_inspection(observation: Observation) -> bool:
    """Whether the law's clock runs: from an inspection, and anew from the further investigation that one asked for.

    Source: SI 2020/312 regulation 3: where further work is found to be needed, the same duties repeat (read in
    reproductions).
    """
    earlier = observation.continues
    return observation.inspection_id is not None or bool(earlier and earlier.inspection_id)


def in_words(deadline: clocks.Deadline) -> str:
    """The basis with, where the fact is unsure, how sure it is. The law's own caution is shown by the page."""
    note = deadline.confidence.note
    return f"{deadline.basis} ({note[0].upper()}{note[1:]}.)" if note else deadline.basis


def set_step(observation: Observation, *, by: User, now: datetime, policy: Policy | None = None) -> None:
    """Give the observation a next step: whose it is (kept where somebody has it) and by when to decide what it needs."""
    today = clock.local_day(now)
    days = (policy or policy_on(today)).decide_days
    observation.step_by = rules.step_by(observation.code, today, days, observation.remedy_by)
    if observation.owner_id is None and observation.code != Code.C3:
        observation.owner = by


def hurry_step(observation: Observation, *, by: User, now: datetime) -> None:
    """After a new code: a step no later than the new code asks for; one that was set earlier and still lies ahead stays."""
    before = observation.step_by
    set_step(observation, by=by, now=now)
    if before and observation.step_by and clock.local_day(now) <= before < observation.step_by:
        observation.step_by = before


def is_dangerous(code: str) -> bool:
    """Whether the code asks for work or investigation: C1, C2 or FI."""
    return code in DANGEROUS
