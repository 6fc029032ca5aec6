"""Observations of a draft: noted one after another, changed or dropped until the report is issued."""

from collections.abc import Callable, Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import ProtectedError

from inspections.choices import Code
from inspections.models import Inspection, Observation
from inspections.operations import ground
from inspections.operations.inspecting import draft_of
from inspections.operations.reporting import add_photo
from inspections.verbs import Verb
from jobsite.firm.operations import take_number, take_numbers
from jobsite.ledger.operations import AT_ONCE, operation, record
from jobsite.ledger.operations_documents import refuse_if_held
from jobsite.ledger.rows import about
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit, Unit
from jobsite.refused import Refused

PLACED = ("unit", "board", "circuit")
WORDED = ("place", "item", "text", "code_written")
CHANGEABLE = {*PLACED, *WORDED, "code", "continues", "first_recorded_on"}


@operation
def note_observation(
    inspection: Inspection,
    *,
    id: UUID,
    unit: Unit,
    text: str,
    code: str,
    by: User,
    now: datetime,
    board: Board | None = None,
    circuit: Circuit | None = None,
    place: str = "",
    item: str = "",
    code_written: str = "",
    continues: Observation | None = None,
    first_recorded_on: date | None = None,
    photos: Sequence[bytes] = (),
) -> Observation:
    """Note an observation on a draft, with its `photos`; it counts from the issue on.

    `code`: as the inspector decided it, "" where another firm's report gives none that can be read. `code_written`: what
    the report says, kept as written (the code itself where nothing is given). Its age runs from `first_recorded_on`, or
    from the observation it `continues`, or from the day of the inspection. Raises Refused at an archived site.
    """
    site = ground.held_site(inspection.site)
    if made := ground.made_before(Observation, id, inspection_id=inspection.pk):
        return with_photos(made, photos, by=by, now=now)  # it was saved, and only the answer got lost
    inspection = draft_of(inspection, by)
    ground.must_be_in_use(site)
    observation = Observation(id=id, unit=unit, board=board, circuit=circuit, continues=continues)
    observation.text, observation.code, observation.place, observation.item = text, code, place, item
    observation.code_written, observation.number = code_written, take_number("observation")
    _draft(observation, inspection, first_recorded_on, by=by, now=now)
    observation.save(force_insert=True)
    _record_noted(observation, by=by, now=now)
    return with_photos(observation, photos, by=by, now=now)


@operation
def note_observations(
    inspection: Inspection,
    rows: Sequence[Observation],
    *,
    by: User,
    now: datetime,
    written: Callable[[int], None] | None = None,
) -> Sequence[Observation]:
    """Note many observations on a draft at once, each as `note_observation` would: all of them, or none.

    `rows`: new ones, not saved, with unit, text and code, and what else there is of board, circuit, place, item,
    code_written and first_recorded_on (None: the day of the inspection). Raises RefusedRow for the first that can't be.
    `written` is told how many are written, now and then.
    """
    site = ground.held_site(inspection.site)
    inspection = draft_of(inspection, by)
    ground.must_be_in_use(site)
    covered = frozenset(inspection.units.values_list("pk", flat=True))
    for observation, number in zip(rows, take_numbers("observation", len(rows)), strict=True):
        observation.number = number
        with about(observation):
            _draft(observation, inspection, observation.first_recorded_on, by=by, now=now, covered=covered)
    for start in range(0, len(rows), AT_ONCE):
        Observation.objects.bulk_create(rows[start : start + AT_ONCE])
        if written:
            written(min(start + AT_ONCE, len(rows)))
    for observation in rows:
        _record_noted(observation, by=by, now=now)
    return rows


def _draft(
    observation: Observation,
    inspection: Inspection,
    first_recorded_on: date | None,
    *,
    by: User,
    now: datetime,
    covered: frozenset[UUID] | None = None,
) -> None:
    """Make a new observation one of the draft, and check it."""
    observation.site_id, observation.inspection, observation.draft = inspection.site_id, inspection, True
    observation.place, observation.item = observation.place.strip(), observation.item.strip()
    observation.code_written = observation.code_written.strip() or observation.code
    observation.recorded_on, observation.recorded_at, observation.recorded_by = inspection.inspected_on, now, by
    _settle(observation, inspection, first_recorded_on, covered)


def _record_noted(observation: Observation, *, by: User, now: datetime) -> None:
    facts = {"inspection": str(observation.inspection_id), "number": observation.number} | _facts(observation)
    words = {name: getattr(observation, name) for name in WORDED}
    record(Verb.NOTED, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)


def with_photos(observation: Observation, photos: Sequence[bytes], *, by: User, now: datetime) -> Observation:
    """Inside an operation: the observation with its photographs kept; those that it has already once.

    What is refused of them stands beside the field "photos".
    """
    try:
        for data in photos:
            add_photo(observation, data=data, by=by, now=now)
    except Refused as no:
        raise (Refused(no.sentence, field="photos") if no.field == "photo" else no) from None
    return observation


@operation
def change_observation(
    observation: Observation, *, version: int, by: User, now: datetime, photos: Sequence[bytes] = (), **fields: Any
) -> Observation:
    """Change an observation of a draft: the names that `note_observation` takes; `photos` come to those it has.

    `version`: the one the person saw; another's change in between raises ChangedMeanwhile. At an archived site: Refused.
    """
    if set(fields) - CHANGEABLE:
        raise TypeError(f"change_observation takes no {sorted(set(fields) - CHANGEABLE)}")
    ground.locked_site(observation.site)
    inspection, observation = _locked_draft(observation, by)
    ground.unchanged(observation, version, "Somebody else changed this observation meanwhile.")
    was = observation.first_recorded_on
    same_age = fields.get("continues", observation.continues) == observation.continues
    first = fields.pop("first_recorded_on", None) or (was if same_age else None)
    if observation.code_written == observation.code:
        fields = {"code_written": fields.get("code", observation.code)} | fields
    stripped = {n: v.strip() if isinstance(v, str) else v for n, v in fields.items()}
    changed = ground.apply(observation, stripped)
    _settle(observation, inspection, first)
    if not changed and observation.first_recorded_on == was:
        return with_photos(observation, photos, by=by, now=now)
    observation.version += 1
    saved = {*changed, "board", "first_recorded_on", "version"}
    observation.save(update_fields=sorted(saved))
    words = {name: getattr(observation, name) for name in WORDED if name in changed}
    facts = _facts(observation) | {"changed": sorted(changed)}
    record(Verb.CHANGED, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)
    return with_photos(observation, photos, by=by, now=now)


@operation
def drop_observation(observation: Observation, *, by: User, now: datetime) -> None:
    """Take an observation off a draft, with its photos. Again after success: nothing.

    Raises Refused where a made-safe or a danger notice stands on it: that happened, so the observation stays.
    """
    if not Observation.objects.filter(pk=observation.pk).exists():
        return
    _, observation = _locked_draft(observation, by)
    if observation.danger_notices.exists() or observation.made_safes.exists():
        raise Refused("It was made safe, or a danger notice was given for it: it stays in the report.")
    refuse_if_held(observation.site_id)
    facts = {"inspection": str(observation.inspection_id), "number": observation.number}
    words = {"text": observation.text}
    record(Verb.DROPPED, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)
    observation.photos.all().delete()
    try:
        observation.delete()
    except ProtectedError:
        raise Refused("Something else refers to this observation: it stays in the report.") from None


def _locked_draft(observation: Observation, by: User) -> tuple[Inspection, Observation]:
    """The draft and its observation, locked in that order. Raises Refused where it is not of a draft."""
    if observation.inspection is None:
        raise Refused("This defect was reported without an inspection: review it instead.")
    return draft_of(observation.inspection, by), ground.locked(observation)


def _settle(
    observation: Observation,
    inspection: Inspection,
    first_recorded_on: date | None,
    covered: frozenset[UUID] | None = None,
) -> None:
    """Check what was noted and work out what follows from it: the board of its circuit, the age.

    `covered`: the units of the inspection, where they are at hand.
    """
    observation.text = ground.said(observation.text, "Say what was observed.", "text")
    if observation.code not in ("", *Code.values):
        raise Refused("Choose a code: C1, C2, C3 or FI.", field="code")
    covers = (
        inspection.units.filter(pk=observation.unit_id).exists() if covered is None else observation.unit_id in covered
    )
    if not covers:
        raise Refused("This inspection does not cover that unit.", field="unit")
    place = ground.settle_place(inspection.site_id, observation.unit, observation.board, observation.circuit)
    observation.board = place
    observation.first_recorded_on = _age_from(observation, inspection, first_recorded_on)


def _age_from(observation: Observation, inspection: Inspection, first_recorded_on: date | None) -> date:
    day, earlier = inspection.inspected_on, observation.continues
    if earlier is not None:
        if earlier.site_id != inspection.site_id or earlier.draft or earlier.pk == observation.pk:
            raise Refused("It can only continue an observation on record at this site.", field="continues")
        if earlier.recorded_on > day:
            raise Refused("The observation that it continues is younger than this inspection.", field="continues")
        return min(earlier.first_recorded_on, first_recorded_on or day)
    if first_recorded_on and first_recorded_on > day:
        raise Refused("It was first recorded on the day of the inspection or before.", field="first_recorded_on")
    return first_recorded_on or day


def _facts(observation: Observation) -> dict[str, Any]:
    return {
        "unit": str(observation.unit_id),
        "board": ground.key(observation.board),
        "circuit": ground.key(observation.circuit),
        "code": observation.code,
        "continues": ground.key(observation.continues),
        "first_recorded_on": ground.iso(observation.first_recorded_on),
    }
