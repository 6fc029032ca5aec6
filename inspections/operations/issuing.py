"""Issuing a report: from here on it is frozen, its observations count, and every clock of theirs runs."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from inspections import policy, rules
from inspections.choices import Ended, InspectionState
from inspections.models import Inspection, Observation
from inspections.operations import clocks, ground, reissuing
from inspections.operations.ending import carry_over
from inspections.operations.keeping import keep_completion, report_replaced, reports_papers
from inspections.operations.next_inspections import set_inspection_due
from inspections.operations.not_seen import settle
from inspections.operations.occupancy import reports_asked_for
from inspections.operations.recounting import let_c3_follow
from inspections.operations.unseen import Shown, must_be_as_shown
from inspections.queries.facts import facts_on
from inspections.queries.not_seen import in_question
from inspections.standards.counting import last_day_starting_with
from inspections.verbs import Verb
from jobsite import clock
from jobsite.firm.models import Policy
from jobsite.firm.queries import policy_on
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import Refused

ISSUED_FIELDS = [*clocks.CLOCK_FIELDS, "draft", "version"]
DECIDED_FIELDS = [*clocks.STEP_FIELDS, "reviewed"]
ISSUE_FIELDS = ["state", "issued_at", "issued_by", "outcome", "outcome_basis"]
ONLY_QUALIFIED = "Only a qualified person may issue our own report."
ONLY_OFFICE = "Only the office may take in another firm's report."


@operation
def issue_inspection(
    inspection: Inspection, *, by: User, now: datetime, left_out_reason: str = "", shown: Shown | None = None
) -> Inspection:
    """Issue our own report, or take another firm's into the record.

    1. The overall assessment by the rule of the report's own edition; what was written stands beside it.
    2. When the next inspection of each unit is due.
    3. Each observation is no draft any more and gets its dates, their basis, an owner and a day for the next step; an
       earlier observation that it continues ends, its lock and key go over.
    4. Earlier open observations that it covers and does not note again stay open, marked as not confirmed; where our
       qualified person saw that one is not there any more, it ends so.
    5. A C3 of an earlier report is due by the next inspection as well: it moves with that date.
    6. What the law asks in writing after an inspection of a let home is opened, each paper with its day.
    7. A reissue replaces its former report, whose observations go on in their copies (`operations.reissuing`); what it
       leaves out while still open is withdrawn for the `left_out_reason`.
    Our own observations count as reviewed by the one who issues; another firm's wait for the review. Raises NotAllowed
    for our own without competence on the day, Refused where one of ours has no code, where one continues what was
    closed, at an archived site and where the draft is not as it was `shown` to the one who issues.
    """
    site = ground.held_site(inspection.site)
    inspection = ground.locked(inspection)
    may = policy.may_issue_inspection(by, inspection, now=now)
    ground.must(may, ONLY_OFFICE if inspection.other_firm else ONLY_QUALIFIED)
    if inspection.state != InspectionState.DRAFT:
        return inspection
    ground.must_be_in_use(site)
    observations, earlier = _locked_observations(inspection)
    must_be_as_shown(inspection, observations, shown)
    _must_be_coded(inspection, observations)
    _must_continue_what_stands(observations, earlier)
    out = reissuing.must_be_answered(inspection, observations, earlier.values(), left_out_reason, by, now)
    published = facts_on(inspection.inspected_on)
    outcome, basis = rules.assess(inspection.edition, [o.code for o in observations], published)
    inspection.state, inspection.issued_at, inspection.issued_by = InspectionState.ISSUED, now, by
    inspection.outcome, inspection.outcome_basis = outcome, basis
    inspection.version += 1
    firms = policy_on(clock.local_day(now))
    if inspection.other_firm:
        inspection.codes_by = last_day_starting_with(clock.local_day(now), firms.decide_days)
    inspection.save(update_fields=[*ISSUE_FIELDS, "codes_by", "version"])
    reissuing.replace(inspection, out, left_out_reason, by=by, now=now)
    reissuing.settle_units_anew(inspection, by=by, now=now)
    due = _inspections_due(inspection, by=by, notice_days=firms.inspection_notice_days)
    reports_asked_for(inspection, by=by, now=now)
    _put_in_force(inspection, observations, earlier, due, by=by, now=now, firms=firms)
    replaced = [(earlier[o.continues_id], o) for o in observations if _replaces(o, earlier)]
    facts = _facts(inspection, observations, due) | reissuing.take_over(replaced, by=by, now=now)
    record(Verb.ISSUED, site=inspection.site_id, subject=inspection, by=by, now=now, facts=facts)
    for observation in observations:
        if observation.continues_id in earlier:
            carry_over(earlier[observation.continues_id], observation, ended=Ended.CONTINUED, by=by, now=now)
    gone = settle(inspection, by=by, now=now)
    let_c3_follow(due, besides=[o.pk for o in observations], by=by, now=now)
    _keep_papers(inspection, [*observations, *earlier.values(), *gone], by=by, now=now)
    return inspection


def _keep_papers(inspection: Inspection, touched: list[Observation], *, by: User, now: datetime) -> None:
    """What the law asks in writing now, last of all: its lock is the last one taken (`operations.keeping`)."""
    if inspection.replaces:
        report_replaced(inspection.replaces, inspection, by=by, now=now)
    reports_papers(inspection, by=by, now=now)
    keep_completion(touched, by=by, now=now, report=inspection)


def _locked_observations(inspection: Inspection) -> tuple[list[Observation], dict[Any, Observation]]:
    """The draft's observations by number, and the earlier ones that they continue by key; locked in order of keys.

    So are those that it is asked about: `settle` ends some and refers to all.
    """
    continued = inspection.observations.exclude(continues=None).values_list("continues", flat=True)
    asked = in_question(inspection).values_list("pk", flat=True)
    keys = [*inspection.observations.values_list("pk", flat=True), *continued, *asked]
    if inspection.replaces_id:
        keys += Observation.objects.filter(inspection=inspection.replaces_id).values_list("pk", flat=True)
    rows = Observation.objects.filter(pk__in=keys).select_for_update(of=("self",))
    rows = rows.select_related("site", "unit", "inspection", "continues__inspection", "continues__continues").order_by(
        "pk"
    )
    own = [row for row in rows if row.inspection_id == inspection.pk]
    former = inspection.replaces_id
    earlier = {row.pk: row for row in rows if row.pk in set(continued) or (former and row.inspection_id == former)}
    return sorted(own, key=lambda row: row.number), earlier


def _replaces(observation: Observation, earlier: dict[Any, Observation]) -> bool:
    """Whether it is the copy of an observation of the report that its own report replaces."""
    report = observation.inspection
    if report is None or report.replaces_id is None or observation.continues_id not in earlier:
        return False
    return earlier[observation.continues_id].inspection_id == report.replaces_id


def _must_be_coded(inspection: Inspection, observations: Iterable[Observation]) -> None:
    bare = [str(o.number) for o in observations if not o.code]
    if bare and not inspection.other_firm:
        raise Refused(f"Give every observation a code first. Without one: {', '.join(bare)}.")


def _must_continue_what_stands(observations: Iterable[Observation], earlier: dict[Any, Observation]) -> None:
    """Raises Refused where one continues what was closed meanwhile: a defect that came back takes no age and no date over.

    What another report continued since lives on there; the copy in a reissue is the same record, however that ended.
    """
    for observation in observations:
        before = earlier.get(observation.continues_id)
        if before and before.ended not in (Ended.OPEN, Ended.CONTINUED) and not observation.corrects:
            raise Refused(
                f"Observation {observation.number} continues {before.number}, which is closed by now "
                f"({before.get_ended_display()}): a defect that came back is a new one. "
                f"Change {observation.number} to continue nothing, or open {before.number} again."
            )


def _inspections_due(inspection: Inspection, *, by: User, notice_days: int) -> dict[Any, date]:
    """When the next inspection of each unit is due, by the unit's key, where this report settles it."""
    found = {}
    for unit in inspection.units.order_by("pk"):
        due = set_inspection_due(inspection, unit, by=by, notice_days=notice_days)
        if due:
            found[unit.pk] = due.due_on
    return found


def _put_in_force(
    inspection: Inspection,
    observations: list[Observation],
    earlier: dict[Any, Observation],
    due: dict[Any, date],
    *,
    by: User,
    now: datetime,
    firms: Policy,
) -> None:
    of_the_day, facts = policy_on(inspection.inspected_on), facts_on(inspection.inspected_on)
    formers = {
        o.pk: o for o in earlier.values() if inspection.replaces_id and o.inspection_id == inspection.replaces_id
    }
    at_issue = reissuing.codes_at_issue(formers.values()) if formers else {}
    for observation in observations:
        observation.inspection = inspection
        observation.draft, observation.reviewed = False, not inspection.other_firm
        observation.version += 1
        former = formers.get(observation.continues_id) if observation.continues_id else None
        has_step = former is not None and reissuing.inherit(observation, former, at_issue[former.pk])
        clocks.set_clocks(observation, policy=of_the_day, next_due=due.get(observation.unit_id), facts=facts)
        if not has_step:
            clocks.set_step(observation, by=by, now=now, policy=firms)
    _write(observations, [*ISSUED_FIELDS, *(reissuing.INHERITED if formers else DECIDED_FIELDS)])


def _write(observations: list[Observation], fields: list[str]) -> None:
    """Update these fields: a statement for all observations that come to the same values, which most of a report do.

    Django's bulk_update builds a condition for each row of each column, and takes longer over that than the whole rest.
    """
    names = [Observation._meta.get_field(name).attname for name in fields]  # type: ignore[union-attr]
    alike: dict[tuple[Any, ...], list[Any]] = defaultdict(list)
    for observation in observations:
        alike[tuple(getattr(observation, name) for name in names)].append(observation.pk)
    for values, keys in alike.items():
        Observation.objects.filter(pk__in=keys).update(**dict(zip(names, values, strict=True)))


def _facts(inspection: Inspection, observations: list[Observation], due: dict[Any, date]) -> dict[str, Any]:
    counts = rules.count_codes(o.code for o in observations)
    return {
        "number": inspection.number,
        "outcome": inspection.outcome,
        "outcome_written": inspection.outcome_written,
        "observations": [str(o.pk) for o in observations],
        "codes": [f"{code or 'none'}:{count}" for code, count in counts.items() if count],
        "next_due": [f"{unit}:{day.isoformat()}" for unit, day in sorted(due.items())],
        **({"replaces": str(inspection.replaces_id)} if inspection.replaces_id else {}),
    }
