"""The page of everything open by whom it waits on, and the chase that is ready to send."""

from datetime import timedelta
from typing import Any

from django.http import HttpResponse

from jobsite import clock
from jobsite.addresses import address
from jobsite.downloads import as_file
from jobsite.pages import bound, file_wanted, files, form_page, go, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.desk.forms import ChaseForm, WaitsNarrowing
from remedials.desk.operations.waits import send_chase
from remedials.desk.queries import waits as of_waits
from remedials.quotes.models import Quote
from remedials.works.models import Waiting

CHASE_AFTER = timedelta(days=7)


@needs(Right.PLAN_WORK)
def waits(request: Request) -> HttpResponse:
    """Everything open by whom it waits on, the latest first; also as a file."""
    today = clock.local_day(request.now)
    seen = of_waits.all_waits(request.user, today=today)
    narrowing = WaitsNarrowing(request.GET, seen)
    chosen = narrowing.chosen()
    found = of_waits.narrowed(seen, kind=chosen["kind"], owner=chosen["owner"], words=chosen["q"])
    if kind := file_wanted(request):
        return as_file(kind, f"waits {today}", of_waits.HEADS, of_waits.cells(found, today=today))
    context = {
        "groups": of_waits.groups_of(found, today=today),
        "filter": narrowing,
        "files": files(request),
        "diary": address("visits:diary"),
    }
    return page(request, "desk/waits.html", context)


@needs(Right.PLAN_WORK)
def chase(request: Request) -> HttpResponse:
    """A chase of all that waits on somebody, written already: looked over, changed, and sent as one message."""
    today = clock.local_day(request.now)
    ready = of_waits.ready(request.user, request.GET.get("on", ""), today=today)
    if ready is None:  # somebody else chased it, or it came meanwhile
        return go(request, address("desk:waits"))
    initial = {"address": ready.email, "subject": ready.subject, "words": ready.words, "chase_on": today + CHASE_AFTER}
    form = bound(request, ChaseForm, waits=ready.waits, initial=initial)
    return form_page(
        request,
        "desk/chase.html",
        form,
        {"name": ready.name, "back": address("desk:waits")},
        do=lambda: send_chase(**_chosen(form, request), to=ready.party, by=request.user, now=request.now),
        then=address("desk:waits"),
        said=f"Chased: a message to {ready.name} is on its way.",
    )


def _chosen(form: ChaseForm, request: Request) -> dict[str, Any]:
    """What the operation takes: the rows behind what was ticked, as far as this person sees them."""
    facts = dict(form.cleaned_data)
    keys: dict[str, list[str]] = {"waiting": [], "quote": []}
    for token in facts.pop("things"):
        kind, _, key = token.partition(":")
        keys[kind].append(key)
    return facts | {
        "waitings": Waiting.objects.visible_to(request.user).filter(pk__in=keys["waiting"]),
        "quotes": Quote.objects.visible_to(request.user).filter(pk__in=keys["quote"]),
    }
