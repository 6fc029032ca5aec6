"""Documents for a board: made from the record as it is, kept byte for byte, written in the ledger."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from django.db import transaction

from jobsite.addresses import address
from jobsite.documents import PDF, Made, make_document
from jobsite.documents.qr import qr_svg
from jobsite.firm.queries import the_firm
from jobsite.ledger.files import store_file
from jobsite.ledger.operations import operation, record
from jobsite.ledger.queries import heads
from jobsite.ledger.rows import made_before
from jobsite.ledger.rules import Head
from jobsite.people.invitations import full_address
from jobsite.people.models import User
from jobsite.people.names import as_customers_read
from jobsite.premises.charts import Sheet, layout_for, places, sheet_of, why_not_a_sheet
from jobsite.premises.choices import DocumentKind, FeedKind
from jobsite.premises.models import Board, BoardDocument, Circuit
from jobsite.premises.operations.common import as_it_is, ground, must_be_there
from jobsite.premises.queries.boards import feeder_words
from jobsite.premises.queries.chart import as_said, chart_facts, sources_reaching
from jobsite.premises.queries.graph import supply_graph
from jobsite.premises.queries.labels import board_label
from jobsite.premises.verbs import Verb
from jobsite.refused import Refused
from jobsite.words import joined, many, measure

MOST_COPIES = 20
TEMPLATES = Path(__file__).resolve().parent.parent / "documents"
TRIES = 2
CHANGING = "The record of this board was changed while it was made: make it once more."


@dataclass(frozen=True)
class ToSet:
    """All that a document is to say, gathered under the lock of its site. The ledger's heads may go on meanwhile."""

    kind: DocumentKind
    board: str
    site: str
    firm: str
    leads_to: str
    facts: Mapping[str, Any]
    words: str
    hash: str = ""
    template: str = ""
    heads: tuple[Head, ...] = field(default=(), compare=False)


def _to_set(board: Board, kind: DocumentKind, facts: Mapping[str, Any], words: str, **more: Any) -> ToSet:
    return ToSet(
        kind=kind,
        board=board.designation,
        site=board.site.name,
        firm=the_firm().name,
        leads_to=full_address(address("premises:board", board.pk)),
        facts=facts,
        words=words,
        heads=tuple(heads([board.site_id])),
        **more,
    )


def make_chart(board: Board, *, id: UUID, paper: str, turned: bool | None, by: User, now: datetime) -> BoardDocument:
    """Make the circuit chart of `board` as it is recorded now, on "a4" or "a5"; `turned`: landscape, portrait or as fits.

    It is made of whatever is on record: what nobody has verified is marked so.
    """
    return _make(board, lambda board: _chart(board, paper, turned), id=id, by=by, now=now)


def _chart(board: Board, paper: str, turned: bool | None) -> ToSet:
    facts = chart_facts(board)
    rows = [(row["what"], row["notes"]) for row in facts["ways"]]
    above = {"facts": len(facts["particulars"]), "sources": len(facts["sources"])}
    layout = layout_for(rows, paper=paper, turned=turned, **above)
    plan = {"paper": layout.paper, "flipped": layout.flipped, "size_pt": layout.size_pt}
    words = f"{paper.upper()} {'landscape' if layout.flipped else 'portrait'}"
    return _to_set(board, DocumentKind.CHART, facts | {"layout": plan}, words, hash=as_said(facts))


def make_labels(
    board: Board,
    *,
    id: UUID,
    circuits: Iterable[Circuit],
    sheet: Sheet,
    by: User,
    now: datetime,
    start: int = 1,
    outlined: bool = True,
) -> BoardDocument:
    """Make a sheet of labels for `circuits` of `board`, from place `start` of the first sheet on.

    Only of what is verified: a label is believed. Raises Refused naming a way that is not, and for a sheet that is no A4.
    """
    ways = tuple(circuits)
    return _make(board, lambda board: _labels(board, ways, sheet, start, outlined), id=id, by=by, now=now)


def _labels(board: Board, circuits: Iterable[Circuit], sheet: Sheet, start: int, outlined: bool) -> ToSet:
    rows = _to_label(board, circuits)
    _check_sheet(sheet, start)
    labels = [
        _label(row, board) | {"page": page, "left": left, "top": top}
        for row, (page, left, top) in zip(rows, places(sheet, start=start, count=len(rows)), strict=True)
    ]
    facts = {"labels": labels, "width": sheet.width_mm, "height": sheet.height_mm, "outlined": outlined}
    words = f"{many(len(rows), 'label')} of {sheet.width_mm} × {sheet.height_mm} mm"
    return _to_set(board, DocumentKind.LABELS, facts, words)


def _to_label(board: Board, circuits: Iterable[Circuit]) -> list[Circuit]:
    """The ways as they are now, in order. Refused where there is none, or one that nobody has seen to be what it is."""
    keys = {circuit.pk for circuit in circuits}
    rows = list(board.circuits.current().filter(pk__in=keys).order_by("way", "phase"))
    if not rows or len(rows) < len(keys):
        raise Refused("Choose ways of this board that are there.", field="circuits")
    doubtful = [row.way_name for row in rows if not row.proven]
    told = ", ".join(row.way_name for row in rows if row.verified and not row.proven)
    if doubtful:
        raise Refused(
            f"Nobody has verified {'way' if len(doubtful) == 1 else 'ways'} {', '.join(doubtful)}: a label is believed, "
            f"so verify first.{f' What somebody was told of {told} is no proof.' if told else ''}",
            field="circuits",
        )
    return rows


def _check_sheet(sheet: Sheet, start: int) -> None:
    sentence, field = why_not_a_sheet(sheet)
    if sentence:
        raise Refused(sentence, field=field)
    if not 1 <= start <= sheet.columns * sheet.rows:
        raise Refused(f"A sheet has {sheet.columns * sheet.rows} places.", field="start")


def _label(circuit: Circuit, board: Board) -> dict[str, Any]:
    rcd = measure(circuit.rcd_ma, "mA")
    return {
        "way": circuit.way_name,
        "what": circuit.designation,
        "device": joined(circuit.device, rcd and f"RCD {rcd}", by=" · "),
        "board": board.designation,
    }


def make_board_label(
    board: Board, *, id: UUID, kind: str, width_mm: int, height_mm: int, copies: int, by: User, now: datetime
) -> BoardDocument:
    """Make labels for `board` itself: its verified name with a code that leads to its page ("board-label"), or the
    warning of more than one source ("two-sources").

    Raises Refused for a name that nobody has verified, and for a warning where no second source is recorded.
    """
    size = (width_mm, height_mm)
    return _make(board, lambda board: _board_label(board, DocumentKind(kind), size, copies), id=id, by=by, now=now)


def _board_label(board: Board, kind: DocumentKind, size: tuple[int, int], copies: int) -> ToSet:
    width_mm, height_mm = size
    facts = _warning_facts(board) if kind == DocumentKind.TWO_SOURCES else _board_facts(board)
    sheet = sheet_of(width_mm, height_mm, columns=None, rows=None)
    _check_sheet(sheet, 1)
    if not 1 <= copies <= MOST_COPIES:
        raise Refused(f"From one to {MOST_COPIES} at a time.", field="copies")
    where = [{"page": page, "left": left, "top": top} for page, left, top in places(sheet, start=1, count=copies)]
    facts |= {"places": where, "width": width_mm, "height": height_mm}
    words = f"{many(copies, 'label')} of {width_mm} × {height_mm} mm"
    return _to_set(board, kind, facts, words, template="board-label")


def _board_facts(board: Board) -> dict[str, Any]:
    if not board.proven:
        raise Refused(f"Nobody has verified that this is {board.designation}: a label is believed, so verify first.")
    feeds = board.feeds.proven().select_related("from_circuit__board", "from_supply").order_by("-kind", "pk")
    fed = [f"{'Fed' if feed.kind == FeedKind.NORMAL else 'Also fed'} from {feeder_words(feed)}" for feed in feeds]
    return {"board": board.designation, "place": board.place, "fed": fed, "sources": []}


def _warning_facts(board: Board) -> dict[str, Any]:
    sources = sources_reaching(board, supply_graph(board.site))
    if not sources:
        raise Refused("No second source is recorded on this board or on one that it feeds: record it first.")
    return {"board": board_label(board), "place": "", "fed": [], "sources": sources}


def _make(board: Board, gather: Callable[[Board], ToSet], *, id: UUID, by: User, now: datetime) -> BoardDocument:
    """Make of `board` what `gather` says it is to say, and keep it.

    Setting takes up to 20 s, for which nobody's save may wait at the site's lock. So: 1. gather under the lock, 2. set
    without it, 3. lock again, and keep it only where it still says what is on record; else begin again.
    """
    for _ in range(TRIES):
        found = _gathered(board, gather, id=id, by=by)
        if isinstance(found, BoardDocument):
            return found
        if kept := _keep(board, gather, found, _set(found, by, now), id=id, by=by, now=now):
            return kept
    raise Refused(CHANGING)


@transaction.atomic
def _gathered(board: Board, gather: Callable[[Board], ToSet], *, id: UUID, by: User) -> BoardDocument | ToSet:
    """The document that the same form made before, else what one is to say by the record as it is under the lock.

    NotAllowed or Refused where nothing may be made for the board.
    """
    ground(board.site_id, by)
    board = must_be_there(as_it_is(board), board.designation)
    return made_before(BoardDocument, id, board_id=board.pk) or gather(board)


def _set(said: ToSet, by: User, now: datetime) -> Made:
    """The document itself. No lock is held meanwhile; one statement."""
    return make_document(
        TEMPLATES / f"{said.template or said.kind.value}.typ",
        {**said.facts, "by": as_customers_read().name(by.name)},
        title=f"{said.kind.label.capitalize()}: {said.board}, {said.site}",
        about=f"{said.site}, {said.board}",
        firm=said.firm,
        now=now,
        heads=said.heads,
        pictures={"qr.svg": qr_svg(said.leads_to)},
    )


@operation
def _keep(
    board: Board, gather: Callable[[Board], ToSet], said: ToSet, made: Made, *, id: UUID, by: User, now: datetime
) -> BoardDocument | None:
    """Keep what was set; None where the record says something else by now."""
    found = _gathered(board, gather, id=id, by=by)
    if isinstance(found, BoardDocument):
        return found
    if found != said:
        return None
    file = store_file(made.pdf, media_type=PDF, now=now)
    document = BoardDocument(id=id, site_id=board.site_id, board=board, kind=said.kind, words=said.words, file=file)
    document.said, document.fingerprint, document.made_by, document.made_at = said.hash, made.fingerprint, by, now
    document.save(force_insert=True)
    told = {"board": str(board.pk), "kind": said.kind.value, "file": file.hash, "fingerprint": made.fingerprint}
    record(Verb.DOCUMENT_MADE, site=board.site_id, subject=document, by=by, now=now, facts=told)
    return document
