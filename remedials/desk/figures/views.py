"""The pages of figures, each with its tables as files.

Rights: figures of the work are for whoever plans it (office, managers), since each item in them is theirs to see anyway. By
engineer is about people: managers only (`keep-people`). Quotes are about prices: managers only (`keep-firm`); what the office
needs of them to do its work stands on its own page of quotes.
"""

from collections.abc import Callable
from typing import Any

from django.http import Http404, HttpResponse

from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import as_file, file_wanted, page
from jobsite.people.guard import Request, needs
from jobsite.people.models import User
from jobsite.people.rights import Right
from remedials.desk.figures.forms import FiguresNarrowing, PeriodNarrowing
from remedials.desk.figures.queries.access import without_access
from remedials.desk.figures.queries.ages import ages as age_tables
from remedials.desk.figures.queries.coming import inspections_due
from remedials.desk.figures.queries.engineers import by_engineer
from remedials.desk.figures.queries.on_time import on_time
from remedials.desk.figures.queries.quoting import acceptance
from remedials.desk.figures.queries.remedy import remedy_times
from remedials.desk.figures.tables import Table, shown

PAGES = (
    ("ages", "Age of what is open", Right.PLAN_WORK),
    ("remedy", "Time to remedy", Right.PLAN_WORK),
    ("in_time", "In time", Right.PLAN_WORK),
    ("engineers", "By engineer", Right.KEEP_PEOPLE),
    ("quotes", "Quotes accepted", Right.KEEP_FIRM),
    ("access", "Without access", Right.PLAN_WORK),
    ("inspections", "Inspections to come", Right.PLAN_WORK),
)
"""The pages in their order: name of the address, what it is called, the right that it needs."""
CAUTIONS = {
    "in_time": "A limit of law is shown as the program has it. Check the current law.",
    "inspections": "A day that a law sets is shown as the program has it. Check the current law.",
    "engineers": "About people: few cases say little, and what the figure does not hold may weigh more than what it holds.",
}


@needs(Right.PLAN_WORK)
def ages(request: Request) -> HttpResponse:
    """How old what is open today is, by code."""
    form = FiguresNarrowing(request.GET, today=_today(request))
    return _answer(request, "ages", form, lambda: age_tables(request.user, form.narrowed(), today=form.today))


@needs(Right.PLAN_WORK)
def remedy(request: Request) -> HttpResponse:
    """How long it takes to remedy, counted with what is still open."""
    form = PeriodNarrowing(request.GET, today=_today(request))
    make = lambda: remedy_times(request.user, form.narrowed(), *form.period(), today=form.today)  # noqa: E731
    return _answer(request, "remedy", form, make)


@needs(Right.PLAN_WORK)
def in_time(request: Request) -> HttpResponse:
    """What was remedied by its day."""
    form = PeriodNarrowing(request.GET, today=_today(request))
    return _answer(
        request, "in_time", form, lambda: on_time(request.user, form.narrowed(), *form.period(), today=form.today)
    )


@needs(Right.KEEP_PEOPLE)
def engineers(request: Request) -> HttpResponse:
    """What was in time, by engineer."""
    form = PeriodNarrowing(request.GET, today=_today(request))
    return _answer(request, "engineers", form, lambda: by_engineer(request.user, form.narrowed(), *form.period()))


@needs(Right.KEEP_FIRM)
def quotes(request: Request) -> HttpResponse:
    """Which quotes are accepted."""
    form = PeriodNarrowing(request.GET, today=_today(request))
    return _answer(
        request, "quotes", form, lambda: acceptance(request.user, form.narrowed(), *form.period(), today=form.today)
    )


@needs(Right.PLAN_WORK)
def access(request: Request) -> HttpResponse:
    """Visits at which nobody let us in."""
    form = PeriodNarrowing(request.GET, today=_today(request))
    return _answer(
        request, "access", form, lambda: without_access(request.user, form.narrowed(), *form.period(), now=request.now)
    )


@needs(Right.PLAN_WORK)
def inspections(request: Request) -> HttpResponse:
    """Which inspections fall due in two years, by month."""
    form = FiguresNarrowing(request.GET, today=_today(request))
    return _answer(
        request, "inspections", form, lambda: inspections_due(request.user, form.narrowed(), today=form.today)
    )


def _today(request: Request) -> Any:
    return clock.local_day(request.now)


def _answer(request: Request, name: str, form: FiguresNarrowing, make: Callable[[], list[Table]]) -> HttpResponse:
    """The page of the tables that `make` makes, or the one of them that is asked for as a file."""
    tables = make()
    if kind := file_wanted(request):
        wanted = next((table for table in tables if table.key == request.GET.get("table")), None)
        if wanted is None:
            raise Http404
        return as_file(kind, f"{wanted.title} {_sites_in_file(form)}", wanted.heads, wanted.rows)
    chosen = form.in_address()
    context = {
        "title": next(title for one, title, _ in PAGES if one == name),
        "pages": _pages(request.user, name, chosen),
        "filter": form,
        "counted": form.narrowed().in_words(request.user),
        "caution": CAUTIONS.get(name, ""),
        "tables": [shown(table) | {"files": _files(name, table, chosen)} for table in tables],
    }
    return page(request, "desk/figures/page.html", context)


def _sites_in_file(form: FiguresNarrowing) -> str:
    """What the figures are narrowed to, for the name of a file."""
    return " ".join(part for part in vars(form.narrowed()).values() if part)


def _pages(user: User, here: str, chosen: dict[str, str]) -> list[dict[str, Any]]:
    """The pages that `user` may see; what was chosen goes along."""
    return [
        {"title": title, "href": address(f"figures:{name}", **chosen), "here": name == here}
        for name, title, right in PAGES if user.may(right)
    ]  # fmt: skip


def _files(name: str, table: Table, chosen: dict[str, str]) -> dict[str, str]:
    return {kind: address(f"figures:{name}", **chosen, table=table.key, **{"as": kind}) for kind in ("csv", "xlsx")}
