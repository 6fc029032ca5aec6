"""A whole list of boards, circuits, second sources and feeds at once, as somebody else wrote it: believed only."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import models

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import AT_ONCE, operation, record
from jobsite.ledger.rows import RefusedRow, about
from jobsite.premises.models import Board, Circuit, Feed, SecondSource, Site, Unit
from jobsite.premises.operations import boards, circuits, feeds, sources
from jobsite.premises.operations.common import ground, particulars, plainly
from jobsite.premises.operations.verifying import BELIEVED
from jobsite.premises.verbs import Verb
from jobsite.refused import Refused
from jobsite.sorting import sort_key


@dataclass
class Listed:
    """New rows, not saved yet, of one site. They may refer to each other, and to what is on record there."""

    boards: list[Board] = field(default_factory=list)
    circuits: list[Circuit] = field(default_factory=list)
    sources: list[SecondSource] = field(default_factory=list)
    feeds: list[Feed] = field(default_factory=list)


def say_nothing(rows: int) -> None:
    """Tells nobody how many rows are written."""


@operation
def add_list(
    site: Site,
    listed: Listed,
    *,
    units: Sequence[Unit],
    by: Actor,
    now: datetime,
    written: Callable[[int], None] = say_nothing,
) -> None:
    """Add all rows of a list, or none. Its boards serve `units`.

    Nothing in it counts as verified by anybody, whatever its rows say: another's list is no proof.

    Each row leaves the entry that adding it alone would leave. Raises RefusedRow for the first row that cannot be, and
    Refused where the feeds together would form a loop or lack a phase. The rows of one form are added once: a key that
    is there already is refused by the database. `written` is told how many rows are written, now and then.
    """
    site = ground(site.pk, by)
    if any(unit.site_id != site.pk for unit in units):
        raise Refused("A board serves units of its own site only.", field="units")
    for circuit in listed.circuits:
        with about(circuit):
            circuits.fits(circuit.board, {"phase": circuit.phase})
    for named in (*listed.boards, *listed.sources):
        named.sort = sort_key(getattr(named, named.sort_by))  # bulk_create calls no save()
    _only_believed(listed)
    with plainly():
        done = _insert(Board, listed.boards, written, 0)
        done = _insert(Circuit, listed.circuits, written, done)
        done = _insert(SecondSource, listed.sources, written, done)
        _insert(Feed, listed.feeds, written, done)
    _serve(listed.boards, units)
    served = {"units": sorted(str(unit.pk) for unit in units)} if units else {}
    _record(listed.boards, Verb.BOARD_ADDED, boards.COLUMNS, served, by=by, now=now)
    _record(listed.circuits, Verb.CIRCUIT_ADDED, circuits.COLUMNS, {}, by=by, now=now)
    _record(listed.sources, Verb.SOURCE_ADDED, sources.COLUMNS, {}, by=by, now=now)
    _record(listed.feeds, Verb.FEED_SET, feeds.COLUMNS, {}, by=by, now=now)


def _only_believed(listed: Listed) -> None:
    for row in (*listed.boards, *listed.circuits, *listed.feeds):
        for name, value in BELIEVED.items():
            setattr(row, name, value)
    for board in listed.boards:
        board.designation_verified = False
    for feed in listed.feeds:
        feed.verified = False


def _insert(model: type[models.Model], rows: Sequence[Any], written: Callable[[int], None], before: int) -> int:
    """Write the rows; how many there are with those `before`. What the database refuses is halved down to its row."""
    for start in range(0, len(rows), AT_ONCE):
        _insert_part(model, rows[start : start + AT_ONCE])
        written(before + min(start + AT_ONCE, len(rows)))
    return before + len(rows)


def _insert_part(model: type[models.Model], rows: Sequence[Any]) -> None:
    try:
        with plainly(at_once=False):
            model._default_manager.bulk_create(rows)  # noqa: SLF001 - Django's own name
    except Refused as refused:
        if len(rows) == 1:
            raise RefusedRow(refused, rows[0]) from refused
        middle = len(rows) // 2
        _insert_part(model, rows[:middle])
        _insert_part(model, rows[middle:])


def _serve(rows: Iterable[Board], units: Sequence[Unit]) -> None:
    serves = Board.units.through
    links = [serves(board_id=board.pk, unit_id=unit.pk) for board in rows for unit in units]
    serves.objects.bulk_create(links, batch_size=AT_ONCE)


def _record(
    rows: Iterable[Any], verb: str, columns: Sequence[str], more: dict[str, Any], *, by: Actor, now: datetime
) -> None:
    for row in rows:
        facts, words = particulars(row, *columns)
        record(verb, site=row.site_id, subject=row, by=by, now=now, facts=facts | more, words=words)
