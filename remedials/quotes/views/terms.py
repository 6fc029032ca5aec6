"""The firm's rates and terms: those in force, to come, and earlier; new ones from a day on."""

from django.http import HttpResponse
from django.urls import reverse

from jobsite import clock
from jobsite.pages import go, page, show_refusal
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused
from jobsite.words import day
from remedials.quotes.forms import prices as forms
from remedials.quotes.forms.rows import ANOTHER, Rows, be_quiet
from remedials.quotes.models import Terms
from remedials.quotes.operations.terms import FIELDS, set_terms
from remedials.quotes.queries.pricing import all_terms
from remedials.quotes.queries.terms import last_terms
from remedials.quotes.views.saying import for_the_office, say


@needs(Right.PRICE)
@for_the_office
def terms(request: Request) -> HttpResponse:
    """Rates and terms by date."""
    context = all_terms(clock.local_day(request.now))
    context["may_set"] = request.user.may(Right.KEEP_FIRM)
    return page(request, "quotes/terms.html", context)


@needs(Right.KEEP_FIRM)
def terms_set(request: Request) -> HttpResponse:
    """Set rates and terms from a day on; they begin as a copy of the last."""
    last, today = last_terms(), clock.local_day(request.now)
    begins = max(today, last.holds_from) if last else today
    source = last or Terms()
    initial = {name: forms.shown(getattr(source, name)) for name in FIELDS}
    initial |= {"holds_from": begins, "version": last.version if last and last.holds_from == begins else 0}
    data = request.POST if request.method == "POST" else None
    form = forms.TermsForm(data, initial=initial)
    rows = forms.rate_rows(data, last if data is None else None)
    if data is not None and ANOTHER in data:
        be_quiet(form)
    if data is not None and ANOTHER not in data and (answer := _save(request, form, rows)):
        return answer
    failed = bool(form.is_bound and (form.errors or rows.errors) and ANOTHER not in request.POST)
    context = {"form": form, "rows": rows, "first": last is None}
    return page(request, "quotes/terms_set.html", context, status=422 if failed else 200)


def _save(request: Request, form: forms.TermsForm, rows: Rows) -> HttpResponse | None:
    if not (form.is_valid() & rows.is_valid()):
        return None
    try:
        made = set_terms(rates=forms.charges(rows), by=request.user, now=request.now, **form.cleaned_data)
    except Refused as refused:
        if not rows.show(refused):
            show_refusal(form, refused)
        return None
    say(request, f"These rates and terms hold from {day(made.holds_from)} on.")
    return go(request, reverse("quotes:terms"))
