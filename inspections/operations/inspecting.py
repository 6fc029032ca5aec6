"""Entering an inspection or another firm's report while it is a draft, and its limitations."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import F
from django.db.models.functions import Least

from inspections import policy
from inspections.choices import InspectionState
from inspections.models import Inspection, Limitation
from inspections.operations import ground
from inspections.standards.editions import Edition
from inspections.verbs import Verb
from jobsite import clock
from jobsite.firm.operations import take_number
from jobsite.firm.queries import the_firm
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.premises.models import Board, Site, Unit
from jobsite.refused import Refused

LONGEST_LIMIT_DAYS = 3650
NAMES = ("inspector_name", "firm_name", "qualified_person_name", "reference", "extent", "file_name")
FIGURES = ("kind", "inspected_on", "edition", "next_due_on", "remedy_limit_days", "outcome_written")
ENTER_OTHER = "Only the office may take in another firm's report."
ENTER_OWN = "Your rights do not cover writing an inspection."
FROZEN = "This report is issued and does not change any more. A correction is a reissue."


@operation
def start_inspection(
    site: Site,
    *,
    id: UUID,
    units: Iterable[Unit],
    boards: Iterable[Board] = (),
    kind: str,
    other_firm: bool,
    inspected_on: date,
    edition: str,
    by: User,
    now: datetime,
    **particulars: Any,
) -> Inspection:
    """Begin a draft of an inspection of our own, or of another firm's report.

    `edition`: the one the report names, by which it is judged for good. `particulars` may be: inspector_name, firm_name,
    qualified_person_name, reference, extent, next_due_on, remedy_limit_days (a limit that the report itself states; 0: at
    once), outcome_written, file (a StoredFile), file_name. Raises Refused for units or boards of another site and for
    dates that cannot be.
    """
    site = ground.locked_site(site)
    must_enter(by, other_firm)
    if made := ground.made_before(Inspection, id, site_id=site.pk):
        return made
    inspection = Inspection(id=id, site=site, other_firm=other_firm, recorded_by=by, recorded_at=now)
    ground.apply(inspection, _stripped(particulars | {"kind": kind, "inspected_on": inspected_on, "edition": edition}))
    if not other_firm:
        inspection.inspector = by
        inspection.firm_name = inspection.firm_name or the_firm().name
        inspection.inspector_name = inspection.inspector_name or by.name
    covered = _covered(site.pk, units, boards)
    _check(inspection, clock.local_day(now))
    inspection.number = take_number("inspection")
    inspection.save(force_insert=True)
    inspection.units.set(covered[0])
    inspection.boards.set(covered[1])
    facts = {"number": inspection.number, "other_firm": other_firm} | _figures(inspection, FIGURES) | _covers(covered)
    facts |= {"file": inspection.file_id} if inspection.file_id else {}
    record(Verb.STARTED, site=site.pk, subject=inspection, by=by, now=now, facts=facts, words=_names(inspection, NAMES))
    return inspection


@operation
def edit_inspection(
    inspection: Inspection,
    *,
    version: int,
    by: User,
    now: datetime,
    units: Iterable[Unit] | None = None,
    boards: Iterable[Board] | None = None,
    **fields: Any,
) -> Inspection:
    """Change the particulars of a draft: the names that `start_inspection` takes, but whose report it is.

    Its observations take over a new date of inspection. `version`: the one the person saw; another's change in between
    raises ChangedMeanwhile; an archived site Refused.
    """
    ground.locked_site(inspection.site)
    inspection = draft_of(inspection, by)
    before = inspection.inspected_on
    ground.unchanged(inspection, version, "Somebody else changed these particulars meanwhile.")
    changed = ground.apply(inspection, _stripped(fields))
    _check(inspection, clock.local_day(now))
    covered = _covered(
        inspection.site_id,
        inspection.units.all() if units is None else units,
        inspection.boards.all() if boards is None else boards,
    )
    moved = _cover(inspection, covered)
    if not changed and not moved:
        return inspection
    inspection.version += 1
    inspection.save(update_fields=[*changed, "version"])
    if before != inspection.inspected_on:
        _take_over_date(inspection, before)
    facts = _figures(inspection, [n for n in FIGURES if n in changed]) | (_covers(covered) if moved else {})
    words = _names(inspection, [n for n in NAMES if n in changed])
    record(Verb.EDITED, site=inspection.site_id, subject=inspection, by=by, now=now, facts=facts, words=words)
    return inspection


@operation
def add_limitation(
    inspection: Inspection,
    *,
    id: UUID,
    what: str,
    by: User,
    now: datetime,
    why: str = "",
    agreed_with: str = "",
    unit: Unit | None = None,
    board: Board | None = None,
) -> Limitation:
    """Note on a draft what the inspection did not cover, why, and with whom that was agreed.

    Raises Refused at an archived site.
    """
    site = ground.held_site(inspection.site)
    inspection = draft_of(inspection, by)
    if made := ground.made_before(Limitation, id, inspection_id=inspection.pk):
        return made
    ground.must_be_in_use(site)
    what = ground.said(what, "Say what was not covered.", "what")
    if unit is not None or board is not None:
        _of_site(inspection.site_id, [unit] if unit else [], [board] if board else [])
    limitation = Limitation(id=id, inspection=inspection, unit=unit, board=board, what=what)
    limitation.why, limitation.agreed_with = why.strip(), agreed_with.strip()
    limitation.save(force_insert=True)
    facts = {"inspection": str(inspection.pk), "unit": ground.key(unit), "board": ground.key(board)}
    words = {"what": what, "why": limitation.why, "agreed_with": limitation.agreed_with}
    record(Verb.LIMITED, site=inspection.site_id, subject=limitation, by=by, now=now, facts=facts, words=words)
    return limitation


@operation
def remove_limitation(limitation: Limitation, *, by: User, now: datetime) -> None:
    """Take a limitation off a draft. Again after success: nothing."""
    inspection = draft_of(limitation.inspection, by)
    if not Limitation.objects.filter(pk=limitation.pk).exists():
        return
    facts = {"inspection": str(inspection.pk)}
    words = {"what": limitation.what}
    record(Verb.UNLIMITED, site=inspection.site_id, subject=limitation, by=by, now=now, facts=facts, words=words)
    Limitation.objects.filter(pk=limitation.pk).delete()


@operation
def cover_limitation(limitation: Limitation, *, covered_by: Inspection, by: User, now: datetime) -> Limitation:
    """Say that a later issued inspection of the same site covered what this one left out; until then it stands.

    Raises Refused at an archived site.
    """
    ground.must(policy.may_inspect(by), "Your rights do not cover limitations.")
    site = ground.held_site(limitation.inspection.site)
    limited, covering = _both_locked(limitation.inspection, covered_by)
    limitation = ground.locked(limitation)
    if limitation.covered_by_id == covered_by.pk:
        return limitation
    if limitation.covered_by_id:
        raise Refused("Another inspection already covers this limitation.")
    ground.must_be_in_use(site)
    _check_cover(limited, covering)
    limitation.covered_by = covering
    limitation.save(update_fields=["covered_by"])
    facts = {"inspection": str(limited.pk), "covered_by": str(covering.pk)}
    record(Verb.COVERED, site=covering.site_id, subject=limitation, by=by, now=now, facts=facts)
    return limitation


def _both_locked(one: Inspection, other: Inspection) -> tuple[Inspection, Inspection]:
    """Two reports as they are now, locked in the order of their keys: neither is reissued meanwhile."""
    found = {row.pk: ground.locked(row) for row in sorted((one, other), key=lambda row: row.pk)}
    return found[one.pk], found[other.pk]


def _check_cover(limited: Inspection, covering: Inspection) -> None:
    if limited.state != InspectionState.ISSUED or covering.state != InspectionState.ISSUED:
        raise Refused("Both reports must be issued first.")
    if covering.site_id != limited.site_id or covering.pk == limited.pk:
        raise Refused("It can only be covered by another inspection of the same site.", field="covered_by")
    if covering.inspected_on < limited.inspected_on:
        raise Refused("That inspection is older than the limitation.", field="covered_by")


def must_enter(by: User, other_firm: bool) -> None:
    """Raises NotAllowed without the right to write our own, or to take in another firm's."""
    sentence = ENTER_OTHER if other_firm else ENTER_OWN
    ground.must(policy.may_enter_inspection(by, other_firm=other_firm), sentence)


def draft_of(inspection: Inspection, by: User) -> Inspection:
    """The locked draft. Raises NotAllowed without the right, Refused where it is issued."""
    inspection = ground.locked(inspection)
    must_enter(by, inspection.other_firm)
    if inspection.state != InspectionState.DRAFT:
        raise Refused(FROZEN)
    return inspection


def _check(inspection: Inspection, today: date) -> None:
    if inspection.inspected_on > today:
        raise Refused("The day of the inspection lies in the future.", field="inspected_on")
    if inspection.edition not in list(Edition):
        raise Refused("Choose the edition that the report names.", field="edition")
    if inspection.next_due_on and inspection.next_due_on <= inspection.inspected_on:
        raise Refused("The next inspection must lie after this one.", field="next_due_on")
    days = inspection.remedy_limit_days
    if days is not None and not 0 <= days <= LONGEST_LIMIT_DAYS:
        raise Refused("The report's limit must be between 0 days (at once) and 10 years.", field="remedy_limit_days")
    if inspection.other_firm and not inspection.firm_name:
        raise Refused("Say which firm wrote the report.", field="firm_name")


def _stripped(particulars: dict[str, Any]) -> dict[str, Any]:
    """The particulars, words without blanks around them. Raises TypeError for a name that there is not."""
    unknown = set(particulars) - {*NAMES, *FIGURES, "file"}
    if unknown:
        raise TypeError(f"an inspection has no {sorted(unknown)}")
    return {name: value.strip() if isinstance(value, str) else value for name, value in particulars.items()}


Covered = tuple[list[Unit], list[Board]]


def _covered(site_id: UUID, units: Iterable[Unit], boards: Iterable[Board]) -> Covered:
    """The units and boards covered, in the order of their keys; at least one unit, all of the site."""
    one, other = sorted(units, key=lambda u: u.pk), sorted(boards, key=lambda b: b.pk)
    if not one:
        raise Refused("Choose at least one unit that the inspection covers.", field="units")
    _of_site(site_id, one, other)
    return one, other


def _of_site(site_id: UUID, units: Iterable[Unit], boards: Iterable[Board]) -> None:
    if any(unit.site_id != site_id for unit in units):
        raise Refused("A unit that was chosen is not at this site.", field="units")
    if any(board.site_id != site_id for board in boards):
        raise Refused("A board that was chosen is not at this site.", field="boards")


def _cover(inspection: Inspection, covered: Covered) -> bool:
    """Set what the draft covers; whether that changed. Raises Refused where an observation stands on what goes."""
    units, boards = ({row.pk for row in rows} for rows in covered)
    before = ({u.pk for u in inspection.units.all()}, {b.pk for b in inspection.boards.all()})
    if before == (units, boards):
        return False
    if inspection.observations.exclude(unit__in=units).exists():
        raise Refused("An observation stands on a unit that was taken out: move or drop it first.", field="units")
    inspection.units.set(covered[0])
    inspection.boards.set(covered[1])
    return True


def _take_over_date(inspection: Inspection, before: date) -> None:
    """The draft's observations are recorded on its new date; those that age from the old one move with it."""
    new = inspection.inspected_on
    inspection.observations.filter(first_recorded_on=before).update(recorded_on=new, first_recorded_on=new)
    inspection.observations.exclude(recorded_on=new).update(
        recorded_on=new, first_recorded_on=Least(F("first_recorded_on"), new)
    )


def _figures(inspection: Inspection, names: Iterable[str]) -> dict[str, Any]:
    values = {name: getattr(inspection, name) for name in names}
    return {name: ground.iso(value) if isinstance(value, date) else value for name, value in values.items()}


def _names(inspection: Inspection, names: Iterable[str]) -> dict[str, str]:
    return {name: getattr(inspection, name) for name in names}


def _covers(covered: Covered) -> dict[str, Any]:
    return {"units": [str(u.pk) for u in covered[0]], "boards": [str(b.pk) for b in covered[1]]}
