"""What pages read of visits, as dicts of ready strings."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID

from django.db.models import Q

from inspections.choices import Code
from inspections.models import Observation
from jobsite import clock
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import PartyAtUnit, SecondSource, Site
from jobsite.words import LONDON, day, dialled, late, many, measure, span
from remedials.visits.choices import LineKind
from remedials.visits.models import Attendance, Visit, VisitLine
from remedials.visits.queries.access import must_keep_power
from remedials.visits.queries.at_work import before_work, found_at
from remedials.works.models import Remedial
from remedials.works.queries.around import ground_of
from remedials.works.queries.closing import circuit_name
from remedials.works.queries.lists import observations_by_remedial
from remedials.works.states import Move, Stage, after

POWER = {True: "Power must go off", False: "", None: "Not known yet whether power must go off"}


def begins(on: date) -> datetime:
    """The instant at which a day begins in London, in UTC."""
    return datetime.combine(on, time.min, tzinfo=LONDON).astimezone(UTC)


def bookable(user: User, keys: Iterable[UUID]) -> tuple[list[Remedial], list[Remedial]]:
    """Those of `keys` that this person sees, and all that can be booked at their site with them. Two statements."""
    rows = Remedial.objects.visible_to(user).select_related("site")
    chosen = list(rows.filter(pk__in=list(keys)).order_by("number"))
    if not chosen or len({remedial.site_id for remedial in chosen}) > 1:
        return chosen, chosen
    stages = Q(stage=Stage.APPROVED) | Q(pk__in=[remedial.pk for remedial in chosen])
    return chosen, list(rows.filter(stages, site=chosen[0].site_id).order_by("number"))


def around(remedials: list[Remedial]) -> dict[str, Any]:
    """What to know of the boards that `remedials`, all of one site, are about. Two statements."""
    items = observations_by_remedial(remedials)
    site = remedials[0].site_id
    ground = ground_of([site])[site].around(o.board_id for found in items.values() for o in found)
    return ground | {"people": must_keep_power([site]).get(site, [])}


def visit_page(visit: Visit, user: User, *, today: date) -> dict[str, Any]:
    """A visit (with its site) for the people who go: where, when, what to isolate, what to do. Twenty statements at most."""
    on_it = lines_of([visit], moved_on=True)
    rows = on_it.rows(user, today=today).get(visit.pk, [])
    work = [row for row in rows if not row["moved_on"]]
    to_do = [remedial for line, remedial in on_it.lines if remedial.pk in {row["id"] for row in work if row["close"]}]
    before = before_work(visit.site, to_do, on_it.items)
    for row in work:
        row["before"] = before.get(row["id"], {})
        row["found"] = address("inspections:found", visit.site_id, visit=visit.pk, remedial=row["id"])
    return {
        "id": str(visit.pk),
        "number": str(visit.number),
        "site": visit.site,
        "site_address": address("desk:site", visit.site_id),
        "span": span(visit.start, visit.end),
        "access": visit.access,
        "outage": visit.outage,
        "cancelled": visit.cancelled_reason if visit.state == Visit.State.CANCELLED else "",
        "engineers": ", ".join(a.engineer.name for a in attendances([visit]).get(visit.pk, [])),
        "work": work,
        "moved_on": [row for row in rows if row["moved_on"]],
        "around": ground_of([visit.site_id])[visit.site_id].around(boards_of(work))
        | {"people": must_keep_power([visit.site_id]).get(visit.site_id, [])},
        "sources": second_sources(visit.site_id),
        "contacts": contacts(visit.site, user, on=clock.local_day(visit.start)),
        "map": map_of(visit.site),
        "found": address("inspections:found", visit.site_id, visit=visit.pk) if user.may(Right.INSPECT) else "",
        "found_here": found_at(visit),
        "sheet": address("visits:job_sheet", visit.pk),
        "bring": address("visits:bring", visit.pk),
    }


def contacts(site: Site, user: User, *, on: date) -> list[dict[str, str]]:
    """Whom to ring about the site: its customer and who occupies its units on that day, as far as `user` sees parties.

    `site` with its customer. One statement.
    """
    if user.subcontractor:
        return []
    still = Q(until__isnull=True) | Q(until__gte=on)
    occupiers = PartyAtUnit.objects.filter(still, unit__site=site, role=RoleAtUnit.OCCUPIER, since__lte=on)
    found = occupiers.exclude(party=site.customer_id).select_related("party", "unit").order_by("unit__sort", "pk")
    rows = [("Customer", site.customer)]
    rows += [("Occupier" if row.unit.whole_site else f"Occupier, {row.unit.name}", row.party) for row in found]
    return [{"what": what, "name": p.name, "phone": p.phone, "tel": dialled(p.phone)} for what, p in rows if p.phone]


def map_of(site: Site) -> str:
    """The geo: address (RFC 5870) of a site, for the phone's own map; "" where it has no place on the map."""
    if site.latitude is None or site.longitude is None:
        return ""
    return f"geo:{site.latitude},{site.longitude}"


def second_sources(site_id: UUID) -> list[str]:
    """Every second source of a site in a sentence: what must be isolated besides the supply. One statement."""
    rows = SecondSource.objects.filter(site=site_id, retired_at=None).select_related("board", "circuit__board")
    return [_source(source) for source in rows.order_by("sort", "pk")]


def _source(s: SecondSource) -> str:
    place_of = circuit_name(s.circuit) if s.circuit else s.board.designation
    parts = [
        f"{s.name}, {s.get_kind_display()} at {place_of}",
        s.isolate_supply_side and f"isolate on the supply side: {s.isolate_supply_side}",
        s.isolate_source_side and f"on the source side: {s.isolate_source_side}",
        s.wait_minutes and f"then wait {measure(s.wait_minutes, 'min')}",
    ]
    return "; ".join(part for part in parts if part)


def attendances(visits: Iterable[Visit]) -> dict[UUID, list[Attendance]]:
    """Who goes to each visit, by name. One statement."""
    rows = Attendance.objects.filter(visit__in=[v.pk for v in visits]).select_related("engineer")
    found: dict[UUID, list[Attendance]] = {}
    for row in rows.order_by("engineer__name", "engineer"):
        found.setdefault(row.visit_id, []).append(row)
    return found


@dataclass(frozen=True)
class OnVisits:
    """What is to be done at visits: their lines of work with the remedials, and what those put right."""

    visits: dict[UUID, Visit]
    lines: list[tuple[VisitLine, Remedial]]
    items: dict[UUID, list[Observation]]

    def rows(self, user: User, *, today: date) -> dict[UUID, list[dict[str, Any]]]:
        """By visit, each work in ready strings, with the way to close it for engineers. No statement."""
        found: dict[UUID, list[dict[str, Any]]] = {}
        for line, remedial in self.lines:
            row = _to_do(remedial, self.items.get(remedial.pk, []), line, user)
            visit = self.visits[line.visit_id]
            row["moved_on"] = not line.active and visit.state != Visit.State.CANCELLED
            by = _missed(self.items.get(remedial.pk, []), visit, today) if row["to_come"] and line.active else None
            row |= {"late": late(by, today) or "late", "remedy_by": day(by)} if by else {"late": "", "remedy_by": ""}
            if row["moved_on"]:
                row["power"] = ""  # what goes off is told where the work is done now
            found.setdefault(line.visit_id, []).append(row)
        return found


def lines_of(visits: Iterable[Visit], *, moved_on: bool = False) -> OnVisits:
    """What is to be done at each visit. Two statements.

    Of a cancelled visit: what was on it. Of another: what is on it still, and with `moved_on` what was on it before it
    was booked on a later one.
    """
    by_key = {visit.pk: visit for visit in visits}
    lines = VisitLine.objects.filter(visit__in=by_key, kind=LineKind.REMEDIAL).select_related("remedial")
    of_work = [(line, line.remedial) for line in lines.order_by("remedial__number") if line.remedial]
    cancelled = Visit.State.CANCELLED
    kept = [one for one in of_work if one[0].active or moved_on or by_key[one[0].visit_id].state == cancelled]
    return OnVisits(by_key, kept, observations_by_remedial([remedial for _, remedial in kept]))


def _to_do(remedial: Remedial, items: list[Any], line: VisitLine, user: User) -> dict[str, Any]:
    to_come = after(Stage(remedial.stage), Move.CLOSE) is not None
    closes = line.active and user.may(Right.DO_WORK) and to_come
    return {
        "id": remedial.pk,
        "number": str(remedial.number),
        "work": remedial.work,
        "address": address("desk:remedial", remedial.pk),
        "close": address("works:close", remedial.pk) if closes else "",
        "could_not": address("works:part_done", remedial.pk) if closes and remedial.stage == Stage.BOOKED else "",
        "boards": [o.board_id for o in items],
        "to_come": to_come,
        "marks": [code_mark(o.code, o.made_safe and not o.ended, o.ended == "remedied", o.needs_code) for o in items],
        "minutes": many(remedial.minutes, "minute") if remedial.minutes else "",
        "power": POWER[remedial.power_off] if to_come else "",
        "see_to_first": remedial.see_to_first,
        "stage": "" if remedial.stage == Stage.BOOKED else remedial.get_stage_display(),
    }


def _missed(items: list[Any], visit: Visit, today: date) -> date | None:
    """The day by which a danger was to be remedied, where that is past or will be when the visit comes; None else."""
    limits = [o.remedy_by for o in items if o.remedy_by and not o.ended and o.code != Code.C3]
    by = min(limits, default=None)
    return by if by and by < max(today, clock.local_day(visit.start)) else None


def boards_of(work: list[dict[str, Any]]) -> list[UUID | None]:
    """The boards that the remedials of a visit are about."""
    return [board for row in work for board in row["boards"]]
