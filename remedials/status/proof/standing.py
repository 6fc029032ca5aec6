"""How a site or unit stands as a document, and the schedule of what is still to be done there: both from the same rows."""

from datetime import date, datetime
from typing import Any

from inspections.choices import Code
from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.people.names import words_as_customers_read
from jobsite.refused import Refused
from jobsite.words import day, joined, late, since, span
from remedials.status import facts, rules
from remedials.status.proof.kinds import Kind
from remedials.status.proof.places import firm_lines, place_of, where
from remedials.status.proof.said import Said
from remedials.status.queries import standing_in
from remedials.status.queries.standing import not_known, whose_report
from remedials.works.states import Stage

MOST_OPEN, MOST_CLOSED = 500, 200
SAFE = {"locked": "isolated and locked", "covered": "covered", "disconnected": "disconnected"}
GONE = "This place is no longer on record here."


def outstanding(scope: facts.Scope, *, now: datetime) -> Said:
    """The schedule of outstanding works: every open item, the most dangerous first. Seven statements."""
    return _said(Kind.OUTSTANDING, scope, {}, now)


def status(scope: facts.Scope, *, now: datetime) -> Said:
    """How it stands, in the words of the customer's page, with every open item and what was closed. Raises Refused."""
    page = standing_in(scope, now=now)
    if page is None:
        raise Refused(GONE)
    more = {
        "first_words": list(page.head.first_words),
        "danger_now": page.head.danger_now,
        "reports": [
            _named(report, "title by outcome outcome_why outcome_written extent complete") for report in page.reports
        ],
        "limitations": [_named(limitation, "what why inspected") for limitation in page.limitations],
        "next": [_named(due, "unit due late basis") for due in page.next],
    }
    return _said(Kind.STATUS, scope, more, now)


def _named(row: object, names: str) -> dict[str, str]:
    return {name: getattr(row, name) for name in names.split()}


def _said(kind: Kind, scope: facts.Scope, more: dict[str, Any], now: datetime) -> Said:
    firm, read, today = the_firm(), words_as_customers_read(), clock.local_day(now)
    observations = facts.observations_in(scope)
    remedies = facts.remedies_of(observations, scope)
    still_open = sorted((o for o in observations if not o.ended), key=_worst_first)
    closed = [o for o in observations if o.ended and o.ended not in facts.UNSPOKEN]
    closed.sort(key=lambda o: (facts.closed_on(o), o.number), reverse=True)
    told = {
        "place": joined(place_of(scope), scope.site.one_line),
        "on": day(today),
        "open": [_open(o, remedies.get(o.pk, []), scope, now) for o in still_open[:MOST_OPEN]],
        "open_more": max(0, len(still_open) - MOST_OPEN),
        "counts": _counts(still_open),
        "law": any(o.remedy_by_law for o in still_open),
        **more,
    }
    if kind == Kind.STATUS:
        told["closed"] = [_closed(o, observations, remedies.get(o.pk, []), scope) for o in closed[:MOST_CLOSED]]
        told["closed_more"] = max(0, len(closed) - MOST_CLOSED)
    else:  # in "How it stands" the first words say it
        told["not_known"] = not_known(scope, observations, read, now=now)
    return Said(
        kind=kind,
        title=kind.label,
        place=place_of(scope),
        firm=firm.name,
        facts=read.everywhere(told) | {"firm": firm_lines(firm)},
        on=today,
        site=scope.site.pk,
        unit=scope.units[0].pk if scope.one_unit else None,
    )


def _worst_first(o: Any) -> tuple[bool, int, date, int]:
    return not (o.code == "C1" and not o.safe_at), rules.ORDER.index(o.code), o.remedy_by or date.max, o.number


def _counts(rows: list[Any]) -> list[list[str]]:
    """How many there are of each code, as pairs of the code and the words; codes without any are left out."""
    pairs = [(code, sum(o.code == code for o in rows)) for code in rules.ORDER]
    return [[code, str(count)] for code, count in pairs if count]


def _open(o: Any, remedies: list[Any], scope: facts.Scope, now: datetime) -> dict[str, Any]:
    today = clock.local_day(now)
    by = o.remedy_by if o.code != "C3" else None
    return {
        "code": o.code,
        "meaning": Code(o.code).label if o.code else "no competent person has looked at it yet",
        "number": str(o.number),
        "where": where(o, scope),
        "text": o.text,
        "safe": f"made safe for now on {day(clock.local_day(o.safe_at))}: {SAFE[o.safe_how]}" if o.safe_at else "",
        "notice": _notice(o),
        "advised": f"Until it is put right: {o.advised}" if o.advised else "",
        "waits": _waits(o, today),
        "works": [work for row in remedies if (work := _work(o, row, now))],
        "undecided": rules.undecided_words(o.code),
        "by": day(by),
        "late": late(by, today),
        "basis": joined(o.remedy_basis, whose_report(o), by=" ") if by else "",
        "age": _age(o.first_recorded_on, today),
    }


def _age(first: date, today: date) -> str:
    return f"First recorded {day(first)}" + (f", {since(first, today)} ago." if first < today else ", today.")


def _notice(o: Any) -> str:
    if not o.told_at:
        return ""
    as_item = f", when this was item {o.told_as}" if o.told_as else ""
    return f"danger notice{f' {o.notice}' if o.notice else ''} given on {day(clock.local_day(o.told_at))}{as_item}"


def _waits(o: Any, today: date) -> str:
    promised = rules.promised_words(o.promised, late(o.promised, today))
    return f"waits on somebody outside our firm{promised}" if o.waits else ""


def _work(o: Any, row: Any, now: datetime) -> dict[str, str] | None:
    """What is planned and where it stands; None where it was cancelled. Shared work is not described."""
    stands = rules.work_words(
        row.remedial.stage,
        code=o.code,
        booked=span(row.starts, row.ends) if row.starts else "",
        over=bool(row.ends and row.ends <= now),
        done_on=clock.local_day(row.done_at) if row.done_at else None,
        said_no_on=row.said_no_on,
        ask_again_on=row.ask_again_on,
    )
    return {"what": "" if row.shared else row.remedial.work, "stands": stands} if stands else None


def _closed(o: Any, observations: list[Any], remedies: list[Any], scope: facts.Scope) -> dict[str, str]:
    words = rules.ended_words(
        o.ended,
        facts.closed_on(o),
        reviewed=any(row.accepted for row in remedies),
        followed=any(later.continues_id == o.pk for later in observations),
        looked=any(row.looked for row in remedies),
    )
    done = [
        row.remedial.work for row in remedies if row.remedial.stage in (Stage.DONE, Stage.REVIEWED) and not row.shared
    ]
    return {
        "code": o.code, "number": str(o.number), "where": where(o, scope), "text": o.text, "words": words,
        "works": "; ".join(done),
    }  # fmt: skip
