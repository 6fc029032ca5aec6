"""Pages of what is printed for a board: its circuit chart and labels, made anew and kept."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse

from jobsite.downloads import as_pdf
from jobsite.ledger.files import read_file
from jobsite.pages import bound, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises import operations, policy
from jobsite.premises.choices import PROVING, DocumentKind
from jobsite.premises.forms.documents import BoardLabelForm, ChartForm, LabelsForm, in_mm
from jobsite.premises.models import Board, BoardDocument, Circuit
from jobsite.premises.queries.documents import documents_page
from jobsite.premises.queries.labels import circuit_words
from jobsite.premises.views.common import ask, seen, the_board

PRINTED = (
    "A chart or label is believed by whoever opens the board next. What nobody has verified is printed in quotes and "
    "dashed; verify it first where you can. It replaces neither the caution on the board nor proving dead."
)


# Common practice: wherever somebody isolates, they must learn of the other source.
WHERE_THEY_GO = (
    "It belongs on this board, at the origin, at the meter where that stands elsewhere, and at every point of isolation on "
    "the way (common practice; check the current standard and what the network operator asks for). Record every second "
    "source first: one that is left out is not named on it."
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

    def make() -> BoardDocument:
        return operations.make_chart(row, by=request.user, now=request.now, **form.cleaned_data)

    return _ask(request, row, form, "Circuit chart", make, button="Make the chart", caution=PRINTED)


@needs(Right.KEEP_PREMISES)
def labels(request: Request, pk: UUID) -> HttpResponse:
    """Choose ways and a sheet, and make labels for circuits."""
    row = the_board(request, pk)
    ways = row.circuits.current().order_by("way", "phase")
    verified = ways.filter(verified_how__in=PROVING).exclude(designation="")
    left_out = [way for way in ways if not way.proven]
    first = {"circuits": [way.pk for way in verified], "start": 1}
    form = bound(request, LabelsForm, verified=verified, initial=first)

    def make() -> BoardDocument:
        said = {name: form.cleaned_data[name] for name in ("id", "circuits", "start", "outlined")}
        return operations.make_labels(row, sheet=form.sheet(), by=request.user, now=request.now, **said)

    return _ask(
        request, row, form, "Labels for circuits", make, button="Make the labels", caution=_not_offered(left_out)
    )


def _not_offered(ways: list[Circuit]) -> str:
    """The caution, and which ways get no label since nobody has verified what they supply."""
    if not ways:
        return PRINTED
    names = ", ".join(f"{way.way_name} {circuit_words(way)}" for way in ways)
    return f"{PRINTED} Not verified, so not offered here: {names}."


@needs(Right.KEEP_PREMISES)
def board_label(request: Request, pk: UUID) -> HttpResponse:
    """Make labels with a board's name and the code that leads to its page."""
    return _label_of_board(request, the_board(request, pk), DocumentKind.BOARD_LABEL)


@needs(Right.KEEP_PREMISES)
def two_sources(request: Request, pk: UUID) -> HttpResponse:
    """Make labels that warn of more than one source of supply."""
    return _label_of_board(request, the_board(request, pk), DocumentKind.TWO_SOURCES)


def _label_of_board(request: Request, row: Board, kind: DocumentKind) -> HttpResponse:
    form = bound(request, BoardLabelForm, initial={"copies": 1})

    def make() -> BoardDocument:
        width, height = in_mm(form.cleaned_data["size"])
        said = {name: form.cleaned_data[name] for name in ("id", "copies")}
        size: dict[str, Any] = {"width_mm": width, "height_mm": height}
        return operations.make_board_label(row, kind=kind, by=request.user, now=request.now, **size, **said)

    caution = WHERE_THEY_GO if kind == DocumentKind.TWO_SOURCES else PRINTED
    return _ask(request, row, form, kind.label.capitalize(), make, button="Make the labels", caution=caution)


def _ask(
    request: Request, row: Board, form: Any, title: str, make: Callable[[], BoardDocument], **more: Any
) -> HttpResponse:
    """A page that makes a document of a board, and goes back to all of them."""
    back = documents_of(row)
    about = f"{row.designation}, {row.site.name}"
    said = "Made and kept: open it below to print it, in true size."
    return ask(request, form, title, do=make, then=back, said=said, back=back, about=about, **more)


def documents_of(board: Board) -> str:
    """The address of the page with a board's documents."""
    return reverse("premises:board_documents", args=[board.pk])
