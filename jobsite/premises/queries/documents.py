"""What was made for a board, and whether the chart on its door still says what is on record."""

from typing import Any

from jobsite.addresses import address
from jobsite.premises.choices import DocumentKind
from jobsite.premises.models import Board, BoardDocument
from jobsite.premises.queries.chart import as_said, chart_facts
from jobsite.premises.queries.labels import board_label
from jobsite.words import when

SHOWN = 50


def documents_page(board: Board) -> dict[str, Any]:
    """The documents of a board, the latest first; of the last chart, whether the board was changed since."""
    facts = chart_facts(board)
    rows = list(board.documents.select_related("made_by", "file").order_by("-made_at", "-pk")[:SHOWN])
    charts = [row for row in rows if row.kind == DocumentKind.CHART]
    stale = bool(charts) and charts[0].said != as_said(facts)
    return {
        "name": board_label(board),
        "count": facts["count"],
        "doubts": facts["doubts"],
        "sources": facts["sources"],
        "rows": [_row(row) for row in rows],
        "stale": f"The board was changed since its last chart was made, {when(charts[0].made_at)}." if stale else "",
        "no_chart": not charts,
    }


def _row(row: BoardDocument) -> dict[str, str]:
    return {
        "what": row.get_kind_display().capitalize(),
        "words": row.words,
        "made": f"{when(row.made_at)}, {row.made_by}",
        "fingerprint": short(row.fingerprint),
        "href": address("premises:board_document", row.pk),
        "size": f"{max(1, row.file.size // 1000)} kB",
    }


def short(fingerprint: str) -> str:
    """A fingerprint as it stands at the foot of each page."""
    return " ".join(fingerprint[at : at + 4] for at in range(0, 16, 4))
