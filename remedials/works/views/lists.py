"""The list of remedials and the queue of proofs to review."""

from django.http import HttpResponse

from inspections.queries.coding import codes_to_review
from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import as_file, file_wanted, files, page, pager
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.works.forms import FilterForm
from remedials.works.queries import lists


@needs(Right.SEE_WORK)
def remedials(request: Request) -> HttpResponse:
    """The remedials, by default those whose next step is to come, the earliest first; also as a file."""
    chosen = {name: request.GET.get(name, default) for name, default in (("q", ""), ("stage", "open"), ("owner", ""))}
    form = FilterForm(chosen)
    form.is_valid()
    picked = {name: form.cleaned_data.get(name, "") for name in chosen}
    rows = lists.narrowed(request.user, stage=picked["stage"], owner=picked["owner"], words=picked["q"])
    if kind := file_wanted(request):
        return as_file(kind, "remedials", lists.HEADS, lists.cells(rows))
    found = lists.page_of(rows, today=clock.local_day(request.now), after=request.GET.get("after", ""))
    context = {"rows": found.rows, "pager": pager(request, found), "filter": form, "files": files(request)}
    context["pack"] = address("proof:assessor") if request.user.may(Right.DRAW_PROOF) else ""
    return page(request, "works/remedials.html", context, fragment="works/_remedials.html")


@needs(Right.REVIEW_PROOF)
def reviews(request: Request) -> HttpResponse:
    """The proofs that wait for a qualified person, the earliest step first."""
    today, after = clock.local_day(request.now), request.GET.get("after", "")
    found = lists.to_review(request.user, today=today, after=after)
    context = {"rows": found.rows, "pager": pager(request, found)}
    context["to_review"] = [] if after else codes_to_review(request.user)
    return page(request, "works/reviews.html", context, fragment="works/_reviews.html")
