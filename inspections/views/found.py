"""The page "found something else": an engineer at a visit records a defect with everything that belongs to it at once."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.http import HttpResponse

from inspections import forms, operations, policy
from inspections.models import Observation
from inspections.queries import found as queries
from inspections.views.common import CODING, TEMPORARY, the_site, today
from jobsite.addresses import address
from jobsite.firm.queries import policy_on
from jobsite.ids import key_in
from jobsite.pages import bound, form_page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right

UNREVIEWED = "The firm has no competence on record for you today: your code counts at once, and a qualified person looks at it afterwards."
BARE = "Danger present and not made safe: ring the office now, and leave nothing energised that you would not stand beside."


@needs(Right.INSPECT)
def found(request: Request, pk: UUID) -> HttpResponse:
    """Found something else: photo, what, where, code; made safe and danger notice where it is dangerous."""
    site = the_site(request, pk)
    sent = request.POST if request.method == "POST" else request.GET
    keys = {name: key_in(sent.get(name, "")) for name in ("visit", "remedial")}
    at = queries.while_at(site, request.user, visit=keys["visit"], remedial=keys["remedial"])
    again = today(request) + timedelta(days=policy_on(today(request)).look_again_days)
    first: dict[str, Any] = {name: at[name] for name in ("unit", "board", "circuit")}
    first |= {"look_again_on": again, "key_holder": request.user.name} | at["keys"]
    said = {
        "coding": CODING,
        "unreviewed": "" if policy.may_decide_codes(request.user, now=request.now) else UNREVIEWED,
        "temporary": TEMPORARY,
    }
    form = bound(request, forms.FoundForm, places=queries.places_of(site), said=said, initial=first)
    back = at["back"] or address("desk:site", site.pk)
    context = {
        "site": site,
        "back": back,
        "hold": f"found:{site.pk}",
        "photos_to": address("inspections:photo_add", "{id}"),
    }
    return form_page(
        request,
        "inspections/found.html",
        form,
        context,
        do=lambda: operations.note_found(
            site, by=request.user, now=request.now, made_at=request.made_at, seen_while=at["keys"],
            **form.facts(),
        ),
        then=back if at["back"] else lambda made: address("desk:observation", made.pk),
        said=_said,
    )  # fmt: skip


def _said(made: Observation) -> str:
    words = f"Noted as observation {made.number}, {made.code or 'not coded yet'}."
    return f"{words} {BARE}" if made.code in ("C1", "") and not made.made_safe else words
