"""What pages show of plans and of what they propose, as dicts of ready strings."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Count, Prefetch, Q

from inspections.models import Observation
from jobsite import clock
from jobsite.addresses import address
from jobsite.firm.models import Progress
from jobsite.marks import code_mark
from jobsite.paging import Slice, keyset
from jobsite.people.models import User
from jobsite.words import LONDON, day, joined, many, when
from remedials.visits.choices import PlanState, ProposalState
from remedials.visits.models import Plan, Proposal, Unplanned
from remedials.visits.queries.gone import why_gone
from remedials.visits.rules.times import midnight
from remedials.works.models import Remedial
from remedials.works.queries.lists import WORST_FIRST

OPEN = Observation.objects.filter(ended="")


def plans(*, after: str = "") -> Slice:
    """The plans, the last asked for first. One statement."""
    counts = {
        state.value: Count("proposals", filter=Q(proposals__state=state))
        for state in (ProposalState.OPEN, ProposalState.ACCEPTED, ProposalState.REFUSED)
    }
    found = keyset(Plan.objects.select_related("made_by").annotate(**counts), ("-number",), after=after)
    return Slice([_in_list(plan) for plan in found.rows], found.next)


def _in_list(plan: Any) -> dict[str, str]:
    counted = joined(
        plan.open and f"{plan.open} open",
        plan.accepted and f"{plan.accepted} accepted",
        plan.refused and f"{plan.refused} refused",
    )
    return {
        "name": f"Plan {plan.number}",
        "address": address("visits:plan", plan.pk),
        "days": days_in_words(plan),
        "state": plan.get_state_display(),
        "failed": plan.sentence if plan.state == PlanState.FAILED else "",
        "proposals": counted or ("none" if plan.state == PlanState.READY else ""),
        "asked": f"{when(plan.made_at)} by {plan.made_by}",
    }


def days_in_words(plan: Plan) -> str:
    """The days of a plan: "Mon 8 Feb 2026, 5 days"."""
    return f"{plan.first:%a} {day(plan.first)}, {many(plan.days, 'day')}"


def progress_of(plan: Plan) -> dict[str, Any]:
    """How far a plan has come, for the page that waits for it. One statement."""
    found = Progress.objects.filter(pk=plan.progress).first()
    waiting = found is None or found.state == Progress.State.WAITING
    return {
        "sentence": found.sentence if found and not waiting else "Waiting for the worker to begin.",
        "done": found.done if found else 0,
        "total": found.total if found else 0,
        "begun": not waiting,
        "changed_at": found.changed_at if found else plan.made_at,
    }


def plan_page(plan: Plan, *, now: datetime) -> dict[str, Any]:
    """A plan that was worked out: by day and engineer, its figures, what was left out and why. Ten statements at most."""
    rows = _shown(plan.proposals.all(), now=now)
    unplanned = Unplanned.objects.filter(plan=plan).select_related("remedial__site").order_by("why", "remedial__number")
    return {
        "title": f"Plan {plan.number}",
        "days_said": days_in_words(plan),
        "asked": f"Asked for {when(plan.made_at)} by {plan.made_by}. {plan.get_effort_display().capitalize()} search.",
        "sentence": plan.sentence,
        "days": _by_day(rows),
        "open": sum(row["open"] for row in rows),
        "figures": figures_in_words(plan.figures),
        "compared": compared(plan.figures),
        "unplanned": _by_reason(unplanned),
        "missing": missing_in_words(plan.asked.get("missing", ())),
        "notes": plan.asked.get("notes", []),
        "again": address("visits:plan_new", after=plan.pk, first=plan.first.isoformat(), days=plan.days),
    }


def open_proposals(first: date, last: date, *, now: datetime | None = None) -> list[dict[str, Any]]:
    """What plans propose from `first` to `last`, both included, still open and still possible: the diary's dashed blocks.

    Each with `engineers` (keys), `start` and `end` (instants), `site`, `marks`, `reason` and the addresses to decide on
    it. Eight statements at most.
    """
    begin, until = midnight(first), midnight(last + timedelta(days=1))
    rows = Proposal.objects.filter(state=ProposalState.OPEN, start__lt=until, end__gt=begin)
    return [row for row in _shown(rows, now=now or clock.now()) if row["open"]]


def _shown(proposals: Any, *, now: datetime) -> list[dict[str, Any]]:
    """`proposals` by time, as rows. Eight statements at most."""
    work = Prefetch(
        "remedials",
        Remedial.objects.order_by("number").prefetch_related(Prefetch("observations", OPEN, to_attr="open_items")),
    )
    people = Prefetch("engineers", User.objects.order_by("name", "pk"))
    found = list(proposals.select_related("site", "visit").prefetch_related(work, people).order_by("start", "pk"))
    gone = why_gone([row for row in found if row.state == ProposalState.OPEN], now=now)
    return [_proposal(row, gone.get(row.pk, "")) for row in found]


def _proposal(row: Proposal, gone: str) -> dict[str, Any]:
    work = list(row.remedials.all())
    people = list(row.engineers.all())
    still = row.state == ProposalState.OPEN and not gone
    items = sorted(
        (o for remedial in work for o in remedial.open_items), key=lambda o: (WORST_FIRST.get(o.code, 3), o.made_safe)
    )  # type: ignore[attr-defined]
    marks = [code_mark(o.code, o.made_safe, False, o.needs_code) for o in items]
    start, end = row.start.astimezone(LONDON), row.end.astimezone(LONDON)
    return {
        "key": row.pk,
        "open": still,
        "state": "" if still else row.get_state_display() if not gone else ProposalState.GONE.label,
        "said": gone or row.said,
        "engineers": [user.pk for user in people],
        "names": ", ".join(user.name for user in people),
        "start": row.start,
        "end": row.end,
        "day": start.date(),
        "times": f"{start:%H:%M}–{end:%H:%M}",
        "site": row.site.name,
        "site_key": row.site_id,
        "site_address": address("desk:site", row.site_id),
        "marks": list(dict.fromkeys(marks)),
        "work": [_work(remedial) for remedial in work],
        "minutes": int((row.end - row.start).total_seconds() // 60),
        "drive_minutes": row.drive_minutes,
        "reason": f"{row.reason.rstrip('.')}.",
        "visit": f"Visit {row.visit.number}" if row.visit else "",
        "visit_address": address("visits:visit", row.visit_id) if row.visit_id else "",
        "accept": address("visits:proposal_accept", row.pk) if still else "",
        "refuse": address("visits:proposal_refuse", row.pk) if still else "",
        "elsewhen": _booking(row, work, people, start, end) if still else "",
        "plan": address("visits:plan", row.plan_id),
    }


def _work(remedial: Remedial) -> dict[str, str]:
    return {
        "number": str(remedial.number),
        "address": address("desk:remedial", remedial.pk),
        "work": remedial.work,
        "minutes": many(remedial.minutes, "minute") if remedial.minutes else "",
    }


def _booking(row: Proposal, work: list[Remedial], people: list[User], start: datetime, end: datetime) -> str:
    """The form for booking, filled in with what is proposed, to be changed there."""
    return address(
        "visits:book",
        remedial=[remedial.pk for remedial in work],
        engineers=[user.pk for user in people],
        start=f"{start:%Y-%m-%dT%H:%M}",
        end=f"{end:%Y-%m-%dT%H:%M}",
    )


def _by_day(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The rows of each day that has any, by who goes; in the order of time."""
    days: dict[date, dict[str, list[dict[str, Any]]]] = {}
    for row in rows:
        days.setdefault(row["day"], {}).setdefault(row["names"], []).append(row)
    return [
        {
            "day": f"{on:%A} {day(on)}",
            "people": [{"name": name, "rows": found} for name, found in sorted(days[on].items())],
        }
        for on in sorted(days)
    ]


def figures_in_words(figures: Mapping[str, Any]) -> list[dict[str, str]]:
    """The plan beside what a plain rule would do with the same work: earliest date first, nearest engineer."""
    rule = figures.get("rule")
    if not rule:
        return []
    heads = {
        "planned": "Visits placed",
        "minutes": "Driving, minutes",
        "km": "Driving, kilometres",
        "late": "Visits after their last day to remedy, or not placed by it",
    }
    return [{"what": head, "plan": f"{figures[k]:,}", "rule": f"{rule[k]:,}"} for k, head in heads.items()]


def compared(figures: Mapping[str, Any]) -> str:
    """One sentence on how long it took, in whole seconds; "" for less than one, or where it is not known."""
    seconds = int(figures.get("seconds", 0))
    return f"Worked out in {seconds} s." if seconds else ""


def _by_reason(rows: Iterable[Unplanned]) -> list[dict[str, Any]]:
    found: dict[str, list[dict[str, str]]] = {}
    for row in rows:
        one = _work(row.remedial) | {"site": row.remedial.site.name}
        found.setdefault(row.why, []).append(one)
    return [{"why": why, "rows": found[why]} for why in found]


def missing_in_words(missing: Iterable[Iterable[str]]) -> list[dict[str, Any]]:
    """Where a place is missing: its name, and the form that takes it."""
    pages = {"site": "premises:site_edit", "home": "people:person_edit"}
    return [
        {"name": name, "address": address(pages[kind], UUID(key)), "home": kind == "home"}
        for kind, key, name in missing
    ]


def last_ready(now: datetime) -> Plan | None:
    """The last plan that still proposes something to come: a new one may begin from it. One statement."""
    still = Q(proposals__state=ProposalState.OPEN, proposals__start__gt=now)
    return Plan.objects.filter(still, state=PlanState.READY).order_by("-number").first()


def first_day(now: datetime) -> date:
    """The day that a new plan begins with at first: the next Monday to Friday after today."""
    on = clock.local_day(now) + timedelta(days=1)
    return on + timedelta(days=max(0, 7 - on.weekday()) if on.weekday() > 4 else 0)
