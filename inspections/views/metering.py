"""The page on which two meters of one defect are compared."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse

from inspections import forms, operations
from inspections.models import MeterComparison
from inspections.queries.metering import comparison_rows, comparisons_of, first_values
from inspections.queries.observations import back_of, observation_facts
from inspections.views.common import ask, at, the_observation, today
from jobsite.firm.queries import policy_on
from jobsite.ids import key_in
from jobsite.pages import bound
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right

CLAMPS = (
    "A clamp goes round a conductor that is live, often behind an open cover: competent people only, by the firm's "
    "procedure. A ratio points to what is commonly wrong (common practice) and proves nothing. The supplier's meter, its "
    "seals and what stands before it belong to the supplier or the network operator."
)


@needs(Right.INSPECT)
def meters(request: Request, pk: UUID) -> HttpResponse:
    """Compare two meters over the same interval; those compared before stand below."""
    row = the_observation(request, pk)
    earlier = comparisons_of(row)
    answered = _answered(request, earlier)
    form = bound(request, forms.MetersForm, earlier=earlier, initial=first_values(answered) if answered else {})
    tolerance = policy_on(today(request)).meter_tolerance_percent

    def do() -> MeterComparison:
        return operations.compare_meters(row, by=request.user, now=request.now, **form.cleaned_data)

    return ask(
        request,
        form,
        f"Two meters, observation {row.number}",
        do=do,
        then=at("meters", row),
        back=back_of(row),
        said=lambda made: made.sentence,
        button="Compare and keep",
        template="inspections/meters.html",
        about=observation_facts(row, today(request)),
        caution=CLAMPS,
        rows=comparison_rows(row),
        tolerance=f"{tolerance.normalize():f} %",
        answering=answered is not None,
        why_not=f"Observation {row.number} is closed: what was compared stays on record." if row.ended else "",
    )


def _answered(request: Request, earlier: Any) -> MeterComparison | None:
    """The comparison that this one is to put right, where the address names one of this observation."""
    key = key_in(request.GET.get("answers", ""))
    return earlier.filter(pk=key).first() if key else None
