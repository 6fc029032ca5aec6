"""Pages of visits: booking, the visit itself, the engineer's day, the diary."""

from uuid import UUID

from django.http import HttpResponse

from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import asked_anew, bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.words import span, weekday
from remedials.visits import operations, queries
from remedials.visits.forms.confirming import NoAccessForm, SettleForm
from remedials.visits.queries.at_visit import of_visit
from remedials.visits.queries.held import held
from remedials.visits.queries.record import acts_on, line_words, record_of, to_settle
from remedials.visits.views.common import the_visit


@asked_anew
@needs(Right.SEE_WORK)
def visit(request: Request, pk: UUID) -> HttpResponse:
    """A visit: where, when, what to isolate, what to do, the way to close each remedial, and what came of it."""
    row = the_visit(request, pk)
    kept = record_of(row, request.user, now=request.now)
    context = {
        "visit": queries.visit_page(row, request.user, today=clock.local_day(request.now)),
        "getting_in": of_visit(row, request.user, request.now),
        "kept": kept,
        "goes": request.user.may(Right.DO_WORK),
        "acts": acts_on(row, request.user, came=kept["outcome"], now=request.now),
    }
    return page(request, "visits/visit.html", context)


@needs(Right.SEE_WORK)
def no_access(request: Request, pk: UUID) -> HttpResponse:
    """Those who went, or the office, say that nobody let us in."""
    row = the_visit(request, pk)
    form = bound(request, NoAccessForm)
    back = address("visits:visit", row.pk)
    return form_page(
        request,
        "visits/no_access.html",
        form,
        {"visit": row, "when": span(row.start, row.end), "back": back}
        | held("no-access", row.pk, kind="no-access", label="Nobody let us in", visit=row.pk),
        do=lambda: operations.no_access(row, by=request.user, now=request.now, made_at=request.made_at, **form.facts()),
        then=back,
        said="Kept: nobody let us in. The work goes back to the office.",
    )


@needs(Right.SEE_WORK)
def settle(request: Request, pk: UUID) -> HttpResponse:
    """An inspection, a look or a call-out was done at its visit."""
    row = the_visit(request, pk)
    lines = {str(line.pk): line for line in to_settle(row)}
    choices = [(key, line_words(line)) for key, line in lines.items()]
    chosen = request.GET.get("line", "")
    form = bound(request, SettleForm, lines=choices, initial={"line": chosen})
    back = address("visits:visit", row.pk)
    return form_page(
        request,
        "visits/settle.html",
        form,
        {"visit": row, "when": span(row.start, row.end), "back": back}
        | held("settle", row.pk, kind="settled", label="Done at the visit", visit=row.pk),
        do=lambda: operations.settle_line(
            lines[form.cleaned_data["line"]],
            how=form.cleaned_data["how"],
            by=request.user,
            now=request.now,
            made_at=request.made_at,
        ),
        then=back,
        said="Noted as done.",
    )


@needs(Right.DO_WORK)
def my_day(request: Request) -> HttpResponse:
    """The engineer's visits today and in the coming week, and what is left from before."""
    shown = queries.my_day(request.user, now=request.now)
    on = weekday(clock.local_day(request.now))  # named, because the page may be read on a phone a day later
    groups = [
        {"name": "Not closed yet", "rows": shown["left"], "open": True},
        {"name": f"Today, {on}", "rows": shown["today"], "open": True},
        {"name": "Coming", "rows": shown["coming"], "open": False},
    ]
    context = {
        "groups": [group for group in groups if group["rows"]],
        "free": not shown["today"],
    }
    return page(request, "visits/my_day.html", context)
