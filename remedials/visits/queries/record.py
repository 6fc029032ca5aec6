"""What a visit's page shows besides the work: what came of it, how the customer stands to it, its moves, what may be done."""

from datetime import datetime
from typing import Any
from uuid import UUID

from jobsite import clock
from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.words import day, joined, span, when
from remedials.visits import policy
from remedials.visits.choices import Answered, AskedHow, LineKind
from remedials.visits.models import Attempt, Confirmation, Visit, VisitLine, VisitMove
from remedials.visits.rules.outcome import FINISHED, NO_ACCESS, PART_DONE, outcome
from remedials.works.states import Stage

DONE = (Stage.DONE, Stage.REVIEWED)


def record_of(visit: Visit, user: User, *, now: datetime) -> dict[str, Any]:
    """The record of a visit in ready strings. Five statements, however much there is."""
    lines = list(visit.lines.select_related("unit", "observation", "remedial").order_by("pk"))
    cancelled = visit.state == Visit.State.CANCELLED
    kept = [line for line in lines if line.active]
    # As long as anything is booked on it still, nobody has given the work back: that must stay possible.
    shut_out = Attempt.objects.before_a_closed_door().filter(visit=visit).exists() and not any(
        line.remedial and line.remedial.stage == Stage.BOOKED for line in kept
    )
    done = sum(_is_done(line) for line in kept)
    came = "" if cancelled else outcome(kept=len(kept), done=done, shut_out=shut_out, over=visit.end <= now)
    may = not cancelled and not shut_out and _may_say(visit, user)
    return {
        "outcome": came,
        "others": [
            _other(line, may) for line in lines if line.kind != LineKind.REMEDIAL and (line.active or cancelled)
        ],
        "confirmation": "" if visit.end <= now else _stands(visit),
        "confirmations": [] if user.subcontractor else [_said(row) for row in _confirmations(visit)],
        "moves": _moves(visit),
        "details": [(head, words) for head, words in _details(visit) if words],
    }


def acts_on(visit: Visit, user: User, *, came: str, now: datetime) -> list[tuple[str, str]]:
    """What this person may do with the visit, of which `came` is the outcome: an address and its words, the first first."""
    if visit.state != Visit.State.BOOKED or came in (FINISHED, NO_ACCESS):
        return []
    office, over = policy.may_book(user), visit.end <= now
    acts = []
    if office and not over:
        if visit.answered != Answered.CONFIRMED:
            acts.append((address("visits:ask", visit.pk), "Ask whether it suits"))
        acts.append((address("visits:answered", visit.pk), "Record their answer"))
        acts.append((address("visits:diary_move", visit.pk), "Move the visit"))
    begun = clock.local_day(visit.start) <= clock.local_day(now)
    if begun and not came.startswith(PART_DONE) and _may_say(visit, user):
        acts.append((address("visits:no_access", visit.pk), "Nobody let us in"))
    if office and not over:
        acts.append((address("visits:cancel", visit.pk), "Cancel the visit"))
    return acts


def _may_say(visit: Visit, user: User) -> bool:
    goes = user.may(Right.DO_WORK) and visit.attendances.filter(engineer=user, cancelled=False).exists()
    return policy.may_book(user) or goes


def _is_done(line: VisitLine) -> bool:
    return line.settled_at is not None or (line.remedial is not None and line.remedial.stage in DONE)


def _other(line: VisitLine, may: bool) -> dict[str, str]:
    open_still = line.active and line.settled_at is None
    return {
        "words": line_words(line),
        "done": f"done {when(line.settled_at)}" if line.settled_at else "",
        "settle": address("visits:settle", line.visit_id, line=line.pk) if may and open_still else "",
    }


def to_settle(visit: Visit) -> list[VisitLine]:
    """The lines besides remedials, those settled already too: the same sent twice is harmless. One statement."""
    rows = visit.lines.filter(active=True).exclude(kind=LineKind.REMEDIAL)
    return list(rows.select_related("unit", "observation").order_by("pk"))


def line_words(line: VisitLine) -> str:
    """What a line other than a remedial is, in words."""
    if line.unit is not None:
        return f"Inspection of {line.unit.name}"
    seen = line.observation
    head = "Look again at what was made safe" if line.kind == LineKind.LOOK_AGAIN else "Call-out"
    return f"{head}: {seen.number} {seen.text}" if seen else head


def _stands(visit: Visit) -> str:
    """How the customer stands to the time, and by when it should be confirmed."""
    if visit.state != Visit.State.BOOKED:
        return ""
    open_still = visit.answered in (Answered.NOT_ASKED, Answered.ASKED)
    by = f"to be confirmed by {day(visit.confirm_by)}" if visit.confirm_by and open_still else ""
    if not by and visit.answered == Answered.NOT_ASKED:
        return "need not be confirmed"
    return joined(str(Answered(visit.answered).label), by)


def _confirmations(visit: Visit) -> list[Confirmation]:
    return list(visit.confirmations.select_related("recorded_by").order_by("at", "pk"))


def _said(row: Confirmation) -> str:
    verb = {"asked": "asked", "confirmed": "said it suits", "cannot": "said it does not suit"}[row.answered]
    how = AskedHow(row.how).label
    head = f"{row.whom} was asked {how}" if row.answered == Answered.ASKED else f"{row.whom} {verb}, {how}"
    by = f"recorded by {row.recorded_by}" if row.recorded_by else ""
    said = joined(f"{head}, about {when(row.start)}", by, when(row.at))
    return f"{said}: {row.words}" if row.words else said


def _moves(visit: Visit) -> list[str]:
    """The moves in sentences, the first one first. Two statements."""
    rows = list(VisitMove.objects.filter(visit=visit).select_related("by").order_by("at", "pk"))
    keys = {key for row in rows for key in [*row.from_engineers, *row.to_engineers]}
    names = dict(User.objects.filter(pk__in=keys).values_list("pk", "name")) if keys else {}
    return [_move(row, names) for row in rows]


def _move(row: VisitMove, names: dict[UUID, str]) -> str:
    before, after = (
        f"{span(start, end)}, {joined(*sorted(names.get(key, '') for key in keys))}"
        for start, end, keys in (
            (row.from_start, row.from_end, row.from_engineers),
            (row.to_start, row.to_end, row.to_engineers),
        )
    )
    why = f": {row.reason}" if row.reason else ""
    return f"From {before} to {after}, by {row.by}, {when(row.at)}{why}"


def _details(visit: Visit) -> list[tuple[str, str]]:
    times = span(visit.outage_start, visit.outage_end) if visit.outage_start and visit.outage_end else ""
    return [
        ("Power off", times),
        ("Outage agreed with", visit.outage_with),
        ("Permits", visit.permits),
        ("Locks of other firms", visit.locks),
        ("Emergency", "yes" if visit.emergency else ""),
        ("Booked in spite of a warning", visit.despite),
    ]
