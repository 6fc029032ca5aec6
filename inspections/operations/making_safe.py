"""Made safe for now: a temporary action that the duty-holder agreed to. The defect stays open until it is remedied."""

from datetime import date, datetime
from uuid import UUID

from inspections import policy
from inspections.choices import Code, MadeSafeEnd, MadeSafeHow
from inspections.models import MadeSafe, Observation
from inspections.operations import clocks, ground
from inspections.operations.deciding import dates_of
from inspections.verbs import Verb
from jobsite import clock
from jobsite.ledger.operations import operation, record
from jobsite.ledger.photographs import store_photograph
from jobsite.ledger.queries import told_by_form
from jobsite.people.models import User
from jobsite.refused import Refused

NOT_YOURS = "Your rights do not cover making safe."
STANDS_ALREADY = "It is made safe already. Look at it again, or say that it was reconnected."


@operation
def make_safe(
    observation: Observation,
    *,
    id: UUID,
    how: str,
    what: str,
    agreed_with: str,
    look_again_on: date,
    by: User,
    now: datetime,
    lock: str = "",
    key_holder: str = "",
    photo: bytes | None = None,
    no_photo: str = "",
    looker: User | None = None,
    done_by: User | None = None,
    done_at: datetime | None = None,
    made_at: datetime | None = None,
) -> MadeSafe:
    """Record that a danger was made safe for now: how, what exactly, with whose agreement, who holds the key.

    `done_by` (whoever records it, unless named) did it at `done_at` (`made_at`, unless given); the entry keeps who recorded
    it. `made_at`: when it was written down (`now`, unless it comes later from a phone without signal). Also on a draft,
    since it is done when found. `looker` (whoever did it, unless named) looks again on `look_again_on`. Its proof is a
    photograph, or why there can be none (`no_photo`). Raises Refused without proof, without the duty-holder's agreement,
    for a lock without a key holder, for a time that is still to come, for a `looker` who left, and at an archived site.
    """
    ground.must(policy.may_inspect(by), NOT_YOURS)
    site = ground.held_site(observation.site)
    observation = ground.locked(observation)
    if made := ground.made_before(MadeSafe, id):
        return _of(made, observation)
    ground.must_be_in_use(site)
    ground.still_open(observation, "there is nothing to make safe")
    if observation.made_safe:
        raise Refused(STANDS_ALREADY)
    _check(how, lock, key_holder)
    if done_at and done_at > now:
        raise Refused("This time is still to come: say when it was made safe.", field="done_at")
    written = made_at or now
    ground.not_past(look_again_on, clock.local_day(written), "Look again today or later.", "look_again_on")
    made = MadeSafe(id=id, observation=observation, how=how, lock=lock.strip(), key_holder=key_holder.strip())
    made.what = ground.said(what, "Say what exactly was done, and where.", "what")
    made.agreed_with = ground.said(agreed_with, "Say which duty-holder agreed to it.", "agreed_with")
    made.at, made.by, made.look_again_on = done_at or written, done_by or by, look_again_on
    made.looker = looker or made.by
    ground.must_be_active(made.looker, "looker")
    if not photo:
        made.no_photo = ground.said(no_photo, "Add a photograph of it, or say below why there can be none.", "photo")
    made.photo = store_photograph(photo, now=now)[0] if photo else None
    made.save(force_insert=True)
    _mark(observation, True)
    facts = {"made_safe": str(made.pk), "how": how, "look_again_on": look_again_on.isoformat()}
    facts |= {"looker": str(made.looker.pk)} | ({"photo": made.photo.hash} if made.photo else {})
    if (made.by, made.at) != (by, now):
        facts |= {"done_by": str(made.by.pk), "done_at": made.at.isoformat()}
    words = {"what": made.what, "agreed_with": made.agreed_with, "lock": made.lock, "key_holder": made.key_holder}
    words |= {"no_photo": made.no_photo}
    record(Verb.MADE_SAFE, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)
    return made


@operation
def look_again(
    made_safe: MadeSafe,
    *,
    id: UUID,
    look_again_on: date,
    by: User,
    now: datetime,
    made_at: datetime | None = None,
    note: str = "",
    key_holder: str = "",
) -> MadeSafe:
    """Record that what was made safe was looked at and still holds, when to look again, and who holds the key by now.

    `id` is the form's: the same form again is the same look; no `key_holder`: as before; `made_at`: when it was looked at
    (`now`, unless given). Raises Refused for a day that is not after that one.
    """
    ground.must(policy.may_inspect(by), NOT_YOURS)
    observation, made = _locked(made_safe)
    if told_by_form(Verb.LOOKED_AGAIN, observation, id):
        return made
    _must_stand(made)
    if look_again_on <= clock.local_day(made_at or now):
        raise Refused("Choose a day after today to look again.", field="look_again_on")
    before, made.look_again_on = made.look_again_on, look_again_on
    held_before, made.key_holder = made.key_holder, key_holder.strip() or made.key_holder
    made.save(update_fields=["look_again_on", "key_holder"])
    facts = {
        "made_safe": str(made.pk),
        "form": str(id),
        "look_again_on_before": before.isoformat(),
        "look_again_on": look_again_on.isoformat(),
    }
    words = {"note": note.strip(), "key_holder": made.key_holder if made.key_holder != held_before else ""}
    record(Verb.LOOKED_AGAIN, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)
    return made


@operation
def reconnect(
    made_safe: MadeSafe, *, by: User, now: datetime, reason: str, made_at: datetime | None = None
) -> Observation:
    """Record that what was made safe is connected or uncovered again: danger present, so C1, to be made safe today.

    It was found so at `made_at` (`now`, unless given). A qualified person has to look at the code again. The remedy-by date never moves later by this. Raises Refused at an
    archived site, where the danger would not be seen.
    """
    ground.must(policy.may_inspect(by), NOT_YOURS)
    site = ground.held_site(made_safe.observation.site)
    observation, made = _locked(made_safe)
    if made.ended == MadeSafeEnd.RECONNECTED:
        return observation
    ground.must_be_in_use(site)
    _must_stand(made)
    reason = ground.said(reason, "Say who reconnected it and why.", "reason")
    made.ended, made.ended_at = MadeSafeEnd.RECONNECTED, max(made_at or now, made.at)
    made.save(update_fields=["ended", "ended_at"])
    before = observation.code
    _danger_again(observation, by=by, now=now)
    facts = {"made_safe": str(made.pk), "code_before": before, "code": observation.code} | dates_of(observation)
    words = {"reason": reason}
    record(Verb.RECONNECTED, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)
    return observation


def _danger_again(observation: Observation, *, by: User, now: datetime) -> None:
    today = clock.local_day(now)
    earlier = (observation.remedy_by, observation.remedy_basis, observation.remedy_by_law)
    observation.code, observation.reviewed, observation.made_safe = Code.C1, False, False
    clocks.set_clocks(observation, next_due=None)
    if earlier[0] and observation.remedy_by and earlier[0] < observation.remedy_by:
        observation.remedy_by, observation.remedy_basis, observation.remedy_by_law = earlier
    observation.make_safe_by = today
    clocks.set_step(observation, by=by, now=now)
    observation.version += 1
    fields = [*clocks.CLOCK_FIELDS, *clocks.STEP_FIELDS, "code", "reviewed", "made_safe", "version"]
    observation.save(update_fields=fields)


def _check(how: str, lock: str, key_holder: str) -> None:
    if how not in MadeSafeHow.values:
        raise Refused("Say how: isolated and locked, covered, or disconnected.", field="how")
    if (how == MadeSafeHow.LOCKED or lock.strip()) and not key_holder.strip():
        raise Refused("Say who holds the key of the lock.", field="key_holder")


def _locked(made_safe: MadeSafe) -> tuple[Observation, MadeSafe]:
    """The observation it stands on now and the row itself, locked in that order."""
    on = MadeSafe.objects.get(pk=made_safe.pk).observation
    observation, made = ground.locked(on), ground.locked(made_safe)
    if made.observation_id != observation.pk:
        raise Refused("It was moved to another observation just now: open it again.")
    return observation, made


def _must_stand(made: MadeSafe) -> None:
    if not policy.stands(made):
        raise Refused(f"It does not stand any more: {made.get_ended_display()}.")


def _of(made: MadeSafe, observation: Observation) -> MadeSafe:
    """The row that the same form made; where the lock was carried over meanwhile, it is the same lock."""
    later = observation.continued_by.filter(pk=made.observation_id).exists()
    if made.observation_id != observation.pk and not later:
        raise Refused(ground.FORM_USED)
    return made


def _mark(observation: Observation, made_safe: bool) -> None:
    observation.made_safe = made_safe
    observation.version += 1
    observation.save(update_fields=["made_safe", "version"])
