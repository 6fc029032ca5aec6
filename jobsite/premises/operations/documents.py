"""Documents for a board: made from the record under its lock, kept byte for byte, written in the ledger."""

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from jobsite.addresses import address
from jobsite.documents import PDF, make_document
from jobsite.documents.qr import qr_svg
from jobsite.firm.queries import the_firm
from jobsite.ledger.files import store_file
from jobsite.ledger.operations import operation, record
from jobsite.ledger.queries import heads
from jobsite.ledger.rows import made_before
from jobsite.people.invitations import full_address
from jobsite.people.models import User
from jobsite.premises.charts import layout_for
from jobsite.premises.choices import DocumentKind
from jobsite.premises.models import Board, BoardDocument
from jobsite.premises.operations.common import as_it_is, ground, must_be_there
from jobsite.premises.queries.chart import as_said, chart_facts
from jobsite.premises.verbs import Verb

TEMPLATES = Path(__file__).resolve().parent.parent / "documents"


@operation
def make_chart(board: Board, *, id: UUID, paper: str, turned: bool | None, by: User, now: datetime) -> BoardDocument:
    """Make the circuit chart of `board` as it is recorded now, on "a4" or "a5"; `turned`: landscape, portrait or as fits.

    It is made of whatever is on record: what nobody has verified is marked so.
    """
    board = _ground(board, by)
    if made := made_before(BoardDocument, id, board_id=board.pk):
        return made
    facts = chart_facts(board)
    rows = [(row["what"], row["notes"]) for row in facts["ways"]]
    above = {"facts": len(facts["particulars"]), "sources": len(facts["sources"])}
    layout = layout_for(rows, paper=paper, turned=turned, **above)
    plan = {"paper": layout.paper, "flipped": layout.flipped, "size_pt": layout.size_pt}
    words = f"{paper.upper()} {'landscape' if layout.flipped else 'portrait'}"
    return _keep(
        board, DocumentKind.CHART, facts | {"layout": plan}, id=id, words=words, said=as_said(facts), by=by, now=now
    )


def _ground(board: Board, by: User) -> Board:
    """The board as it is under its site's lock. NotAllowed or Refused where nothing may be made for it."""
    ground(board.site_id, by)
    return must_be_there(as_it_is(board), board.designation)


def _keep(
    board: Board,
    kind: DocumentKind,
    facts: Mapping[str, Any],
    *,
    id: UUID,
    words: str,
    by: User,
    now: datetime,
    said: str = "",
    template: str = "",
) -> BoardDocument:
    made = make_document(
        TEMPLATES / f"{template or kind.value}.typ",
        {**facts, "by": by.name},
        title=f"{kind.label.capitalize()}: {board.designation}, {board.site.name}",
        about=f"{board.site.name}, {board.designation}",
        firm=the_firm().name,
        now=now,
        heads=heads([board.site_id]),
        pictures={"qr.svg": qr_svg(full_address(address("premises:board", board.pk)))},
    )
    file = store_file(made.pdf, media_type=PDF, now=now)
    document = BoardDocument(id=id, site=board.site, board=board, kind=kind, words=words, file=file, said=said)
    document.fingerprint, document.made_by, document.made_at = made.fingerprint, by, now
    document.save(force_insert=True)
    told = {"board": str(board.pk), "kind": kind.value, "file": file.hash, "fingerprint": made.fingerprint}
    record(Verb.DOCUMENT_MADE, site=board.site_id, subject=document, by=by, now=now, facts=told)
    return document
