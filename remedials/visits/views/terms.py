"""The page on which a manager sets the terms of the diary."""

from datetime import date
from typing import Any

from django.http import HttpResponse

from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import bound, form_page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.people.views.common import initial
from jobsite.words import day
from remedials.visits.forms.terms import WORDS, TermsForm
from remedials.visits.models import DiaryTerms
from remedials.visits.operations.terms import set_diary_terms
from remedials.visits.queries.terms import diary_terms
from remedials.visits.rules.checks import FIXED


@needs(Right.KEEP_FIRM)
def terms(request: Request) -> HttpResponse:
    """How strictly bookings are looked at, the usual hours, how driving is reckoned."""
    today = clock.local_day(request.now)
    now_it_is = diary_terms(today)
    same_day = DiaryTerms.objects.filter(holds_from=today).first()
    values = initial(TermsForm, now_it_is, holds_from=today, reason="", version=same_day.version if same_day else "")
    form = bound(request, TermsForm, severities=now_it_is.severities, initial=values)
    later = DiaryTerms.objects.filter(holds_from__gt=today).order_by("holds_from")
    return form_page(
        request,
        "visits/terms.html",
        form,
        {
            "since": day(now_it_is.holds_from) if now_it_is.version and not now_it_is._state.adding else "",  # noqa: SLF001
            "later": [day(row.holds_from) for row in later],
            "fixed": [WORDS[check] for check in sorted(FIXED)],
            "back": address("visits:diary"),
        },
        do=lambda: set_diary_terms(by=request.user, now=request.now, **_typed(form, today)),
        then=address("visits:terms"),
        said=lambda row: f"These terms hold from {day(row.holds_from)}.",
    )


def _typed(form: TermsForm, today: date) -> dict[str, Any]:
    """What was typed; the version is that of today's terms, and says nothing of another day's."""
    typed = dict(form.cleaned_data)
    return typed if typed["holds_from"] == today else typed | {"version": None}
