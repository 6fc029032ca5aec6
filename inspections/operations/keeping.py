"""Papers kept true: opened by what starts their clock, and put right when that changes. Each change has its entry.

What stands is compared with what is asked for now. What is no longer asked for lapses and stays on record; asked for once
more, the same row opens again. What was given already stays as it was given: where it is owed anew (the works were opened
again, the report was reissued), it is superseded and another row has what is owed now.

Whether works are complete is asked by several operations that hold locks on different observations of one report: of two
that close the last two at once, one waits at `_alone_at` until it sees what the other did. That lock comes after those of
observations and before those of papers; nothing else is locked behind it.
"""

from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet

from inspections.choices import InspectionState, PaperAnswer
from inspections.models import Inspection, InspectionDue, Observation, Paper, PaperRequest
from inspections.operations import ground
from inspections.operations.clocks import in_words
from inspections.operations.next_inspections import SETTLING
from inspections.queries.facts import facts_on
from inspections.queries.occupiers import names_of, occupiers_on
from inspections.rules import Item, completed_on
from inspections.standards.duties import Duty, Trigger, duties_at
from inspections.standards.notifications import Told, notice_owed
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind
from inspections.verbs import Verb
from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import record
from jobsite.ledger.rows import alone
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Unit
from jobsite.words import day

LET = (Tenure.PRIVATE_RENTED, Tenure.SOCIAL_RENTED)
LONG_PAST = timedelta(days=366)
FROM_WORK = ("remedied", "others", "finding")
NOT_ASKED = "The law does not ask for it any more: nation, tenure and tenancy as they are recorded now."
NOT_COMPLETE = "The works that the report required are not complete any more."
CALLED_OFF = "The work was opened again, or sent back: it is not complete."
CORRECTED = "The report was reissued on {}: the corrected one is owed as well. The rule names no day for that: take it as due at once."
PAST = (
    "Its last day, {}, had passed when it came to us. Ask the landlord whether it was given, and open it again if not."
)
TERMS = ["about", "event_on", "basis", "due_on"]
ANSWER = ["answer", "answered_on", "how", "answered_by", "version"]


def reports_papers(inspection: Inspection, *, by: Actor, now: datetime) -> None:
    """Inside the issue of `inspection`, or after what the law rests on changed: what the inspection of let homes asks for."""
    if inspection.kind not in SETTLING or inspection.state != InspectionState.ISSUED:
        return
    units = list(inspection.units.filter(tenure__in=LET).select_related("site").order_by("pk"))
    given = _given_before(inspection)
    for unit in units:
        _reports_papers(inspection, unit, given, by=by, now=now)
    for request in inspection.paper_requests.select_related("unit__site").order_by("pk"):
        requests_papers(request, by=by, now=now, anew=given)


def _reports_papers(inspection: Inspection, unit: Unit, given: Collection[Any], *, by: Actor, now: datetime) -> None:
    on = inspection.inspected_on
    duties = _duties(Trigger.INSPECTION, unit, on)
    wanted = [_paper(duty, unit, on, by, inspection=inspection) for duty in duties]
    _anew(wanted, given, inspection)
    today = clock.local_day(now)
    taken_in = inspection.other_firm and inspection.issued_at and clock.local_day(inspection.issued_at) == today
    past = timedelta(0) if taken_in else LONG_PAST
    standing = _standing(unit, Trigger.INSPECTION, inspection=inspection)
    settle(wanted, standing, NOT_ASKED, by=by, now=now, past_after=past)


def requests_papers(request: PaperRequest, *, by: Actor, now: datetime, anew: Collection[Any] = ()) -> list[Paper]:
    """Inside an operation: what somebody's asking in writing for the report starts, if the law asks anything of it."""
    trigger = Trigger(request.asked_by)
    duties = _duties(trigger, request.unit, request.asked_on)
    wanted = [_paper(d, request.unit, request.asked_on, by, inspection=request.inspection) for d in duties]
    for paper in wanted:
        paper.request, paper.named = request, request.who
    _anew(wanted, anew, request.inspection)
    standing = _standing(request.unit, trigger, request=request)
    settle(wanted, standing, NOT_ASKED, by=by, now=now)
    return wanted


def keep_completion(
    observations: Iterable[Observation], *, by: Actor, now: datetime, report: Inspection | None = None
) -> None:
    """Inside an operation that closed these observations or opened them: what the works of their reports ask for now.

    The law's confirmations are owed once all that a report required of a let home is put right and reviewed, counted from
    the day on which the last of it was done. Looks at those reports only (and at `report`): one statement where nothing
    here is let, or has a confirmation standing.
    """
    rows = list(observations)
    sites = {row.site_id for row in rows} | ({report.site_id} if report else set())
    for site in sorted(sites):
        units = {unit.pk: unit for unit in _with_confirmations(site)}
        if units:
            _alone_at(site)
            items, done = _items(site)
            about = _reports_of({row.pk for row in rows}, items)
            for one in _in_force({key for key, _ in about} | ({report.pk} if report else set())):
                here = (
                    units
                    if report == one
                    else {key: units[key] for found, key in about if found == one.pk and key in units}
                )
                reports_works(one, here, items, done, by=by, now=now)


def _with_confirmations(site: UUID) -> QuerySet[Unit]:
    """The units of a site at which completed works ask for papers, or asked for those that stand, let or not by now."""
    asked = Paper.objects.standing().filter(trigger=Trigger.COMPLETION, unit=OuterRef("pk"))
    return Unit.objects.filter(Q(tenure__in=LET) | Exists(asked), site=site).select_related("site")


def _alone_at(site: UUID) -> None:
    """Until the end of the transaction nobody else judges whether works at this site are complete."""
    alone(site)


def _reports_of(about: set[UUID], items: Iterable[Item]) -> set[tuple[Any, Any]]:
    """The reports, each with the unit, of these observations and of all that they continue."""
    by_key = {item.key: item for item in items}
    found, waiting = set(), list[Any](about)
    while waiting:
        if item := by_key.pop(waiting.pop(), None):
            found |= {item.report} if isinstance(item.report, tuple) else set()
            waiting.append(item.continues)
    return found


def _items(site: UUID) -> tuple[list[Item], dict[Any, date]]:
    """All that completion is counted from at a site, each report for each of its units apart; when each was done.

    One statement.
    """
    rows = Observation.objects.filter(site=site, draft=False).values_list(
        "pk", "code", "ended", "continues", "inspection", "unit", "done_on", "ended_on"
    )
    items, done = [], {}
    for key, code, ended, continues, report, unit, done_on, ended_on in rows:
        items.append(Item(key, code, ended, continues, (report, unit) if report else None))
        if ended in FROM_WORK:
            done[key] = done_on or ended_on
    return items, done


def _in_force(reports: Collection[Any]) -> QuerySet[Inspection]:
    rows = Inspection.objects.filter(pk__in=reports, state=InspectionState.ISSUED, kind__in=SETTLING)
    return rows.order_by("pk")


def reports_works(
    report: Inspection, units: dict[UUID, Unit], items: list[Item], done: dict[Any, date], *, by: Actor, now: datetime
) -> None:
    """Inside an operation: the confirmations that the completed works of `report` ask for, at each of `units`."""
    complete, standing = completed_on(items, done), dict[UUID, list[Paper]]()
    rows = Paper.objects.standing().filter(inspection=report, trigger=Trigger.COMPLETION, unit__in=list(units))
    for paper in rows.select_for_update(of=("self",)).order_by("pk"):
        standing.setdefault(paper.unit_id, []).append(paper)
    for key in sorted(units):
        on = complete.get((report.pk, key))
        if on or key in standing:
            duties = _duties(Trigger.COMPLETION, units[key], on) if on else ()
            wanted = [_paper(duty, units[key], on, by, inspection=report) for duty in duties if on]
            why = NOT_ASKED if on else NOT_COMPLETE
            there = standing.get(key, [])
            settle(wanted, there, why, by=by, now=now, given_goes=on is None, past_after=LONG_PAST)


def settle_notices(
    unit: Unit, *, work: UUID, about: str, told: Iterable[Told], done_on: date, by: Actor, now: datetime
) -> None:
    """Inside an operation on `work`, handed down by the floor that keeps it: what the firm notifies once it is done.

    `told`: none while it is not done. `done_on`: the day of the work.
    """
    facts = facts_on(done_on)
    wanted = []
    for one in told:
        duty = notice_owed(one, Nation(unit.site.nation), facts)
        paper = _paper(duty, unit, done_on, by)
        paper.work, paper.about = work, about
        wanted.append(paper)
    standing = list(Paper.objects.standing().filter(work=work).select_for_update(of=("self",)).order_by("pk"))
    settle(wanted, standing, CALLED_OFF, by=by, now=now, given_goes=not wanted)


def units_papers(unit: Unit, *, by: Actor, now: datetime) -> None:
    """Inside an operation that changed nation, tenure or tenancy of `unit`: its papers by what is recorded now.

    Of its last report that settles when to inspect next and of every other with papers that stand, of the last who moved in.
    """
    _alone_at(unit.site_id)
    last = InspectionDue.objects.filter(unit=unit, after__isnull=False).values_list("after", flat=True)
    asked = Paper.objects.standing().filter(unit=unit, inspection__isnull=False).values_list("inspection", flat=True)
    reports = list(_in_force({*last, *asked}).select_related("site"))
    items, done = _items(unit.site_id) if reports else ([], {})
    for report in reports:
        if not (unit.tenancy_granted_on and unit.tenancy_granted_on > report.inspected_on):
            _reports_papers(report, unit, _given_before(report), by=by, now=now)
        for request in report.paper_requests.filter(unit=unit).select_related("unit__site"):
            requests_papers(request, by=by, now=now)
        reports_works(report, {unit.pk: unit}, items, done, by=by, now=now)


def report_replaced(former: Inspection, draft: Inspection, *, by: Actor, now: datetime) -> None:
    """Inside the issue of `draft`, which replaces `former`: its papers go over; copies that were given are owed anew.

    What was decided not to be needed stays decided. Confirmations of completed works go over, given or not: the works are
    the same, and `keep_completion` looks whether they are complete by the corrected report.
    """
    _alone_at(draft.site_id)
    today = clock.local_day(now)
    for paper in Paper.objects.standing().filter(inspection=former).select_for_update(of=("self",)).order_by("pk"):
        if paper.answer == PaperAnswer.DONE and paper.trigger != Trigger.COMPLETION:
            _supersede(paper, CORRECTED.format(day(today)), by=by, now=now)
            continue
        paper.inspection, paper.version = draft, paper.version + 1
        paper.save(update_fields=["inspection", "version"])
        facts = {"from": str(former.pk), "inspection": str(draft.pk)}
        record(Verb.PAPER_MOVED, site=paper.site_id, subject=paper, by=by, now=now, facts=facts)
    PaperRequest.objects.filter(inspection=former).update(inspection=draft)
    covered = set(draft.units.values_list("pk", flat=True))
    gone = Paper.objects.standing().filter(inspection=draft, trigger=Trigger.INSPECTION).exclude(unit__in=covered)
    for paper in gone.select_for_update(of=("self",)).order_by("pk"):
        if not paper.answer:
            _lapse(paper, "The reissued report does not cover this unit.", by=by, now=now)


def _given_before(inspection: Inspection) -> set[tuple[UUID, str]]:
    """Unit and duty of what was given of the report that `inspection` replaces."""
    if inspection.replaces_id is None:
        return set()
    rows = Paper.objects.filter(inspection=inspection.replaces_id, superseded_at__isnull=False, answer=PaperAnswer.DONE)
    return set(rows.values_list("unit", "duty"))


def _anew(wanted: Iterable[Paper], given: Collection[Any], report: Inspection) -> None:
    reissued = clock.local_day(report.issued_at) if report.issued_at else date.min
    for paper in wanted:
        if (paper.unit_id, paper.duty) in given:
            paper.due_on = max(paper.due_on, reissued)
            paper.basis = f"{paper.basis} {CORRECTED.format(day(reissued))}"


# --- what is asked for ------------------------------------------------------------------------------------------------


def _duties(trigger: Trigger, unit: Unit, on: date) -> tuple[Duty, ...]:
    return duties_at(trigger, *law_of(unit), on, **more_of(unit, on))


def law_of(unit: Unit) -> tuple[Nation, Tenure]:
    """What decides the law first: nation and tenure as they are recorded."""
    return Nation(unit.site.nation), Tenure(unit.tenure)


def more_of(unit: Unit, on: date) -> dict[str, Any]:
    """What decides the law besides: tenancy, kind of premises, the facts of the day."""
    kind = PremisesKind(unit.kind)
    return {"tenancy_granted_on": unit.tenancy_granted_on, "premises_kind": kind, "facts": facts_on(on)}


def _paper(duty: Duty, unit: Unit, on: date, by: Actor, **more: Any) -> Paper:
    named = names_of(occupiers_on(unit, on)) if of_occupiers(duty.to) else ""
    return Paper(
        site=unit.site, unit=unit, trigger=duty.trigger.value, event_on=on, duty=duty.key, what=duty.what, to=duty.to,
        named=named, owed_by=duty.owed_by, basis=in_words(duty.deadline(on)),
        due_on=duty.last_day(on), owner=keeper(by), **more,
    )  # fmt: skip


def of_occupiers(to: str) -> bool:
    """Whether a paper goes to those who live there, by the words of its rule."""
    return to in ("each existing tenant", "the tenant", "the contract-holder")


def keeper(by: Actor) -> User | None:
    """Who sees to papers: `by`, where that is somebody of the office; else the first by name whose part that is."""
    if isinstance(by, User) and by.may(Right.KEEP_CUSTOMERS):
        return by
    rows = User.objects.filter(is_active=True, subcontractor=False).order_by("name", "pk")
    able = [user for user in rows if user.may(Right.KEEP_CUSTOMERS)]
    return next((user for user in able if "office" in user.roles), able[0] if able else None)


# --- what stands is compared with what is asked for ---------------------------------------------------------------------


def _standing(unit: Unit, trigger: Trigger, **about: Any) -> list[Paper]:
    rows = Paper.objects.standing().filter(unit=unit, trigger=trigger, **about)
    return list(rows.select_for_update(of=("self",)).order_by("pk"))


def settle(
    wanted: Sequence[Paper],
    standing: Iterable[Paper],
    why_not: str,
    *,
    by: Actor,
    now: datetime,
    given_goes: bool = False,
    past_after: timedelta | None = None,
) -> None:
    """Let what stands be what is wanted, by the key of the duty.

    `why_not`: said of what is no longer asked for. `given_goes`: what was settled is superseded then, since it is owed anew
    when it is asked for again. `past_after`: what was due longer ago than that stands as past, for a person to open.
    """
    today, there = clock.local_day(now), {paper.duty: paper for paper in standing}
    for paper in wanted:
        known = there.pop(paper.duty, None)
        if known is None:
            if past_after is not None and paper.due_on + past_after < today:
                _past(paper, today)
            paper.save(force_insert=True)
            record(Verb.PAPER_OPENED, site=paper.site_id, subject=paper, by=by, now=now, facts=_facts(paper))
        elif known.answer in ("", PaperAnswer.LAPSED):
            _again(known, paper, by=by, now=now)
    for paper in there.values():
        if not paper.answer:
            _lapse(paper, why_not, by=by, now=now)
        elif given_goes and paper.answer != PaperAnswer.LAPSED:
            _supersede(paper, why_not, by=by, now=now)


def _facts(paper: Paper) -> dict[str, Any]:
    facts = {"duty": paper.duty, "due_on": paper.due_on.isoformat(), "event_on": ground.iso(paper.event_on)}
    about = {
        "inspection": paper.inspection_id,
        "request": paper.request_id,
        "work": paper.work,
        "change": paper.change_id,
    }
    facts |= {name: str(key) for name, key in about.items() if key}
    return facts | ({"answer": str(paper.answer)} if paper.answer else {})


def _past(paper: Paper, today: date) -> None:
    paper.answer, paper.answered_on, paper.how = PaperAnswer.PAST, today, PAST.format(day(paper.due_on))


def _again(paper: Paper, wanted: Paper, *, by: Actor, now: datetime) -> None:
    """Give an open paper the day that holds now, and open one that had lapsed; nothing where it stands so already."""
    lapsed = paper.answer == PaperAnswer.LAPSED
    changed = ground.apply(paper, {name: getattr(wanted, name) for name in TERMS})
    if not (lapsed or changed):
        return
    if lapsed:
        paper.answer, paper.answered_on, paper.how, paper.answered_by = "", None, "", None
        paper.owner, paper.named = wanted.owner, wanted.named
    paper.version += 1
    paper.save(update_fields=[*TERMS, *ANSWER, "owner", "named"])
    verb = Verb.PAPER_AGAIN if lapsed else Verb.PAPER_RECOUNTED
    record(verb, site=paper.site_id, subject=paper, by=by, now=now, facts=_facts(paper))


def _lapse(paper: Paper, why: str, *, by: Actor, now: datetime) -> None:
    paper.answer, paper.answered_on, paper.how = PaperAnswer.LAPSED, clock.local_day(now), why
    paper.answered_by, paper.version = None, paper.version + 1
    paper.save(update_fields=ANSWER)
    record(
        Verb.PAPER_LAPSED, site=paper.site_id, subject=paper, by=by, now=now, facts=_facts(paper), words={"why": why}
    )


def _supersede(paper: Paper, why: str, *, by: Actor, now: datetime) -> None:
    paper.superseded_at, paper.superseded_why, paper.version = now, why, paper.version + 1
    paper.save(update_fields=["superseded_at", "superseded_why", "version"])
    facts = _facts(paper)
    record(Verb.PAPER_SUPERSEDED, site=paper.site_id, subject=paper, by=by, now=now, facts=facts, words={"why": why})
