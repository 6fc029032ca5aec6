"""Building a draft: its page, its lines edited in place, particulars, order, totals while somebody types."""

from decimal import Decimal
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from jobsite.addresses import address
from jobsite.clock import local_day
from jobsite.ids import key_in
from jobsite.pages import act, bound, form_page, go, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.refused import Refused
from remedials.quotes.forms.building import AddForm, DescribeForm, FreeForm, LineForm, initial_of, initial_of_offer
from remedials.quotes.models import Line, Offer
from remedials.quotes.operations import drafting
from remedials.quotes.queries.building import build_page, row_of
from remedials.quotes.queries.offerable import offerable
from remedials.quotes.queries.typed import other_lines, totals_with
from remedials.quotes.queries.vat_help import vat_help
from remedials.quotes.states import State
from remedials.quotes.views.common import the_draft, the_line


@needs(Right.PRICE)
def build(request: Request, pk: UUID, *, refused: Refused | None = None) -> HttpResponse:
    """The page on which a draft is built; without a draft, on to the page of the quote."""
    offer = the_draft(request, pk)
    if offer is None:
        return redirect(address("quotes:quote", pk))
    return page(request, "quotes/build.html", {"build": build_page(offer, now=request.now), "refused": refused})


@needs(Right.PRICE)
def describe(request: Request, pk: UUID) -> HttpResponse:
    """The particulars of a draft."""
    offer = the_draft(request, pk)
    if offer is None:
        return redirect(address("quotes:quote", pk))
    rates = list(offer.lines.values_list("rate", flat=True).distinct().order_by("rate"))
    form = bound(request, DescribeForm, offer=offer, rates=rates, initial=initial_of_offer(offer))
    context = {"offer": offer, "back": address("quotes:build", pk), "vat": vat_help(local_day(request.now))}
    return form_page(
        request, "quotes/describe.html", form, context,
        do=lambda: drafting.describe_offer(offer, by=request.user, now=request.now, **form.cleaned_data),
        then=address("quotes:build", pk),
        said="Particulars kept.",
    )  # fmt: skip


@needs(Right.PRICE)
def lines_add(request: Request, pk: UUID) -> HttpResponse:
    """More lines: for remedials of the quote's sites, or one without a remedial (`kind=free`)."""
    offer = the_draft(request, pk)
    if offer is None:
        return redirect(address("quotes:quote", pk))
    sites = list(Site.objects.current().filter(quotes=offer.quote).order_by("sort", "pk"))
    shown = offerable(sites, offer=offer)
    free = request.POST.get("kind") == "free"
    ticking = AddForm(None if free else request.POST or None, offered=shown["all"], initial={"remedials": []})
    places = [(str(site.pk), site.name) for site in sites]
    typing = FreeForm(request.POST if free else None, sites=places)
    form: Any = typing if free else ticking
    context = {"offer": offer, "offerable": shown, "back": address("quotes:build", pk), "ticking": ticking}
    context |= {"typing": typing, "free": free, "vat": vat_help(local_day(request.now))}

    def do() -> list[Line]:
        more = dict(form.cleaned_data) if free else form.lines() | form.cleaned_data
        if free:
            more["site"] = Site.objects.filter(pk=more["site"]).first() if more["site"] else None
            more["cost"] = more["cost"] or Decimal(0)
        elif not more["remedials"]:
            raise Refused("Tick at least one.", field="remedials")
        return drafting.add_lines(offer, by=request.user, now=request.now, **more)

    return form_page(
        request, "quotes/lines_add.html", form, context, do=do, then=address("quotes:build", pk),
        said=lambda made: "Line added." if len(made) == 1 else f"{len(made)} lines added.",
    )  # fmt: skip


@needs(Right.PRICE)
def line_edit(request: Request, pk: UUID) -> HttpResponse:
    """A line of a draft: its form in place of its row, or on a page of its own without JavaScript."""
    line = the_line(request, pk)
    if line.offer.state != State.DRAFT:
        return go(request, address("quotes:quote", line.offer.quote_id))
    if request.htmx and request.GET.get("leave"):  # type: ignore[attr-defined]
        return _row(request, line, all_of_it=False)
    form = bound(request, LineForm, line=line, others=other_lines(line), initial=initial_of(line))
    context = {
        "line": line,
        "at": f"{address('quotes:build', line.offer.quote_id)}#l-{line.key}",
        "action": address("quotes:line_edit", pk),
        "sums": address("quotes:sums", pk),
        "vat": {} if request.htmx else vat_help(local_day(request.now)),  # type: ignore[attr-defined]
    }

    def do() -> Line:
        said = dict(form.cleaned_data)
        if "needs" in form.fields:
            said["needs"] = [UUID(key) for key in said["needs"]]
        return drafting.edit_line(line, by=request.user, now=request.now, **said)

    def then(saved: Line) -> Any:
        return _row(request, saved) if request.htmx else context["at"]  # type: ignore[attr-defined]

    return form_page(
        request, "quotes/line_edit.html", form, context, do=do, then=then, said="Line kept.",
        fragment="quotes/_line_form.html",
    )  # fmt: skip


def _row(request: Request, line: Line, *, all_of_it: bool = True) -> HttpResponse:
    """The row of a line as it is now; with the totals and the warnings, which changed with it."""
    found = row_of(line, now=request.now)
    context = {**found, "swapped": True, "all_of_it": all_of_it}
    return page(request, "quotes/_line_kept.html", context)


@require_POST
@needs(Right.PRICE)
def sums(request: Request, pk: UUID) -> HttpResponse:
    """What all comes to with the values that are being typed for one line. Saves nothing."""
    line = the_line(request, pk)
    form = LineForm(request.POST, line=line, others=other_lines(line))
    form.is_valid()
    return page(request, "quotes/_totals.html", totals_with(line, form.cleaned_data, form.errors, now=request.now))


@require_POST
@needs(Right.PRICE)
def line_remove(request: Request, pk: UUID) -> HttpResponse:
    """Take a line out. Gone already: the page simply shows it."""
    return _change(request, pk, lambda offer, line: drafting.remove_lines(
        offer, keys=[line.key], by=request.user, now=request.now
    ), "Line taken out.")  # fmt: skip


@require_POST
@needs(Right.PRICE)
def line_move(request: Request, pk: UUID) -> HttpResponse:
    """Put a line before another (`before`: its key; none: at the end). Sent twice it stands in the same place."""
    before = key_in(request.POST.get("before", ""))
    return _change(request, pk, lambda _, line: drafting.move_line(
        line, before=before, by=request.user, now=request.now
    ), "")  # fmt: skip


def _change(request: Request, pk: UUID, do: Any, said: str) -> HttpResponse:
    """Do something with one line and go back to where it stood."""
    line = the_line(request, pk)
    quote = line.offer.quote_id
    return act(
        request, lambda: do(line.offer, line), then=f"{address('quotes:build', quote)}#l-{line.key}", said=said,
        again=lambda refused: build(request, quote, refused=refused),
    )  # fmt: skip


@require_POST
@needs(Right.PRICE)
def order(request: Request, pk: UUID) -> HttpResponse:
    """Put the lines in the order of danger."""
    return _whole(request, pk, lambda offer: drafting.group_by_danger(
        offer, by=request.user, now=request.now
    ), "The most dangerous first.")  # fmt: skip


@require_POST
@needs(Right.PRICE)
def take_prices(request: Request, pk: UUID) -> HttpResponse:
    """Take over what the remedials are priced at now."""
    return _whole(request, pk, lambda offer: drafting.take_prices(
        offer, by=request.user, now=request.now
    ), "Prices taken over.")  # fmt: skip


def _whole(request: Request, pk: UUID, do: Any, said: str) -> HttpResponse:
    offer: Offer | None = the_draft(request, pk)
    if offer is None:
        return redirect(address("quotes:quote", pk))
    return act(
        request, lambda: do(offer), then=address("quotes:build", pk), said=said,
        again=lambda refused: build(request, pk, refused=refused),
    )  # fmt: skip
