"""The qualified person's look at the proof; and opening again what was closed."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from inspections.choices import Code, Ended
from inspections.models import Observation
from inspections.operations import record_finding, reopen_observation
from inspections.operations.ground import held_site, locked_site, must_be_in_use
from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.ledger.queries import just_told
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.works import policy
from remedials.works.models import Proof, ProofReview, Remedial
from remedials.works.operations.closing import end_remedied
from remedials.works.operations.ground import (
    change,
    keys,
    locked_with_observations,
    moved,
    needed,
    note,
    person,
    step_date,
)
from remedials.works.operations.notifying import no_notices_owed
from remedials.works.operations.waiting import waits_no_more
from remedials.works.queries.closing import still_to_come
from remedials.works.states import Move, Stage
from remedials.works.verbs import Verb

CHANGED = "This remedial changed since you opened it: look at the proof as it stands here now, then decide."
FINDINGS = frozenset({"", Code.C1, Code.C2, Code.C3})
# How a remedial in a stage ended its observations; a cancelled one ended none.
ENDED_BY = {Stage.DONE: Ended.REMEDIED, Stage.REVIEWED: Ended.REMEDIED, Stage.BY_OTHERS: Ended.OTHERS}


@dataclass(frozen=True)
class Finding:
    """What an investigation found: a code ("" for nothing) and the words of the finding."""

    code: str
    text: str


@operation
def review_proof(
    proof: Proof,
    *,
    decision: str,
    by: Actor,
    now: datetime,
    reason: str = "",
    findings: Mapping[UUID, Finding] | None = None,
    finding_code: str | None = None,
    finding_text: str = "",
    version: int | None = None,
) -> ProofReview:
    """Accept the standing proof of a remedial, or send it back with a reason.

    Accepting takes what exceptions it puts up with it, and ends the observations as remedied; an FI ends in its
    finding instead: `findings` by observation, or `finding_code` and `finding_text` for each. It says that the proof
    was reviewed, not that anybody reinspected. `version`: the one of the remedial that the reviewer saw, so that they
    decide on nothing that came after. Raises NotAllowed, ChangedMeanwhile, and Refused, also at an archived site: what
    is sent back or found there would not be seen.
    """
    site = held_site(proof.remedial.site)
    remedial, observations = locked_with_observations(proof.remedial)
    proof = Proof.objects.select_for_update(of=("self",)).get(pk=proof.pk)
    if made := ProofReview.objects.filter(proof=proof).select_related("by").first():
        return _the_same(made, decision)
    must_be_in_use(site)
    if why_not := policy.why_not_review(by, proof, now=now):
        raise NotAllowed(why_not)
    if version is not None and remedial.version != version:
        raise ChangedMeanwhile(CHANGED, theirs=remedial)
    if proof.state != Proof.State.STANDS:
        raise Refused(f"This proof does not stand: it was {proof.get_state_display()}.")
    review = ProofReview(
        proof=proof, decision=decision, reason=reason.strip(), by=person(by), at=now,
        self_review=proof.done_by_id == by.actor_id,
    )  # fmt: skip
    if decision == ProofReview.Decision.SENT_BACK:
        return _send_back(review, remedial, observations, now=now)
    default = None if finding_code is None else Finding(finding_code, finding_text)
    return _accept(review, remedial, observations, findings=findings or {}, default=default, now=now)


def _the_same(made: ProofReview, decision: str) -> ProofReview:
    if made.decision != decision:
        raise Refused(f"This proof was {made.get_decision_display()} by {made.by} already.")
    return made


def _send_back(
    review: ProofReview, remedial: Remedial, observations: list[Observation], *, now: datetime
) -> ProofReview:
    needed(review.reason, "Say what is wrong or missing: it goes back with the reason.", field="reason")
    stage = moved(remedial, Move.SEND_BACK)
    review.save(force_insert=True)
    proof = review.proof
    proof.state = Proof.State.SENT_BACK
    proof.save(update_fields=["state"])
    owner = remedial.made_by if remedial.made_by.is_active else review.by
    change(remedial, stage=stage, owner=owner, step_by=step_date(observations, now=now))
    facts = {"proof": str(proof.pk)}
    note(Verb.SENT_BACK, remedial, by=review.by, now=now, facts=facts, words={"reason": review.reason})
    no_notices_owed(remedial, by=review.by, now=now)
    return review


def _accept(
    review: ProofReview,
    remedial: Remedial,
    observations: list[Observation],
    *,
    findings: Mapping[UUID, Finding],
    default: Finding | None,
    now: datetime,
) -> ProofReview:
    stage = moved(remedial, Move.REVIEW)
    rest = [o for o in observations if not o.ended]
    if uncoded := [o for o in rest if not o.code]:
        raise Refused(f"Observation {uncoded[0].number} has no code yet: decide its code first.")
    open_still = still_to_come(rest, besides=remedial)
    ripe = [o for o in rest if o.code == Code.FI and o.pk not in open_still]
    found = {o.pk: _finding(o, findings.get(o.pk, default)) for o in ripe}
    review.save(force_insert=True)
    change(remedial, stage=stage, owner=None, step_by=None)
    done = {"done_on": clock.local_day(review.proof.done_at)}
    ended = end_remedied(remedial, [o for o in rest if o.code != Code.FI], by=review.by, now=now, **done)
    for o in ripe:
        record_finding(o, id=new_id(), code=found[o.pk].code, text=found[o.pk].text, by=review.by, now=now, **done)
    facts = {"proof": str(review.proof_id), "self_review": review.self_review, "remedied": ended}
    facts |= {"findings": keys(found), "exception": bool(review.proof.exception_reason)}
    facts |= waits_no_more(remedial, now=now)
    note(Verb.REVIEWED, remedial, by=review.by, now=now, facts=facts, words={"reason": review.reason})
    return review


def _finding(observation: Observation, finding: Finding | None) -> Finding:
    """The finding of one FI. Raises Refused where there is none: an investigation is never simply remedied."""
    if finding is None or finding.code not in FINDINGS:
        raise Refused(f"Observation {observation.number} is an FI: say what the investigation found.", field="finding")
    text = needed(finding.text, f"Put in words what was found at observation {observation.number}.", field="finding")
    return Finding(finding.code, text)


@operation
def reopen_remedial(remedial: Remedial, *, reason: str, by: Actor, now: datetime) -> Remedial:
    """Open a closed, cancelled or others' remedial again, with the observations that it ended.

    Its proof stays, marked as reopened. A finding stands: it has its own life. The same reopening sent twice: nothing
    more happens. Raises NotAllowed, and Refused, also at an archived site: what is open there would not be seen.
    """
    locked_site(remedial.site)
    remedial, observations = locked_with_observations(remedial)
    if not policy.may_reopen(by, now=now):
        raise NotAllowed("Only the office or a qualified person may reopen a remedial.")
    reason = needed(reason, "Say why it is opened again.", field="reason")
    if just_told(Verb.REOPENED, remedial, reason=reason):
        return remedial
    stage = moved(remedial, Move.REOPEN)
    before = Stage(remedial.stage)
    standing = Proof.objects.filter(remedial=remedial, state=Proof.State.STANDS)
    proofs = keys(standing.values_list("pk", flat=True))
    standing.update(state=Proof.State.REOPENED)
    again = [o for o in observations if o.ended and o.ended == ENDED_BY.get(before)]
    change(remedial, stage=stage, owner=person(by), step_by=clock.local_day(now))
    facts = {"from": before.value, "to": stage.value, "proofs": proofs, "observations": keys(o.pk for o in again)}
    note(Verb.REOPENED, remedial, by=by, now=now, facts=facts, words={"reason": reason})
    no_notices_owed(remedial, by=by, now=now)
    for observation in again:
        reopen_observation(observation, reason=f"Remedial {remedial.number} reopened: {reason}", by=person(by), now=now)
    return remedial
