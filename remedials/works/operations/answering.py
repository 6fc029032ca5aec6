"""What an answered quote does to a remedial: a yes approves it, a no declines it, and a mistake goes back."""

from datetime import date, datetime
from decimal import Decimal

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from jobsite.refused import NotAllowed, Refused
from remedials.works import policy
from remedials.works.models import Approval, Remedial, WayOut
from remedials.works.operations.ground import change, iso, key, locked_with_observations, moved, note, step_date
from remedials.works.operations.waiting import waits_no_more
from remedials.works.states import WORDS, Move, Stage
from remedials.works.verbs import Verb

OPEN_TO_ANSWER = frozenset({Stage.TO_PRICE, Stage.QUOTED})
NOT_YOURS = "Only the customer, on their link, or the office may answer for the customer."


@operation
def approve_by_answer(
    remedial: Remedial,
    *,
    given_by: str,
    party: Party,
    given_on: date,
    pounds: Decimal | None,
    reference: str,
    owner: User,
    by: Actor,
    now: datetime,
) -> Remedial:
    """A line of a quote that offers the remedial was accepted: it is approved, to be booked by `owner` if nobody has it.

    `pounds` is what is to pay for it, None where its line offers others too; `reference` the customer's order number.
    What was approved before, or has gone further, stays as it is. Raises NotAllowed, and Refused where it was called off.
    """
    remedial, observations = locked_with_observations(remedial)
    if not policy.may_answer(by):
        raise NotAllowed(NOT_YOURS)
    if remedial.stage in (Stage.APPROVED, Stage.BOOKED, Stage.DONE, Stage.REVIEWED):
        return remedial
    stage = moved(remedial, Move.APPROVE)
    yes = {"given_by": given_by, "party": party, "how": Approval.How.QUOTE, "given_on": given_on, "pounds": pounds}
    approval = Approval.objects.create(
        remedial=remedial, reference=reference, recorded_by=_person(by), recorded_at=now, **yes
    )
    change(remedial, stage=stage, step_by=step_date(observations, now=now), owner=_owner(remedial, owner))
    facts = {"approval": str(approval.pk), "how": Approval.How.QUOTE.value, "given_on": iso(given_on)}
    facts |= {"pounds": str(pounds) if pounds is not None else None, "party": str(party.pk)}
    note(
        Verb.APPROVED, remedial, by=by, now=now, facts=facts, words={"given_by": given_by, "reference": reference}
    )  # fmt: skip
    return remedial


@operation
def decline_by_answer(
    remedial: Remedial, *, who: str, reason: str, offer_again_on: date, owner: User, by: Actor, now: datetime
) -> Remedial:
    """Every line that offered the remedial was refused: it is declined, to be offered again on a day by its owner.

    No danger notice is asked for first, since the customer has answered already: the due list asks for one after it.
    What is past answering (approved, booked, done, called off) stays as it is. Raises NotAllowed.
    """
    remedial, _ = locked_with_observations(remedial)
    if not policy.may_answer(by):
        raise NotAllowed(NOT_YOURS)
    if remedial.stage not in OPEN_TO_ANSWER:
        return remedial
    change(
        remedial, stage=moved(remedial, Move.DECLINE), step_by=offer_again_on, owner=_owner(remedial, owner)
    )  # fmt: skip
    WayOut.objects.create(
        remedial=remedial, stage=Stage.DECLINED, who=who, reason=reason, on=clock.local_day(now),
        offer_again_on=offer_again_on, recorded_by=_person(by), recorded_at=now,
    )  # fmt: skip
    facts = {"offer_again_on": iso(offer_again_on)} | waits_no_more(remedial, now=now)
    note(Verb.DECLINED, remedial, by=by, now=now, facts=facts, words={"who": who, "reason": reason})
    return remedial


@operation
def unanswer(remedial: Remedial, *, answered_at: datetime, owner: User, by: Actor, now: datetime) -> Remedial:
    """The answer recorded at `answered_at` was recorded by mistake: what it did to the remedial is undone, quoted again.

    What it did not touch stays. Raises NotAllowed, and Refused where the remedial has gone further since.
    """
    remedial, observations = locked_with_observations(remedial)
    if not by.may(Right.PRICE):
        raise NotAllowed("Only the office may take back an answer that it recorded.")
    mine = {"remedial": remedial, "recorded_at": answered_at, "taken_back_at": None}
    approvals = Approval.objects.filter(how=Approval.How.QUOTE, **mine)
    ways_out = WayOut.objects.filter(stage=Stage.DECLINED, **mine)
    if not approvals.exists() and not ways_out.exists():
        return remedial
    came_to = Stage.APPROVED if approvals.exists() else Stage.DECLINED
    later = {"remedial": remedial, "recorded_at__gt": answered_at, "taken_back_at": None}
    since = Approval.objects.filter(**later).exists() or WayOut.objects.filter(**later).exists()
    if remedial.stage != came_to or since:
        raise Refused(
            f"Remedial {remedial.number} has gone further since ({WORDS[Stage(remedial.stage)]}): "
            "the answer cannot be taken back any more. Settle with the customer what is to become of it."
        )
    for rows in (approvals, ways_out):
        rows.update(taken_back_at=now)
    stage = moved(remedial, Move.TAKE_BACK)
    change(remedial, stage=stage, step_by=step_date(observations, now=now), owner=_owner(remedial, owner))
    note(Verb.UNANSWERED, remedial, by=by, now=now, facts={"owner": key(remedial.owner)})
    return remedial


def _owner(remedial: Remedial, owner: User) -> User:
    """Who has the remedial's next step: whoever had it, else, or where they have left the firm, `owner`."""
    return remedial.owner if remedial.owner is not None and remedial.owner.is_active else owner


def _person(by: Actor) -> User | None:
    """Who recorded it; None where the customer answered on the link themselves."""
    return by if isinstance(by, User) else None
