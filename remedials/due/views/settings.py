"""The page on which a manager sets how people are reminded, and sees what that would send before it is saved."""

from typing import Any

from django.http import HttpResponse

from jobsite import clock
from jobsite.addresses import address
from jobsite.firm.queries import the_firm
from jobsite.pages import form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.due.forms.settings import HEADS, SORTS, RemindingForm, field_of, values_of
from remedials.due.models import Reminding
from remedials.due.operations.settings import set_reminding
from remedials.due.queries.foretelling import SPAN, Plan
from remedials.due.queries.foretold_page import MOST_LINES, opened, sending, told_page
from remedials.due.queries.settings import reminding, rules_in_force
from remedials.due.queries.settings_page import holidays_to_come, last_changes, quieter_now, shipped_words
from remedials.due.rules.quieter import FIELDS, FIXED, WORDS, quieter
from remedials.due.rules.sorts import SHIPPED, Days, Sort

TEMPLATE = "due/reminding.html"
PUT_BACK, SHOW, LINES = "put-back", "show", "lines"


@needs(Right.KEEP_FIRM)
def settings(request: Request) -> HttpResponse:
    """How people are reminded: figures, hours, letters; what they would send is shown on the same page."""
    standing, rules = reminding(), rules_in_force()
    form, put_back = _form(request, standing, rules)
    context = _context(request, form) | {"put_back": put_back, "quieter": quieter_now(standing, rules)}
    if request.method == "POST" and LINES in request.POST:
        return page(request, TEMPLATE, context | _opened(request, form), fragment="due/_opened.html")
    if request.method == "POST" and (put_back or SHOW in request.POST):
        return page(request, TEMPLATE, context | _told(request, form))
    return form_page(
        request,
        TEMPLATE,
        form,
        context,
        do=lambda: set_reminding(
            rules=form.rules,
            by=request.user,
            now=request.now,
            version=form.cleaned_data["version"],
            reason=form.cleaned_data["reason"],
            **form.figures,
        ),
        then=address("due:settings"),
        said="People are reminded by these figures from now on.",
    )


def _form(request: Request, standing: Reminding, rules: dict[Sort, Days]) -> tuple[RemindingForm, bool]:
    """The form with the figures in force, what was typed, or the shipped figures where they are to be put back."""
    put_back = PUT_BACK in request.POST
    values = values_of(Reminding.shipped(), SHIPPED) if put_back else values_of(standing, rules)
    version = 0 if standing._state.adding else standing.version  # noqa: SLF001 - Django documents it
    values |= {"version": version, "reason": request.POST.get("reason", "")}
    typed = request.POST if request.method == "POST" and not put_back else None
    return RemindingForm(typed, initial=values), put_back


def _context(request: Request, form: RemindingForm) -> dict[str, Any]:
    return {
        "form": form,
        "heads": HEADS.values(),
        "fixed": WORDS[FIXED],
        "rows": [_row(form, sort) for sort in SORTS],
        "holidays": holidays_to_come(clock.local_day(request.now)),
        "changes": last_changes(),
        "back": address("people:firm"),
        "here": address("due:settings"),
        "span_days": SPAN,
        "most_lines": MOST_LINES,
    }


def _row(form: RemindingForm, sort: Sort) -> dict[str, Any]:
    """One line of the table: its words and its four fields, each with the shipped figure where it differs."""
    cells = []
    for name in FIELDS:
        field, shipped = form[field_of(sort, name)], getattr(SHIPPED[sort], name)
        typed = "" if field.value() is None else str(field.value()).strip()
        same = typed == ("" if shipped is None else str(shipped))
        cells.append({"field": field, "head": HEADS[name], "shipped": "" if same else shipped_words(shipped)})
    return {"words": WORDS[sort], "cells": cells}


def _plan(request: Request, form: RemindingForm) -> Plan:
    """The figures that stand in the form, to be tried."""
    if form.is_bound:
        return Plan(Reminding(**form.figures), SHIPPED | form.rules, the_firm().nation, request.now)
    return Plan(Reminding.shipped(), SHIPPED, the_firm().nation, request.now)


def _told(request: Request, form: RemindingForm) -> dict[str, Any]:
    """What these figures would send, where they can be used."""
    if form.is_bound and not form.is_valid():
        return {}
    plan = _plan(request, form)
    hushed = list(quieter(plan.rules, plan.figures.working_days).values())
    return {"told": told_page(sending(plan)), "hushed": hushed}


def _opened(request: Request, form: RemindingForm) -> dict[str, Any]:
    """The lines of one digest, or the letters of a day; around them the whole, unless only they are fetched."""
    if not form.is_valid():
        return {"wrong": True}
    whole = {} if request.htmx else _told(request, form)  # type: ignore[attr-defined]
    return whole | {"opened": opened(_plan(request, form), request.POST[LINES])}
