"""The list of what stands made safe, with locks and keys: at a site, or everywhere."""

from uuid import UUID

from django.http import HttpResponse

from inspections.queries import locks as queries
from inspections.views.common import TEMPORARY, the_site, today
from jobsite.pages import as_file, file_wanted, files, page, pager
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Site


@needs(Right.SEE_WORK)
def locks(request: Request) -> HttpResponse:
    """Locks and keys out at all sites."""
    return _locks(request, None)


@needs(Right.SEE_WORK)
def locks_at(request: Request, pk: UUID) -> HttpResponse:
    """Locks and keys out at one site."""
    return _locks(request, the_site(request, pk))


def _locks(request: Request, site: Site | None) -> HttpResponse:
    if kind := file_wanted(request):
        return as_file(kind, "locks and keys out", queries.HEADS, queries.cells(request.user, site=site))
    found = queries.locks(request.user, site=site, today=today(request), after=request.GET.get("after", ""))
    title = f"Locks and keys out, {site.name}" if site else "Locks and keys out"
    context = {
        "rows": found.rows,
        "pager": pager(request, found),
        "files": files(request),
        "site": site,
        "title": title,
        "caution": TEMPORARY,
    }
    return page(request, "inspections/locks.html", context, fragment="inspections/_locks.html")
