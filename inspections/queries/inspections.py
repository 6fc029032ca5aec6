"""The list of inspections, and the pages of one: while it is written, after issue, and its codes under review."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Count, Q, QuerySet

from inspections import rules
from inspections.choices import InspectionKind, InspectionState, Outcome
from inspections.models import Inspection, InspectionDue, Limitation, Observation
from inspections.queries import shown
from inspections.queries.papers import papers_of
from inspections.standards.law import CAUTION
from jobsite import words
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.paging import Slice, keyset
from jobsite.people.models import User

ORDER = ("-inspected_on", "-number")
HEADS = ("Number", "Site", "Kind", "Whose", "Inspected", "State", "Assessment", "Observations", "Not reviewed")


def found(user: User, *, text: str = "", state: str = "") -> QuerySet[Inspection]:
    """The inspections that `user` may see, narrowed by words of site, firm or reference, and by state."""
    rows = Inspection.objects.visible_to(user).select_related("site")
    if text:
        named = Q(site__name__icontains=text) | Q(firm_name__icontains=text) | Q(reference__icontains=text)
        rows = rows.filter(named | Q(number=int(text)) if text.isdecimal() and len(text) < 15 else named)
    if state in InspectionState.values:
        rows = rows.filter(state=state)
    elif state == "to-review":
        rows = rows.filter(
            state=InspectionState.ISSUED, observations__reviewed=False, observations__ended=""
        ).distinct()
    return rows


def inspections(user: User, *, text: str = "", state: str = "", after: str = "") -> Slice:
    """One page of the list, newest first, as dicts of ready strings. Two statements."""
    part = keyset(found(user, text=text, state=state), ORDER, after=after)
    return Slice(_with_counts(part.rows), part.next)


def cells(user: User, *, text: str = "", state: str = "") -> Iterable[list[Any]]:
    """The whole list for a file: the same rows below `HEADS`."""
    for row in _with_counts(list(found(user, text=text, state=state).order_by(*ORDER))):
        yield [row[name] for name in ("number", "site", "kind", "whose", "day", "state", "outcome", "count", "waiting")]


def _with_counts(rows: list[Inspection]) -> list[dict[str, Any]]:
    waiting = Q(reviewed=False, ended="", draft=False)
    counts = {
        row["inspection"]: row
        for row in Observation.objects.filter(inspection__in=[r.pk for r in rows])
        .values("inspection")
        .annotate(all=Count("pk"), waiting=Count("pk", filter=waiting))
    }
    return [_list_row(row, counts.get(row.pk, {"all": 0, "waiting": 0})) for row in rows]


def _list_row(row: Inspection, counts: dict[str, int]) -> dict[str, Any]:
    return {
        "href": address("inspections:inspection", row.pk),
        "number": row.number,
        "site": row.site.name,
        "kind": row.get_kind_display(),
        "whose": row.firm_name if row.other_firm else "our own",
        "day": words.day(row.inspected_on),
        "state": row.get_state_display(),
        "outcome": row.outcome,
        "count": str(counts["all"]),
        "waiting": str(counts["waiting"] or ""),
    }


# --- one inspection ---------------------------------------------------------------------------------------------------


def report_page(inspection: Inspection, today: date) -> dict[str, Any]:
    """An issued report: both answers, counts, limitations, observations as they stand today. Ten statements."""
    observations, many = in_report_order(observations_of(inspection)), many_units(inspection)
    left = [o for o in observations if not o.ended]
    open_codes = [o.code for o in left if o.dangerous]
    disagree = inspection.outcome_written not in ("", inspection.outcome)
    return {
        "title": shown.title(inspection),
        "facts": shown.particulars(inspection) + many["covers"],
        "issued": words.when(inspection.issued_at),
        "written": Outcome(inspection.outcome_written).label if inspection.other_firm else "",
        "outcome": inspection.outcome,
        "basis": inspection.outcome_basis,
        "disagree": disagree,
        "action": rules.asks_for_action(o.code for o in observations),
        "open": rules.codes_in_words(rules.count_codes(open_codes)) if open_codes else "none",
        "counts": _count_rows(observations),
        "limitations": limitation_rows(inspection, many["several"]),
        "rows": [_report_row(o, many["several"], today) for o in observations],
        "waiting": sum(1 for o in observations if not o.reviewed and not o.ended),
        "dues": _dues(inspection),
        "law": CAUTION,
        "stands": bool(observations) and not left and inspection.state == InspectionState.ISSUED,
        "in_force": inspection.state == InspectionState.ISSUED,
        "papers": papers_of(inspection, today),
        **shown.reissues(inspection),
    }


def observations_of(inspection: Inspection, *prefetch: Any) -> list[Any]:
    """Its observations by number with what is `prefetch`ed, else with how many danger notices each has. One statement at least."""
    rows = inspection.observations.select_related("unit", "board", "circuit").order_by("number")
    if not prefetch:
        rows = rows.annotate(noticed=Count("danger_notices"))
    return list(rows.prefetch_related(*prefetch))


def in_report_order(observations: Iterable[Any]) -> list[Any]:
    """As they stand in the report: by their items, those without one after them by number."""
    return sorted(observations, key=lambda o: rules.report_order(o.item, o.number))


def many_units(inspection: Inspection) -> dict[str, Any]:
    """What it covers in words (`covers`), and whether that is several units. Three statements."""
    covers = shown.covers(inspection)
    return {"covers": covers, "several": any(head == "Units" and ", " in said for head, said in covers)}


def limitation_rows(inspection: Inspection, several: bool) -> list[dict[str, Any]]:
    """What it did not cover, in words. One statement."""
    rows = Limitation.objects.filter(inspection=inspection).select_related("unit", "board", "covered_by").order_by("pk")
    return [
        {
            "id": str(row.pk),
            "what": row.what,
            "more": ", ".join(
                filter(
                    None,
                    [
                        row.unit.name if row.unit and several else "",
                        row.board.designation if row.board else "",
                        row.why,
                        f"agreed with {row.agreed_with}" if row.agreed_with else "",
                    ],
                )
            ),
            "covered": f"covered by {row.covered_by} of {words.day(row.covered_by.inspected_on)}"
            if row.covered_by
            else "",
        }
        for row in rows
    ]


def _report_row(observation: Observation, several: bool, today: date) -> dict[str, Any]:
    return {
        "href": address("desk:observation", observation.pk),
        "number": str(observation.number),
        "item": observation.item,
        "where": shown.where(observation, with_unit=several),
        "text": observation.text,
        "mark": shown.mark(observation),
        "written": shown.written(observation),
        "first": words.day(observation.first_recorded_on),
        "age": words.since(observation.first_recorded_on, today),
        "ended": f"{observation.get_ended_display()} {words.day(observation.ended_on)}" if observation.ended else "",
        "reviewed": observation.reviewed,
        **shown.dues(observation, today),
    }


def _count_rows(observations: list[Observation]) -> list[dict[str, Any]]:
    """For each code: how many the report wrote, how many are in force, how many of those are open."""
    wrote = rules.count_codes(rules.plain_code(o.code_written) for o in observations)
    now = rules.count_codes(o.code for o in observations)
    left = rules.count_codes(o.code for o in observations if not o.ended)
    return [
        {
            "mark": code_mark(code) if code else "no code",
            "written": str(wrote[code]),
            "force": str(now[code]),
            "open": str(left[code]),
        }
        for code in now
        if wrote[code] or now[code]
    ]


def _dues(inspection: Inspection) -> list[dict[str, Any]]:
    rows = InspectionDue.objects.filter(after=inspection).select_related("unit").order_by("unit__sort")
    return [
        {
            "unit": "" if row.unit.whole_site else row.unit.name,
            "day": words.day(row.due_on),
            "basis": row.basis,
            "by_law": row.by_law,
        }
        for row in rows
    ]


STATES = [("to-review", "codes to review"), *InspectionState.choices]
KINDS = dict(InspectionKind.choices)
