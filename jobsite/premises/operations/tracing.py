"""Tracing feeds: what might feed a board, what was seen when something was off, and what is certain by that."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import FORM_USED, locked, made_before
from jobsite.people.models import User
from jobsite.premises.choices import FeedKind, HowVerified, SeenState
from jobsite.premises.models import Board, BoardSeen, Circuit, Feed, Site, Supply, SwitchingTest
from jobsite.premises.operations.common import as_it_is, ground, must_be_there, particulars, plainly
from jobsite.premises.queries.wiring import Ground, feeder_key, ground_of
from jobsite.premises.verbs import Verb
from jobsite.refused import NotAllowed, Refused

MEANWHILE = "Somebody recorded something at this site meanwhile, and it is no longer certain: look at it again."


@operation
def name_candidates(board: Board, feeders: Iterable[Circuit | Supply], *, by: Actor, now: datetime) -> list[Feed]:
    """Record that `board` may be fed from any of `feeders`; those on record already are passed over.

    Refused where its normal feed is verified, where a feeder was taken out or lacks a phase, and for its own ways.
    """
    site = ground(board.site_id, by)
    board = must_be_there(as_it_is(board), board.designation)
    had = list(board.feeds.all())
    if any(feed.proven and feed.kind == FeedKind.NORMAL for feed in had):
        raise Refused(f"The feed of {board.designation} is verified: change that one, if it is wrong.", field="feeders")
    known = {feeder_key(feed) for feed in had}
    new = [_candidate(site, board, feeder) for feeder in feeders if str(feeder.pk) not in known]
    if not new:
        return []
    with plainly():
        for feed in new:
            feed.save(force_insert=True)
    facts = {"candidates": [str(feed.from_circuit_id or feed.from_supply_id) for feed in new], "how_many": len(new)}
    record(Verb.CANDIDATES_NAMED, site=site.pk, subject=board, by=by, now=now, facts=facts)
    return new


def _candidate(site: Site, board: Board, feeder: Circuit | Supply) -> Feed:
    feeder = must_be_there(as_it_is(feeder), "What may feed it", "feeders")
    if isinstance(feeder, Supply):
        return Feed(id=new_id(), site=site, board=board, from_supply=feeder, kind=FeedKind.POSSIBLE)
    if feeder.board_id == board.pk:
        raise Refused(f"{board.designation} would feed itself.", field="feeders")
    return Feed(id=new_id(), site=site, board=board, from_circuit=feeder, kind=FeedKind.POSSIBLE)


@operation
def note_switching_test(
    off: Circuit | Supply,
    *,
    id: UUID,
    at: datetime,
    seen: Mapping[Board, str],
    by: Actor,
    now: datetime,
    others_off: bool = False,
    together_with: str = "",
    note: str = "",
) -> SwitchingTest:
    """Keep that `off` was switched off alone at `at`, and which boards were `seen` dead or alive (SeenState).

    Boards that are not in `seen` were not looked at. `others_off`: second sources and other feeds were off as well.
    The same form again is the same test; Refused where it says something else, which would be lost under its key,
    where no board was looked at, where something is of another site or taken out, and before it was done.
    """
    site = ground(off.site_id, by)
    if test := made_before(SwitchingTest, id, site_id=site.pk):
        return _noted_before(test, off, seen)
    if not isinstance(by, User):
        raise NotAllowed("Only a person can say what was seen.")
    must_be_there(as_it_is(off), "What was switched off", "off")
    if not seen:
        raise Refused("Say of one board at least whether it was dead or alive.")
    if at > now:
        raise Refused("A test is noted once it was done, not before.", field="at")
    for board in seen:
        if board.site_id != site.pk:
            raise Refused(f"{board.designation} is of another site.")
        must_be_there(as_it_is(board), board.designation)
    which = {"off_circuit": off} if isinstance(off, Circuit) else {"off_supply": off}
    test = SwitchingTest(id=id, site=site, at=at, by=by, noted_at=now, others_off=others_off, **which)
    test.together_with, test.note = together_with, note
    with plainly():
        test.save(force_insert=True)
        BoardSeen.objects.bulk_create(BoardSeen(test=test, board=board, state=state) for board, state in seen.items())
    facts, words = particulars(test, "off_circuit", "off_supply", "others_off", "at", "together_with", "note")
    facts |= {state.value: sorted(str(b.pk) for b, s in seen.items() if s == state) for state in SeenState}
    record(Verb.SWITCHING_NOTED, site=site.pk, subject=test, by=by, now=now, facts=facts, words=words)
    return test


def _noted_before(test: SwitchingTest, off: Circuit | Supply, seen: Mapping[Board, str]) -> SwitchingTest:
    told = {board.pk: str(state) for board, state in seen.items()}
    if off.pk != test.off.pk or told != {row.board_id: row.state for row in test.seen.all()}:
        raise Refused(FORM_USED)
    return test


@operation
def withdraw_switching_test(test: SwitchingTest, *, why: str, by: Actor, now: datetime) -> SwitchingTest:
    """Record that a test doesn't count, and why: noted wrongly, or something was rewired since. Again: nothing happens."""
    site = ground(test.site_id, by)
    test = locked(test)
    if test.withdrawn_at:
        return test
    if not isinstance(by, User):
        raise NotAllowed("Only a person can withdraw a test.")
    if not why.strip():
        raise Refused("Say why the test does not count.", field="why")
    test.withdrawn_at, test.withdrawn_by, test.withdrawn_why = now, by, why
    with plainly():
        test.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawn_why"])
    record(Verb.SWITCHING_WITHDRAWN, site=site.pk, subject=test, by=by, now=now, words={"why": why})
    return test


@operation
def take_over_certain(site: Site, feeders: Mapping[UUID, UUID], *, by: Actor, now: datetime) -> list[Feed]:
    """Record as verified, switched off and seen, what the tests make certain: `feeders` from board to circuit or supply.

    Each is looked at again under the lock of the site; the other candidates of the board are removed. Who verified it
    and when are those of the test in which the board was seen to go dead. Refused, all of it, where one of them is no
    longer certain. Again after success: nothing happens.
    """
    site = ground(site.pk, by)
    found = ground_of(site)
    taken = []
    for board, feeder in sorted(feeders.items()):
        feeds = [feed for feed in found.feeds if feed.board_id == board and feed.kind != FeedKind.ALTERNATIVE]
        true = next((feed for feed in feeds if feeder_key(feed) == str(feeder)), None)
        if true is None or (not true.proven and str(board) not in found.traced.seen):
            raise Refused(MEANWHILE)
        if not true.proven:
            if found.traced.left[str(board)] != (str(feeder),):
                raise Refused(MEANWHILE)
            taken.append(_take_over(found, true, [feed for feed in feeds if feed is not true], by=by, now=now))
    return taken


def _take_over(found: Ground, feed: Feed, others: list[Feed], *, by: Actor, now: datetime) -> Feed:
    test = _seen_in(found, feed)
    removed = sorted(map(feeder_key, others))
    Feed.objects.filter(pk__in=[other.pk for other in others]).delete()
    feed.kind, feed.verified, feed.verified_how = FeedKind.NORMAL, True, HowVerified.SWITCHED
    feed.verified_by, feed.verified_on = test.by, clock.local_day(test.at)
    feed.version += 1
    with plainly():
        feed.save(update_fields=["kind", "verified", "verified_how", "verified_by", "verified_on", "version"])
    facts: dict[str, Any] = {"board": str(feed.board_id), "test": str(test.pk), "ruled_out": removed}
    more, _ = particulars(feed, "from_circuit", "from_supply", "verified_how", "verified_by", "verified_on")
    record(Verb.FEED_FOUND, site=found.site.pk, subject=feed, by=by, now=now, facts=facts | more)
    return feed


def _seen_in(found: Ground, feed: Feed) -> SwitchingTest:
    """The latest test in which the board went dead with just its feeder off."""
    return next(
        test
        for test in found.tests
        if test.withdrawn_at is None
        and str(test.off_circuit_id or test.off_supply_id) == feeder_key(feed)
        and any(row.board_id == feed.board_id and row.state == SeenState.DEAD for row in test.seen.all())
    )
