"""A customer's page as it is shown: the facts turned into the fields that `shown` allows, and nothing else."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.utils.safestring import SafeString

from inspections.choices import Ended, InspectionKind
from inspections.models import Inspection, Observation
from inspections.rules import required_and_complete
from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.ledger.models import StoredFile
from jobsite.marks import code_mark
from jobsite.people.models import PrivateLink
from jobsite.premises.models import Unit
from jobsite.words import late, span
from remedials.status import facts, rules, shown
from remedials.works.states import Stage

MOST_OPEN = 100
MOST_DONE = 30
NOUNS = {
    InspectionKind.PERIODIC: "inspection",
    InspectionKind.INITIAL: "initial verification",
    InspectionKind.SURVEY: "visual survey",
}
FULL = (InspectionKind.PERIODIC, InspectionKind.INITIAL)
Photos = dict[UUID, list[shown.Photo]]


def whom_to_ring() -> shown.Firm:
    """The firm as customers see it. One statement."""
    firm = the_firm()
    return shown.Firm(firm.name, firm.phone, firm.email)


def status_of(link: PrivateLink, *, now: datetime) -> shown.StatusPage | None:
    """How what `link` opens stands now; None where it is no longer there. Ten statements, whatever the size."""
    scope = facts.scope_of(link)
    if scope is None:
        return None
    today = clock.local_day(now)
    known = facts.all_facts(scope)
    bases = bases_of(known)
    still_open = [o for o in known.observations if not o.ended]
    done = [o for o in known.observations if o.ended and o.ended not in facts.UNSPOKEN]
    still_open.sort(key=_worst_first)
    done.sort(key=lambda o: (o.ended_on or date.min, o.number), reverse=True)
    photos = _photos(scope, still_open[:MOST_OPEN] + done[:MOST_DONE], known)
    return shown.StatusPage(
        firm=whom_to_ring(),
        title=_title(scope),
        address=scope.site.one_line,
        today=rules.long_day(today),
        first_words=tuple(rules.first_words(_known(known, bases, still_open, today))),
        danger_now=any(o.code == "C1" and not o.safe_at for o in still_open),  # type: ignore[attr-defined]
        open=tuple(_open_item(o, known, photos, today) for o in still_open[:MOST_OPEN]),
        open_more=max(0, len(still_open) - MOST_OPEN),
        done=tuple(_done_item(o, known, photos) for o in done[:MOST_DONE]),
        done_more=max(0, len(done) - MOST_DONE),
        reports=tuple(_reports(bases, known)),
        limitations=tuple(_limitation(limitation) for limitation in known.limitations),
        next=tuple(_next(unit, scope, today) for unit in scope.units if hasattr(unit, "inspection_due")),
    )


def _worst_first(o: Any) -> tuple[bool, int, date, int]:
    danger_now = o.code == "C1" and not o.safe_at
    return not danger_now, rules.ORDER.index(o.code), o.remedy_by or date.max, o.number


def photo_file(link: PrivateLink, photo: UUID) -> StoredFile | None:
    """The file of a photograph that the link's page shows; None for any other. Three statements at most."""
    scope = facts.scope_of(link)
    if scope is None:
        return None
    for seen in (facts.photos_before(scope), facts.photos_after(scope)):
        if found := seen.select_related("file").filter(pk=photo).first():
            return found.file
    return None


def bases_of(known: facts.Facts) -> dict[Inspection, list[Unit]]:
    """The inspections that say how the units stand: each unit's latest full one, or a visual survey where there is none."""
    found: dict[Inspection, list[Unit]] = {}
    for unit in known.scope.units:
        its = [i for i in known.inspections if unit.pk in i.unit_keys]  # type: ignore[attr-defined]
        full = [i for i in its if i.kind in FULL]
        if latest := next(iter(full or its), None):
            found.setdefault(latest, []).append(unit)
    return found


def _title(scope: facts.Scope) -> str:
    unit = scope.units[0]
    return f"{unit.name}, {scope.site.name}" if scope.one_unit and not unit.whole_site else scope.site.name


def _known(
    known: facts.Facts, bases: dict[Inspection, list[Unit]], still_open: list[Observation], today: date
) -> rules.Known:
    inspected = {unit.pk for units in bases.values() for unit in units}
    never = [u.name for u in known.scope.units if u.pk not in inspected and u.retired_at is None]
    others = {i.pk for i in known.inspections if i.other_firm}
    return rules.Known(
        items=tuple(_open_words(o, known) for o in still_open),
        bases=tuple(_basis(inspection, known) for inspection in bases),
        never=tuple(never),
        whole=not bases,
        overdue=tuple(_overdue(known.scope, today)),
        unreviewed=sum(1 for o in still_open if o.inspection_id in others and not o.reviewed),
    )


def _overdue(scope: facts.Scope, today: date) -> Iterable[tuple[str, date]]:
    for unit in scope.units:
        due = getattr(unit, "inspection_due", None)
        if due and due.due_on < today and unit.retired_at is None:
            yield (unit.name if len(scope.units) > 1 else "", due.due_on)


def _open_words(o: Any, known: facts.Facts) -> rules.OpenItem:
    starts = [r.starts for r in _remedies(o, known) if r.remedial.stage == Stage.BOOKED and r.starts]
    booked = clock.local_day(min(starts)) if starts else None
    safe_on = clock.local_day(o.safe_at) if o.safe_at else None
    return rules.OpenItem(o.code, safe_on, booked, o.text, _where(o, known))


def _basis(inspection: Any, known: facts.Facts) -> rules.Basis:
    missed = [limit.what.strip().rstrip(".") for limit in known.limitations if limit.inspection_id == inspection.pk]
    boards = (inspection.boards_seen, inspection.boards_here or 0) if inspection.boards_seen else None
    return rules.Basis(NOUNS[inspection.kind], inspection.inspected_on, tuple(missed), boards)


def _remedies(o: Observation, known: facts.Facts) -> list[Any]:
    return known.remedies.get(o.pk, [])  # type: ignore[return-value]


# --- items ------------------------------------------------------------------------------------------------------------


def _open_item(o: Any, known: facts.Facts, photos: Photos, today: date) -> shown.Item:
    works = tuple(filter(None, (_work(o, row) for row in _remedies(o, known))))
    by = o.remedy_by if o.code != "C3" else None
    return shown.Item(
        **_common(o, known, photos),
        mark=code_mark(o.code, bool(o.safe_at)),
        meaning=rules.meaning(o.code, safe=bool(o.safe_at)),
        by=rules.long_day(by) if by else "",
        late=late(by, today),
        basis=o.remedy_basis if by else "",
        by_law=bool(by and o.remedy_by_law),
        says=tuple(_says(o, works=bool(works))),
        works=works,
    )


def _done_item(o: Any, known: facts.Facts, photos: Photos) -> shown.Item:
    reviewed = any(row.accepted for row in _remedies(o, known))
    followed = any(later.continues_id == o.pk for later in known.observations)
    words = rules.ended_words(o.ended, o.ended_on, reviewed=reviewed, followed=followed)
    what = [(row.remedial.work, row) for row in _remedies(o, known) if row.remedial.stage in facts.CLOSED]
    return shown.Item(
        **_common(o, known, photos),
        mark=code_mark(o.code, closed=o.ended == Ended.REMEDIED) if o.code else SafeString(""),
        meaning=rules.meaning(o.code, closed=True),
        by="",
        late="",
        basis="",
        by_law=False,
        says=(words,),
        works=tuple(shown.Work(work, "") for work, row in what if not row.shared),
    )


def _common(o: Any, known: facts.Facts, photos: Photos) -> dict[str, Any]:
    return {
        "text": o.text,
        "where": _where(o, known),
        "first_recorded": rules.long_day(o.first_recorded_on),
        "photos": tuple(photos.get(o.pk, ())),
    }


def _where(o: Any, known: facts.Facts) -> str:
    many_units = len(known.scope.units) > 1
    way = f"way {o.circuit.way_name}" if o.circuit else ""
    spot = [o.unit.name if many_units else "", o.board.designation if o.board else "", way, o.place]
    return ", ".join(filter(None, spot))


def _work(o: Observation, row: Any) -> shown.Work | None:
    """What a customer hears of one remedial of an open item; None for one that was cancelled."""
    stands = rules.work_words(
        row.remedial.stage,
        code=o.code,
        booked=span(row.starts, row.ends) if row.starts else "",
        done_on=clock.local_day(row.done_at) if row.done_at else None,
        said_no_on=row.said_no_on,
        ask_again_on=row.ask_again_on,
    )
    return shown.Work("" if row.shared else row.remedial.work, stands) if stands else None


def _says(o: Any, *, works: bool) -> list[str]:
    said = []
    if o.safe_at:
        how = {"locked": "isolated and locked", "covered": "covered", "disconnected": "disconnected"}[o.safe_how]
        safe = rules.long_day(clock.local_day(o.safe_at))
        said.append(f"Made safe for now on {safe}: {how}. Leave it so: it still has to be put right.")
    if o.told_at:
        said.append(f"Written notice of the danger was given on {rules.long_day(clock.local_day(o.told_at))}.")
    if o.waits:
        promised = f", promised for {rules.long_day(o.promised)}" if o.promised else ""
        said.append(f"It waits on somebody outside our firm{promised}.")
    return said if works else [*said, rules.undecided_words(o.code)]


def _photos(scope: facts.Scope, items: list[Observation], known: facts.Facts) -> Photos:
    """The photographs of `items`, before the work first. Two statements."""
    wanted = {o.pk: o.text for o in items}
    found: Photos = defaultdict(list)
    for before in facts.photos_before(scope).filter(observation__in=wanted):
        _add(found, before.observation_id, before, "Before", wanted)
    of_remedial = defaultdict(set)
    for key, rows in known.remedies.items():
        for row in rows:
            of_remedial[row.remedial_id].add(key)
    for after in facts.photos_after(scope).filter(remedial__in=of_remedial):
        for key in {after.observation_id} if after.observation_id else of_remedial[after.remedial_id]:
            _add(found, key, after, "After the work", wanted)
    return found


def _add(found: Photos, key: UUID, photo: Any, words: str, wanted: dict[UUID, str]) -> None:
    if key in wanted:
        alt = f"{words}: {wanted[key]}"
        found[key].append(shown.Photo(photo.pk, words, alt, photo.width, photo.height))


# --- reports, limitations, the next inspection ------------------------------------------------------------------------


def _reports(bases: Iterable[Inspection], known: facts.Facts) -> Iterable[shown.Report]:
    """Each report with how much of what it requires is complete, followed to the end of what continues it."""
    counted = required_and_complete(known.items)
    return (_report(inspection, *counted.get(inspection.pk, (0, 0))) for inspection in bases)


def _report(inspection: Inspection, required: int, complete: int) -> shown.Report:
    written = inspection.outcome_written
    return shown.Report(
        title=f"{inspection.get_kind_display().capitalize()} of {rules.long_day(inspection.inspected_on)}",
        by=(inspection.firm_name or "another firm") if inspection.other_firm else "",
        outcome=inspection.get_outcome_display(),
        outcome_written=inspection.get_outcome_written_display() if written and written != inspection.outcome else "",
        extent=inspection.extent,
        complete=rules.completion_words(complete, required),
    )


def _limitation(limitation: Any) -> shown.Limitation:
    return shown.Limitation(limitation.what, limitation.why, rules.long_day(limitation.inspection.inspected_on))


def _next(unit: Unit, scope: facts.Scope, today: date) -> shown.NextInspection:
    due = unit.inspection_due
    name = unit.name if len(scope.units) > 1 else ""
    return shown.NextInspection(name, rules.long_day(due.due_on), late(due.due_on, today), due.basis, due.by_law)
