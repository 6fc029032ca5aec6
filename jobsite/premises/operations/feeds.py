"""Where boards are fed from. The database holds that feeds form no loop, stay at the site and lack no phase."""

from datetime import datetime
from typing import Any
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import FORM_USED
from jobsite.premises.choices import FeedKind
from jobsite.premises.models import Board, Circuit, Feed, Supply
from jobsite.premises.operations.common import as_it_is, change, ground, must_be_there, particulars, plainly
from jobsite.premises.operations.verifying import stamp_of
from jobsite.premises.verbs import Verb
from jobsite.refused import Refused

COLUMNS = ("board", "from_circuit", "from_supply", "kind", "verified", "verified_how", "changeover")


@operation
def set_feed(
    board: Board,
    *,
    id: UUID,
    by: Actor,
    now: datetime,
    from_circuit: Circuit | None = None,
    from_supply: Supply | None = None,
    kind: str = FeedKind.NORMAL,
    verified: bool = False,
    verified_how: str = "",
    changeover: str = "",
    version: int | None = None,
) -> Feed:
    """Record where `board` is fed from, or move the feed `id` (then `version` is the one the person saw).

    Refused where it would form a loop, leave the site or give a phase that the feeder lacks, and where a verified
    normal feed is already recorded. A verified feed says how it was verified.
    """
    site = ground(board.site_id, by)
    board = must_be_there(as_it_is(board), board.designation)
    fields: dict[str, Any] = {
        "from_circuit": from_circuit and as_it_is(from_circuit),
        "from_supply": from_supply and as_it_is(from_supply),
    }
    fields |= {"kind": kind, "changeover": changeover}
    fields |= {"verified": verified, "verified_how": verified_how if verified else ""}
    _sound(board, fields)
    feed = Feed.objects.select_for_update(of=("self",)).filter(pk=id).first()
    if feed is None:
        return _new(Feed(id=id, site=site, board=board), fields, by=by, now=now)
    if feed.board_id != board.pk:
        raise Refused(FORM_USED)
    fields = _stamped(feed, fields, by=by, now=now)
    seen = feed.version if version is None else version
    change(feed, fields, version=seen, verb=Verb.FEED_CHANGED, site=site.pk, by=by, now=now)
    return feed


def _sound(board: Board, fields: dict[str, Any]) -> None:
    circuit, supply = fields["from_circuit"], fields["from_supply"]
    if (circuit is None) == (supply is None):
        raise Refused("Choose the circuit or the supply that feeds it.", field="feeder")
    if circuit is not None and circuit.board_id == board.pk:
        raise Refused(f"{board.designation} would feed itself.", field="feeder")
    if fields["verified"] and fields["kind"] == FeedKind.POSSIBLE:
        raise Refused("A possible feed is not verified: record it as the normal feed.", field="kind")
    if fields["verified"] and not fields["verified_how"]:
        raise Refused("Say how the feed was verified.", field="verified_how")
    must_be_there(circuit or supply, "What feeds it", "feeder")


def _stamped(feed: Feed, fields: dict[str, Any], *, by: Actor, now: datetime) -> dict[str, Any]:
    """With who verified it and when: anew where the feeder or the way of verifying is another."""
    if not fields["verified"]:
        return {**fields, "verified_by": None, "verified_on": None}
    if all(getattr(feed, name) == fields[name] for name in ("verified", "verified_how", "from_circuit", "from_supply")):
        return fields
    return {**fields, **stamp_of(by, now)}


def _new(feed: Feed, fields: dict[str, Any], *, by: Actor, now: datetime) -> Feed:
    for name, value in _stamped(feed, fields, by=by, now=now).items():
        setattr(feed, name, value)
    with plainly():
        feed.save(force_insert=True)
    facts, words = particulars(feed, *COLUMNS)
    record(Verb.FEED_SET, site=feed.site_id, subject=feed, by=by, now=now, facts=facts, words=words)
    return feed


@operation
def remove_feed(feed: Feed, *, by: Actor, now: datetime, reason: str = "") -> None:
    """Record that a board is not fed from there after all. Again after success: nothing happens."""
    site = ground(feed.site_id, by)
    found = Feed.objects.filter(pk=feed.pk).first()
    if found is None:
        return
    facts, words = particulars(found, *COLUMNS)
    words |= {"reason": reason}
    record(Verb.FEED_REMOVED, site=site.pk, subject=found, by=by, now=now, facts=facts, words=words)
    found.delete()
