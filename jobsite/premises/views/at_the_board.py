"""The page for standing in front of a board with a phone: way after way, what is written and what it is."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite.pages import act, bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises import forms, operations, policy, queries
from jobsite.premises.choices import HOW_OFFERED, HowVerified
from jobsite.premises.models import Board, Circuit, Verification
from jobsite.premises.views.common import seen
from jobsite.refused import Refused

CAUTION = (
    "Open a board only if you are competent and it is safe to. To find out what a way feeds, agree the outage first. "
    "A lamp that goes out proves nothing: prove dead with an approved tester proved before and after."
)
TOLD = "What you were told is no proof: say so, and trace it when you can."


@needs(Right.SEE_WORK)
def at_the_board(request: Request, pk: UUID, refused: Refused | None = None) -> HttpResponse:
    """Label and fact of the board and of each way in order; a way that is not on record is added at their end."""
    board = _board(request, pk)
    shown = queries.at_the_board(board)
    form = forms.NextWayForm() if refused else _next_way(request, board, shown["next_way"])
    may = policy.may_keep_premises(request.user, board.site) and not board.retired_at
    how = _how(request)
    context = {"board": board, "may": may, "how": how, "hows": HOW_OFFERED, "refused": refused, **shown}
    context |= {"caution": CAUTION, "told": TOLD if how == HowVerified.TOLD else ""}
    return form_page(
        request,
        "premises/at_the_board.html",
        form if may else forms.NextWayForm(),
        context,
        do=lambda: operations.add_circuit(board, by=request.user, now=request.now, **form.cleaned_data),
        then=lambda circuit: _at(board, circuit, how),
        said=lambda circuit: f"Way {circuit.way_name} entered.",
    )


def _board(request: Request, pk: UUID) -> Board:
    row: Board = seen(request, Board, pk, "site", "verified_by", "label_noted_by")
    return row


def _circuit(request: Request, pk: UUID) -> Circuit:
    row: Circuit = seen(request, Circuit, pk, "site", "board__site")
    return row


def _next_way(request: Request, board: Board, way: int) -> forms.NextWayForm:
    return bound(request, forms.NextWayForm, initial={"way": way, "phase": board.phases[0]})


def _how(request: Request) -> str:
    """How this person knows, as they said last: it stays chosen from way to way."""
    how = request.POST.get("verified_how") or request.GET.get("how", "")
    return how if how in HowVerified.values else ""


def _said(row: Board | Circuit) -> str:
    what = f"Way {row.way_name}" if isinstance(row, Circuit) else "The board"
    return f"{what} verified." if row.proven else f"{what}: kept as told, not seen. It counts as believed."


def _at(board: Board, circuit: Circuit | UUID | None, how: str) -> str:
    """The address of the page, at a way of it."""
    way = circuit.pk if isinstance(circuit, Circuit) else circuit
    asked = f"?how={how}" if how else ""
    return reverse("premises:at_the_board", args=[board.pk]) + asked + (f"#way-{way}" if way else "")


@needs(Right.KEEP_PREMISES)
def board_verify(request: Request, pk: UUID) -> HttpResponse:
    """Say what the board is, and how that is known."""
    board = _board(request, pk)
    first = {"designation": board.designation, "version": board.version, "verified_how": _how(request)}
    form = bound(request, forms.VerifyForm, initial=first)
    about = f"The board labelled “{board.label_found}”" if board.label_found else "This board"
    context = {"title": about, "board": board, "caution": CAUTION, "back": _at(board, None, _how(request))}
    return form_page(
        request,
        "premises/verify.html",
        form,
        context,
        do=lambda: _verify(request, board, form),
        then=_at(board, None, _how(request)),
        said=_said,
    )


def _verify(request: Request, row: Board | Circuit, form: Any) -> Any:
    told = dict(form.cleaned_data)
    return operations.verify(row, how=told.pop("verified_how"), by=request.user, now=request.now, **told)


@needs(Right.KEEP_PREMISES)
def circuit_verify(request: Request, pk: UUID) -> HttpResponse:
    """Say what a way is, and how that is known; by htmx in its place, else on a page of its own."""
    circuit, how = _circuit(request, pk), _how(request)
    first = {"designation": circuit.designation or circuit.label_found, "version": circuit.version, "verified_how": how}
    form = bound(request, forms.VerifyForm, initial=first)
    context = {"title": f"Way {circuit.way_name}", "circuit": circuit, "board": circuit.board, "caution": CAUTION}
    context["back"] = _at(circuit.board, circuit, how)
    context["label"] = circuit.label_found
    return form_page(
        request,
        "premises/verify.html",
        form,
        context,
        do=lambda: _verify(request, circuit, form),
        then=lambda _: _next(request, circuit),
        said=_said,
        fragment="premises/_verify_way.html",
    )


def _next(request: Request, circuit: Circuit) -> HttpResponse | str:
    """By htmx the way as it is now; else on to the next one that nobody has verified."""
    if request.htmx:  # type: ignore[attr-defined]
        return _way(request, circuit)
    return _at(circuit.board, queries.next_unverified(circuit.board, circuit) or circuit, _how(request))


def _way(request: Request, circuit: Circuit) -> HttpResponse:
    context = {"may": True, "how": _how(request), "swapped": True, **queries.way_at_the_board(circuit)}
    return page(request, "premises/_way_at.html", context)


@require_POST
@needs(Right.KEEP_PREMISES)
def circuit_spare(request: Request, pk: UUID) -> HttpResponse:
    """Say whether a way is spare, and blanked."""
    circuit = _circuit(request, pk)
    form = bound(request, forms.SpareForm)
    if not form.is_valid():
        return act(request, lambda: _damaged(form), then=_at(circuit.board, circuit, _how(request)))
    return act(
        request,
        lambda: operations.edit_circuit(circuit, by=request.user, now=request.now, **form.cleaned_data),
        then=lambda _: _same_place(request, circuit),
        said=f"Way {circuit.way_name}: saved.",
        again=_again(request, circuit.board_id),
    )


def _damaged(form: Any) -> None:
    raise Refused("This form was damaged on its way: open the page again.")


def _same_place(request: Request, circuit: Circuit) -> HttpResponse | str:
    return _way(request, circuit) if request.htmx else _at(circuit.board, circuit, _how(request))  # type: ignore[attr-defined]


@require_POST
@needs(Right.KEEP_PREMISES)
def take_back(request: Request, pk: UUID) -> HttpResponse:
    """Take back a verification that was a slip."""
    found: Verification = seen(request, Verification, pk, "circuit__board__site", "board__site")
    board = found.board or found.circuit.board  # type: ignore[union-attr]
    return act(
        request,
        lambda: operations.take_back_verification(found, by=request.user, now=request.now),
        then=lambda _: _same_place(request, found.circuit) if found.circuit else _at(board, None, _how(request)),
        said="Taken back: what stood before stands again.",
        again=_again(request, board.pk),
    )


def _again(request: Request, board: UUID) -> Callable[[Refused], HttpResponse]:
    return lambda refused: at_the_board(request, board, refused=refused)
