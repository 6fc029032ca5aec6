"""Personal tokens, by which another program acts for a person: made, ended, seen in use."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Q

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.people.links import new_token, token_hash
from jobsite.people.models import AccessToken, User
from jobsite.people.operations.ground import save_new
from jobsite.people.rights import Right
from jobsite.people.verbs import Verb
from jobsite.refused import NotAllowed, Refused

BEGINS = "jobsite_"
"""What each token begins with, so that whoever looks through files for secrets knows one."""
LONGEST = timedelta(days=366)
MOST = 20  # standing at once: whoever has more has forgotten some
SEEN_EACH = timedelta(minutes=5)


@operation
def make_token(
    *, id: UUID, name: str, scope: str, expires_at: datetime, by: User, now: datetime
) -> tuple[AccessToken, str]:
    """Make a token that acts for `by` until `expires_at`; returns it and its text, which is not kept: it is told once.

    The same form again answers with an empty text. That the person proved who they are just now is asked where this is
    called. Raises Refused for an end that is past or more than a year ahead, and for too many.
    """
    by = User.objects.select_for_update(no_key=True).get(pk=by.pk)  # a page hands in a lazy one
    if not by.is_active:
        raise NotAllowed("Only people of the firm have tokens.")
    alone(id)
    if made := made_before(AccessToken, id, user_id=by.pk):
        return made, ""
    if not (name := " ".join(name.split())):
        raise Refused("Say which program it is for.", field="name")
    if not now < expires_at <= now + LONGEST:
        raise Refused("It ends within a year, on a day that is still to come.", field="expires_at")
    if AccessToken.objects.standing(now).filter(user=by).count() >= MOST:
        raise Refused(f"There are {MOST} tokens already: end those that no program needs any more.")
    text = BEGINS + new_token()
    token = AccessToken(id=id, user=by, token_hash=token_hash(text), name=name, scope=AccessToken.Scope(scope))
    token.made_at, token.expires_at = now, expires_at
    save_new(token)
    facts = {"user": str(by.pk), "scope": token.scope, "expires_at": expires_at.isoformat()}
    record(Verb.TOKEN_MADE, site=None, subject=token, by=by, now=now, facts=facts, words={"name": name})
    return token, text


@operation
def end_token(token: AccessToken, *, by: Actor, now: datetime) -> AccessToken:
    """End a token at once: one's own, or anybody's by a manager. Ended already: nothing more happens. Raises NotAllowed."""
    if token.user_id != by.actor_id and not by.may(Right.KEEP_PEOPLE):
        raise NotAllowed("Only a manager ends somebody else's token.")
    token = locked(token)
    if token.ended_at is None:
        _end(token, by=by, now=now)
    return token


def end_tokens_of(user: User, *, by: Actor, now: datetime) -> int:
    """Inside the operation that ends the account of `user`: end what acted for them. Returns how many there were."""
    tokens = list(AccessToken.objects.filter(user=user, ended_at=None).select_for_update().order_by("pk"))
    for token in tokens:
        _end(token, by=by, now=now)
    return len(tokens)


def _end(token: AccessToken, *, by: Actor, now: datetime) -> None:
    token.ended_at = now
    token.save(update_fields=["ended_at"])
    record(Verb.TOKEN_ENDED, site=None, subject=token, by=by, now=now, facts={"user": str(token.user_id)})


def token_seen(token: AccessToken, *, now: datetime) -> None:
    """Note that a token was used, to five minutes. It leaves no entry in the ledger: what it does leaves its own."""
    before = Q(last_used_at=None) | Q(last_used_at__lt=now - SEEN_EACH)
    if token.last_used_at is None or token.last_used_at < now - SEEN_EACH:
        AccessToken.objects.filter(before, pk=token.pk).update(last_used_at=now)
