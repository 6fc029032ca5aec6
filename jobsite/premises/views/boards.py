"""Pages of boards: one with its ways in order, and the forms of the board and its feeds."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import resolve, reverse
from django.utils.functional import SimpleLazyObject
from django.views.decorators.http import require_POST

from jobsite.forms import PlainForm
from jobsite.pages import act, bound, form_page, wants_back
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises import forms, operations, policy, queries
from jobsite.premises.isolation.words import Locks
from jobsite.premises.models import Board, Feed
from jobsite.premises.queries.isolation import of_board
from jobsite.premises.views.common import ask, board_at, initial, premises_of, seen, the_board, the_site
from jobsite.refused import Refused

BELIEVED_CAUTION = (
    "Record how it was verified only for what you traced or saw yourself. "
    "What is believed only is shown as such, and counts as a doubt when something is to be isolated."
)


@needs(Right.SEE_WORK)
def board(
    request: Request,
    pk: UUID,
    refused: Refused | None = None,
    *,
    template: str = "premises/board.html",
    more: Callable[[Board], dict[str, Any]] | None = None,
    locks: Callable[[UUID], Locks] | None = None,
) -> HttpResponse:
    """A board and its ways in order; the form for the next way stands at their end.

    An upper floor shows it in its own `template` with `more` about the board and the `locks` that stand at its site.
    """
    row = the_board(request, pk)
    shown = queries.board_page(row)
    may = policy.may_keep_premises(request.user, row.site)
    form = _next_way(request, row, shown["next_way"]) if refused is None else None
    context = {
        "board": row,
        "may": may,
        "refused": refused,
        **shown,
        "off": _off(row, locks),
        **(more(row) if more else {}),
    }
    if form is None or not may:
        return form_page(request, template, forms.NextWayForm(), context, do=_nothing, then=board_at(row))
    return form_page(
        request,
        template,
        form,
        context,
        do=lambda: operations.add_circuit(
            row, by=request.user, now=request.now, made_at=request.made_at, **form.cleaned_data
        ),
        then=f"{board_at(row)}#next-way",
        said=lambda circuit: f"Way {circuit.way_name} entered.",
    )


def _off(row: Board, locks: Callable[[UUID], Locks] | None) -> Any:
    """What to switch off for work inside the board, found when the page shows it, not when a way is entered."""
    return SimpleLazyObject(lambda: of_board(row, locks(row.site_id) if locks else {}))


def _next_way(request: Request, row: Board, way: int) -> forms.NextWayForm:
    return bound(request, forms.NextWayForm, initial={"way": way, "phase": row.phases[0]})


def _nothing() -> None:
    """An unbound form has nothing to do."""


@needs(Right.KEEP_PREMISES)
def board_new(request: Request, pk: UUID) -> HttpResponse:
    """Add a board to a site, with what feeds it where that is known."""
    site = the_site(request, pk)
    supplies = list(site.supplies.current()[:2])
    first: dict[str, Any] = {"phases": supplies[0].phases} if supplies else {}
    if len(supplies) == 1 and not site.boards.current().exists():
        first["feeder"] = f"supply:{supplies[0].pk}"
    form = bound(request, forms.NewBoardForm, site=site, initial=first)
    return ask(
        request,
        form,
        "New board",
        do=lambda: operations.add_fed_board(
            site, by=request.user, now=request.now, **forms.feeder_of(form), **form.cleaned_data
        ),
        then=board_at,
        said=lambda row: f"{row.designation} added. Next: enter its ways.",
        back=premises_of(site),
        button="Add board",
        about=f"At {site.name}",
        caution=BELIEVED_CAUTION,
    )


@needs(Right.KEEP_PREMISES)
def board_edit(request: Request, pk: UUID) -> HttpResponse:
    """Change a board."""
    row = the_board(request, pk)
    values = initial(forms.EditBoardForm, row, units=list(row.units.order_by("sort")))
    form = bound(request, forms.EditBoardForm, site=row.site, initial=values)
    return ask(
        request,
        form,
        f"Change {row.designation}",
        do=lambda: operations.edit_board(row, by=request.user, now=request.now, **form.cleaned_data),
        then=board_at(row),
        said="Saved.",
        back=board_at(row),
        about=f"At {row.site.name}",
        caution=BELIEVED_CAUTION,
        note=(reverse("premises:board_replace", args=[row.pk]), "It was changed for a new board"),
    )


@require_POST
@needs(Right.KEEP_PREMISES)
def board_retire(request: Request, pk: UUID) -> HttpResponse:
    """Record that a board was taken out, or that it is there after all."""
    row = the_board(request, pk)
    back = wants_back(request)
    do = operations.bring_back_board if back else operations.retire_board
    said = "It is there again: record what feeds it." if back else "Taken out, not lost."
    return _done(request, row, lambda: do(row, by=request.user, now=request.now), said)


def _done(request: Request, row: Board, do: Any, said: str) -> HttpResponse:
    def again(refused: Refused) -> HttpResponse:
        shown: HttpResponse = resolve(board_at(row)).func(request, row.pk, refused=refused)
        return shown

    # The page that stands at the board's address, which is an upper floor's, with all that it shows.
    return act(request, do, then=board_at(row), said=said, again=again)


@needs(Right.KEEP_PREMISES)
def feed_new(request: Request, pk: UUID) -> HttpResponse:
    """Record where a board is fed from."""
    row = the_board(request, pk)
    form = bound(request, forms.NewFeedForm, site=row.site, board=row)
    return _feed_form(request, row, form, "What feeds it")


@needs(Right.KEEP_PREMISES)
def feed_edit(request: Request, pk: UUID) -> HttpResponse:
    """Change where a board is fed from, or record that it was verified."""
    feed = seen(request, Feed, pk, "board__site")
    supply, circuit = feed.from_supply_id, feed.from_circuit_id
    feeder = f"supply:{supply}" if supply else f"circuit:{circuit}"
    values = initial(forms.EditFeedForm, feed, feeder=feeder)
    form = bound(request, forms.EditFeedForm, site=feed.board.site, board=feed.board, initial=values)
    return _feed_form(request, feed.board, form, "Change what feeds it", id=feed.pk)


def _feed_form(request: Request, row: Board, form: Any, title: str, **more: Any) -> HttpResponse:
    def save() -> Feed:
        fields = forms.feeder_of(form) | form.cleaned_data | more
        verified = bool(fields["verified_how"])
        return operations.set_feed(row, verified=verified, by=request.user, now=request.now, **fields)

    return ask(
        request,
        form,
        title,
        do=save,
        then=board_at(row),
        said="Saved.",
        back=board_at(row),
        about=f"{row.designation}, {row.site.name}",
        caution=BELIEVED_CAUTION,
    )


@needs(Right.KEEP_PREMISES)
def feed_remove(request: Request, pk: UUID) -> HttpResponse:
    """Ask whether, and then record that a board is not fed from there after all."""
    feed = seen(request, Feed, pk, "board", "from_circuit__board", "from_supply")
    where = queries.feeder_words(feed)
    return ask(
        request,
        bound(request, PlainForm),
        "Remove this feed?",
        do=lambda: operations.remove_feed(feed, by=request.user, now=request.now),
        then=board_at(feed.board),
        said="Feed removed.",
        back=board_at(feed.board),
        button="Remove the feed",
        about=f"{queries.board_label(feed.board)}, fed from {where}.",
        caution="Remove it only where this board is not fed from there. A feed that is left out of the record is not "
        "named where the board is to be made dead.",
    )
