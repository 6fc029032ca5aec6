"""Pages on which readings are typed: a board's ways one after another, or one circuit; judged while one types."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from inspections import forms, operations
from inspections.choices import InspectionState
from inspections.models import Inspection, Reading
from inspections.operations.reading import AT_BOARD, AT_SUPPLY, NotTaken
from inspections.queries import sheets
from inspections.queries.judging import judge_cells
from inspections.queries.readings import MOST, edition_words, reading_rows, readings_of
from inspections.queries.sheets import Cell
from inspections.queries.situations import Ground, ground_of
from inspections.views.common import RECORD, at
from jobsite import words
from jobsite.addresses import address
from jobsite.clock import local_day
from jobsite.ids import key_in, new_id
from jobsite.pages import form_page
from jobsite.people.guard import Request, needs
from jobsite.people.queries import instruments_in_use, wrong_words
from jobsite.people.rights import Right
from jobsite.premises.models import Board, Circuit, Supply


@dataclass
class Sheet:
    """What a page offers to type: the ways as rows of a table, and other cells under headings."""

    board: Board
    circuits: Sequence[Circuit] = ()
    supplies: Sequence[Supply] = ()
    columns: Sequence[Any] = ()
    rows: list[tuple[Circuit, list[Cell | None]]] = field(default_factory=list)
    parts: list[tuple[str, list[Cell]]] = field(default_factory=list)

    @property
    def apart(self) -> list[dict[str, Any]]:
        """The parts beside the table, each with its cautions, unfolded where something was typed."""
        return [
            {"head": head, "cells": cells, "cautions": cautions(cells), "open": any(cell.typed for cell in cells)}
            for head, cells in self.parts
        ]

    @property
    def cells(self) -> list[Cell]:
        """All cells in the order of the page."""
        apart = [cell for _, cells in self.parts for cell in cells]
        return apart + [cell for _, cells in self.rows for cell in cells if cell]


@needs(Right.INSPECT)
def board_readings(request: Request, pk: UUID) -> HttpResponse:
    """A board's usual readings: a table of its ways to type through; above it what is read at board and origin."""
    board = _the_board(request, pk)
    sheet = _sheet_of_board(board)
    return _page(request, sheet, "inspections/board_readings.html", f"Readings, {board}", lambda _: here(request))


@needs(Right.INSPECT)
def reading(request: Request, pk: UUID) -> HttpResponse:
    """All that is read on one circuit, with the limits and their bases, then the next way."""
    circuit = _the_circuit(request, pk)
    sheet = _sheet_of_circuit(circuit)
    following = _next(circuit, sheet.circuits)
    then = at("reading", following) if following and "then" in request.POST else request.path
    more = {
        "circuit": circuit,
        "next_at": f"{at('reading', following)}{_report(request)}" if following else "",
        "next_way": following.way_name if following else "",
        "readings": reading_rows(readings_of(circuit)[:MOST]),
        "table_at": f"{at('board_readings', circuit.board)}{_report(request)}",
    }
    title = f"Readings, way {circuit.way_name}, {circuit.board}"
    return _page(request, sheet, "inspections/reading.html", title, lambda _: f"{then}{_report(request)}", **more)


@needs(Right.INSPECT)
def judge_board(request: Request, pk: UUID) -> HttpResponse:
    """What is typed into a row of a board's table, judged and not kept."""
    return _judged(request, _sheet_of_board(_the_board(request, pk)))


@needs(Right.INSPECT)
def judge_circuit(request: Request, pk: UUID) -> HttpResponse:
    """What is typed for a circuit, judged and not kept."""
    return _judged(request, _sheet_of_circuit(_the_circuit(request, pk)))


def _the_board(request: Request, pk: UUID) -> Board:
    return get_object_or_404(Board.objects.visible_to(request.user).select_related("site"), pk=pk)


def _the_circuit(request: Request, pk: UUID) -> Circuit:
    return get_object_or_404(Circuit.objects.visible_to(request.user).select_related("board__site", "site"), pk=pk)


def here(request: Request) -> str:
    """This page again, for the same report."""
    return f"{request.path}{_report(request)}"


def _report(request: Request) -> str:
    key = key_in(request.POST.get("inspection") or request.GET.get("inspection", ""))
    return f"?inspection={key}" if key else ""


# --- what is offered --------------------------------------------------------------------------------------------------


def _sheet_of_board(board: Board) -> Sheet:
    circuits, supplies = sheets.circuits_of(board), sheets.supplies_of(board)
    columns = sheets.table_columns(circuits)
    sheet = Sheet(board, circuits, supplies, columns)
    sheet.rows = [(c, [Cell(c, q) if sheets.offered(c, q) else None for q in columns]) for c in circuits]
    sheet.parts = [(f"At the origin: {supply}", [Cell(supply, q) for q in AT_SUPPLY]) for supply in supplies]
    sheet.parts.append((f"At {board} itself", [Cell(board, q) for q in AT_BOARD]))
    return sheet


def _sheet_of_circuit(circuit: Circuit) -> Sheet:
    sheet = Sheet(circuit.board, sheets.circuits_of(circuit.board))
    found = groupby(sheets.cells_of_circuit(circuit), key=lambda cell: cell.quantity.caution)
    sheet.parts = [(caution, list(cells)) for caution, cells in found]
    return sheet


def _next(circuit: Circuit, circuits: Sequence[Circuit]) -> Circuit | None:
    """The way after this one in the order of the board; None after the last."""
    after = [c for c in circuits if (c.way, c.phase) > (circuit.way, circuit.phase)]
    return after[0] if after else None


# --- the page ---------------------------------------------------------------------------------------------------------


def _page(
    request: Request, sheet: Sheet, template: str, title: str, then: Callable[[Any], str], **more: Any
) -> HttpResponse:
    form = _form(request, sheet)
    report = _draft(request, form)
    common = _ground(request, sheet, report)
    sheets.with_limits(sheet.cells, common)
    sheets.with_judging(sheet.cells, common)
    sheets.with_last(sheet.cells, sheets.latest(_readings_at(sheet)))
    context = {
        "title": title,
        "sheet": sheet,
        "site": sheet.board.site,
        "site_at": address("desk:site", sheet.board.site_id),
        "board_at": address("desk:board", sheet.board.pk),
        "edition": edition_words(common.edition, report),
        "caution": RECORD,
        "cautions": cautions(cell for _, cells in sheet.rows for cell in cells if cell),
        "heads": [sheets.HEADS[column] for column in sheet.columns],
        "judge_at": f"{request.path}judge/",
        "has_drafts": _drafts(sheet.board).exists(),
        "report": _report(request),
        "here": here(request),
        "report_at": address("inspections:inspection", report.pk) if report else "",
        "report_name": str(report) if report else "",
    }
    return form_page(
        request, template, form, context | more, do=lambda: _keep(request, form, common), then=then, said=_said
    )


def cautions(cells: Iterable[Cell]) -> list[str]:
    """The cautions of these tests, each once; one that another begins with is left out."""
    found = dict.fromkeys(cell.quantity.caution for cell in cells)
    return [one for one in found if not any(other != one and other.startswith(one) for other in found)]


def _form(request: Request, sheet: Sheet) -> forms.ReadingsForm:
    more = {"cells": sheet.cells, "drafts": _drafts(sheet.board), "tools": _tools()}
    if request.method == "POST":
        return forms.ReadingsForm(request.POST, **more)
    tools = list(_tools()[:2])
    first = {
        "inspection": key_in(request.GET.get("inspection", "")),
        "instrument": tools[0].pk if len(tools) == 1 else None,
    }
    return forms.ReadingsForm(initial=first, **more)


def _tools() -> Any:
    return instruments_in_use()


def _drafts(board: Board) -> Any:
    return Inspection.objects.filter(site=board.site_id, state=InspectionState.DRAFT).order_by("number")


def _draft(request: Request, form: forms.ReadingsForm) -> Inspection | None:
    """The report that the readings are for, as chosen in the form or named in the address."""
    key = key_in(str(form["inspection"].value() or ""))
    drafts: Any = form.fields["inspection"]
    return drafts.queryset.filter(pk=key).first() if key else None


def _ground(request: Request, sheet: Sheet, report: Inspection | None) -> Ground:
    boards = [sheet.board.pk] if any(isinstance(cell.place, Board) for cell in sheet.cells) else []
    return ground_of(sheet.board.site_id, on=local_day(request.made_at), inspection=report, boards=boards)


def _readings_at(sheet: Sheet) -> Any:
    rows = Reading.objects.filter(board=sheet.board)
    return rows | Reading.objects.filter(supply__in=sheet.supplies) if sheet.supplies else rows


def _keep(request: Request, form: forms.ReadingsForm, common: Ground) -> list[Reading]:
    try:
        return operations.take_readings(
            form.taken, by=request.user, now=request.now, made_at=request.made_at, **form.cleaned_data
        )
    except NotTaken as refused:
        judge_cells(form.cells, form.taken, common, doubt=form.doubt)  # what is right is told too
        form.mark(refused)
        raise


def _said(made: list[Reading]) -> str:
    tool = next((row.instrument for row in made if row.instrument), None)
    return f"{_kept_words(made)} {wrong_words(tool)}".strip()


def _kept_words(made: list[Reading]) -> str:
    if len(made) == 1:
        return f"{made[0].what[0].upper()}{made[0].what[1:]} {made[0].words}: {made[0].get_verdict_display()}. {made[0].basis}".strip()
    fails = sum(1 for row in made if not row.passed)
    warned = sum(1 for row in made if row.verdict == "warning")
    told = [
        f"{words.many(len(made), 'reading')} kept",
        f"{fails} fail" if fails else "",
        f"{warned} with a warning" if warned else "",
    ]
    return f"{words.joined(*told)}."


# --- judged while one types -------------------------------------------------------------------------------------------


def _judged(request: Request, sheet: Sheet) -> HttpResponse:
    """The verdict on each typed cell of the row that was sent; nothing is kept. At most nine statements."""
    data = request.GET.copy()
    data.setdefault("id", str(new_id()))
    form = forms.ReadingsForm(data, cells=sheet.cells, drafts=_drafts(sheet.board), tools=_tools())
    form.is_valid()
    common = _ground(request, sheet, _draft(request, form))
    sent = [cell for cell in sheet.cells if cell.name in data]
    sheets.with_limits(sent, common)
    sheets.with_last(sent, sheets.latest(_readings_at(sheet)))
    judge_cells(sent, form.taken, common, doubt=form.doubt)
    return render(request, "inspections/_judged_row.html", {"cells": sent})
