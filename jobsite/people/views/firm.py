"""The firm itself: its particulars, and the limits that it sets for itself."""

from typing import Any

from django.http import HttpResponse
from django.urls import reverse

from jobsite import clock
from jobsite.firm import operations
from jobsite.firm.queries import policy_on, the_firm
from jobsite.pages import bound, page
from jobsite.people import forms
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.people.views.common import ask, initial
from jobsite.words import day

LAW = (
    "The firm's own limits never lengthen those that the law sets: the earlier date counts. "
    "What was decided before keeps the limits of its day."
)


@needs(Right.KEEP_FIRM)
def firm(request: Request) -> HttpResponse:
    """How the firm presents itself, and the limits in force today."""
    policy = policy_on(clock.local_day(request.now))
    form: Any = forms.PolicyForm()
    limits = [
        (form[name].label, _in_words(form, name, getattr(policy, name)))
        for name in form.fields
        if name not in {"holds_from", "reason"}
    ]
    entered = not policy._state.adding  # noqa: SLF001 - Django documents it
    since = f"since {day(policy.holds_from)}: {policy.reason}" if entered else "those the program starts with"
    return page(request, "people/firm.html", {"firm": the_firm(), "limits": limits, "since": since})


def _in_words(form: Any, name: str, value: Any) -> str:
    """A limit as the form says it: what is chosen by its label, a number with its unit."""
    choices = dict(getattr(form.fields[name], "choices", ()))
    return str(choices.get(value, f"{value} {form[name].unit}".strip()))


@needs(Right.KEEP_FIRM)
def firm_edit(request: Request) -> HttpResponse:
    """Change how the firm presents itself to customers."""
    form = bound(request, forms.FirmForm, initial=initial(forms.FirmForm, the_firm()))
    return ask(
        request,
        form,
        "The firm's particulars",
        do=lambda: operations.describe_firm(by=request.user, now=request.now, **form.cleaned_data),
        then=reverse("people:firm"),
        said="Saved.",
        back=reverse("people:firm"),
        about="Customers see these on their page and in messages.",
    )


@needs(Right.KEEP_FIRM)
def policy_new(request: Request) -> HttpResponse:
    """Set the firm's limits from a day on."""
    today = clock.local_day(request.now)
    values = initial(forms.PolicyForm, policy_on(today), holds_from=today, reason="")
    form = bound(request, forms.PolicyForm, initial=values)
    return ask(
        request,
        form,
        "The firm's limits",
        do=lambda: operations.set_policy(by=request.user, now=request.now, **form.cleaned_data),
        then=reverse("people:firm"),
        said=lambda policy: f"These limits hold from {day(policy.holds_from)}.",
        back=reverse("people:firm"),
        caution=LAW,
    )
