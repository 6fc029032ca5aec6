"""What stands around the items: the first sentences, the reports with what of them is complete, what comes next."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from itertools import takewhile
from typing import Any

from inspections.choices import Code, InspectionKind
from inspections.models import Inspection, Observation, Paper
from inspections.rules import required_and_complete
from inspections.standards.assessment import FI_DOES_NOT_COUNT
from inspections.standards.editions import Edition
from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.people.names import AsCustomersRead
from jobsite.premises.models import Board, Unit
from jobsite.premises.supply_words import quoted
from jobsite.words import late, span
from remedials.status import facts, rules, shown
from remedials.status.queries.next_due import basis_of
from remedials.works.states import Stage

NOUNS = {
    InspectionKind.PERIODIC: "inspection",
    InspectionKind.INITIAL: "initial verification",
    InspectionKind.SURVEY: rules.SURVEY,
}
FULL = (InspectionKind.PERIODIC, InspectionKind.INITIAL)
# Which of the stages that its works are in says how far an item is, where no visit is booked: the first that one is in.
TELLING = (Stage.QUOTED, Stage.APPROVED, Stage.TO_PRICE, Stage.DECLINED)
STANDS = {Stage.QUOTED: "quoted", Stage.APPROVED: "approved", Stage.DECLINED: "declined"}
DONE = (Stage.DONE, Stage.REVIEWED)
ELSEWHERE = (Stage.CANCELLED, Stage.BY_OTHERS)  # nothing of it is ours to do any more
Bases = dict[Inspection, list[Unit]]


def whom_to_ring() -> shown.Firm:
    """The firm as customers see it. One statement."""
    firm = the_firm()
    return shown.Firm(firm.name, firm.phone, firm.email)


def head_of(known: facts.Facts, bases: Bases, *, now: datetime) -> shown.Head:
    """What every page of the scope begins with. One statement."""
    scope = known.scope
    still_open, _ = in_order(known)
    said = _known(known, bases, still_open, now)
    return shown.Head(
        firm=whom_to_ring(),
        title=_title(scope),
        address=scope.site.one_line,
        today=rules.long_day(clock.local_day(now)),
        first_words=tuple(rules.first_words(said)),
        danger_now=any(o.code == "C1" and not o.safe_at for o in still_open),
        mood=rules.mood(said.items),
    )


def opening(known: facts.Facts, *, now: datetime) -> list[str]:
    """The sentences that the page of `known` opens with, for a page that says them of many such at once. No statement."""
    return rules.first_words(_known(known, bases_of(known), in_order(known)[0], now))


def in_order(known: facts.Facts) -> tuple[list[Any], list[Any]]:
    """The open items, the worst first, and the closed ones, the latest first."""
    still_open = [o for o in known.observations if not o.ended]
    done = [o for o in known.observations if o.ended and o.ended not in facts.UNSPOKEN]
    still_open.sort(key=_worst_first)
    done.sort(key=lambda o: (facts.closed_on(o), o.number), reverse=True)
    return still_open, done


def _worst_first(o: Any) -> tuple[bool, int, date, int]:
    danger_now = o.code == "C1" and not o.safe_at
    return not danger_now, rules.ORDER.index(o.code), o.remedy_by or date.max, o.number


def bases_of(known: facts.Facts) -> Bases:
    """The inspections that say how the units stand: each unit's latest full one, and after it every visual survey since.

    A survey replaces no full inspection, but what it found must not be left unsaid beside an older, better report.
    """
    found: Bases = {}
    for unit in known.scope.units:
        its = [i for i in known.inspections if unit.pk in i.unit_keys]  # type: ignore[attr-defined]
        since = list(takewhile(lambda i: i.kind not in FULL, its))
        for inspection in [*its[len(since) : len(since) + 1], *since]:
            found.setdefault(inspection, []).append(unit)
    return found


def where(o: Any, known: facts.Facts) -> str:
    """Where an item is, as somebody finds it who stands there: unit, board, circuit, place."""
    many_units = len(known.scope.units) > 1
    spot = [o.unit.name if many_units else "", _board(o.board) if o.board else "", _circuit(o), o.place]
    return known.reads.words(", ".join(filter(None, spot)))


def whose_report(o: Any) -> str:
    """From whose report the day of an item is counted, and since when we know it; "" where the report is ours or none."""
    report = o.report
    if report is None or not report.other_firm:
        return ""
    since = f", with us since {rules.long_day(clock.local_day(report.issued_at))}" if report.issued_at else ""
    return f"Counted from the report by {report.firm_name or 'another firm'} of {rules.long_day(report.inspected_on)}{since}."


def _board(board: Board) -> str:
    """What nobody has verified stands in quotes, as in the drawing."""
    return board.designation if board.proven else quoted(board.designation)


def _circuit(o: Any) -> str:
    if not o.circuit:
        return ""
    what = f" ({o.circuit.designation})" if o.circuit.proven else ""
    return f"way {o.circuit.way_name}{what}"


def _title(scope: facts.Scope) -> str:
    return f"{scope.units[0].name}, {scope.site.name}" if scope.part else scope.site.name


def not_known(
    scope: facts.Scope, observations: list[Observation], reads: AsCustomersRead, *, now: datetime
) -> list[str]:
    """What a document that lists `observations` of `scope` must say of what it rests on and does not cover. Two statements."""
    known = facts.Facts(
        scope,
        inspections=facts.inspections_in(scope),
        limitations=facts.limitations_in(scope),
        observations=observations,
        reads=reads,
    )
    bases = bases_of(known)
    earlier = [reads.words(one.what).strip().rstrip(".") for one in known.limitations if one.inspection not in bases]
    ground = _ground(known, bases, [o for o in observations if not o.ended], now)
    return rules.not_known(ground, list(dict.fromkeys(earlier)))


def _known(known: facts.Facts, bases: Bases, still_open: Sequence[Observation], now: datetime) -> rules.Known:
    return replace(
        _ground(known, bases, still_open, now),
        items=tuple(open_words(o, known, now) for o in still_open),
        next_visit=_next_visit(known, now),
    )


def _ground(known: facts.Facts, bases: Bases, still_open: Sequence[Observation], now: datetime) -> rules.Known:
    """Which inspections it rests on, and what they leave unknown."""
    inspected = {unit.pk for units in bases.values() for unit in units}
    never = [u.name for u in known.scope.units if u.pk not in inspected and u.retired_at is None]
    others = {i.pk for i in known.inspections if i.other_firm}
    return rules.Known(
        bases=tuple(_basis(inspection, known) for inspection in bases),
        never=tuple(never),
        whole=not bases,
        overdue=tuple(_overdue(known.scope, clock.local_day(now))),
        unreviewed=sum(1 for o in still_open if o.inspection_id in others and not o.reviewed),
    )


def _overdue(scope: facts.Scope, today: date) -> Iterable[tuple[str, date]]:
    for unit in scope.units:
        due = getattr(unit, "inspection_due", None)
        if due and due.due_on < today and unit.retired_at is None:
            yield (unit.name if len(scope.units) > 1 else "", due.due_on)


def _next_visit(known: facts.Facts, now: datetime) -> str:
    """The nearest visit for anything that the page shows, in words."""
    rows: list[Any] = [row for rows in known.remedies.values() for row in rows]
    ahead = [(row.starts, row.ends) for row in rows if row.starts and row.ends > now]
    return span(*min(ahead)) if ahead else ""


def open_words(o: Any, known: facts.Facts, now: datetime) -> rules.OpenItem:
    """What the first sentences must know of an open item of `known`. No statement."""
    works: list[Any] = list(known.remedies.get(o.pk, []))
    left = [w for w in works if w.remedial.stage not in (*DONE, *ELSEWHERE)]
    # The repair is booked only where all that it still takes is: a visit for a part of it, or beside what was declined,
    # would promise too much.
    booked = bool(left) and all(w.remedial.stage == Stage.BOOKED and w.starts for w in left)
    last = max(left, key=lambda w: w.starts) if booked else None
    return rules.OpenItem(
        code=o.code,
        safe_on=clock.local_day(o.safe_at) if o.safe_at else None,
        booked_on=clock.local_day(last.starts) if last else None,
        over=bool(last and last.ends <= now),
        stands=_stands([w.remedial.stage for w in works]),
        text=known.reads.words(o.text),
        where=where(o, known),
        advised=bool(getattr(o, "advised", "")),  # a line of a portfolio, which says the first sentence alone, has none
        urgent=o.may_be_dangerous,
    )


def _stands(stages: Sequence[str]) -> str:
    """How far the work for an item is; "" where nothing of it is more than begun."""
    if telling := next((stage for stage in TELLING if stage in stages), None):
        return STANDS.get(telling, "")
    left = [stage for stage in stages if stage not in ELSEWHERE]
    return "done" if left and all(stage in DONE for stage in left) else ""


def _basis(inspection: Any, known: facts.Facts) -> rules.Basis:
    missed = [
        known.reads.words(limit.what).strip().rstrip(".")
        for limit in known.limitations
        if limit.inspection_id == inspection.pk
    ]
    boards = (inspection.boards_seen, inspection.boards_here or 0) if inspection.boards_seen else None
    return rules.Basis(NOUNS[inspection.kind], inspection.inspected_on, tuple(missed), boards)


# --- reports, limitations, the next inspection ------------------------------------------------------------------------


def reports(bases: Bases, known: facts.Facts) -> Iterable[shown.Report]:
    """Each report, the latest first, with how much of what it requires is complete, followed to the end of what continues it."""
    counted = required_and_complete(known.items)
    latest_first = sorted(bases.items(), key=lambda pair: pair[0].inspected_on, reverse=True)
    return (_report(i, units, known, *counted.get(i.pk, (0, 0))) for i, units in latest_first)


def why_satisfactory(inspection: Inspection, observations: Iterable[Observation]) -> str:
    """What must stand beside a "satisfactory" report of which an item for investigation is on record; "" for others.

    By the reason that was kept when it was issued, and never because of an item that is not among `observations`.
    """
    investigate = any(o.code == Code.FI and o.inspection_id == inspection.pk for o in observations)
    if not investigate or FI_DOES_NOT_COUNT not in inspection.outcome_basis:
        return ""
    return f"by its edition, {Edition(inspection.edition).label}, an FI alone does not make it unsatisfactory, but must be investigated"


def _report(
    inspection: Inspection, units: Sequence[Unit], known: facts.Facts, required: int, complete: int
) -> shown.Report:
    written = inspection.outcome_written
    many_units = len(known.scope.units) > 1
    kind = inspection.get_kind_display()
    what = f"{rules.listed([u.name for u in units])}: {kind}" if many_units else kind.capitalize()
    papers = [paper for paper in known.confirmations if paper.inspection_id == inspection.pk]
    return shown.Report(
        title=f"{what} of {rules.long_day(inspection.inspected_on)}",
        by=(inspection.firm_name or "another firm") if inspection.other_firm else "",
        outcome=inspection.get_outcome_display(),
        outcome_why=why_satisfactory(inspection, known.observations),
        outcome_written=inspection.get_outcome_written_display() if written and written != inspection.outcome else "",
        # What a report on several homes was to cover is told in words that may tell of a neighbour.
        extent=facts.SEVERAL if known.scope.part and inspection.homes > 1 else known.reads.words(inspection.extent),  # type: ignore[attr-defined]
        complete=rules.completion_words(complete, required, known.scope.whose),
        confirmed=tuple(_confirmation(paper, many_units) for paper in papers),
    )


def _confirmation(paper: Paper, many_units: bool) -> str:
    where = paper.unit.name if many_units else ""
    return rules.confirmation_words(paper.what, paper.to, where, done_on=paper.answered_on, due_on=paper.due_on)


def limitation(row: Any, known: facts.Facts) -> shown.Limitation:
    """What an inspection did not cover."""
    return shown.Limitation(
        known.reads.words(row.what), known.reads.words(row.why), rules.long_day(row.inspection.inspected_on)
    )


def next_inspections(scope: facts.Scope, today: date) -> Iterable[shown.NextInspection]:
    """When each unit is due, where a date is on record."""
    for unit in scope.units:
        if due := getattr(unit, "inspection_due", None):
            name = unit.name if len(scope.units) > 1 else ""
            day = rules.long_day(due.due_on)
            yield shown.NextInspection(name, day, late(due.due_on, today), basis_of(unit), due.by_law)
