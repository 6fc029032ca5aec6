"""Where a customer stops reminders, and where the office does it for them."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from jobsite.pages import act, page, wants_back
from jobsite.people.guard import Request, needs, private
from jobsite.people.opening import slowed
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from jobsite.words import day, london
from remedials.due.models import NoReminders
from remedials.due.operations import stopping
from remedials.due.queries.stopping import standing
from remedials.quotes.queries.customer_page import whom_to_ring

ONE_CLICK = ("List-Unsubscribe", "One-Click")  # what a mail program posts for its reader: RFC 8058, section 3.2


@private
@require_http_methods(["GET", "HEAD", "POST"])
def stop(request: HttpRequest, token: str) -> HttpResponse:
    """The customer's page behind a reminder. Opening it changes nothing; only what is posted stops reminders.

    A mail program posts without cookies and follows no redirect: it gets its answer at once.
    """
    reminder = stopping.reminder_of(token)
    party = Party.objects.filter(pk=reminder.to_id).first() if reminder else None
    if reminder is None or party is None:
        return slowed(request, _shown("due/no_such_link.html", {}, 404))
    if request.method == "POST":
        by, now = stopping.Receiver(reminder), request.now  # type: ignore[attr-defined]
        if wants_back(request):
            stopping.remind_again(party, by=by, now=now)
        else:
            stopping.stop_reminders(party, address=reminder.address, by=by, now=now)
        if request.POST.get(ONE_CLICK[0]) != ONE_CLICK[1]:
            response = HttpResponse(status=303)
            response["Location"] = reverse("due:stop", args=[token])
            return response
    return _shown("due/stop.html", {"standing": _said(standing(party.pk)), "about": reminder.subject})


def _said(row: NoReminders | None) -> str:
    return day(london(row.said_at).date()) if row else ""


def _shown(template: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    """Rendered without the request: no session is read, so no cookie is set."""
    return HttpResponse(render_to_string(template, context | {"firm": whom_to_ring()}), status=status)


@needs(Right.KEEP_CUSTOMERS)
def reminders_to(request: Request, pk: UUID) -> HttpResponse:
    """Whether a customer gets reminders; the office stops them, or lets them go out again."""
    party = get_object_or_404(Party.objects.visible_to(request.user), pk=pk)
    if request.method == "POST":
        back = wants_back(request)
        return act(
            request,
            lambda: _note(party, back=back, by=request.user, now=request.now),
            then=reverse("premises:party", args=[party.pk]),
            said=f"{party.name} gets reminders again." if back else f"{party.name} gets no more reminders.",
        )
    return page(request, "due/reminders_to.html", {"party": party, "standing": standing(party.pk)})


def _note(party: Party, *, back: bool, by: Any, now: Any) -> None:
    if back:
        stopping.remind_again(party, by=by, now=now)
    else:
        stopping.stop_reminders(party, address=party.email, by=by, now=now)
