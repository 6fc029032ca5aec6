"""How driving is reckoned, and the firm's table of driving times: in from a spreadsheet, and out."""

from collections.abc import Callable

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from inspections.intake.reading import read_workbook
from jobsite import clock
from jobsite.downloads import XLSX
from jobsite.ledger.files import store_file
from jobsite.pages import act, as_file, bound, form_page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused
from jobsite.words import many
from remedials.visits.driving.table import HEADS, Fault, read_table
from remedials.visits.forms.planning import TableForm
from remedials.visits.operations.driving import drop_driving_times, replace_driving_times
from remedials.visits.queries.driving import driving_page, table_cells
from remedials.visits.queries.terms import diary_terms
from remedials.visits.views.common import of_the_firm


class _Faulty(Refused):
    """A file with faulty rows: none of it is taken in."""

    def __init__(self, faults: list[Fault]) -> None:
        super().__init__(f"{many(len(faults), 'row')} of this file cannot be read; nothing was changed.", field="file")
        self.faults = faults


@needs(Right.BOOK)
@of_the_firm
def driving(request: Request) -> HttpResponse:
    """How driving is reckoned; send a table of it, which replaces the one that is kept."""
    form = bound(request, TableForm)
    context: dict[str, object] = {
        "shown": driving_page(diary_terms(clock.local_day(request.now))),
        "back": reverse("visits:plans"),
    }

    def do() -> int:
        upload = form.cleaned_data["file"]
        data = upload.read()
        drives, faults = read_table(read_workbook(data, upload.name or "table"))
        if faults:
            context["faults"] = faults
            raise _Faulty(faults)
        file = store_file(data, media_type=XLSX if data[:2] == b"PK" else "text/csv", now=request.now)
        return replace_driving_times(drives, file_hash=file.hash, by=request.user, now=request.now)

    return form_page(
        request,
        "visits/driving.html",
        form,
        context,
        do=lambda: _about_the_file(do),
        then=reverse("visits:driving"),
        said=lambda rows: f"The table holds {many(rows, 'driving time')} now.",
    )


def _about_the_file(do: Callable[[], int]) -> int:
    """What is refused because of the file stands beside its field."""
    try:
        return do()
    except Refused as refused:
        refused.field = refused.field or "file"
        raise


@needs(Right.BOOK)
@of_the_firm
def driving_file(request: Request) -> HttpResponse:
    """The table as a file that can be changed and sent back."""
    kind = request.GET.get("as", "xlsx")
    return as_file(kind if kind in ("csv", "xlsx") else "xlsx", "driving-times", HEADS, table_cells())


@require_POST
@needs(Right.BOOK)
@of_the_firm
def driving_drop(request: Request) -> HttpResponse:
    """Take the table away."""
    return act(
        request,
        lambda: drop_driving_times(by=request.user, now=request.now),
        then=reverse("visits:driving"),
        said="The table is taken away: driving is reckoned from the distance.",
    )
