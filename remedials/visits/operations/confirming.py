"""Whether the time of a visit suits the customer: asked, answered on a private link, or recorded by the office."""

from datetime import datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db.models import F

from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.people.models import PrivateLink, User
from jobsite.refused import NotAllowed, Refused
from jobsite.words import when
from remedials.visits import policy
from remedials.visits.choices import Answered, AskedHow
from remedials.visits.models import Confirmation, Visit
from remedials.visits.operations.asking_mail import write_question
from remedials.visits.operations.booking_work import held
from remedials.visits.operations.telling import What, tell
from remedials.visits.verbs import Verb
from remedials.works.operations.ground import needed, person, same_form

NOT_YOURS = "Only the office asks customers about a visit."
ANSWERS = (Answered.CONFIRMED, Answered.CANNOT)


class Superseded(Refused):
    """The visit is no longer at the time that the link was about."""


@operation
def ask_whether_it_suits(
    visit: Visit, *, id: UUID, how: str, whom: str, by: Actor, now: datetime, words: str = ""
) -> Confirmation:
    """Note that `whom` was asked whether the time suits; by link, an e-mail with a private page goes to the address `whom`.

    The same form again: its row. Raises NotAllowed, and Refused where the visit is cancelled or over, or has its yes.
    """
    visit, made = _begun(visit, id, by)
    if made:
        return made
    _to_come(visit, now)
    if visit.answered == Answered.CONFIRMED:
        raise Refused("This time is confirmed already.")
    whom = needed(whom, "Say who is asked.", field="whom")
    if how == AskedHow.LINK:
        _must_be_an_address(whom)
    row = _kept(visit, Answered.ASKED, id=id, how=how, whom=whom, words=words, by=by, now=now)
    if how == AskedHow.LINK:
        write_question(visit, row, now=now)
    return row


@operation
def record_confirmation(
    visit: Visit, *, id: UUID, answered: str, how: str, whom: str, by: Actor, now: datetime, words: str = ""
) -> Confirmation:
    """Keep what `whom` said to the office of the time, by telephone or otherwise.

    The same form again: its row. Raises NotAllowed, and Refused where the visit is cancelled or over.
    """
    visit, made = _begun(visit, id, by)
    if made:
        return made
    _to_come(visit, now)
    if answered not in ANSWERS:
        raise Refused("Say whether the time suits.", field="answered")
    if how == AskedHow.LINK:
        raise Refused("Only the customer answers on the link: say how the office heard.", field="how")
    whom = needed(whom, "Say who answered.", field="whom")
    if answered == Answered.CANNOT:
        words = needed(words, "Say why it does not suit, or when it would.", field="words")
    return _kept(visit, Answered(answered), id=id, how=how, whom=whom, words=words, by=by, now=now)


@operation
def answer_by_link(
    visit: Visit, *, link: PrivateLink, answered: str, name: str, words: str, now: datetime
) -> Confirmation:
    """Take the customer's own answer, behind `link`. Whoever booked is told of a no.

    The same said again: its row. They may change their mind until the visit begins. Raises NotAllowed for a link of another
    visit or that has ended, Superseded where it was moved since, and Refused without a name, or without a reason for a no.
    """
    if link.purpose != PrivateLink.Purpose.VISIT or link.thing != visit.pk:
        raise NotAllowed("This link is about something else.")
    visit = _locked(visit)
    opens = PrivateLink.objects.select_for_update().filter(pk=link.pk, withdrawn_at=None, expires_at__gt=now)
    if not opens.exists():  # it was withdrawn while the page was open
        raise NotAllowed("This link opens nothing any more.")
    if why := why_not_answer(visit, link, now):
        raise Superseded(why)
    if answered not in ANSWERS:
        raise Refused("Say whether the time suits.", field="answered")
    name = needed(name, "Write your name: who says this.", field="name")
    words = words.strip()
    if answered == Answered.CANNOT:
        words = needed(words, "Say why, or which times would suit.", field="words")
    last = visit.confirmations.filter(start=visit.start).order_by("-at", "-pk").first()
    if last and (last.answered, last.whom, last.words, last.how) == (answered, name, words, AskedHow.LINK):
        return last
    row = _kept(visit, Answered(answered), id=new_id(), how=AskedHow.LINK, whom=name, words=words, by=link, now=now)
    if answered == Answered.CANNOT:
        tell(visit, What.CANNOT, users=[visit.booked_by], by=link, now=now, occasion=str(row.pk))
    return row


def why_not_answer(visit: Visit, link: PrivateLink, now: datetime) -> str:
    """Why an answer on `link` counts no more, in a sentence for the customer; "" where it does. One statement."""
    if visit.state != Visit.State.BOOKED:
        return "This visit was cancelled. Nothing need be answered."
    if visit.start <= now:
        return "This visit has begun or is over. Nothing need be answered."
    moved = visit.moves.filter(at__gte=link.made_at).exclude(from_start=F("to_start"))
    if moved.exists():
        return "This visit was moved since you were asked: this page is about a time that no longer stands."
    return ""


def _locked(visit: Visit) -> Visit:
    site = held(visit.site)
    row = Visit.objects.select_for_update(of=("self",)).select_related("booked_by").get(pk=visit.pk)
    row.site = site
    return row


def _begun(visit: Visit, id: UUID, by: Actor) -> tuple[Visit, Confirmation | None]:
    """The visit, locked, and what the same form made before."""
    if not policy.may_book(by):
        raise NotAllowed(NOT_YOURS)
    visit = _locked(visit)
    made = Confirmation.objects.filter(pk=id).first()
    return visit, same_form(made, made.visit_id == visit.pk) if made else None


def _to_come(visit: Visit, now: datetime) -> None:
    if visit.state != Visit.State.BOOKED:
        raise Refused(f"Visit {visit.number} is cancelled.")
    if visit.end <= now:
        raise Refused(f"Visit {visit.number} is over: nobody need confirm it.")


def _must_be_an_address(whom: str) -> None:
    try:
        validate_email(whom)
    except ValidationError as error:
        raise Refused("A private link goes to an e-mail address: write it here.", field="whom") from error


def _kept(
    visit: Visit, answered: Answered, *, id: UUID, how: str, whom: str, words: str, by: Actor, now: datetime
) -> Confirmation:
    """The row, the visit's own answer, and the entry in the ledger."""
    row = Confirmation.objects.create(
        id=id, visit=visit, answered=answered, how=AskedHow(how), whom=whom, words=words.strip(), start=visit.start,
        recorded_by=person(by) if isinstance(by, User) else None, at=now,
    )  # fmt: skip
    visit.answered = answered
    visit.save(update_fields=["answered"])
    verb = Verb.ASKED if answered == Answered.ASKED else Verb.ANSWERED
    facts = {"number": visit.number, "answered": answered.value, "how": row.how, "start": visit.start.isoformat()}
    words_kept = {"whom": whom, "words": row.words, "when": when(visit.start)}
    record(verb, site=visit.site_id, subject=visit, by=by, now=now, facts=facts, words=words_kept)
    return row
