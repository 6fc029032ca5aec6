"""Calendar addresses: made, made anew, withdrawn, read. The token is told once and its hash kept."""

from datetime import datetime
from uuid import UUID

from django.db.models import F

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.people.links import new_token, token_hash
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.refused import NotAllowed, Refused
from remedials.visits import policy
from remedials.visits.models import Feed
from remedials.visits.verbs import Verb
from remedials.works.operations.ground import key, person

NOT_YOURS = "Only the office may keep calendar addresses other than one's own."
EVERYBODY = UUID(int=1)  # what two forms for everybody's address wait for each other at


def _must_be_allowed(user: User | None, by: Actor) -> None:
    if not policy.may_keep_feed(by, user):
        raise NotAllowed(NOT_YOURS)


@operation
def make_feed(*, user: User | None, id: UUID, by: Actor, now: datetime) -> tuple[Feed, str]:
    """Make the calendar address of `user` (None: of everybody's visits); one that there was opens nothing any more.

    Returns it and its token, which cannot be shown again: the same form again answers with an empty token.
    Raises NotAllowed, and Refused for somebody who goes on no visits.
    """
    alone(user.pk if user else EVERYBODY)
    if user is not None:
        user = User.objects.select_for_update(no_key=True).get(pk=user.pk)  # a page hands in a lazy one
    _must_be_allowed(user, by)
    if made := made_before(Feed, id, user_id=user.pk if user else None):
        return made, ""
    if user is not None and not user.may(Right.DO_WORK):
        raise Refused(f"{user} goes on no visits: there is nothing to show.")
    for former in Feed.objects.filter(user=user, withdrawn_at=None).select_for_update():
        _end(former, by=by, now=now)
    token = new_token()
    feed = Feed.objects.create(id=id, token_hash=token_hash(token), user=user, made_by=person(by), made_at=now)
    record(Verb.FEED_MADE, site=None, subject=feed, by=by, now=now, facts={"user": key(user)})
    return feed, token


@operation
def withdraw_feed(feed: Feed, *, by: Actor, now: datetime) -> Feed:
    """End a calendar address at once. Withdrawn already: nothing more happens. Raises NotAllowed."""
    feed = locked(feed)
    _must_be_allowed(feed.user, by)
    if feed.withdrawn_at is None:
        _end(feed, by=by, now=now)
    return feed


def end_feeds_of(user: User, *, by: Actor, now: datetime) -> None:
    """Inside the operation that ends the account of `user`: end what they could read visits by.

    That of everybody's visits ends too where they made it: they may have it on their own telephone.
    """
    rows = Feed.objects.filter(withdrawn_at=None).select_for_update().order_by("pk")
    for feed in rows.filter(user=user) | rows.filter(user=None, made_by=user):
        _end(feed, by=by, now=now)


def _end(feed: Feed, *, by: Actor, now: datetime) -> None:
    feed.withdrawn_at = now
    feed.save(update_fields=["withdrawn_at"])
    facts = {"user": str(feed.user_id) if feed.user_id else None}
    record(Verb.FEED_WITHDRAWN, site=None, subject=feed, by=by, now=now, facts=facts)


def count_feed(feed: Feed, *, now: datetime) -> None:
    """Note that the address was read. Reading leaves no entry in the ledger."""
    Feed.objects.filter(pk=feed.pk).update(uses=F("uses") + 1, last_used_at=now)
