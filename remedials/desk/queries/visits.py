"""Visits and getting in as the desk's pages show them beside a site or a remedial, read in the row's own statement."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet

from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.words import WEEKDAYS, day, many, near_day, span, when
from remedials.desk.queries.columns import day_of, joined, listed, moment_of
from remedials.visits.choices import Answered, AttemptHow
from remedials.visits.models import (
    AccessTime,
    Attempt,
    Attendance,
    ClosedDays,
    Proposal,
    SeeTo,
    SiteKey,
    Visit,
    VisitLine,
    VisitMove,
)
from remedials.visits.rules.outcome import outcome as what_came
from remedials.works.states import Stage

COMING = timedelta(hours=12)  # a visit of today stands among those to come until the evening
PAST_SHOWN = 12
DONE = (Stage.DONE, Stage.REVIEWED)


def own(visits: QuerySet[Visit], user: User) -> QuerySet[Visit]:
    """Those of `visits` that `user` may see: a subcontractor sees own visits only."""
    return visits.filter(attendances__engineer=user) if user.subcontractor else visits


def _with_outcome(visits: QuerySet[Visit], user: User) -> QuerySet[Visit]:
    going = Q(cancelled=False) | Q(visit__state=Visit.State.CANCELLED)
    crew = Attendance.objects.filter(going, visit=OuterRef("pk")).order_by("engineer__name")
    done = Q(lines__remedial__stage__in=DONE) | Q(lines__settled_at__isnull=False)
    kept = Q(lines__active=True)
    return own(visits, user).annotate(
        crew=listed(crew, name="engineer__name"),
        kept=Count("lines", filter=kept, distinct=True),
        done=Count("lines", filter=kept & done, distinct=True),
        shut_out=Exists(Attempt.objects.before_a_closed_door().filter(visit=OuterRef("pk"))),
    )


FIELDS = {
    "id": "id", "number": "number", "start": "start", "end": "end", "state": "state", "outage": "outage", "crew": "crew",
    "answered": "answered", "confirm": "confirm_by", "why": "cancelled_reason", "kept": "kept", "done": "done",
    "shut_out": "shut_out",
}  # fmt: skip


def coming_column(user: User, *, now: datetime) -> Any:
    """The booked visits of a site that are still to come, the next one first."""
    rows = Visit.objects.filter(site=OuterRef("pk"), state=Visit.State.BOOKED, end__gte=now - COMING)
    return listed(_with_outcome(rows, user).order_by("start"), **FIELDS)


def past_column(user: User, *, now: datetime) -> Any:
    """The last visits of a site that were, or were cancelled, the latest first."""
    over = Q(end__lt=now - COMING) | Q(state=Visit.State.CANCELLED)
    rows = _with_outcome(Visit.objects.filter(over, site=OuterRef("pk")), user)
    return listed(rows.order_by("-start")[:PAST_SHOWN], **FIELDS)


def of_remedial_column(user: User) -> Any:
    """Every visit that a remedial was ever on, with its moves, the latest first."""
    moves = VisitMove.objects.filter(visit=OuterRef("pk")).order_by("at")
    lines = VisitLine.objects.filter(remedial=OuterRef(OuterRef("pk")))
    rows = _with_outcome(Visit.objects.filter(pk__in=lines.values("visit")), user)
    moved = listed(moves, start="from_start", end="from_end", why="reason", who="by__name", at="at")
    on = Exists(VisitLine.objects.filter(visit=OuterRef("pk"), remedial=OuterRef(OuterRef("pk")), active=True))
    return listed(rows.annotate(moved=moved, on=on).order_by("-start"), **FIELDS, moved="moved", active="on")


def visit_row(visit: dict[str, Any], *, now: datetime, active: bool = True) -> dict[str, Any]:
    """A visit in ready strings, with what came of it or how the customer stands to its time."""
    start, end = datetime.fromisoformat(visit["start"]), datetime.fromisoformat(visit["end"])
    return {
        "href": address("visits:visit", visit["id"]),
        "number": str(visit["number"]),
        "when": span(start, end),
        "crew": joined(*(person["name"] for person in visit["crew"])) or "nobody",
        "outage": visit["outage"],
        "outcome": outcome(visit, over=end <= now),
        "off": "" if active or visit["state"] == Visit.State.CANCELLED else "taken off this visit",
    }


def outcome(visit: dict[str, Any], *, over: bool) -> str:
    """What came of a visit that is over, or how the customer stands to one that is to come."""
    if visit["state"] == Visit.State.CANCELLED:
        return f"cancelled: {visit['why']}"
    if came := what_came(kept=visit["kept"], done=visit["done"], shut_out=visit["shut_out"], over=over):
        return came
    if visit["answered"] == Answered.NOT_ASKED and not visit["confirm"]:
        return ""
    return str(Answered(visit["answered"]).label)


def moves_words(visit: dict[str, Any]) -> list[str]:
    """The moves of a visit in sentences, the first one first."""
    return [
        joined(
            f"moved from {span(moment_of(move['start']), moment_of(move['end']))}",  # type: ignore[arg-type]
            f"by {move['who']}, {when(moment_of(move['at']))}",
        )
        + (f": {move['why']}" if move["why"] else "")
        for move in visit["moved"]
    ]


def proposals_column() -> Any:
    """What a plan proposes for a remedial and nobody has decided yet."""
    rows = Proposal.objects.filter(remedials=OuterRef("pk"), state="open").order_by("-plan__made_at", "start")
    crew = Proposal.engineers.through.objects.filter(proposal=OuterRef("pk")).order_by("user__name")
    named = rows.annotate(crew=listed(crew, name="user__name"))
    return listed(named, start="start", end="end", reason="reason", plan="plan_id", crew="crew")


def proposal_row(proposal: dict[str, Any]) -> dict[str, str]:
    """A proposal in ready strings."""
    return {
        "when": span(moment_of(proposal["start"]), moment_of(proposal["end"])),  # type: ignore[arg-type]
        "crew": joined(*(person["name"] for person in proposal["crew"])) or "nobody",
        "reason": proposal["reason"],
        "href": address("visits:plan", proposal["plan"]),
    }


# --- getting in -------------------------------------------------------------------------------------------------------


def access_columns(today: date) -> dict[str, Any]:
    """What the page of a site says of getting in, as columns by name."""
    here = {"site": OuterRef("pk")}
    times = AccessTime.objects.filter(**here).order_by(F("unit__sort").asc(nulls_first=True), "weekdays", "start")
    closed = ClosedDays.objects.filter(**here, last__gte=today).order_by("first", "pk")
    tried = Attempt.objects.filter(**here).order_by("-at", "-pk")
    asked = SeeTo.objects.filter(**here, withdrawn_at=None).filter(Q(met_on=None) | Q(holds_until__lt=today))
    keys = SiteKey.objects.filter(**here, given_back_at=None).order_by("out_to__name", "tag")
    return {
        "access_rows": listed(times, days="weekdays", start="start", end="end", note="note", unit="unit__name"),
        "closed_rows": listed(closed, first="first", last="last", why="why", unit="unit__name"),
        "tried_rows": listed(tried[:1], at="at", how="how", got_in="got_in", next="next_on", whom="whom"),
        "asked_rows": listed(asked.order_by("by", "pk"), what="what", by="by", owner="owner__name", met="met_on"),
        "key_rows": listed(keys, what="what", place="place", out_to="out_to__name", back="back_by"),
    }


def access_lines(site: Any, user: User, today: date) -> list[tuple[str, str]]:
    """How one gets in at `site` (read with `access_columns`): a head and a line for each thing that is known."""
    lines = [("Open to us", joined(*(_time(row) for row in site.access_rows), by="; "))]
    lines += [("Closed", joined(*(_closed(row) for row in site.closed_rows), by="; "))]
    lines += [("See to first", joined(*(_asked(row, today) for row in site.asked_rows), by="; "))]
    lines += [("Keys", joined(*(_key(row, today) for row in site.key_rows), by="; "))]
    if not user.subcontractor:
        lines += [("Last try", _tried(row, today)) for row in site.tried_rows]
    return [(head, line) for head, line in lines if line]


def _of(unit: str | None) -> str:
    return f" ({unit})" if unit else ""


def _time(row: dict[str, Any]) -> str:
    days = joined(*(WEEKDAYS[number] for number in sorted(row["days"])))
    start, end = (time.fromisoformat(row[name]) for name in ("start", "end"))
    return joined(f"{days} {start:%H:%M} to {end:%H:%M}", row["note"]) + _of(row["unit"])


def _closed(row: dict[str, Any]) -> str:
    first, last = day(day_of(row["first"])), day(day_of(row["last"]))
    return f"{first if first == last else f'{first} to {last}'}: {row['why']}{_of(row['unit'])}"


def _asked(row: dict[str, Any], today: date) -> str:
    again = " again" if row["met"] else ""
    return f"{row['what']}{again}, {row['owner']} by {near_day(day_of(row['by']), today)}"


def _key(row: dict[str, Any], today: date) -> str:
    if not row["out_to"]:
        return joined(f"{row['what']} is with us", row["place"])
    back = f", back by {near_day(day_of(row['back']), today)}" if row["back"] else ""
    return f"{row['what']} is out with {row['out_to']}{back}"


def _tried(row: dict[str, Any], today: date) -> str:
    came = "let in" if row["got_in"] else "not let in"
    again = f", try again {near_day(day_of(row['next']), today)}" if row["next"] else ""
    return f"{when(moment_of(row['at']))}, {AttemptHow(row['how']).label} ({row['whom']}): {came}{again}"


def keys_out(site: Any) -> str:
    """How many keys of `site` are out, in words; "" where none is."""
    out = sum(bool(row["out_to"]) for row in site.key_rows)
    return many(out, "key") + " out" if out else ""
