"""What a qualified person decides: the code of an observation, and what an investigation found."""

from datetime import date, datetime
from uuid import UUID

from inspections import policy
from inspections.choices import Code, Decision, Ended
from inspections.models import MadeSafe, Observation, Review
from inspections.operations import clocks, ground
from inspections.operations.ending import ENDED_FIELDS, carry_over, close
from inspections.operations.keeping import keep_completion
from inspections.operations.next_inspections import next_due_of
from inspections.verbs import Verb
from jobsite import clock
from jobsite.firm.operations import take_number
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import Refused

FINDINGS = (Code.C1, Code.C2, Code.C3)
REVIEWED_FIELDS = [*clocks.CLOCK_FIELDS, *clocks.STEP_FIELDS, "code", "reviewed", "version"]
CHANGED = "Somebody else decided on this observation meanwhile."


@operation
def review(
    observation: Observation,
    *,
    decision: str,
    code: str = "",
    reason: str,
    by: User,
    now: datetime,
    version: int | None = None,
) -> Review:
    """Decide the code of an observation: agree with the one in force, recode, or find that it deserves none.

    The first code of a defect that nobody has coded is a recoding. What was written stays; the code in force is the last
    decision, and its dates are counted anew from the day of record. No code closes the observation; a later recoding
    opens it again. Raises NotAllowed without competence on the day, Refused without a reason for anything but agreeing,
    and at an archived site: what a decision makes due would not be seen there.
    """
    ground.must(policy.may_decide_codes(by, now=now), policy.why_not_decide(by, now=now))
    site = ground.held_site(observation.site)
    observation = ground.locked(observation)
    decided = _decided(observation, decision, code)
    reason = reason.strip()
    if last := _same_again(observation, decision, decided, reason, by):
        return last
    ground.must_be_in_use(site)
    if version is not None:
        ground.unchanged(observation, version, CHANGED)
    _check_review(observation, decision, decided, reason)
    before = observation.code
    made = Review.objects.create(
        observation=observation, decision=decision, code_before=before, code=decided, reason=reason, by=by, at=now
    )
    besides = _put_decision(observation, decision, decided, reason, by=by, now=now)
    facts = {"decision": str(decision), "code_before": before, "code": decided} | dates_of(observation) | besides
    words = {"reason": reason}
    record(Verb.REVIEWED, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)
    keep_completion([observation], by=by, now=now)
    return made


@operation
def record_finding(
    fi_observation: Observation,
    *,
    id: UUID,
    code: str,
    text: str,
    by: User,
    now: datetime,
    done_on: date | None = None,
) -> Observation | None:
    """End an investigation in what it found: C1, C2, C3, or nothing (`code` "").

    A finding is a new observation that continues the FI: it keeps its age and what was made safe, and starts its own
    clocks today. `done_on`: the day of the investigation, where that was another. Returns it, None where nothing was found. Raises NotAllowed without competence on the day, Refused at
    an archived site.
    """
    ground.must(policy.may_decide_codes(by, now=now), policy.why_not_decide(by, now=now))
    site = ground.held_site(fi_observation.site)
    investigated = ground.locked(fi_observation)
    if investigated.ended == Ended.FINDING:
        return ground.made_before(Observation, id, continues_id=investigated.pk)
    ground.must_be_in_use(site)
    ground.in_force(investigated, "it takes no finding")
    if investigated.code != Code.FI:
        raise Refused("Only an FI ends in a finding; review the code of any other observation.")
    text = ground.said(text, "Say what the investigation found.", "text")
    if code and code not in FINDINGS:
        raise Refused("An investigation ends in C1, C2, C3 or nothing.", field="code")
    if ground.made_before(Observation, id):
        raise Refused(ground.FORM_USED)
    found = _finding(investigated, id, code, text, by=by, now=now) if code else None
    besides = {} if found else close(investigated, ended=Ended.FINDING, reason=text, now=now, done_on=done_on)
    facts = {"code": code, "finding": ground.key(found)} | (dates_of(found) if found else {}) | besides
    words = {"text": text}
    record(Verb.FOUND, site=investigated.site_id, subject=investigated, by=by, now=now, facts=facts, words=words)
    if found:
        carry_over(investigated, found, ended=Ended.FINDING, by=by, now=now, reason=text, done_on=done_on)
    keep_completion([investigated], by=by, now=now)
    return found


@operation
def withdraw_finding(fi_observation: Observation, *, reason: str, by: User, now: datetime) -> Observation:
    """Undo a finding that was recorded in error: the investigation is open again, with a next step and its old dates.

    What it found, where that is still open, ends as withdrawn; a lock that went over to it comes back. One that is open
    already stays as it is. Raises NotAllowed without competence on the day; Refused without a reason, at an archived
    site, and where what it found was put right or continued meanwhile.
    """
    ground.must(policy.may_decide_codes(by, now=now), policy.why_not_decide(by, now=now))
    site = ground.held_site(fi_observation.site)
    investigated = ground.locked(fi_observation)
    if not investigated.ended:
        return investigated
    ground.must_be_in_use(site)
    if investigated.ended != Ended.FINDING:
        raise Refused(f"It ended as: {investigated.get_ended_display()}. There is no finding to withdraw.")
    reason = ground.said(reason, "Say why the finding is withdrawn.", "reason")
    later = investigated.continued_by.filter(draft=False).exclude(ended=Ended.WITHDRAWN)
    found = later.select_for_update(of=("self",)).first()
    investigated.ended, investigated.ended_on, investigated.ended_reason = Ended.OPEN, None, ""
    investigated.done_on = None
    if found:
        _take_back(investigated, found, reason, by=by, now=now)
    clocks.set_step(investigated, by=by, now=now)
    investigated.version += 1
    investigated.save(update_fields=[*ENDED_FIELDS, *clocks.STEP_FIELDS])
    facts = {"finding": ground.key(found), "step_by": ground.iso(investigated.step_by)}
    words = {"reason": reason}
    record(Verb.UNFOUND, site=investigated.site_id, subject=investigated, by=by, now=now, facts=facts, words=words)
    keep_completion([investigated], by=by, now=now)
    return investigated


def _take_back(investigated: Observation, found: Observation, reason: str, *, by: User, now: datetime) -> None:
    """End what was found as withdrawn; the lock that stands on it goes back. Refused where it was dealt with since."""
    if found.ended == Ended.NO_CODE:
        return
    if found.ended:
        raise Refused(f"What it found, observation {found.number}, is closed: {found.get_ended_display()}.")
    if MadeSafe.objects.filter(observation=found, ended="").update(observation=investigated):
        investigated.made_safe = True
    besides = close(found, ended=Ended.WITHDRAWN, reason=reason, now=now)
    facts = {"ended": str(Ended.WITHDRAWN), "code": found.code} | besides
    words = {"reason": reason}
    record(Verb.ENDED, site=found.site_id, subject=found, by=by, now=now, facts=facts, words=words)


def dates_of(observation: Observation) -> dict[str, str | None]:
    """The dates of an observation as the ledger spells them."""
    return {
        "make_safe_by": ground.iso(observation.make_safe_by),
        "remedy_by": ground.iso(observation.remedy_by),
        "step_by": ground.iso(observation.step_by),
    }


def _decided(observation: Observation, decision: str, code: str) -> str:
    """The code that the decision puts in force."""
    if decision == Decision.AGREE:
        if code and code != observation.code:
            raise Refused("Agreeing keeps the code in force; choose “recode” for another.", field="decision")
        return observation.code
    return "" if decision == Decision.NO_CODE else code


def _same_again(observation: Observation, decision: str, code: str, reason: str, by: User) -> Review | None:
    """The last review, where this is the same decision sent twice."""
    last = observation.reviews.order_by("-at", "-pk").first()
    if last is None or observation.code != last.code:
        return None
    same = (last.decision, last.code, last.reason, last.by_id) == (decision, code, reason, by.pk)
    return last if same else None


def _check_review(observation: Observation, decision: str, code: str, reason: str) -> None:
    if observation.ended != Ended.NO_CODE:
        ground.in_force(observation, "its code is not decided any more" if observation.ended else "issue it first")
    if decision not in Decision.values:
        raise Refused("Agree, recode, or find that it deserves no code.", field="decision")
    if decision == Decision.AGREE and not code:
        raise Refused("There is no code to agree with: choose “recode” and a code.", field="decision")
    if decision == Decision.RECODE and code not in Code.values:
        raise Refused("Choose the new code: C1, C2, C3 or FI.", field="code")
    if decision == Decision.RECODE and code == observation.code:
        raise Refused(f"{code} is the code in force already: agree with it instead.", field="code")
    if decision != Decision.AGREE and not reason:
        raise Refused("Say why: a changed code needs its reason.", field="reason")


def _put_decision(
    observation: Observation, decision: str, code: str, reason: str, *, by: User, now: datetime
) -> dict[str, list[str]]:
    """Put the code in force: its dates, its next step, open or closed; what ended with it, as facts."""
    besides: dict[str, list[str]] = {}
    before, observation.code, observation.reviewed = observation.code, code, True
    if decision == Decision.NO_CODE:
        clocks.set_clocks(observation)
        besides = close(observation, ended=Ended.NO_CODE, reason=reason, now=now)
    else:
        observation.ended, observation.ended_on, observation.ended_reason = Ended.OPEN, None, ""
        observation.done_on = None
        observation.version += 1
        clocks.set_clocks(observation, next_due=next_due_of(observation.unit))
        if not before:
            clocks.set_step(observation, by=by, now=now)
        elif code != before:
            clocks.hurry_step(observation, by=by, now=now)
    observation.save(update_fields=sorted({*REVIEWED_FIELDS, *ENDED_FIELDS}))
    return besides


def _finding(
    investigated: Observation,
    id: UUID,
    code: str,
    text: str,
    *,
    by: User,
    now: datetime,
) -> Observation:
    today = clock.local_day(now)
    found = Observation(
        id=id,
        number=take_number("observation"),
        site=investigated.site,
        unit=investigated.unit,
        board=investigated.board,
        circuit=investigated.circuit,
        place=investigated.place,
        continues=investigated,
        text=text,
        code=code,
        code_written=code,
        reviewed=True,
        recorded_on=today,
        first_recorded_on=investigated.first_recorded_on,
        recorded_at=now,
        recorded_by=by,
        owner=investigated.owner,
    )
    clocks.set_clocks(found, next_due=next_due_of(found.unit), anew=True)
    clocks.set_step(found, by=by, now=now)
    found.save(force_insert=True)
    return found
