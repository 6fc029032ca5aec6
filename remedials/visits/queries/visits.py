"""What pages read of visits, as dicts of ready strings."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from jobsite import clock
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import PartyAtUnit, SecondSource, Site
from jobsite.premises.queries import isolation
from jobsite.words import LONDON, many, measure, span
from remedials.visits.choices import LineKind
from remedials.visits.models import Attendance, Visit, VisitLine
from remedials.visits.queries.access import must_keep_power
from remedials.works.models import Remedial
from remedials.works.queries.around import Ground, ground_of
from remedials.works.queries.closing import circuit_name
from remedials.works.queries.lists import observations_by_remedial
from remedials.works.states import Move, Stage, after

POWER = {True: "Power must go off", False: "", None: "Not known yet whether power must go off"}
COMING = timedelta(days=7)


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


def visit_page(visit: Visit, user: User) -> dict[str, Any]:
    """A visit (with its site) for the people who go: where, when, what to isolate, what to do. Six statements."""
    rows = work_of([visit], user, moved_on=True).get(visit.pk, [])
    work = [row for row in rows if not row["moved_on"]]
    return {
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


def dialled(phone: str) -> str:
    """A telephone number as a tel: address takes it (RFC 3966): digits, with a plus in front where it has one."""
    return ("+" if phone.strip().startswith("+") else "") + "".join(c for c in phone if c.isascii() and c.isdigit())


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


def work_of(visits: Iterable[Visit], user: User, *, moved_on: bool = False) -> dict[UUID, list[dict[str, Any]]]:
    """What is to be done at each visit, with the way to close it for engineers. Two statements.

    Of a cancelled visit: what was on it. Of another: what is on it still, and with `moved_on` what was on it before it
    was booked on a later one.
    """
    by_key = {visit.pk: visit for visit in visits}
    lines = VisitLine.objects.filter(visit__in=by_key, kind=LineKind.REMEDIAL).select_related("remedial")
    of_work = [(line, line.remedial) for line in lines.order_by("remedial__number") if line.remedial]
    cancelled = Visit.State.CANCELLED
    kept = [one for one in of_work if one[0].active or moved_on or by_key[one[0].visit_id].state == cancelled]
    items = observations_by_remedial([remedial for _, remedial in kept])
    found: dict[UUID, list[dict[str, Any]]] = {}
    for line, remedial in kept:
        row = _to_do(remedial, items.get(remedial.pk, []), line, user)
        row["moved_on"] = not line.active and by_key[line.visit_id].state != Visit.State.CANCELLED
        if row["moved_on"]:
            row["power"] = ""  # what goes off is told where the work is done now
        found.setdefault(line.visit_id, []).append(row)
    return found


def _to_do(remedial: Remedial, items: list[Any], line: VisitLine, user: User) -> dict[str, Any]:
    to_come = after(Stage(remedial.stage), Move.CLOSE) is not None
    closes = line.active and user.may(Right.DO_WORK) and to_come
    return {
        "number": str(remedial.number),
        "work": remedial.work,
        "address": address("desk:remedial", remedial.pk),
        "close": address("works:close", remedial.pk) if closes else "",
        "boards": [o.board_id for o in items],
        "off": _off(remedial, items) if closes else "",
        "marks": [code_mark(o.code, o.made_safe and not o.ended, o.ended == "remedied", o.needs_code) for o in items],
        "minutes": many(remedial.minutes, "minute") if remedial.minutes else "",
        "power": POWER[remedial.power_off] if to_come else "",
        "see_to_first": remedial.see_to_first,
        "stage": "" if remedial.stage == Stage.BOOKED else remedial.get_stage_display(),
    }


def _off(remedial: Remedial, items: list[Any]) -> str:
    """The page that says what to switch off for it; "" where power may stay on, or it names no board."""
    works = [work for o in items if (work := isolation.work_of(o.board_id, o.circuit_id)) is not None]
    return isolation.where_to_ask(remedial.site_id, works) if works and remedial.power_off is not False else ""


def my_day(user: User, *, now: datetime) -> dict[str, list[dict[str, Any]]]:
    """A person's visits: today, coming in a week, and those past with something on them not closed yet.

    Four statements.
    """
    today = clock.local_day(now)
    begin, end = begins(today), begins(today + timedelta(days=1))
    mine = Visit.objects.filter(attendances__engineer=user, attendances__cancelled=False, state=Visit.State.BOOKED)
    left = Q(end__lte=begin, lines__active=True, lines__remedial__stage=Stage.BOOKED)
    rows = mine.filter(Q(end__gt=begin, start__lt=end + COMING) | left).select_related("site").distinct()
    visits = list(rows.order_by("start", "pk"))
    work = work_of(visits, user)
    grounds = ground_of(visit.site_id for visit in visits)
    people = must_keep_power({visit.site_id for visit in visits})
    shown = [(visit, _in_short(visit) | _to_know(visit, work.get(visit.pk, []), grounds, people)) for visit in visits]
    return {
        "left": [row for visit, row in shown if visit.end <= begin],
        "today": [row for visit, row in shown if visit.end > begin and visit.start < end],
        "coming": [row for visit, row in shown if visit.start >= end],
    }


def _to_know(
    visit: Visit, work: list[dict[str, Any]], grounds: dict[UUID, Ground], people: dict[UUID, list[str]]
) -> dict[str, Any]:
    around = grounds[visit.site_id].around(boards_of(work)) | {"people": people.get(visit.site_id, [])}
    return {"work": work, "around": around}


def boards_of(work: list[dict[str, Any]]) -> list[UUID | None]:
    """The boards that the remedials of a visit are about."""
    return [board for row in work for board in row["boards"]]


def _in_short(visit: Visit) -> dict[str, Any]:
    return {
        "number": str(visit.number),
        "address": address("visits:visit", visit.pk),
        "span": span(visit.start, visit.end),
        "site": visit.site.name,
        "where": visit.site.one_line,
        "access": visit.access,
        "outage": visit.outage,
    }
