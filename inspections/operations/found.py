"""Something else was found at a visit: the defect, its code, what was done about the danger and who was told, at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from inspections import policy
from inspections.choices import Code, MadeSafeHow, NoticeHow
from inspections.models import Observation
from inspections.operations import clocks, ground
from inspections.operations.deciding import dates_of
from inspections.operations.making_safe import make_safe
from inspections.operations.next_inspections import next_due_of
from inspections.operations.notices import give_danger_notice
from inspections.operations.noting import with_photos
from inspections.verbs import Verb
from jobsite import clock
from jobsite.firm.operations import take_number
from jobsite.ids import part_of
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.people.policy import is_qualified
from jobsite.premises.models import Board, Circuit, Site, Unit
from jobsite.refused import Refused

NOT_YOURS = "Your rights do not cover noting what was found."
NO_DANGER = "A C3 is no danger: leave out what was made safe and the danger notice, or choose another code."
HERE = {"what": "safe_what", "how": "safe_how", "photo": "safe_photo"}


@dataclass(frozen=True)
class MadeSafeFacts:
    """What whoever found it did about the danger at once; the duty-holder agreed. `photo` or, without one, `no_photo`."""

    how: MadeSafeHow | str
    what: str
    agreed_with: str
    look_again_on: date
    lock: str = ""
    key_holder: str = ""
    photo: bytes | None = None
    no_photo: str = ""


@dataclass(frozen=True)
class NoticeFacts:
    """Who was told of the danger in writing, and what was advised. No `why`: what was observed says it."""

    given_to: str
    advised: str
    why: str = ""
    how: NoticeHow | str = NoticeHow.HAND


@operation
def note_found(
    site: Site,
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
    photos: Sequence[bytes] = (),
    made_safe: MadeSafeFacts | None = None,
    notice: NoticeFacts | None = None,
    made_at: datetime | None = None,
    seen_while: Mapping[str, str] | None = None,
) -> Observation:
    """Record a defect that somebody found at a visit, with its code, what was made safe and the danger notice.

    Its code is in force at once, so that a danger counts from the first minute; where the firm records no competence of
    `by` on the day, a qualified person looks at it afterwards. `code` "": `by` is not sure, so that it waits for a
    qualified person as dangerous. `made_at`: when it was found (`now`, unless given); clocks count from that day.
    `seen_while`: keys of the visit and the remedial it was found at, for the record. The same `id` again: the same
    observation, photos that it lacks are added. Raises Refused at an archived site, without words, for an unknown code,
    and for whatever `make_safe` and `give_danger_notice` refuse.
    """
    ground.must(policy.may_inspect(by), NOT_YOURS)
    site = ground.held_site(site)
    if made := ground.made_before(Observation, id, site_id=site.pk, inspection_id=None):
        return with_photos(made, photos, by=by, now=now)
    ground.must_be_in_use(site)
    if code == Code.C3 and (made_safe or notice):
        raise Refused(NO_DANGER, field="code")
    observation = _observation(site, id, unit, board, circuit, text, code, by=by, at=made_at or now)
    observation.place = place.strip()
    clocks.set_clocks(observation, next_due=next_due_of(unit))
    clocks.set_step(observation, by=by, now=now)
    observation.number = take_number("observation")
    observation.save(force_insert=True)
    _record(observation, seen_while or {}, by=by, now=now)
    with_photos(observation, photos, by=by, now=now)
    if made_safe:
        _make_safe(observation, made_safe, by=by, now=now, made_at=made_at)
    if notice:
        _give_notice(observation, notice, by=by, now=now, made_at=made_at)
    observation.refresh_from_db()
    return observation


def _observation(
    site: Site,
    id: UUID,
    unit: Unit,
    board: Board | None,
    circuit: Circuit | None,
    text: str,
    code: str,
    *,
    by: User,
    at: datetime,
) -> Observation:
    """The observation as it was found `at` that instant, checked."""
    if code not in ("", *Code.values):
        raise Refused("Choose a code: C1, C2, C3 or FI, or say that you are not sure.", field="code")
    observation = Observation(id=id, site=site, unit=unit, circuit=circuit, code=code, code_written=code)
    observation.text = ground.said(text, "Say what was found.", "text")
    observation.board = ground.settle_place(site.pk, unit, board, circuit)
    observation.reviewed = bool(code) and is_qualified(by, now=at)
    observation.may_be_dangerous = not code
    observation.recorded_at, observation.recorded_by = at, by
    observation.recorded_on = observation.first_recorded_on = clock.local_day(at)
    return observation


def _record(observation: Observation, seen_while: Mapping[str, str], *, by: User, now: datetime) -> None:
    facts: dict[str, Any] = {
        "number": observation.number,
        "unit": str(observation.unit_id),
        "board": ground.key(observation.board),
        "circuit": ground.key(observation.circuit),
        "code": observation.code,
        "reviewed": observation.reviewed,
    }
    facts |= dates_of(observation) | {name: key for name, key in seen_while.items() if key}
    words = {"text": observation.text, "place": observation.place}
    record(Verb.SEEN, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)


def _make_safe(
    observation: Observation, safe: MadeSafeFacts, *, by: User, now: datetime, made_at: datetime | None
) -> None:
    """By the operation for it; what it refuses stands beside the field of this form."""
    key = part_of(observation.pk, "made-safe")
    try:
        make_safe(
            observation, id=key, how=safe.how, what=safe.what, agreed_with=safe.agreed_with, lock=safe.lock,
            key_holder=safe.key_holder, look_again_on=safe.look_again_on, photo=safe.photo, no_photo=safe.no_photo,
            by=by, now=now, done_at=made_at, made_at=made_at,
        )  # fmt: skip
    except Refused as no:
        raise _beside(no) from None


def _give_notice(
    observation: Observation, told: NoticeFacts, *, by: User, now: datetime, made_at: datetime | None
) -> None:
    key = part_of(observation.pk, "notice")
    try:
        give_danger_notice(
            [observation], id=key, why=told.why.strip() or observation.text, advised=told.advised,
            given_to=told.given_to, how=told.how, by=by, now=now, made_at=made_at,
        )  # fmt: skip
    except Refused as no:
        raise (Refused(no.sentence, field="notice_how") if no.field == "how" else no) from None


def _beside(no: Refused) -> Refused:
    """What was refused of the made safe, beside the field that this page has for it."""
    return Refused(no.sentence, field=HERE[no.field]) if no.field in HERE else no
