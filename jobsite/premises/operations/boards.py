"""Boards: added, described, verified, taken out."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.premises.choices import FeedKind
from jobsite.premises.models import Board, Circuit, Feed, Site, Supply, Unit
from jobsite.premises.operations.common import change, ground, must_be_there, particulars, plainly
from jobsite.premises.operations.feeds import set_feed
from jobsite.premises.operations.verifying import before, keep_verification, stamped
from jobsite.premises.verbs import Verb
from jobsite.refused import ChangedMeanwhile, Refused

COLUMNS = (
    "designation",
    "label_found",
    "place",
    "phases",
    "main_switch",
    "main_switch_kind",
    "own_earthing",
    "zdb_ohm",
    "fault_current_ka",
    "notes",
    "verified_how",
)


@operation
def add_board(
    site: Site,
    *,
    id: UUID,
    designation: str,
    phases: Sequence[str],
    by: Actor,
    now: datetime,
    place: str = "",
    label_found: str = "",
    main_switch: str = "",
    main_switch_kind: str = "",
    own_earthing: str = "",
    zdb_ohm: Decimal | None = None,
    fault_current_ka: Decimal | None = None,
    notes: str = "",
    verified_how: str = "",
    units: Iterable[Unit] = (),
) -> Board:
    """Add a board. Zdb in Ω, fault current in kA; `own_earthing` where it differs from its supply's.

    `main_switch`: in words; `main_switch_kind`: what it disconnects.

    `verified_how` says that the designation is verified by `by` today; without it, it is believed only.
    """
    site = ground(site.pk, by)
    if board := made_before(Board, id, site_id=site.pk):
        return board
    board = Board(id=id, site=site, place=place, phases=list(phases), notes=notes)
    was = before(board)
    board.main_switch, board.own_earthing = main_switch, own_earthing
    board.main_switch_kind = main_switch_kind
    board.zdb_ohm, board.fault_current_ka = zdb_ohm, fault_current_ka
    named = {"designation": designation, "verified_how": verified_how, "label_found": label_found}
    for name, value in stamped(board, named, by=by, now=now).items():
        setattr(board, name, value)
    with plainly():
        board.save(force_insert=True)
    keep_verification(board, was, by=by, now=now)
    served = _serve(board, units)
    facts, words = particulars(board, *COLUMNS)
    record(Verb.BOARD_ADDED, site=site.pk, subject=board, by=by, now=now, facts=facts | served, words=words)
    return board


@operation
def add_fed_board(
    site: Site,
    *,
    id: UUID,
    feed_id: UUID,
    by: Actor,
    now: datetime,
    from_circuit: Circuit | None = None,
    from_supply: Supply | None = None,
    feed_verified_how: str = "",
    **fields: Any,
) -> Board:
    """Add a board and its normal feed in one step; `feed_verified_how` empty: the feed is believed only."""
    board = add_board(site, id=id, by=by, now=now, **fields)
    if from_circuit or from_supply:
        set_feed(
            board,
            id=feed_id,
            from_circuit=from_circuit,
            from_supply=from_supply,
            verified=bool(feed_verified_how),
            verified_how=feed_verified_how,
            by=by,
            now=now,
        )
    return board


def _serve(board: Board, units: Iterable[Unit]) -> dict[str, Any]:
    """Set which units the board serves; the fact where that changes, nothing where it doesn't."""
    units = list(units)
    if any(unit.site_id != board.site_id for unit in units):
        raise Refused("A board serves units of its own site only.", field="units")
    wanted, had = {unit.pk for unit in units}, set(board.units.values_list("pk", flat=True))
    if wanted == had:
        return {}
    board.units.set(units)
    return {"units": sorted(map(str, wanted))}


@operation
def edit_board(board: Board, *, version: int, by: Actor, now: datetime, **fields: Any) -> Board:
    """Change a board. Raises ChangedMeanwhile where somebody else did; Refused where a circuit or a feed would not fit.

    A new designation without `verified_how` is believed only until somebody verifies it.
    """
    site = ground(board.site_id, by)
    board = must_be_there(locked(board), board.designation)
    units = fields.pop("units", None)
    was = before(board)
    fields = stamped(board, fields, by=by, now=now)
    served: dict[str, Any] = {}
    if units is not None:
        if board.version != version and set(units) != set(board.units.all()):
            raise ChangedMeanwhile("Somebody else changed this board while you had it open.", theirs=board)
        served = _serve(board, units)
    change(board, fields, version=version, verb=Verb.BOARD_CHANGED, site=site.pk, by=by, now=now, more=served)
    keep_verification(board, was, by=by, now=now)
    return board


@operation
def retire_board(board: Board, *, by: Actor, now: datetime, reason: str = "") -> Board:
    """Record that a board was taken out, with its circuits and the feeds into it.

    Refused while it feeds another board or carries a second source.
    """
    site = ground(board.site_id, by)
    board = locked(board)
    if board.retired_at:
        return board
    _refuse_in_use(board)
    fed_from = [str(feed.from_circuit_id or feed.from_supply_id) for feed in board.feeds.all()]
    board.feeds.all().delete()
    board.circuits.current().update(retired_at=now)
    board.retired_at = now
    board.save(update_fields=["retired_at"])
    words = {"reason": reason}
    record(Verb.BOARD_RETIRED, site=site.pk, subject=board, by=by, now=now, facts={"fed_from": fed_from}, words=words)
    return board


def _refuse_in_use(board: Board) -> None:
    onward = Feed.objects.filter(from_circuit__board=board).select_related("board").order_by("board__sort").first()
    if onward:
        feeds = "may feed" if onward.kind == FeedKind.POSSIBLE else "still feeds"
        raise Refused(f"{board.designation} {feeds} {onward.board.designation}: move that feed first.")
    if source := board.second_sources.current().order_by("sort").first():
        raise Refused(f"{source.name} still comes in at {board.designation}: move it or take it out first.")


@operation
def bring_back_board(board: Board, *, by: Actor, now: datetime) -> Board:
    """Undo that a board was taken out: it and the circuits that went with it are there again, its feeds are not."""
    site = ground(board.site_id, by)
    board = locked(board)
    if board.retired_at is None:
        return board
    if board.replaced_by is not None:
        raise Refused(
            f"{board.designation} was changed for {board.replaced_by}, which has its circuits and its feeds now."
        )
    board.circuits.filter(retired_at=board.retired_at).update(retired_at=None)
    board.retired_at = None
    with plainly():
        board.save(update_fields=["retired_at"])
    record(Verb.BOARD_BROUGHT_BACK, site=site.pk, subject=board, by=by, now=now)
    return board
