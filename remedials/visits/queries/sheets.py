"""The job sheet of a visit: all that whoever goes must know on paper. Never a price, an alarm code or who is vulnerable."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, Q

from inspections.models import Observation
from jobsite import clock
from jobsite.documents import Made, make_document
from jobsite.firm.queries import the_firm
from jobsite.people.models import User
from jobsite.premises.isolation import Work
from jobsite.premises.isolation.words import Told
from jobsite.premises.queries.isolation import each_in_short
from jobsite.words import day, joined, many, span
from remedials.visits.choices import LineKind
from remedials.visits.models import OccupierNote, SiteKey, Visit, VisitLine
from remedials.visits.queries.access import must_keep_power, to_see_to
from remedials.visits.queries.bring import crew_words, materials, parts_to_come
from remedials.visits.queries.visits import attendances, contacts, second_sources
from remedials.works.models import Remedial, RequiredReading
from remedials.works.queries.closing import Closing
from remedials.works.queries.isolating import READINGS_IN_ORDER, worked_on
from remedials.works.queries.locks import locks_of
from remedials.works.queries.pages import readings_asked, where

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "job-sheet.typ"
POWER = {True: "must go off", False: "may stay on for this work", None: "not known yet whether it must go off: ask"}


def job_sheet(visit: Visit, user: User, *, now: datetime) -> Made:
    """The job sheet of `visit` (with its site and customer) as a PDF, as far as `user` sees parties.

    The same facts at the same instant make the same bytes. Bounded statements, however much work there is.
    """
    facts = sheet_facts(visit, user)
    title = f"Job sheet, visit {visit.number}"
    about = f"{visit.site.name}, visit {visit.number}"
    return make_document(TEMPLATE, facts, title=title, about=about, firm=facts["firm"][0], now=now)


def sheet_facts(visit: Visit, user: User) -> dict[str, Any]:
    """What the template takes: ready words only."""
    firm, on = the_firm(), clock.local_day(visit.start)
    lines = list(
        VisitLine.objects.filter(visit=visit, active=True)
        .select_related("remedial", "unit", "observation")
        .order_by("remedial__number", "pk")
    )
    work = _with_all([line.remedial_id for line in lines if line.remedial_id])
    crew = [a.engineer.name for a in attendances([visit]).get(visit.pk, []) if not a.cancelled]
    first = to_see_to(work, on)
    return {
        "firm": [line for line in (firm.name, firm.phone) if line],
        "cancelled": visit.cancelled_reason if visit.state == Visit.State.CANCELLED else "",
        "site": visit.site.name,
        "particulars": _particulars(visit, user, crew, on),
        "off": _off(visit),
        "sources": second_sources(visit.site_id),
        "first": _first(work, first),
        "parts": parts_to_come(work, visit),
        "crew": crew_words(work, len(crew)),
        "bring": materials(work),
        "work": _work(visit, work, on),
        "others": [_other(line) for line in lines if line.kind != LineKind.REMEDIAL],
    }


def _with_all(keys: Iterable[UUID]) -> list[Remedial]:
    """The remedials with their observations and required readings. Three statements."""
    found = Observation.objects.select_related("board", "circuit__board").order_by("number")
    asked = RequiredReading.objects.select_related("circuit__board")
    asked = asked.order_by(*READINGS_IN_ORDER)
    rows = Remedial.objects.filter(pk__in=list(keys)).select_related("unit").order_by("number")
    return list(rows.prefetch_related(Prefetch("observations", found), Prefetch("required_readings", asked)))


def _particulars(visit: Visit, user: User, crew: list[str], on: date) -> list[list[str]]:
    site = visit.site
    rings = [[one["what"], joined(one["name"], one["phone"])] for one in contacts(site, user, on=on)]
    rows = [
        ["Where", joined(site.name, site.one_line)],
        ["When", span(visit.start, visit.end)],
        ["Who", ", ".join(crew)],
        *rings,
        *_whom_to_ask(visit, user),
        ["Must not lose power", "\n".join(must_keep_power([site.pk]).get(site.pk, []))],
        ["Access", visit.access],
        ["To the site", site.access_notes],
        ["Keys", "\n".join(_keys(site.pk))],
        ["Permits", visit.permits],
        ["Others' locks", visit.locks],
    ]
    return [row for row in rows if row[1]]


def _whom_to_ask(visit: Visit, user: User) -> list[list[str]]:
    """Who lets in at the units of the work, and when best; not what to mind about them, which stays on the screen."""
    if user.subcontractor:
        return []
    of_work = Q(unit__remedials__lines__visit=visit, unit__remedials__lines__active=True) | Q(
        unit__visit_lines__visit=visit
    )
    notes = OccupierNote.objects.filter(of_work).select_related("unit").distinct().order_by("unit__sort", "pk")
    return [
        [
            "To be let in" if n.unit.whole_site else f"To be let in, {n.unit.name}",
            joined(n.contact, n.phone, n.best_times),
        ]
        for n in notes
    ]


def _keys(site: UUID) -> list[str]:
    rows = SiteKey.objects.filter(site=site, given_back_at=None).select_related("out_to").order_by("tag")
    return [
        joined(f"Tag {key.tag}: {key.what}", f"out to {key.out_to}" if key.out_to else key.place and f"at {key.place}")
        for key in rows
    ]


def _off(visit: Visit) -> str:
    agreed = f"agreed with {visit.outage_with}" if visit.outage_with else ""
    time = span(visit.outage_start, visit.outage_end) if visit.outage_start and visit.outage_end else ""
    return joined(visit.outage, agreed, time)


def _first(work: list[Remedial], unmet: dict[UUID, Any]) -> list[str]:
    """What must be seen to before work begins: each thing once, then what stands with a remedial."""
    rows = {row.pk: row for found in unmet.values() for row in found}
    said = [
        f"{row.get_kind_display().capitalize()}: {row.what} ({row.owner}, by {day(row.by)})" for row in rows.values()
    ]
    return said + [f"Remedial {r.number}: {r.see_to_first}" for r in work if r.see_to_first]


def _other(line: VisitLine) -> str:
    if line.unit:
        return f"Inspection: {line.unit.name}"
    about = f"observation {line.observation.number}, {line.observation.text}" if line.observation else ""
    return f"{line.get_kind_display().capitalize()}: {about}"


def _work(visit: Visit, work: list[Remedial], on: date) -> list[dict[str, Any]]:
    told = _isolation(visit, work)
    needs = [need for remedial in work for need in remedial.required_readings.all()]
    asked = readings_asked(Closing(work[0], [], [], needs, []), on=on) if needs else []
    tests: dict[UUID, list[dict[str, str]]] = defaultdict(list)
    for need, row in zip(needs, asked, strict=True):
        limit = joined(row["limit"], row["basis"]) or f"limit to be entered: {row['enter']}"
        tests[need.remedial_id].append({"what": row["what"], "circuit": row["circuit"], "limit": limit})
    return [_remedial(remedial, told.get(remedial.pk, {}), tests[remedial.pk]) for remedial in work]


def _isolation(visit: Visit, work: list[Remedial]) -> dict[UUID, dict[str, Any]]:
    """What to switch off for each remedial, whether or not it must: on paper nobody can ask further. By one reading of the
    record; missing where it names no board.
    """
    asked: dict[UUID, list[Work]] = {}
    for remedial in work:
        circuits = [need.circuit for need in remedial.required_readings.all()]
        asked[remedial.pk] = worked_on(remedial.observations.all(), circuits)
    return each_in_short(visit.site, asked, locks=locks_of(visit.site_id)) if any(asked.values()) else {}


def _remedial(remedial: Remedial, off: dict[str, Any], tests: list[dict[str, str]]) -> dict[str, Any]:
    proof = [
        "a photograph after the work" if remedial.photo_required else "",
        f"certificate: {remedial.certificate_kind}" if remedial.certificate_kind else "",
        "notifiable" if remedial.notifiable else "",
    ]
    return {
        "number": str(remedial.number),
        "work": remedial.work,
        "unit": "" if remedial.unit.whole_site else remedial.unit.name,
        "found": [
            {"code": o.code, "text": o.text, "where": where(o), "number": str(o.number)}
            for o in remedial.observations.all()
        ],
        "facts": [
            row
            for row in (
                ["Power", POWER[remedial.power_off]],
                ["Skill", remedial.skill],
                ["Time", many(remedial.minutes, "minute") if remedial.minutes else ""],
                ["Proof", joined(*proof)],
            )
            if row[1]
        ],
        "isolation": _told(off["told"]) if off.get("told") else None,
        "untold": _untold(off),
        "tests": tests,
    }


def _untold(off: dict[str, Any]) -> str:
    """Why what to switch off cannot be told, or not for all of it; "" where it is."""
    if not off:
        return "no board is named"
    return "something that this is about was taken out of the record" if off["gone"] else ""


def _told(told: Told) -> dict[str, Any]:
    def lines(rows: Iterable[Any]) -> list[str]:
        return [joined(row.what, *row.more, by="; ") for row in rows]

    return {
        "points": lines(told.points),
        "no_point": list(told.no_point),
        "sure": list(told.sure),
        "dead": lines(told.dead),
        "live": lines(told.live),
        "cautions": list(told.cautions),
        "locks": list(told.locks),
        "loads": list(told.loads),
    }
