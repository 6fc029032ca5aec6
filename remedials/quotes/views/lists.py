"""The list of quotes, the figures made of them, and what was accepted, for the accounts."""

from typing import Any

from django.http import Http404, HttpResponse

from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import as_file, file_wanted, files, page, pager
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.words import day
from remedials.quotes.forms.lists import PeriodForm, QuotesNarrowing
from remedials.quotes.queries import accepted as accounts
from remedials.quotes.queries import figures as counting
from remedials.quotes.queries import lists


@needs(Right.PRICE)
def quotes(request: Request) -> HttpResponse:
    """The quotes, by default those that are not at an end, the newest first; also as a file."""
    today = clock.local_day(request.now)
    narrowing = QuotesNarrowing(request.GET)
    rows, order = lists.found_quotes(request.user, today=today, **narrowing.narrowing())
    if kind := file_wanted(request):
        return as_file(kind, f"quotes {today}", lists.HEADS, lists.cells_of_quotes(rows, order, today=today))
    found = lists.page_of_quotes(rows, order, today=today, after=request.GET.get("after", ""))
    context = {"rows": found.rows, "pager": pager(request, found), "filter": narrowing, "files": files(request)}
    return page(request, "quotes/quotes.html", context, fragment="quotes/_quotes.html")


@needs(Right.PRICE)
def figures(request: Request) -> HttpResponse:
    """What is outstanding, accepted, refused and why, and how long answers take; each table also as a file."""
    today = clock.local_day(request.now)
    form = PeriodForm(request.GET, today=today)
    first, last = form.period()
    tables = counting.figures(request.user, first, last, today=today)
    if kind := file_wanted(request):
        wanted = next((table for table in tables if table.key == request.GET.get("table")), None)
        if wanted is None:
            raise Http404
        return as_file(kind, f"{wanted.title} {first} to {last}", wanted.heads, wanted.rows)
    period = {"since": first.isoformat(), "until": last.isoformat()}

    def taken_away(key: str) -> dict[str, str]:
        return {kind: address("quotes:figures", **period, table=key, **{"as": kind}) for kind in ("csv", "xlsx")}

    shown: list[dict[str, Any]] = [counting.shown(table) | {"files": taken_away(table.key)} for table in tables]
    context = {"outstanding": shown[0], "tables": shown[1:], "filter": form, "first": day(first), "last": day(last)}
    return page(request, "quotes/figures.html", context)


@needs(Right.PRICE)
def accepted(request: Request) -> HttpResponse:
    """The lines accepted in a period, for the firm's accounts; also as a file."""
    form = PeriodForm(request.GET, today=clock.local_day(request.now))
    first, last = form.period()
    rows = accounts.accepted_lines(request.user, first, last)
    if kind := file_wanted(request):
        return as_file(kind, f"accepted {first} to {last}", accounts.HEADS, accounts.cells_of_accepted(rows))
    found = accounts.page_of_accepted(rows, after=request.GET.get("after", ""))
    context = {
        "rows": found.rows,
        "totals": accounts.totals_of(rows),
        "pager": pager(request, found),
        "files": files(request),
        "filter": form,
        "first": day(first),
        "last": day(last),
    }
    return page(request, "quotes/accepted.html", context, fragment="quotes/_accepted.html")
