"""How observations stop being open, and become open again."""

from datetime import date, datetime

from django.conf import settings
from django.utils.module_loading import import_string

from inspections import policy
from inspections.choices import Code, Ended, MadeSafeEnd, StillThere
from inspections.models import MadeSafe, Observation
from inspections.operations import clocks, ground
from inspections.operations.keeping import keep_completion
from inspections.verbs import Verb
from jobsite import clock
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import Refused

ENDED_FIELDS = ["ended", "ended_on", "ended_reason", "done_on", "made_safe", "version"]
FROM_WORK = (Ended.REMEDIED, Ended.OTHERS, Ended.WITHDRAWN)


@operation
def end_observation(
    observation: Observation, *, ended: str, reason: str, by: User, now: datetime, done_on: date | None = None
) -> Observation:
    """Close an observation as remedied, done by others or withdrawn. One that has ended already stays as it is.

    `done_on`: the day of the work, where that was another. A made-safe that stands on it ends too, and where that was the
    last of what its report required, confirmations are owed. Raises Refused for remedying an FI (it ends in a finding) or a defect that
    nobody has coded, and without a reason where none of our work is the reason.
    """
    ground.must(policy.may_end_observation(by), "Your rights do not cover closing an observation.")
    observation = ground.locked(observation)
    if observation.ended:
        return observation
    ground.in_force(observation, "it cannot be closed")
    _check_end(observation, ended, reason)
    besides = close(observation, ended=ended, reason=reason, now=now, done_on=done_on)
    facts = {"ended": str(ended), "code": observation.code} | besides
    words = {"reason": reason.strip()}
    record(Verb.ENDED, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)
    keep_completion([observation], by=by, now=now)
    return observation


@operation
def reopen_observation(observation: Observation, *, reason: str, by: User, now: datetime) -> Observation:
    """Open again what was remedied, done by others, withdrawn or found gone, with a next step; its dates stay, so it may be late.

    One that is open stays as it is. Raises Refused without a reason, at an archived site, and for other endings: a code
    is decided by a review, and what a later observation continues lives on in that.
    """
    ground.must(policy.may_end_observation(by), "Your rights do not cover reopening an observation.")
    site = ground.held_site(observation.site)
    observation = ground.locked(observation)
    if not observation.ended:
        return observation
    ground.must_be_in_use(site)
    reason = ground.said(reason, "Say why it is open again.", "reason")
    before = observation.ended
    if before not in (*FROM_WORK, Ended.GONE):
        raise Refused(f"It ended as: {observation.get_ended_display()}. That is not undone by reopening.")
    observation.ended, observation.ended_on, observation.ended_reason = Ended.OPEN, None, ""
    observation.done_on = None
    clocks.set_step(observation, by=by, now=now)
    observation.version += 1
    observation.save(update_fields=[*ENDED_FIELDS, *clocks.STEP_FIELDS])
    if before == Ended.GONE:  # whoever looked was wrong: that report does not confirm it, and is asked again
        observation.not_seen_again.filter(answer=StillThere.GONE).update(answer=StillThere.UNANSWERED)
    facts = {"ended_before": before, "step_by": ground.iso(observation.step_by)}
    words = {"reason": reason}
    record(Verb.REOPENED, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)
    keep_completion([observation], by=by, now=now)
    return observation


def _check_end(observation: Observation, ended: str, reason: str) -> None:
    if ended not in FROM_WORK:
        raise Refused("An observation is closed as remedied, done by others or withdrawn.", field="ended")
    if ended == Ended.REMEDIED and observation.code == Code.FI:
        raise Refused("An FI ends in a finding (C1, C2, C3 or nothing); it is never simply remedied.")
    if ended == Ended.REMEDIED and not observation.code:
        raise Refused("Nobody competent has coded this defect yet: review it first.")
    if ended != Ended.REMEDIED:
        ground.said(reason, "Say why it is closed.", "reason")


def close(
    observation: Observation, *, ended: str, reason: str, now: datetime, done_on: date | None = None
) -> dict[str, list[str]]:
    """Close a locked observation inside an operation, and the made-safe that stands on it.

    What the floors above keep about it ends too (the setting WHEN_OBSERVATION_ENDS); returned as facts for the entry.
    """
    end = MadeSafeEnd.REMEDIED if ended in (Ended.REMEDIED, Ended.OTHERS) else MadeSafeEnd.LIFTED
    MadeSafe.objects.filter(observation=observation, ended="").update(ended=end, ended_at=now)
    observation.ended, observation.ended_on = ended, clock.local_day(now)
    observation.ended_reason, observation.made_safe = reason.strip(), False
    observation.done_on = done_on if done_on != observation.ended_on else None
    observation.version += 1
    observation.save(update_fields=ENDED_FIELDS)
    besides: dict[str, list[str]] = {}
    for name in settings.WHEN_OBSERVATION_ENDS:
        besides |= import_string(name)(observation, now=now)
    return besides


def carry_over(
    earlier: Observation,
    later: Observation,
    *,
    ended: str,
    by: User,
    now: datetime,
    reason: str = "",
    done_on: date | None = None,
) -> None:
    """Inside an operation: end the locked `earlier`, which `later` continues.

    What was made safe stands on `later` from now on, unless that was made safe by itself. Of the same defect seen again
    (not of a finding) also what the floors above keep goes over: the setting WHEN_OBSERVATION_GOES_ON.
    """
    if earlier.ended:
        return
    standing = MadeSafe.objects.filter(observation=earlier, ended="")
    besides: dict[str, list[str]] = {}
    if not later.made_safe and (held := standing.first()):
        standing.update(observation=later)
        later.made_safe = True
        later.save(update_fields=["made_safe"])
        besides["made_safe_follows"] = [str(held.pk)]
    for name in settings.WHEN_OBSERVATION_GOES_ON if ended == Ended.CONTINUED else ():
        besides |= import_string(name)(earlier, later, by=by, now=now)
    besides |= close(earlier, ended=ended, reason=reason, now=now, done_on=done_on)
    facts = {"ended": str(ended), "code": earlier.code, "continued_by": str(later.pk)} | besides
    words = {"reason": reason.strip()}
    record(Verb.ENDED, site=earlier.site_id, subject=earlier, by=by, now=now, facts=facts, words=words)
