"""Pages on which something is done about an observation: taken in, given a next step, made safe, told, photographed."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from inspections import forms, operations, policy
from inspections.models import DangerNotice, Observation
from inspections.queries import observations
from inspections.views.common import (
    TEMPORARY,
    ask,
    ask_about,
    at,
    the_made_safe,
    the_observation,
    the_site,
    today,
)
from jobsite.firm.queries import policy_on
from jobsite.ids import key_in
from jobsite.ledger import made
from jobsite.pages import bound, form_page, next_address, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Site

BY_HAND = (
    "No signal? Its number comes from the office: write the notice by hand on the firm's form and hand that over now. What "
    "you enter here is kept on this phone, goes out by itself and gets its number then; write it on the firm's copy."
)
LEAVE = "Tell them at once, in words and in writing, and leave nothing energised that you would not stand beside."


@needs(Right.REPORT_DEFECT)
def rang(request: Request) -> HttpResponse:
    """Somebody rang: which site, who, what, where. Uncoded until a qualified person has looked."""
    key = request.GET.get("site", "")
    if not key:
        text = request.GET.get("q", "")[:200]
        context = {
            "q": text,
            "sites": observations.sites_for_call(request.user, text),
            "caution": observations.IN_DANGER,
        }
        return page(request, "inspections/rang.html", context, fragment="inspections/_rang_sites.html")
    if not (wanted := key_in(key)):
        raise Http404
    return _rang_at(request, the_site(request, wanted))


def _rang_at(request: Request, site: Site) -> HttpResponse:
    form = bound(request, forms.RangForm, site=site)
    form.fields["reported_by"].widget.attrs["autofocus"] = True
    return form_page(
        request,
        "inspections/rang_at.html",
        form,
        {"site": site, "caution": observations.IN_DANGER, "other": reverse("inspections:rang")},
        do=lambda: operations.report_defect(site, by=request.user, now=request.now, **form.cleaned_data),
        then=lambda made: reverse("desk:observation", args=[made.pk]),
        said=_rang_said,
    )


def _rang_said(made: Observation) -> str:
    words = f"Taken in as observation {made.number}. It stands above the due list until it is coded."
    return f"{words} It may be dangerous now: have somebody competent ring back at once." if made.alarming else words


@needs(Right.INSPECT)
def take_on(request: Request, pk: UUID) -> HttpResponse:
    """Give an observation a next step: whose, and by when."""
    row = the_observation(request, pk)
    first = {"owner": row.owner_id or request.user.pk, "step_by": max(row.step_by or today(request), today(request))}
    form = bound(request, forms.TakeOnForm, initial=first)
    back = next_address(request, observations.back_of(row))
    return ask(
        request,
        form,
        f"Next step of observation {row.number}",
        do=lambda: operations.take_on(row, by=request.user, now=request.now, **form.cleaned_data),
        then=back,
        back=back,
        said="Next step given.",
        about=observations.observation_facts(row, today(request)),
        next=request.GET.get("next", ""),
    )


@needs(Right.INSPECT)
def make_safe(request: Request, pk: UUID) -> HttpResponse:
    """Record that a danger was made safe for now."""
    row = the_observation(request, pk)
    again = today(request) + timedelta(days=policy_on(today(request)).look_again_days)
    first: dict[str, Any] = {"look_again_on": again, "done_at": request.now.replace(second=0, microsecond=0)}
    first |= {"done_by": request.user.pk} if request.user.may(Right.DO_WORK) else {}
    form = bound(request, forms.MakeSafeForm, initial=first)
    return ask_about(
        request,
        row,
        form,
        f"Make observation {row.number} safe",
        do=lambda: operations.make_safe(
            row, by=request.user, now=request.now, made_at=request.made_at, **_with_photo(form, request)
        ),
        said=lambda made: f"Made safe. The defect stays open. {policy.competence_caution(made)}".strip(),
        button="Made safe",
        caution=TEMPORARY,
        **_held("make-safe", row, "Made safe"),
    )


def _held(kind: str, row: Observation | DangerNotice, words: str) -> dict[str, str]:
    """How a phone keeps the form, and in which order it goes out: of one observation nothing overtakes what was before."""
    about = "observation" if isinstance(row, Observation) else "notice"
    held = {"hold": f"{kind}:{row.pk}", "hold_group": f"{about}:{row.pk}", "hold_kind": kind}
    return {**held, "hold_label": f"{words}, {about} {row.number}"}


def _with_photo(form: forms.MakeSafeForm, request: Request) -> dict[str, Any]:
    """What was typed, the photo read; a time that only a clock ahead of ours put into the future is when it was sent."""
    values = dict(form.cleaned_data)
    photo = values.pop("photo", None)
    values["done_at"] = made.not_ahead(values["done_at"], now=request.now)
    return values | {"photo": photo.read() if photo else None}


@needs(Right.INSPECT)
def look_again(request: Request, pk: UUID) -> HttpResponse:
    """Record that what was made safe still holds."""
    row = the_observation(request, pk)
    standing = the_made_safe(row)
    again = today(request) + timedelta(days=policy_on(today(request)).look_again_days)
    form = bound(request, forms.LookAgainForm, initial={"look_again_on": again, "key_holder": standing.key_holder})
    return ask_about(
        request,
        row,
        form,
        f"Look again at observation {row.number}",
        do=lambda: operations.look_again(
            standing, by=request.user, now=request.now, made_at=request.made_at, **form.cleaned_data
        ),
        said="Looked at again.",
        button="It still holds",
        caution=TEMPORARY,
        facts=observations.made_safe_facts(standing),
        otherwise=at("reconnect", row),
        **_held("look-again", row, "Looked at again"),
    )


@needs(Right.INSPECT)
def reconnect(request: Request, pk: UUID) -> HttpResponse:
    """Record that what was made safe is connected again: a C1."""
    row = the_observation(request, pk)
    standing = the_made_safe(row)
    form = bound(request, forms.ReconnectForm)
    return ask_about(
        request,
        row,
        form,
        f"Observation {row.number} was reconnected",
        do=lambda: operations.reconnect(
            standing, by=request.user, now=request.now, made_at=request.made_at, **form.cleaned_data
        ),
        said="Recorded: danger present again, to be made safe today.",
        button="Reconnected: C1 again",
        caution="Reconnected, uncovered or the lock gone: this makes it a C1 to be made safe today, and asks a qualified person to look at the code again.",
        facts=observations.made_safe_facts(standing),
        **_held("reconnect", row, "Reconnected"),
    )


@needs(Right.INSPECT)
def notice(request: Request, pk: UUID) -> HttpResponse:
    """Record a danger notice about an observation, and others of its site where one notice covers them."""
    row = the_observation(request, pk)
    about = observations.open_dangers_near(row)
    form = bound(request, forms.NoticeForm, about=about, initial={"observations": [row.pk], "how": "hand"})
    return ask(
        request,
        form,
        "Danger notice",
        do=lambda: operations.give_danger_notice(
            form.cleaned_data.pop("observations"),
            by=request.user,
            now=request.now,
            made_at=request.made_at,
            **form.cleaned_data,
        ),
        then=lambda given: at("notice_answer", given),
        back=observations.back_of(row),
        said=lambda given: f"Danger notice {given.number} recorded: open it to hand it over, print it or send it.",
        button="Notice given",
        about=observations.observation_facts(row, today(request)),
        caution=LEAVE,
        by_hand=BY_HAND,
        notices=observations.notices_of(row),
        **_held("notice", row, "Danger notice"),
    )


@needs(Right.INSPECT)
def notice_answer(request: Request, pk: UUID) -> HttpResponse:
    """A danger notice to hand over, and the form for its answer until one is on record."""
    seen = DangerNotice.objects.filter(site__in=Site.objects.visible_to(request.user)).select_related(
        "given_by", "site"
    )
    row = get_object_or_404(seen, pk=pk)
    first = row.observations.order_by("number").first()
    back = observations.back_of(first) if first else reverse("desk:site", args=[row.site_id])
    form = bound(request, forms.AnswerForm, initial={"answered_by": row.given_to})
    return ask(
        request,
        form,
        f"Danger notice {row.number}" if row.answer else f"Answer to danger notice {row.number}",
        do=lambda: operations.answer_notice(
            row, by=request.user, now=request.now, made_at=request.made_at, **form.cleaned_data
        ),
        then=back,
        back=back,
        said="Answer recorded.",
        at_site=row.site.name,
        notices=[observations.notice_row(row) | {"answer_at": ""}],
        **_held("notice-answer", row, "Its answer"),
        why_not=""
        if request.method == "POST" or not row.answer
        else f"Its answer is on record: {row.get_answer_display()}.",
    )


@needs(Right.INSPECT)
def photo_add(request: Request, pk: UUID) -> HttpResponse:
    """Add a photo of the defect as found."""
    row = the_observation(request, pk)
    form = bound(request, forms.PhotoForm)
    return ask_about(
        request,
        row,
        form,
        f"Photo of observation {row.number}",
        do=lambda: operations.add_photo(
            row, data=form.cleaned_data["photo"].read(), caption=form.cleaned_data["caption"], by=request.user,
            now=request.now,
        ),
        said="Photo added.",
        button="Add photo",
        **_held("photo", row, "Photo"),
    )  # fmt: skip
