"""A defect that came without an inspection, whose next step an observation is, and pictures of it."""

from datetime import date, datetime
from uuid import UUID

from inspections import policy
from inspections.models import Observation, ObservationPhoto
from inspections.operations import ground
from inspections.verbs import Verb
from jobsite import clock
from jobsite.firm.operations import take_number
from jobsite.ledger.operations import operation, record
from jobsite.ledger.photographs import store_photograph
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit, Site, Unit


@operation
def report_defect(
    site: Site,
    *,
    id: UUID,
    unit: Unit,
    text: str,
    reported_by: str,
    by: User,
    now: datetime,
    board: Board | None = None,
    circuit: Circuit | None = None,
    place: str = "",
    owner: User | None = None,
    step_by: date | None = None,
    may_be_dangerous: bool = False,
) -> Observation:
    """Take in what somebody said about a defect: uncoded until a qualified person has looked at it.

    `owner` (the one who took it in, unless named) has it looked at by `step_by` (today, unless named). What
    `may_be_dangerous` now is looked at today, whatever was named, and stands first among what nobody has coded.
    """
    ground.must(policy.may_report_defect(by), "Your rights do not cover taking in a defect.")
    site, today = ground.locked_site(site), clock.local_day(now)
    if made := ground.made_before(Observation, id, site_id=site.pk):
        return made
    text = ground.said(text, "Say what is wrong, in the caller's words.", "text")
    ground.must_be_active(owner, "owner")
    reported_by = ground.said(reported_by, "Say who reported it.", "reported_by")
    if step_by:
        ground.not_past(step_by, today, "This day is past: choose today or later.", "step_by")
    observation = Observation(id=id, site=site, unit=unit, circuit=circuit, place=place.strip(), text=text)
    observation.board = ground.settle_place(site.pk, unit, board, circuit)
    observation.may_be_dangerous, observation.reported_by = may_be_dangerous, reported_by
    observation.owner, observation.step_by = owner or by, today if may_be_dangerous else step_by or today
    observation.recorded_on = observation.first_recorded_on = today
    observation.recorded_at, observation.recorded_by = now, by
    observation.number = take_number("observation")
    observation.save(force_insert=True)
    facts = {
        "number": observation.number,
        "unit": str(unit.pk),
        "board": ground.key(observation.board),
        "circuit": ground.key(circuit),
        "owner": ground.key(observation.owner),
        "step_by": ground.iso(observation.step_by),
    }
    facts |= {"may_be_dangerous": True} if may_be_dangerous else {}
    words = {"text": text, "reported_by": reported_by, "place": observation.place}
    record(Verb.REPORTED, site=site.pk, subject=observation, by=by, now=now, facts=facts, words=words)
    return observation


@operation
def take_on(
    observation: Observation, *, owner: User, step_by: date, by: User, now: datetime, reason: str = ""
) -> Observation:
    """Give an open observation a next step: whose it is and by when. The same again: no second entry."""
    ground.must(policy.may_inspect(by), "Your rights do not cover giving out the next step.")
    observation = ground.locked(observation)
    ground.in_force(observation, "it needs no next step")
    if (observation.owner_id, observation.step_by) == (owner.pk, step_by):
        return observation
    ground.not_past(step_by, clock.local_day(now), "This day is past: choose today or later.", "step_by")
    ground.must_be_active(owner, "owner")
    facts = {"owner_before": ground.key(observation.owner), "step_by_before": ground.iso(observation.step_by)}
    observation.owner, observation.step_by = owner, step_by
    observation.version += 1
    observation.save(update_fields=["owner", "step_by", "version"])
    facts |= {"owner": str(owner.pk), "step_by": step_by.isoformat()}
    words = {"reason": reason.strip()}
    record(Verb.TAKEN_ON, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)
    return observation


@operation
def add_photo(observation: Observation, *, data: bytes, by: User, now: datetime, caption: str = "") -> ObservationPhoto:
    """Keep a photograph of the defect as found, cleaned of all but the time taken; the same picture again: no second.

    Raises Refused, as `ledger.photographs` does, for what is no photograph or too large a one.
    """
    ground.must(policy.may_inspect(by), "Your rights do not cover adding photos.")
    observation = ground.locked(observation)
    stored, picture = store_photograph(data, now=now)
    if made := observation.photos.filter(file=stored).first():
        return made
    photo = ObservationPhoto.objects.create(
        observation=observation,
        file=stored,
        width=picture.width,
        height=picture.height,
        taken=picture.taken,
        caption=caption.strip(),
        added_by=by,
        added_at=now,
    )
    facts = {"photo": str(photo.pk), "file": stored.hash}
    words = {"caption": photo.caption}
    record(Verb.PHOTOGRAPHED, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)
    return photo
