"""How a site stood at an instant, told by its ledger alone: whoever holds the entries comes to the same answer. Pure.

The rows of the database say how things are now. How they were is found by going through the entries in their order, from
the first to the last before the instant: each verb moves what it is about, as the operation did that wrote it. The stages of
works move by the same table as in the operations (`works.states`). What a verb does here is held against the rows after
every step of histories played at random (`tests/remedials/test_status_bundles_fold.py`).
"""

from collections.abc import Callable, Iterable

from remedials.status.bundles.rules.state import Job, Seen, State, Told
from remedials.works.states import Move, after


def state_of(entries: Iterable[Told]) -> State:
    """How things stood after `entries`, given in the order in which they were written."""
    state = State()
    for told in entries:
        state.by_verb.setdefault(told.verb, []).append(told)
        if about := state.seen.get(told.subject):
            about.told.append(told)
        if job := state.jobs.get(told.subject):
            job.told.append(told)
            _work(job, told)
        if act := ACTS.get(told.verb):
            act(state, told)
    return state


# --- observations -----------------------------------------------------------------------------------------------------


def _first(state: State, told: Told) -> Seen:
    seen = Seen(told.subject, number=int(told.facts.get("number") or 0), told=[told])
    seen.code = seen.at_issue = told.facts.get("code") or ""
    seen.text = told.words.get("text", "")
    state.seen[seen.key] = seen
    return seen


def _in_force(state: State, told: Told) -> None:
    _first(state, told)


def _noted(state: State, told: Told) -> None:
    seen = _first(state, told)
    seen.draft, seen.report = True, told.facts.get("inspection") or ""
    seen.continues = told.facts.get("continues") or ""


def _changed(state: State, told: Told) -> None:
    if seen := state.seen.get(told.subject):
        seen.code = told.facts.get("code") or ""
        seen.continues = told.facts.get("continues") or ""
        seen.text = told.words.get("text", seen.text)


def _copied(state: State, former: str, key: str, report: str, told: Told) -> None:
    """A reissue begins with a copy of each observation, coded as the former report was when it was issued."""
    if one := state.seen.get(former):
        state.seen[key] = Seen(
            key, code=one.at_issue, text=one.text, draft=True, report=report, continues=former, told=[told]
        )


def _reissue_begun(state: State, told: Told) -> None:
    for pair in told.facts.get("observations", ()):
        former, _, copy = pair.partition(":")
        _copied(state, former, copy, told.subject, told)


def _brought_back(state: State, told: Told) -> None:
    _copied(state, told.facts["continues"], told.subject, told.facts["inspection"], told)
    if copy := state.seen.get(told.subject):
        copy.number = int(told.facts.get("number") or 0)


def _dropped(state: State, told: Told) -> None:
    state.seen.pop(told.subject, None)


def _draft_deleted(state: State, told: Told) -> None:
    for pair in told.facts.get("observations", ()):
        state.seen.pop(pair.partition(":")[0], None)


def _issued(state: State, told: Told) -> None:
    replaces = told.facts.get("replaces") or ""
    for key in told.facts.get("observations", ()):
        if (seen := state.seen.get(key)) is None:
            continue
        seen.draft = False
        seen.told.append(told)
        former = state.seen.get(seen.continues)
        if replaces and former and former.report == replaces:
            _inherit(state, seen, former)
        seen.at_issue = seen.code


def _inherit(state: State, copy: Seen, former: Seen) -> None:
    """A copy has what was decided of its former since, unless its code is what the reissue corrects."""
    same = copy.code == former.at_issue
    ended = former.before_copy if former.gone_with[0] == copy.key else former.ended
    if same:
        copy.code = former.code
    if ended and (same or ended not in ("no-code", "finding")):
        copy.ended, copy.ended_at, copy.reason = ended, former.ended_at, former.reason
    for job in state.jobs.values():
        if former.key in job.observations:
            job.observations.add(copy.key)
    for later in state.seen.values():  # what went on from the former goes on from its copy
        if later.continues == former.key and later is not copy:
            later.continues = copy.key


def _reviewed(state: State, told: Told) -> None:
    if seen := state.seen.get(told.subject):
        seen.code = told.facts.get("code") or ""
        if told.facts.get("decision") == "no-code":
            _end(seen, "no-code", told)
        else:
            seen.ended, seen.ended_at, seen.reason = "", None, ""


def _end(seen: Seen, ended: str, told: Told) -> None:
    seen.ended, seen.ended_at = ended, told.at
    seen.reason = told.words.get("reason") or told.words.get("text", "")
    seen.held = ""


def _ended(state: State, told: Told) -> None:
    seen = state.seen.get(told.subject)
    if seen is None:
        return
    later = told.facts.get("continued_by") or ""
    seen.before_copy = told.facts.get("ended_before", seen.ended)
    moved = seen.held if told.facts.get("made_safe_follows") else ""
    if moved and (other := state.seen.get(later)):
        _move(seen, other)
    held = seen.held  # of a finding that is withdrawn the lock goes back: `_unfound`
    _end(seen, told.facts.get("ended") or "", told)
    seen.gone_with = (later, moved) if later else (told.operation, held)


def _move(one: Seen, other: Seen) -> None:
    """What made `one` safe stands on `other` from now on."""
    other.held, other.held_how, other.held_at = one.held, one.held_how, one.held_at
    one.held = ""


def _found(state: State, told: Told) -> None:
    seen = state.seen.get(told.subject)
    if seen is None:
        return
    if key := told.facts.get("finding"):
        code = told.facts.get("code") or ""
        state.seen[key] = Seen(
            key, code=code, at_issue=code, text=told.words.get("text", ""), continues=seen.key, told=[told]
        )
    else:
        _end(seen, "finding", told)


def _unfound(state: State, told: Told) -> None:
    if seen := state.seen.get(told.subject):
        seen.ended, seen.ended_at, seen.reason = "", None, ""
        found = state.seen.get(told.facts.get("finding") or "")
        if found and found.ended == "withdrawn" and found.gone_with == (told.operation, found.gone_with[1]):
            seen.held, seen.held_how, seen.held_at = found.gone_with[1], found.held_how, found.held_at


def _reopened(state: State, told: Told) -> None:
    if seen := state.seen.get(told.subject):
        seen.ended, seen.ended_at, seen.reason = "", None, ""


def _joined(state: State, told: Told) -> None:
    if seen := state.seen.get(told.subject):
        seen.continues = told.facts.get("continues") or ""


def _parted(state: State, told: Told) -> None:
    seen, earlier = state.seen.get(told.subject), state.seen.get(told.facts.get("continued") or "")
    if seen is None or earlier is None:
        return
    seen.continues = ""
    one: Seen | None = earlier
    while one is not None and one.gone_with[0] != seen.key:
        one = state.seen.get(one.continues)
    if one is not None and one.gone_with[1] and seen.held == one.gone_with[1]:
        _move(seen, earlier)


def _made_safe(state: State, told: Told) -> None:
    if seen := state.seen.get(told.subject):
        seen.held, seen.held_how, seen.held_at = told.facts["made_safe"], told.facts.get("how", ""), told.at


def _reconnected(state: State, told: Told) -> None:
    if seen := state.seen.get(told.subject):
        seen.held, seen.code = "", told.facts.get("code") or "C1"


# --- works ------------------------------------------------------------------------------------------------------------

MOVES = {
    "remedial.approved": Move.APPROVE,
    "remedial.declined": Move.DECLINE,
    "remedial.unanswered": Move.TAKE_BACK,
    "remedial.quoted": Move.QUOTE,
    "remedial.to-price-again": Move.REVISE,
    "remedial.offered-again": Move.OFFER_AGAIN,
    "remedial.cancelled": Move.CANCEL,
    "remedial.by-others": Move.TAKE_OVER,
    "remedial.booked": Move.BOOK,
    "remedial.unbooked": Move.UNBOOK,
    "remedial.part-done": Move.PART_DONE,
    "remedial.could-not": Move.PART_DONE,
    "remedial.closed": Move.CLOSE,
    "remedial.reviewed": Move.REVIEW,
    "remedial.sent-back": Move.SEND_BACK,
    "remedial.reopened": Move.REOPEN,
}


def _job(state: State, told: Told) -> None:
    state.jobs[told.subject] = Job(
        told.subject, int(told.facts["number"]), work=told.words.get("work", ""),
        observations=set(told.facts.get("observations", ())), told=[told],
    )  # fmt: skip


def _work(job: Job, told: Told) -> None:
    """What an entry about a remedial that is known moves."""
    job.work = told.words.get("work", job.work)
    move = MOVES.get(told.verb)
    part = told.verb == "remedial.by-others" and "items" in told.facts  # their paper covers some of it: the rest stays
    if move and not part:
        job.stage = after(job.stage, move) or job.stage
    if told.verb == "remedial.followed":
        job.observations.add(told.facts["observation"])
    elif told.verb == "remedial.went-back":
        job.observations.discard(told.facts["instead_of"])


ACTS: dict[str, Callable[[State, Told], None]] = {
    "observation.noted": _noted,
    "observation.reported": _in_force,
    "observation.seen": _in_force,
    "observation.missed": _in_force,
    "observation.changed": _changed,
    "observation.dropped": _dropped,
    "observation.brought-back": _brought_back,
    "inspection.reissue-begun": _reissue_begun,
    "inspection.deleted": _draft_deleted,
    "inspection.issued": _issued,
    "observation.reviewed": _reviewed,
    "observation.finding": _found,
    "observation.finding-withdrawn": _unfound,
    "observation.ended": _ended,
    "observation.reopened": _reopened,
    "observation.joined": _joined,
    "observation.parted": _parted,
    "made-safe.done": _made_safe,
    "made-safe.reconnected": _reconnected,
    "remedial.made": _job,
}
