"""The labels of a site that disagree with each other or with what is verified."""

from uuid import UUID

from django.http import HttpResponse

from jobsite.ids import key_in
from jobsite.pages import as_file, file_wanted, files, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises import queries
from jobsite.premises.views.common import the_site

CAUTION = (
    "Compared by their words, which can miss a wrong label and question a right one. No label says that anything is "
    "dead: the firm's safe isolation procedure, lock off, prove dead at the point of work. Competent people only."
)


@needs(Right.SEE_WORK)
def labels(request: Request, pk: UUID) -> HttpResponse:
    """Every label that disagrees; `?board=` and `?kind=` narrow the list, `?as=` takes it away as a file."""
    site = the_site(request, pk)
    board, kind = key_in(request.GET.get("board", "")), request.GET.get("kind", "")
    found = queries.labels_page(site, board=board, kind=kind)
    if wanted := file_wanted(request):
        return as_file(wanted, "labels", queries.DISAGREEMENT_HEADS, found["cells"])
    narrowed = {"board": str(board or ""), "kind": kind}
    context = {"site": site, "caution": CAUTION, "files": files(request), **narrowed, **found}
    return page(request, "premises/labels.html", context, fragment="premises/_labels.html")
