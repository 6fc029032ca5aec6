"""Answers to offers: on the customer's link, or as the office was told; and one recorded by mistake taken back."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.ledger.rows import alone, made_before
from jobsite.people.models import PrivateLink, User
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from jobsite.refused import NotAllowed, Refused
from jobsite.words import when
from remedials.quotes.choices import AnsweredHow, LineKind, Says, WhyNot
from remedials.quotes.models import Answer, LineAnswer, Offer
from remedials.quotes.operations.answer_effects import approve, decline, owner_of, reopen_offer, settle_offer
from remedials.quotes.operations.answer_ground import (
    OverLimit,
    RefusedLines,
    lock_offer,
    may_answer,
    must_answer_for,
    must_be_given,
    must_be_open,
    must_take_answers,
)
from remedials.quotes.operations.answer_messages import tell_of_answer
from remedials.quotes.operations.ground import tell
from remedials.quotes.queries.answering import LineNow, accepted_keys, sums_of, total_of
from remedials.quotes.queries.limits import beyond_limits
from remedials.quotes.rules.choosing import faults, settle
from remedials.quotes.states import WORDS, State
from remedials.quotes.verbs import Verb
from remedials.works.operations import unanswer

LONGEST = 2_000
UNKNOWN = "This line is not one of this quote's: open the page again."


@dataclass(frozen=True, slots=True)
class Said:
    """What was said to one line: "yes" or "no"; to a no, why (a value of WhyNot) and in what words, both optional."""

    says: str
    why_not: str = ""
    words: str = ""


@operation
def answer_offer(
    offer: Offer,
    *,
    id: UUID,
    says: Mapping[UUID, Said],
    name: str,
    fingerprint: str,
    party: Party,
    by: Actor,
    now: datetime,
    how: str = AnsweredHow.LINK,
    given_at: datetime | None = None,
    order_number: str = "",
    begin_at_once: bool | None = None,
    note: str = "",
) -> Answer:
    """Take what `name` said for `party` to lines of `offer`, by their ids; lines left out stay open.

    Accepted lines approve their remedials; those of which every line is refused are declined and offered again on a
    day. The same form again: its answer. Raises NotTaken where the offer takes none (superseded by `fingerprint`,
    lapsed, withdrawn, answered), RefusedLines with a sentence for each line, OverLimit beyond what `party` may approve.
    """
    alone(id)
    offer, sites, lines = lock_offer(offer)
    may_answer(offer, by, now=now)
    if made := made_before(Answer, id, offer_id=offer.pk):
        return made
    must_be_open(sites)
    given_at = must_be_given(offer, given_at=given_at or now, by=by, now=now)
    must_take_answers(offer, fingerprint=fingerprint, given_at=given_at)
    must_answer_for(by, party)
    name = _named(name)
    order_number, note = _within(order_number, "order_number", 100), _within(note, "note", LONGEST)
    settled = settled_by(offer.quote_id, lines, says)
    yes = {key for key, said in settled.items() if said == Says.YES}
    linked = PrivateLink.objects.filter(
        thing=offer.quote_id, party=party.pk, withdrawn_at=None, expires_at__gt=now
    ).exists()
    if beyond := beyond_limits(offer, lines, yes, party=party.pk, linked=linked, now=now):
        raise OverLimit(" ".join(beyond))
    particulars = _particulars(offer, lines, yes, begin_at_once=begin_at_once)
    answer = Answer.objects.create(
        id=id, offer=offer, party=party, name=name, how=how, given_at=given_at, recorded_at=now,
        link=by if isinstance(by, PrivateLink) else None, recorded_by=by if isinstance(by, User) else None,
        order_number=order_number, note=note, fingerprint=offer.fingerprint, **particulars,
    )  # fmt: skip
    said = _keep(answer, lines, settled, says)
    _do(offer, answer, said, lines, by=by, now=now)
    return answer


def _named(name: str) -> str:
    if not (name := " ".join(name.split())):
        raise Refused("Write your name: who says this.", field="name")
    return _within(name, "name", 200)


def _within(text: str, field: str, most: int) -> str:
    """`text` without blanks around it. Raises Refused where it is longer than `most` characters."""
    if len(text := text.strip()) > most:
        raise Refused(f"This is too long: at most {most:,} characters, and it has {len(text):,}.", field=field)
    return text


def settled_by(quote: UUID, lines: Iterable[LineNow], says: Mapping[UUID, Said]) -> dict[UUID, str]:
    """What each line comes to, by its key: yes, no, not chosen; with the call-outs that an accepted line brings along.

    `says` is by the lines' ids. Raises RefusedLines, and Refused where nothing was said.
    """
    lines = list(lines)
    if not says:
        raise Refused("Say yes or no to a line, or ask about it: nothing was chosen yet.")
    _must_be_answerable(lines, says)
    keys = {now.line.pk: now.line.key for now in lines}
    yes = {keys[pk] for pk, said in says.items() if said.says == Says.YES}
    no = {keys[pk] for pk, said in says.items() if said.says == Says.NO}
    sums, before = sums_of(lines), accepted_keys(quote)
    if wrong := faults(sums, yes, no, before):
        ids = {key: pk for pk, key in keys.items()}
        raise RefusedLines({ids[UUID(str(key))]: sentence for key, sentence in wrong.items()})
    open_now = {
        now.line.key for now in lines if now.answerable or (now.line.kind == LineKind.CALL_OUT and not now.answer)
    }
    return {UUID(str(key)): said for key, said in settle(sums, yes, no, before).items() if key in open_now}


def _must_be_answerable(lines: Iterable[LineNow], says: Mapping[UUID, Said]) -> None:
    """Raises RefusedLines for lines that nobody can answer now, or with an answer that is none."""
    known, wrong = {now.line.pk: now for now in lines}, {}
    for pk, said in says.items():
        now = known.get(pk)
        if now is None or now.line.kind != LineKind.WORK:
            raise Refused(UNKNOWN)
        if now.answer is not None:
            given = now.answer.answer
            wrong[pk] = (
                f"{given.name} answered this already ({now.answer.says}), on {when(given.given_at)}: that stands."
            )
        elif now.over:
            wrong[pk] = now.over
        elif said.says not in (Says.YES, Says.NO):
            wrong[pk] = "Say yes or no."
        elif said.says == Says.NO and now.agreed:
            wrong[pk] = "Part of this work was agreed with us otherwise already: please ring us to change that."
        elif said.why_not and said.why_not not in WhyNot.values:
            wrong[pk] = "Choose one of the reasons offered, or none."
        elif len(said.words) > LONGEST:
            wrong[pk] = f"This is too long: at most {LONGEST:,} characters, and it has {len(said.words):,}."
    if wrong:
        raise RefusedLines(wrong)


def _particulars(
    offer: Offer, lines: Iterable[LineNow], yes: set[UUID], *, begin_at_once: bool | None
) -> dict[str, Any]:
    """The sums of what is accepted, and for a consumer the rights as they were shown."""
    sums = total_of([now for now in lines if now.line.key in yes], reverse_charge=offer.reverse_charge)
    rights: dict[str, Any] = {}
    if offer.consumer and yes:
        shown, asked = offer.said.get("cancellation") or {}, offer.said.get("begin") or {}
        rights = {"rights_shown": shown.get("words", ""), "begin_at_once": begin_at_once}
        rights["begin_words"] = asked.get("words", "") if rights["begin_at_once"] is not None else ""
    return {"net": sums.net, "vat": sums.vat, "to_pay": sums.to_pay} | rights


def _keep(
    answer: Answer, lines: Iterable[LineNow], settled: Mapping[UUID, str], says: Mapping[UUID, Said]
) -> list[tuple[LineNow, LineAnswer]]:
    """Keep what was said to each line; the lines know it from here on."""
    kept = []
    for now in lines:
        if (came_to := settled.get(now.line.key)) is None:
            continue
        said = says.get(now.line.pk)
        no = said if said and came_to == Says.NO else None
        now.answer = LineAnswer(
            answer=answer, line=now.line, says=came_to, why_not=no.why_not if no else "", words=no.words if no else ""
        )
        kept.append((now, now.answer))
    LineAnswer.objects.bulk_create(row for _, row in kept)
    return kept


def _do(
    offer: Offer,
    answer: Answer,
    said: list[tuple[LineNow, LineAnswer]],
    lines: list[LineNow],
    *,
    by: Actor,
    now: datetime,
) -> None:
    """Everything that follows from the answer, its entries, and its messages."""
    approve(offer, answer, said, by=by, now=now)
    declined = decline(offer, answer, said, lines, by=by, now=now)
    settle_offer(offer, lines)
    of = {says: sorted(str(line.line.key) for line, given in said if given.says == says) for says in Says.values}
    facts = {"offer": str(offer.pk), "version": offer.number, "answer": str(answer.pk), "how": answer.how}
    facts |= {"given_at": answer.given_at.isoformat(), "fingerprint": answer.fingerprint, "party": str(answer.party_id)}
    facts |= {"lines": of, "to_pay": str(answer.to_pay), "begin_at_once": answer.begin_at_once}
    words = {"name": answer.name, "order_number": answer.order_number, "note": answer.note}
    tell(Verb.ANSWERED, offer.quote, by=by, now=now, facts=facts, words=words)
    tell_of_answer(offer, answer, said, lines, declined=declined, now=now)


@operation
def take_back_answer(answer: Answer, *, why: str, by: Actor, now: datetime) -> Answer:
    """An answer that the office recorded by mistake counts no more: its lines are open again, its remedials quoted.

    Taken back already: nothing more happens. Raises NotAllowed; Refused for one that the customer gave on the link,
    without a reason, where something came after it, or where a remedial of it has gone further.
    """
    offer, _, _ = lock_offer(answer.offer)
    answer = Answer.objects.select_for_update(of=("self",)).get(pk=answer.pk)
    if not by.may(Right.PRICE) or not isinstance(by, User):
        raise NotAllowed("Only the office may take back an answer that it recorded.")
    if answer.taken_back_at:
        return answer
    if answer.how == AnsweredHow.LINK:
        raise Refused("The customer gave this answer themselves: it is not ours to take back. Settle it with them.")
    if not (why := why.strip()):
        raise Refused("Say why it is taken back.", field="why")
    _must_be_the_last(answer, offer)
    answer.lines.update(stands=False)
    answer.taken_back_at, answer.taken_back_by, answer.taken_back_why = now, by, why
    answer.save(update_fields=["taken_back_at", "taken_back_by", "taken_back_why"])
    for line in answer.lines.select_related("line").order_by("line__position"):
        for remedial in line.line.remedials.order_by("pk"):
            unanswer(remedial, answered_at=answer.recorded_at, owner=owner_of(offer, by), by=by, now=now)
    reopen_offer(offer, now=now)
    facts = {"offer": str(offer.pk), "answer": str(answer.pk)}
    tell(Verb.ANSWER_TAKEN_BACK, offer.quote, by=by, now=now, facts=facts, words={"why": why})
    return answer


def _must_be_the_last(answer: Answer, offer: Offer) -> None:
    """Raises Refused where another answer or version came after `answer`, which may hang on what it accepted."""
    if Offer.objects.filter(quote=offer.quote_id, number__gt=offer.number).exclude(state=State.DRAFT).exists():
        raise Refused(
            "A later version of this quote went out since, which goes on from this answer: it cannot be taken back any "
            "more. Settle with the customer what is to become of it."
        )
    if offer.state not in (State.SENT, State.ANSWERED):
        raise Refused(f"This version is {WORDS[State(offer.state)]}: its answers stand as they are.")
    later = Answer.objects.filter(offer=offer, recorded_at__gt=answer.recorded_at, taken_back_at=None)
    if (after := later.order_by("-recorded_at").first()) is not None:
        raise Refused(
            f"{after.name} answered more of it on {when(after.given_at)}, and that may hang on this answer: only the last "
            "one can be taken back."
        )
