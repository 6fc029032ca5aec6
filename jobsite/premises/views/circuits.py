"""Pages of circuits, what hangs together, and second sources."""

from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite.pages import act, bound, wants_back
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises import forms, operations
from jobsite.premises.models import CircuitLink, SecondSource
from jobsite.premises.views.boards import BELIEVED_CAUTION, board
from jobsite.premises.views.common import ask, board_at, initial, seen, the_board, the_circuit

LINK_CAUTION = (
    "Where circuits share a neutral or a second feed, switching off one leaves the other's conductors live. "
    "What is not recorded here can still be so: prove dead at the point of work."
)
SOURCE_CAUTION = (
    "A second source can keep a board live when the network is off; solar panels are live on their direct-current side "
    "in daylight, batteries always. Give where it is isolated on both sides and how long to wait, from its maker."
)


@needs(Right.KEEP_PREMISES)
def circuit_new(request: Request, pk: UUID) -> HttpResponse:
    """Add a circuit with all its particulars."""
    row = the_board(request, pk)
    ways = row.circuits.current().order_by("-way").values_list("way", flat=True)
    first = {"way": (ways.first() or 0) + 1, "phase": row.phases[0]}
    form = bound(request, forms.NewCircuitForm, site=row.site, initial=first)
    return ask(
        request,
        form,
        "New circuit",
        do=lambda: operations.add_circuit(row, by=request.user, now=request.now, **form.cleaned_data),
        then=board_at(row),
        said=lambda circuit: f"Way {circuit.way_name} entered.",
        back=board_at(row),
        button="Add circuit",
        about=f"{row.designation}, {row.site.name}",
        caution=BELIEVED_CAUTION,
    )


@needs(Right.KEEP_PREMISES)
def circuit_edit(request: Request, pk: UUID) -> HttpResponse:
    """Change a circuit."""
    circuit = the_circuit(request, pk)
    form = bound(request, forms.EditCircuitForm, site=circuit.site, initial=initial(forms.EditCircuitForm, circuit))
    return ask(
        request,
        form,
        f"Way {circuit.way_name}",
        do=lambda: operations.edit_circuit(circuit, by=request.user, now=request.now, **form.cleaned_data),
        then=board_at(circuit.board),
        said="Saved.",
        back=board_at(circuit.board),
        about=f"{circuit.board.designation}, {circuit.site.name}",
        caution=BELIEVED_CAUTION,
        also={"This circuit was taken out": reverse("premises:circuit_retire", args=[circuit.pk])},
    )


@require_POST
@needs(Right.KEEP_PREMISES)
def circuit_retire(request: Request, pk: UUID) -> HttpResponse:
    """Record that a circuit was taken out, or that it is there after all."""
    circuit, back = the_circuit(request, pk), wants_back(request)
    do = operations.bring_back_circuit if back else operations.retire_circuit
    return act(
        request,
        lambda: do(circuit, by=request.user, now=request.now),
        then=board_at(circuit.board),
        said=f"Way {circuit.way_name} is {'there again' if back else 'taken out, not lost'}.",
        again=lambda refused: board(request, circuit.board_id, refused=refused),
    )


@needs(Right.KEEP_PREMISES)
def link_new(request: Request, pk: UUID) -> HttpResponse:
    """Record that a circuit hangs together with another."""
    circuit = the_circuit(request, pk)
    form = bound(request, forms.LinkForm, circuit=circuit)
    return ask(
        request,
        form,
        f"Way {circuit.way_name} hangs together with another",
        do=lambda: operations.link_circuits(circuit, by=request.user, now=request.now, **form.cleaned_data),
        then=board_at(circuit.board),
        said="Recorded for both circuits.",
        back=board_at(circuit.board),
        about=f"{circuit.board.designation}, {circuit.site.name}",
        caution=LINK_CAUTION,
    )


@require_POST
@needs(Right.KEEP_PREMISES)
def link_remove(request: Request, pk: UUID) -> HttpResponse:
    """Record that two circuits do not hang together after all."""
    link = seen(request, CircuitLink, pk, "one__board")
    return act(
        request,
        lambda: operations.unlink_circuits(link, by=request.user, now=request.now),
        then=board_at(link.one.board),
        said="Removed for both circuits.",
    )


@needs(Right.KEEP_PREMISES)
def source_new(request: Request, pk: UUID) -> HttpResponse:
    """Add a second source at a board."""
    row = the_board(request, pk)
    first = {"board": row, "phases": row.phases[:1]}
    form = bound(request, forms.NewSourceForm, site=row.site, initial=first)
    return ask(
        request,
        form,
        "New second source",
        do=lambda: operations.add_second_source(by=request.user, now=request.now, **form.cleaned_data),
        then=lambda source: board_at(source.board),
        said=lambda source: f"{source.name} added.",
        back=board_at(row),
        button="Add second source",
        about=f"At {row.site.name}",
        caution=SOURCE_CAUTION,
    )


@needs(Right.KEEP_PREMISES)
def source_edit(request: Request, pk: UUID) -> HttpResponse:
    """Change a second source."""
    source = seen(request, SecondSource, pk, "site", "board")
    form = bound(request, forms.EditSourceForm, site=source.site, initial=initial(forms.EditSourceForm, source))
    return ask(
        request,
        form,
        f"Change {source.name}",
        do=lambda: operations.edit_second_source(source, by=request.user, now=request.now, **form.cleaned_data),
        then=lambda row: board_at(row.board),
        said="Saved.",
        back=board_at(source.board),
        about=f"At {source.site.name}",
        caution=SOURCE_CAUTION,
        also={"It was taken out": reverse("premises:source_retire", args=[source.pk])},
    )


@require_POST
@needs(Right.KEEP_PREMISES)
def source_retire(request: Request, pk: UUID) -> HttpResponse:
    """Record that a second source was taken out, or that it is there after all."""
    source, back = seen(request, SecondSource, pk, "board"), wants_back(request)
    do = operations.bring_back_second_source if back else operations.retire_second_source
    return act(
        request,
        lambda: do(source, by=request.user, now=request.now),
        then=board_at(source.board),
        said=f"{source.name} is {'there again' if back else 'taken out, not lost'}.",
    )
