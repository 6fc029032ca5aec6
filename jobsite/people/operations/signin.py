"""How people sign in: who must use a second step, what is noted at the door, and what a manager may do for somebody.

What happened at the door (`note_at_the_door`) leaves no entry in the ledger: a stranger could fill it. What changed the means
of signing in does.
"""

from datetime import datetime
from typing import Any

from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.db.models import F

from jobsite.firm.models import Firm, SecondStep
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, locked
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.people.models import SignIn, User
from jobsite.people.operations.ground import must_keep_people
from jobsite.people.operations.tokens import end_tokens_of
from jobsite.people.rights import Right
from jobsite.people.signin import tries
from jobsite.people.signin.limits import EVENTS_KEPT
from jobsite.people.verbs import Verb
from jobsite.refused import NotAllowed, Refused

LONGEST_DEVICE = 200


def note_at_the_door(
    user: User, what: str, *, means: str = "", address: str | None, device: str, now: datetime
) -> SignIn:
    """Note what happened, and forget what is older than a year."""
    SignIn.objects.filter(user=user, at__lt=now - EVENTS_KEPT).delete()
    device = device.replace("\0", "")[:LONGEST_DEVICE]
    return SignIn.objects.create(user=user, at=now, what=what, means=means, address=address or None, device=device)


def session_moved(before: str, after: str) -> None:
    """A session has another key, since its person proved again who they are."""
    UserSession.objects.filter(session_key=before).update(session_key=after)


def end_sessions_at_once(user: User, *, by: Actor, now: datetime) -> None:
    """Inside an operation: every session and token of `user` ends, and every link that would set their password."""
    User.objects.filter(pk=user.pk).update(sign_in_epoch=F("sign_in_epoch") + 1)
    user.refresh_from_db(fields=["sign_in_epoch"])
    keys = UserSession.objects.filter(user=user)
    Session.objects.filter(session_key__in=keys.values("session_key")).delete()
    keys.delete()
    end_tokens_of(user, by=by, now=now)


@operation
def ask_second_step(*, of: str, by: Actor, now: datetime) -> Firm:
    """Decide of whom the firm asks a second step (a value of `SecondStep`).

    Who has none gets no further than to set one up, from their next page on.
    """
    if not by.may(Right.KEEP_FIRM):
        raise NotAllowed("Only a manager decides who must use a second step.")
    if of not in SecondStep:
        raise Refused("Choose one.", field="of")
    alone(FIRM_CHAIN)
    firm = Firm.objects.select_for_update().first() or Firm(version=0)
    if firm.version and firm.second_step_for == of:
        return firm
    firm.second_step_for = of
    firm.version += 1
    firm.save()
    record(Verb.SECOND_STEP_ASKED, site=None, subject=firm, by=by, now=now, facts={"of": str(of)})
    return firm


@operation
def note_means_changed(user: User, what: str, *, by: Actor, now: datetime) -> None:
    """Say in the ledger that `what` changed: a password, an app, a passkey, recovery codes.

    With the password go the tokens of `user`: whoever knew it may have made some.
    """
    record(Verb.MEANS_CHANGED, site=None, subject=user, by=by, now=now, facts={"what": what})
    if what.startswith("password"):
        end_tokens_of(user, by=by, now=now)


@operation
def end_sessions(user: User, *, by: Actor, now: datetime) -> User:
    """Sign `user` out everywhere, their tokens too. A manager may for anybody, everybody for themselves."""
    if by.actor_id != user.pk:
        must_keep_people(by)
    user = locked(user)
    end_sessions_at_once(user, by=by, now=now)
    record(Verb.SESSIONS_ENDED, site=None, subject=user, by=by, now=now)
    return user


@operation
def end_one_session(session: UserSession, *, by: Actor, now: datetime) -> None:
    """End one session: of `by` themselves. Ended already, nothing happens."""
    if by.actor_id != session.user_id:
        raise NotAllowed("This is somebody else's session.")
    gone, _ = UserSession.objects.filter(pk=session.pk).delete()
    Session.objects.filter(session_key=session.session_key).delete()
    if gone:
        facts = {"one": True}
        record(Verb.SESSIONS_ENDED, site=None, subject=session.user, by=by, now=now, facts=facts)


@operation
def end_everybodys_sessions(*, by: Actor, now: datetime) -> int:
    """Sign everybody out everywhere and end every token: for the day on which something leaked.

    Returns how many people there are.
    """
    must_keep_people(by)
    alone(FIRM_CHAIN)
    people = User.objects.order_by("pk").select_for_update()
    count = len(people)
    User.objects.update(sign_in_epoch=F("sign_in_epoch") + 1)
    Session.objects.all().delete()
    UserSession.objects.all().delete()
    firm = Firm.objects.first() or Firm.objects.create()
    for user in people:
        end_tokens_of(user, by=by, now=now)
    record(Verb.EVERYBODY_OUT, site=None, subject=firm, by=by, now=now, facts={"people": count})
    return count


@operation
def clear_tries(user: User, *, by: Actor, now: datetime) -> None:
    """Let `user` try again at once, who was shut out after wrong passwords or codes."""
    must_keep_people(by)
    tries.clear(user)
    record(Verb.TRIES_CLEARED, site=None, subject=user, by=by, now=now)


@operation
def take_second_step_away(user: User, *, how: str, by: Actor, now: datetime) -> User:
    """Take every second step and recovery code from somebody who lost them, and sign them out everywhere.

    `how`: how `by` made sure that it is really them, in words. Nobody does it for themselves. Raises NotAllowed, Refused.
    """
    must_keep_people(by)
    if by.actor_id == user.pk:
        raise Refused("Another manager does this for you; on your own page you change your second step yourself.")
    if not how.strip():
        raise Refused("Say how you made sure that it is them.", field="how")
    user = locked(user)
    means: Any = Authenticator.objects.filter(user_id=user.pk)
    kinds = sorted(means.values_list("type", flat=True))
    if not kinds:
        raise Refused(f"{user.name} has no second step.")
    means.delete()
    end_sessions_at_once(user, by=by, now=now)
    facts = {"kinds": kinds}
    record(Verb.SECOND_STEP_TAKEN, site=None, subject=user, by=by, now=now, facts=facts, words={"how": how})
    return user
