"""Pages of what is printed for a board: its circuit chart and labels, made anew and kept."""

from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse

from jobsite.downloads import as_pdf
from jobsite.ledger.files import read_file
from jobsite.pages import bound, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises import operations, policy
from jobsite.premises.forms.documents import ChartForm
from jobsite.premises.models import Board, BoardDocument
from jobsite.premises.queries.documents import documents_page
from jobsite.premises.views.common import ask, seen, the_board

PRINTED = (
    "A chart or label is believed by whoever opens the board next. What nobody has verified is printed in quotes and "
    "dashed; verify it first where you can. It replaces neither the caution on the board nor proving dead."
)


@needs(Right.SEE_WORK)
def board_documents(request: Request, pk: UUID) -> HttpResponse:
    """What was made for a board, and what can be made."""
    row = the_board(request, pk)
    may = policy.may_keep_premises(request.user, row.site) and not row.retired_at and not row.site.archived_at
    return page(request, "premises/documents.html", {"board": row, "may": may, **documents_page(row)})


@needs(Right.SEE_WORK)
def board_document(request: Request, pk: UUID) -> HttpResponse:
    """A document that was made for a board, byte for byte."""
    row = seen(request, BoardDocument, pk, "file", "board")
    return as_pdf(read_file(row.file), f"{row.kind} {row.board.designation}")


@needs(Right.KEEP_PREMISES)
def chart(request: Request, pk: UUID) -> HttpResponse:
    """Choose the paper, and make the circuit chart."""
    row = the_board(request, pk)
    form = bound(request, ChartForm)
    return ask(
        request,
        form,
        "Circuit chart",
        do=lambda: operations.make_chart(row, by=request.user, now=request.now, **form.cleaned_data),
        then=documents_of(row),
        said="The chart is made and kept: open it below to print it.",
        back=documents_of(row),
        button="Make the chart",
        about=f"{row.designation}, {row.site.name}",
        caution=PRINTED,
    )


def documents_of(board: Board) -> str:
    """The address of the page with a board's documents."""
    return reverse("premises:board_documents", args=[board.pk])
