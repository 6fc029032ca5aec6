"""The page for standing in front of a board with a phone: way after way, what is written and what it is."""

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
    """Label and fact of the board and of each way in order; a way that is not on record is added at their end.

    Each form on it is kept by the phone. Sent by it, each is answered by what changes on the page, or by itself where it
    was refused.
    """
    board = _board(request, pk)
    shown = queries.at_the_board(board)
    form = forms.NextWayForm() if refused else _next_way(request, board, shown["next_way"])
    may = policy.may_keep_premises(request.user, board.site) and not board.retired_at
    how = _how(request)
    context = {"board": board, "may": may, "how": how, "hows": HOW_OFFERED, "refused": refused, **shown}
    context |= {"caution": CAUTION, "told": TOLD, "next_hold": f"way:{board.pk}", "next_at": _at(board, None, how)}
    return form_page(
        request,
        "premises/at_the_board.html",
        form if may else forms.NextWayForm(),
        context,
        do=lambda: operations.add_circuit(
            board, by=request.user, now=request.now, made_at=request.made_at, **form.cleaned_data
        ),
        then=lambda circuit: _way(request, circuit) if _in_place(request) else _at(board, circuit, how),
        said=lambda circuit: f"Way {circuit.way_name} entered.",
        fragment="premises/_next_way_at.html" if request.method == "POST" else "",
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


def _in_place(request: Request) -> bool:
    """Whether only what changes on the page is wanted."""
    return bool(request.htmx)  # type: ignore[attr-defined]


@needs(Right.KEEP_PREMISES)
def board_verify(request: Request, pk: UUID) -> HttpResponse:
    """Say what the board is, and how that is known."""
    board = _board(request, pk)
    first = {"designation": board.designation, "version": board.version, "verified_how": _how(request)}
    form = bound(request, forms.VerifyForm, initial=first)
    about = f"The board labelled “{board.label_found}”" if board.label_found else "This board"
    context = {"title": about, "board": board, "caution": CAUTION, "back": _at(board, None, _how(request))}
    context |= _held(board, "verify-board", board, "The board: what it is")
    return form_page(
        request,
        "premises/verify.html",
        form,
        context,
        do=lambda: _verify(request, board, form),
        then=lambda row: _own(request, row) if _in_place(request) else _at(board, None, _how(request)),
        said=_said,
        fragment="premises/_verify_own.html",
    )


def _held(row: Board | Circuit, kind: str, board: Board, words: str) -> dict[str, str]:
    """How a phone keeps the form that verifies `row`: the same names as where it stands on the board's page."""
    address = reverse("premises:board_verify" if isinstance(row, Board) else "premises:circuit_verify", args=[row.pk])
    held = {"hold": f"{kind}:{row.pk}", "hold_group": f"board:{board.pk}", "hold_kind": kind, "hold_label": words}
    return {**held, "action": address}


def _verify(request: Request, row: Board | Circuit, form: Any) -> Any:
    told = dict(form.cleaned_data)
    how = told.pop("verified_how")
    return operations.verify(row, how=how, by=request.user, now=request.now, made_at=request.made_at, **told)


def _own(request: Request, board: Board) -> HttpResponse:
    row = _board(request, board.pk)
    context = {"may": True, "how": _how(request), "hows": HOW_OFFERED, "swapped": True}
    return page(request, "premises/_own.html", context | queries.board_itself(row))


@needs(Right.KEEP_PREMISES)
def circuit_verify(request: Request, pk: UUID) -> HttpResponse:
    """Say what a way is, and how that is known; from the phone in its place, else on a page of its own."""
    circuit, how = _circuit(request, pk), _how(request)
    first = {"designation": circuit.designation or circuit.label_found, "version": circuit.version, "verified_how": how}
    form = bound(request, forms.VerifyForm, initial=first, auto_id=f"id_{circuit.pk}_%s")
    context = {"title": f"Way {circuit.way_name}", "circuit": circuit, "board": circuit.board, "caution": CAUTION}
    context["back"] = _at(circuit.board, circuit, how)
    context["label"] = circuit.label_found
    context |= _held(circuit, "verify", circuit.board, f"Way {circuit.way_name}: what it is")
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
    """In its place the way as it is now; else on to the next one that nobody has verified."""
    if _in_place(request):
        return _way(request, circuit)
    return _at(circuit.board, queries.next_unverified(circuit.board, circuit) or circuit, _how(request))


def _way(request: Request, circuit: Circuit, **more: Any) -> HttpResponse:
    """The way as it is now, to be put in its place; `more` where something was refused."""
    context = {"may": True, "how": _how(request), "hows": HOW_OFFERED, "swapped": not more}
    context |= queries.way_at_the_board(circuit) | more
    return page(request, "premises/_way_at.html", context, status=422 if more else None)


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
        lambda: operations.edit_circuit(
            circuit, by=request.user, now=request.now, made_at=request.made_at, over_own=True, **form.cleaned_data
        ),
        then=lambda _: _same_place(request, circuit),
        said=f"Way {circuit.way_name}: saved.",
        again=lambda refused: _spare_again(request, circuit, form, refused),
    )


def _damaged(form: Any) -> None:
    raise Refused("This form was damaged on its way: open the page again.")


def _same_place(request: Request, circuit: Circuit) -> HttpResponse | str:
    return _way(request, circuit) if _in_place(request) else _at(circuit.board, circuit, _how(request))


def _spare_again(request: Request, circuit: Circuit, form: Any, refused: Refused) -> HttpResponse:
    """Both: what is on record now, and the boxes as this person ticked them; saving again is then knowingly over it."""
    if not _in_place(request):
        return at_the_board(request, circuit.board_id, refused=refused)
    way = queries.way_at_the_board(_circuit(request, circuit.pk))["way"]
    now_it_is = way["spare"] or "not spare"
    mine = {"spare_ticked": form.cleaned_data["spare"], "blanked": form.cleaned_data["blanked"]}
    sentence = f"{refused.sentence} On record now: {now_it_is}. The boxes below are as you ticked them: save again, or change them."
    return _way(request, circuit, way=way | mine, spare_wrong=sentence, opened="spare")


@require_POST
@needs(Right.KEEP_PREMISES)
def take_back(request: Request, pk: UUID) -> HttpResponse:
    """Take back a verification that was a slip."""
    found: Verification = seen(request, Verification, pk, "circuit__board__site", "board__site")
    return act(
        request,
        lambda: operations.take_back_verification(found, by=request.user, now=request.now),
        then=lambda _: _after_taking_back(request, found),
        said="Taken back: what stood before stands again.",
        again=lambda refused: _not_taken_back(request, found, refused),
    )


def _after_taking_back(request: Request, found: Verification) -> HttpResponse | str:
    if found.circuit:
        return _same_place(request, found.circuit)
    board: Board = found.board  # type: ignore[assignment]  # of one of the two, as the database holds
    return _own(request, board) if _in_place(request) else _at(board, None, _how(request))


def _not_taken_back(request: Request, found: Verification, refused: Refused) -> HttpResponse:
    if not _in_place(request):
        return at_the_board(request, found.about.pk if found.board else found.circuit.board_id, refused=refused)  # type: ignore[union-attr]
    if found.circuit:
        return _way(request, found.circuit, wrong=refused.sentence)
    board = queries.board_itself(_board(request, found.about.pk))
    context = {"may": True, "how": _how(request), "hows": HOW_OFFERED, "wrong": refused.sentence}
    return page(request, "premises/_own.html", context | board, status=422)
