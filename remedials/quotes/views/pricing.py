"""Pricing a remedial, and the pile of a site."""

from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite import clock
from jobsite.ids import keys_in
from jobsite.pages import act, bound, go, page, show_refusal
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.refused import ChangedMeanwhile, Refused
from remedials.quotes import policy
from remedials.quotes.forms import prices as forms
from remedials.quotes.forms.rows import ANOTHER, Rows, be_quiet
from remedials.quotes.models import StandardJob, Terms
from remedials.quotes.operations.filling import MOST_TIMES, fill_from_job, fill_several
from remedials.quotes.operations.pricing import hours, price_remedial, work_out
from remedials.quotes.queries import pricing as queries
from remedials.quotes.queries.costings import costing_of
from remedials.quotes.queries.terms import terms_on
from remedials.quotes.rules.costing import Worked
from remedials.quotes.views.saying import say
from remedials.works.models import Remedial
from remedials.works.operations.making import CHANGEABLE
from remedials.works.states import Stage
from remedials.works.views.common import about, the_remedial

WORK_OUT = "work-out"


def _the_remedial(request: Request, pk: UUID) -> Remedial:
    """The remedial: 404 for whoever doesn't see it, 403 for whoever sees it without its price."""
    remedial = the_remedial(request, pk)
    if not policy.may_price(request.user):
        raise PermissionDenied(policy.NOT_YOURS)
    return remedial


@needs(Right.PRICE)
def price(request: Request, pk: UUID) -> HttpResponse:
    """What a remedial takes, what that costs, and what is asked for it."""
    remedial = _the_remedial(request, pk)
    terms = terms_on(clock.local_day(request.now))
    data = request.POST if request.method == "POST" else None
    form = _form(data, remedial, terms)
    rows = forms.item_rows(data, remedial.items.all() if data is None else ())
    if data is not None and ANOTHER in data:
        be_quiet(form)
    if data is not None and ANOTHER not in data and WORK_OUT not in data:
        answer = _save(request, remedial, form, rows)
        if answer is not None:
            return answer
    return _shown(request, remedial, form, rows, terms)


def _form(data: Any, remedial: Remedial, terms: Terms | None) -> forms.PriceForm:
    return forms.PriceForm(data, initial=forms.values_of(remedial), skills=sorted(hours(terms)))


def _save(request: Request, remedial: Remedial, form: forms.PriceForm, rows: Rows) -> HttpResponse | None:
    """Saves what was typed and goes on; None where something is wrong, which then stands beside its field."""
    if not (form.is_valid() & rows.is_valid()):
        return None
    before = costing_of(remedial)
    values = form.cleaned_data
    try:
        costing = price_remedial(
            remedial,
            items=forms.takes(rows),
            job=before.job if before else None,
            by=request.user,
            now=request.now,
            **values,
        )
    except Refused as refused:
        if isinstance(refused, ChangedMeanwhile):
            form.stands = [one.what for one in remedial.items.all()]
        if not rows.show(refused):
            show_refusal(form, refused)
        return None
    say(request, f"Remedial {remedial.number} is priced at {queries.words.money(costing.price)} without VAT.")
    return go(request, reverse("quotes:price", args=[remedial.pk]))


def _shown(
    request: Request, remedial: Remedial, form: forms.PriceForm, rows: Rows, terms: Terms | None
) -> HttpResponse:
    costing = costing_of(remedial)
    sums, worked, wrong = _sums_shown(request, remedial, form, rows, terms)
    context: dict[str, Any] = {
        "remedial": remedial,
        "about": about(remedial),
        "form": form,
        "rows": rows,
        "sums": sums,
        "wrong": wrong,
        "stands": form.stands,
        "terms": terms,
        "may_set": request.user.may(Right.KEEP_FIRM),
        "priced": queries.priced_words(costing),
        "job": costing.job if costing else None,
        "moved_on": queries.moved_on(costing, worked) if not form.is_bound else "",
        "offers": queries.standing_offers(remedial),
        "open": remedial.stage in CHANGEABLE,
        "fill": forms.FillForm(initial={"version": remedial.version, "times": max(len(about_items(remedial)), 1)}),
        "book": StandardJob.objects.filter(retired_at=None).exists(),
        "pile": reverse("quotes:pile", args=[remedial.site_id]) if remedial.stage == Stage.TO_PRICE else "",
    }
    failed = bool(form.is_bound and (form.errors or rows.errors) and ANOTHER not in request.POST)
    return page(request, "quotes/price.html", context, status=422 if failed else 200)


def _sums_shown(
    request: Request, remedial: Remedial, form: forms.PriceForm, rows: Rows, terms: Terms | None
) -> tuple[dict[str, Any] | None, Worked | None, str]:
    """As `_sums`; of what was typed, whatever the page says of it besides."""
    if not form.is_bound:
        return _sums(form, rows, terms)
    typed = request.POST.copy()
    typed.pop(ANOTHER, None)
    return _sums(_form(typed, remedial, terms), forms.item_rows(typed), terms)


def about_items(remedial: Remedial) -> list[Any]:
    """The observations of a remedial: how many like ones it puts right."""
    return list(remedial.remedies.values_list("observation", flat=True))


def _sums(form: forms.PriceForm, rows: Rows, terms: Terms | None) -> tuple[dict[str, Any] | None, Worked | None, str]:
    """The sums of what stands in the form, and what keeps them from being worked out. Nothing is saved."""
    if not form.is_bound:
        minutes, crew, skill = (form.initial[name] for name in ("minutes", "crew", "skill"))
        items, asked = [forms.take_of(one.initial) for one in rows.forms if one.initial], form.initial["set_price"]
    else:
        if not (form.is_valid() & rows.is_valid()):
            return None, None, "The price is worked out once what is wrong above is put right."
        values = form.cleaned_data
        minutes, crew, skill, asked = (values[name] for name in ("minutes", "crew", "skill", "set_price"))
        items = forms.takes(rows)
    try:
        worked = work_out(terms, minutes=minutes, crew=crew, skill=skill, items=items)
    except Refused as refused:
        return None, None, refused.sentence
    return queries.sums_in_words(worked, asked, terms), worked, ""


@require_POST
@needs(Right.PRICE)
def price_sums(request: Request, pk: UUID) -> HttpResponse:
    """The sums of what is being typed, for the page to show; saves nothing."""
    remedial = _the_remedial(request, pk)
    terms = terms_on(clock.local_day(request.now))
    sums, _, wrong = _sums(_form(request.POST, remedial, terms), forms.item_rows(request.POST), terms)
    return page(request, "quotes/_sums.html", {"sums": sums, "wrong": wrong})


@require_POST
@needs(Right.PRICE)
def price_fill(request: Request, pk: UUID) -> HttpResponse:
    """Fill the costing of a remedial from a standard job, several of it where it is for several."""
    remedial = _the_remedial(request, pk)
    form = forms.FillForm(request.POST)
    back = reverse("quotes:price", args=[remedial.pk])

    def do() -> Any:
        if not form.is_valid():
            field = next(iter(form.errors))
            label = "" if field not in form.fields else f"{form.fields[field].label}: "
            raise Refused(f"{label}{form.errors[field][0]}")
        return fill_from_job(remedial, by=request.user, now=request.now, **form.cleaned_data)

    return act(request, do, then=back, said=lambda c: f"Filled from “{c.job}”: look at it, and save what you change.")


@needs(Right.PRICE)
def pile(request: Request, pk: UUID) -> HttpResponse:
    """What of a site is to be priced: several filled at once from the price book, or one after the other."""
    site = get_object_or_404(Site.objects.visible_to(request.user), pk=pk)
    if not policy.may_price(request.user):
        raise PermissionDenied(policy.NOT_YOURS)
    form = bound(request, forms.PileForm)
    rows = queries.pile_of(site)
    ticked = set(request.POST.getlist("remedial"))
    wrong = ""
    for row in rows:
        row["ticked"] = row["pk"] in ticked
        row["times"] = request.POST.get(f"times-{row['pk']}", row["times"])
    if request.method == "POST" and form.is_valid():
        try:
            times = {row["pk"]: _times(row) for row in rows if row["ticked"]}
            chosen = list(Remedial.objects.filter(site=site, pk__in=keys_in(times)))
            if not chosen:
                raise Refused("Tick the remedials to fill.")
            by_key = {one.pk: times[str(one.pk)] for one in chosen}
            job = form.cleaned_data["job"]
            fill_several(chosen, job=job, times=by_key, by=request.user, now=request.now)
        except Refused as refused:
            wrong = refused.sentence
        else:
            say(request, f"{queries.words.many(len(chosen), 'remedial')} filled from “{job}”.")
            return go(request, reverse("quotes:pile", args=[site.pk]))
    context = {"site": site, "rows": rows, "form": form, "wrong": wrong, "may_set": request.user.may(Right.KEEP_FIRM)}
    context |= {"terms": terms_on(clock.local_day(request.now))}
    context |= {"book": StandardJob.objects.filter(retired_at=None).exists()}
    return page(request, "quotes/pile.html", context, status=422 if wrong or form.errors else 200)


def _times(row: dict[str, Any]) -> int:
    typed = str(row["times"]).strip()
    if not (typed.isascii() and typed.isdigit() and len(typed) < 6 and 1 <= int(typed) <= MOST_TIMES):
        raise Refused(f"Remedial {row['number']}: write how many of it, from 1 to {MOST_TIMES}.")
    return int(typed)
