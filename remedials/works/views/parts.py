"""Parts: when they are there, and which are still to come."""

from uuid import UUID

from django.http import HttpResponse

from jobsite import clock
from jobsite.pages import as_file, bound, file_wanted, files, page, pager
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.works import forms, operations
from remedials.works.queries import parts
from remedials.works.views.common import ask, the_remedial


@needs(Right.PLAN_WORK)
def parts_ready(request: Request, pk: UUID) -> HttpResponse:
    """Say on which day the parts of a remedial are there."""
    remedial = the_remedial(request, pk)
    form = bound(request, forms.PartsForm, initial={"on": remedial.parts_ready_on, "version": remedial.version})
    return ask(
        request,
        form,
        f"Parts of remedial {remedial.number}",
        remedial=remedial,
        do=lambda: operations.say_when_parts_are_ready(remedial, by=request.user, now=request.now, **form.cleaned_data),
        said="Noted.",
        button="Note it",
    )


@needs(Right.SEE_WORK)
def parts_to_come(request: Request) -> HttpResponse:
    """The parts that are still to come, the first day first; also as a file."""
    rows = parts.to_come(request.user, today=clock.local_day(request.now))
    if kind := file_wanted(request):
        return as_file(kind, "parts-to-come", parts.HEADS, parts.cells(rows))
    found = parts.page_of(rows, after=request.GET.get("after", ""))
    context = {"rows": found.rows, "pager": pager(request, found), "files": files(request)}
    return page(request, "works/parts.html", context, fragment="works/_parts.html")
