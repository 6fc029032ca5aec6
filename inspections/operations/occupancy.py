"""Somebody moves in: who was there goes, the tenancy decides the law, and the law's questions stand until answered."""

from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from inspections import policy
from inspections.choices import PaperAnswer
from inspections.models import Inspection, InspectionDue, OccupancyChange, Paper
from inspections.operations import ground
from inspections.operations.clocks import in_words
from inspections.operations.keeping import LONG_PAST, NOT_ASKED, keeper, settle
from inspections.queries.facts import facts_on
from inspections.standards.duties import Duty, Trigger, duties_at
from inspections.standards.duty_rows import LANDLORD
from inspections.standards.law import rule_in_force
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind
from inspections.verbs import Verb
from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.premises import operations as premises
from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import Party, Unit
from jobsite.refused import Refused

VALID_REPORT = "valid-report"
# Ends of the keys of duties to have a report in force: not asked for where one is on record.
ASKS_FOR_REPORT = ("inspection.new-tenancy", "report.occupation")
LONGEST_AHEAD = timedelta(days=366)


@operation
def change_occupancy(
    unit: Unit,
    *,
    id: UUID,
    since: date,
    by: User,
    now: datetime,
    occupier: Party | None = None,
    tenancy_granted_on: date | None = None,
) -> OccupancyChange:
    """Record that somebody moves into `unit` on `since`: the former occupiers' part ends the day before.

    `occupier`: who, where they are on the list of parties. The day of the tenancy decides which rule binds; dates are
    counted again. What the law of that nation asks stands as papers, each due on its day, with `by` as its owner; a
    change of occupancy asks for no new inspection by itself. Raises Refused for a day that cannot be.
    """
    ground.must(policy.may_keep_papers(by), "Your rights do not cover recording who moves in.")
    site = ground.locked_site(unit.site)
    if made := ground.made_before(OccupancyChange, id, site_id=site.pk):
        return made
    _sound(since, tenancy_granted_on, clock.local_day(now))
    if OccupancyChange.objects.filter(unit=unit, since=since, occupier=occupier).exists():
        raise Refused("This is recorded already: see below.", field="since")
    for role in unit.parties.filter(role=RoleAtUnit.OCCUPIER, until__isnull=True, since__lt=since):
        premises.end_role(role, until=since - timedelta(days=1), by=by, now=now)
    if occupier is not None:
        premises.give_role(
            unit, id=new_id(), party=occupier, role=RoleAtUnit.OCCUPIER, since=since, by=by, now=now
        )  # fmt: skip
    unit = Unit.objects.select_related("site").get(pk=unit.pk)
    if unit.tenancy_granted_on != tenancy_granted_on:
        premises.edit_unit(unit, version=unit.version, tenancy_granted_on=tenancy_granted_on, by=by, now=now)
    change = OccupancyChange(id=id, site=site, unit=unit, since=since, tenancy_granted_on=tenancy_granted_on)
    change.occupier, change.recorded_by, change.recorded_at = occupier, by, now
    change.save(force_insert=True)
    papers = Paper.objects.bulk_create(_papers(change, keeper(by)))
    facts: dict[str, object] = {
        "unit": str(unit.pk),
        "since": since.isoformat(),
        "tenancy_granted_on": ground.iso(tenancy_granted_on),
    }
    facts |= {"occupier": ground.key(occupier), "papers": [f"{p.duty}:{p.due_on.isoformat()}" for p in papers]}
    record(Verb.OCCUPANCY_CHANGED, site=site.pk, subject=change, by=by, now=now, facts=facts)
    return change


def _sound(since: date, tenancy_granted_on: date | None, today: date) -> None:
    if since > today + LONGEST_AHEAD:
        raise Refused("That is more than a year ahead: record it when the day is nearer.", field="since")
    if tenancy_granted_on is not None and tenancy_granted_on > since:
        raise Refused("The tenancy was granted on the day they move in or before.", field="tenancy_granted_on")


def _papers(change: OccupancyChange, owner: User | None) -> list[Paper]:
    """What the law in force on the day asks: a report in force where there is none, and the copies that it wants."""
    unit = change.unit
    law = {"nation": Nation(unit.site.nation), "tenure": Tenure(unit.tenure)}
    more: dict[str, Any] = {"tenancy_granted_on": change.tenancy_granted_on, "premises_kind": PremisesKind(unit.kind)}
    more["facts"] = facts_on(change.since)
    rule = rule_in_force(law["nation"], law["tenure"], change.since, **more)  # type: ignore[arg-type]
    duties = duties_at(Trigger.NEW_OCCUPATION, on=change.since, **law, **more)  # type: ignore[arg-type]
    missing = rule is not None and not has_report_on(unit, change.since)
    papers = [_paper(change, duty, owner) for duty in duties if missing or not duty.key.endswith(ASKS_FOR_REPORT)]
    if rule is not None and missing and not any(duty.key.endswith(ASKS_FOR_REPORT) for duty in duties):
        basis = f"{rule.name}: a report in force before they move in, and none is on record for that day."
        papers.insert(0, Paper(
            site=change.site, unit=unit, change=change, duty=VALID_REPORT, owner=owner, due_on=change.since,
            trigger=Trigger.NEW_OCCUPATION.value, event_on=change.since,
            what="a report that is in force on the day they move in", owed_by=LANDLORD, basis=basis,
        ))  # fmt: skip
    return papers


def _paper(change: OccupancyChange, duty: Duty, owner: User | None) -> Paper:
    return Paper(
        site=change.site, unit=change.unit, change=change, duty=duty.key, owner=owner,
        trigger=Trigger.NEW_OCCUPATION.value, event_on=change.since, due_on=duty.last_day(change.since), what=duty.what, to=duty.to, owed_by=duty.owed_by,
        basis=in_words(duty.deadline(change.since)),
    )  # fmt: skip


def changes_papers(unit: Unit, *, by: Actor, now: datetime) -> None:
    """Inside an operation that changed nation, tenure or tenancy of `unit`: what the law asked when somebody moved in.

    Of the last who did, and of every change with a paper that is still open.
    """
    changes = unit.occupancy_changes.select_related("unit__site", "site").order_by("-since", "-pk")
    for number, change in enumerate(changes):
        standing = list(change.papers.select_for_update(of=("self",)).order_by("pk"))
        if number == 0 or any(not paper.answer for paper in standing):
            settle(_papers(change, keeper(by)), standing, NOT_ASKED, by=by, now=now, past_after=LONG_PAST)


def reports_asked_for(inspection: Inspection, *, by: User, now: datetime) -> None:
    """Inside the issue of `inspection`: papers that asked for a report in force are done where it is one for that day."""
    asked = Q(duty=VALID_REPORT)
    for end in ASKS_FOR_REPORT:
        asked |= Q(duty__endswith=end)
    for paper in Paper.objects.open().filter(asked, unit__in=inspection.units.all()).select_related("change", "unit"):
        if paper.change and has_report_on(paper.unit, paper.change.since):
            paper.answer, paper.answered_on, paper.answered_by = PaperAnswer.DONE, clock.local_day(now), by
            paper.how, paper.version = f"Report {inspection.number} was issued.", paper.version + 1
            paper.save(update_fields=["answer", "answered_on", "answered_by", "how", "version"])
            facts = {"duty": paper.duty, "answer": "done", "answer_before": "", "inspection": str(inspection.pk)}
            record(Verb.PAPER_ANSWERED, site=paper.site_id, subject=paper, by=by, now=now, facts=facts)


def has_report_on(unit: Unit, day: date) -> bool:
    """Whether a report on record is still in force for `unit` on `day`. One statement."""
    return InspectionDue.objects.filter(unit=unit, after__isnull=False, due_on__gte=day).exists()


@operation
def answer_paper(
    paper: Paper, *, answer: str, answered_on: date | None, how: str, version: int, by: User, now: datetime
) -> Paper:
    """Record that a paper was given, or is not needed: on which day, how and to whom; `answer` "" opens it again.

    Raises ChangedMeanwhile where somebody else answered since `version`, Refused without a day or a word on how.
    """
    ground.must(policy.may_keep_papers(by), "Your rights do not cover papers that the law asks for.")
    ground.held_site(paper.site)
    paper = ground.locked(paper)
    fields: dict[str, object] = {"answer": answer, "answered_on": answered_on if answer else None, "how": how.strip()}
    if all(getattr(paper, name) == value for name, value in fields.items()):
        return paper
    if paper.superseded_at:
        raise Refused("This paper was given and is owed anew: say it of the one that took its place.")
    ground.unchanged(paper, version, "Somebody else answered this meanwhile.")
    _answered_soundly(fields, clock.local_day(now))
    facts = {"duty": paper.duty, "answer": answer, "answer_before": paper.answer}
    facts |= {"answered_on": answered_on.isoformat()} if answer and answered_on else {}
    ground.apply(paper, fields)
    paper.answered_by = by if answer else None
    paper.version += 1
    paper.save(update_fields=[*fields, "answered_by", "version"])
    record(
        Verb.PAPER_ANSWERED, site=paper.site_id, subject=paper, by=by, now=now, facts=facts, words={"how": paper.how}
    )  # fmt: skip
    return paper


def _answered_soundly(fields: dict[str, object], today: date) -> None:
    if fields["answer"] not in ("", *PaperAnswer.values):
        raise Refused("Choose whether it was done or is not needed.", field="answer")
    day = fields["answered_on"]
    if fields["answer"] and not isinstance(day, date):
        raise Refused("Say on which day.", field="answered_on")
    if isinstance(day, date) and day > today:
        raise Refused("That day is still to come.", field="answered_on")
    if fields["answer"] and not fields["how"]:
        raise Refused("Say how, and to whom; or why it is not needed.", field="how")
