"""An instrument that was found to measure wrongly: what it has shown since, and the closed work that rests on it."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404

from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import bound, form_page
from jobsite.people import operations
from jobsite.people.guard import Request, needs
from jobsite.people.models import Instrument
from jobsite.people.rights import Right
from remedials.works.forms import FoundWrongForm
from remedials.works.queries.wrong_instruments import faults_of

WHAT_FOLLOWS = (
    "Recording it changes no reading and reopens nothing by itself. What this instrument has shown since it was last "
    "right is listed below with the closed work that it proved: a competent person decides, one by one, what is read "
    "again. Until a new check is recorded its readings are flagged."
)


@needs(Right.REVIEW_PROOF)
def found_wrong(request: Request, pk: UUID) -> HttpResponse:
    """Record that an instrument was found wrong (whoever keeps the instruments), and see what rests on it."""
    instrument = get_object_or_404(Instrument, pk=pk)
    first = {"last_good_on": instrument.checked_on, "found_on": clock.local_day(request.now)}
    form = bound(request, FoundWrongForm, initial=first)
    context = {
        "instrument": instrument,
        "faults": faults_of(instrument, request.user),
        "keeps": request.user.may(Right.KEEP_PEOPLE),
        "caution": WHAT_FOLLOWS,
        "back": address("people:instruments") if request.user.may(Right.KEEP_PEOPLE) else "",
    }
    return form_page(
        request,
        "works/found_wrong.html",
        form,
        context,
        do=lambda: operations.find_instrument_wrong(instrument, by=request.user, now=request.now, **form.cleaned_data),
        then=request.path,
        said="Recorded. Look through what it has shown since.",
    )
