"""Pages for finding what feeds each board by switching off: the result, noting a test, naming candidates."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite.ledger import made
from jobsite.pages import act, bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises import forms, operations, policy
from jobsite.premises.models import Site, SwitchingTest
from jobsite.premises.queries.labels import board_label
from jobsite.premises.queries.tracing import before_switching, devices_to_switch, in_question, may_feed, tracing_page
from jobsite.premises.queries.wiring import Ground, device_words, feeder_key, ground_of
from jobsite.premises.views.common import ask, board_at, seen, the_board, the_site
from jobsite.refused import Refused
from jobsite.words import when

__all__ = ["candidates", "switching_new", "switching_withdraw", "take_over", "tracing"]


def _held(name: str, site: Any, words: str) -> dict[str, str]:
    """How a phone keeps the form `name`: at one site nothing overtakes what was said before it."""
    return {"hold": name, "hold_group": f"site:{site}", "hold_kind": "tracing", "hold_label": words}


def _tracing_of(site: Site) -> str:
    return reverse("premises:tracing", args=[site.pk])


@needs(Right.SEE_WORK)
def tracing(request: Request, pk: UUID, refused: Refused | None = None) -> HttpResponse:
    """What the switching tests of a site tell: certain, remaining, clashing; and what to switch off next."""
    site = the_site(request, pk)
    may = policy.may_keep_premises(request.user, site) and not site.archived_at
    return page(request, "premises/tracing.html", {"site": site, "may": may, "refused": refused, **tracing_page(site)})


@needs(Right.KEEP_PREMISES)
def switching_new(request: Request, pk: UUID) -> HttpResponse:
    """Choose what is to be switched off, read who loses power by it, then note what was seen at each board.

    On a phone without signal all of that is one page: the form asks for the device too.
    """
    site = the_site(request, pk)
    ground = ground_of(site)
    off = request.POST.get("off") or request.GET.get("off", "")
    known = off in {**ground.circuits, **ground.supplies}
    form = _form(request, ground, off if known else "")
    context = {"site": site, "back": _tracing_of(site), "hold_group": f"site:{site.pk}", "hold_kind": "switching"}
    if request.method != "POST" and not known:
        context |= {
            "devices": devices_to_switch(ground),
            "wrong": bool(off),
            "form": form,
            "hold": f"switching:{site.pk}",
        }
        context["each"] = [(key, before_switching(ground, key)) for key in in_question(ground)]
        return page(request, "premises/switching_device.html", context, status=422 if off else None)
    context |= before_switching(ground, off) if known else {"device": "one device"}
    context["hold"] = f"switching:{off if known else site.pk}"
    return form_page(
        request,
        "premises/switching.html",
        form,
        context,
        do=lambda: _note(request, form),
        then=_tracing_of(site),
        said="Noted. Switch on again what was off; what the test tells stands below.",
    )


def _form(request: Request, ground: Ground, device: str) -> forms.SwitchingForm:
    """The form; posted to the address of one device it is about that one."""
    if request.method != "POST":
        return forms.SwitchingForm(ground=ground, device=device, initial={"at": request.now})
    typed = request.POST.copy()
    typed.setdefault("off", device)
    return forms.SwitchingForm(typed, ground=ground, device=device)


def _note(request: Request, form: forms.SwitchingForm) -> SwitchingTest:
    told = form.test()
    told["at"] = made.not_ahead(told["at"], now=request.now)  # a phone's clock may be ahead of ours
    return operations.note_switching_test(form.device, by=request.user, now=request.now, **told)


@needs(Right.KEEP_PREMISES)
def switching_withdraw(request: Request, pk: UUID) -> HttpResponse:
    """Say that a test doesn't count, and why. It stays on record."""
    test: SwitchingTest = seen(request, SwitchingTest, pk, "site", "off_circuit__board", "off_supply")
    form = bound(request, forms.WithdrawForm)
    return ask(
        request,
        form,
        "This test does not count",
        do=lambda: operations.withdraw_switching_test(test, by=request.user, now=request.now, **form.cleaned_data),
        then=_tracing_of(test.site),
        said="Withdrawn. It stays on record with your reason.",
        back=_tracing_of(test.site),
        button="Withdraw it",
        held=_held(f"withdraw:{test.pk}", test.site_id, "A switching test that does not count"),
        about=f"{device_words(test.off)}, switched off on {when(test.at)}, at {test.site.name}.",
    )


@require_POST
@needs(Right.KEEP_PREMISES)
def take_over(request: Request, pk: UUID) -> HttpResponse:
    """Record what is certain as verified: switched off and seen."""
    site = the_site(request, pk)

    def do() -> Any:
        pairs = forms.pairs_of(request.POST.getlist("certain"))
        if not pairs:
            raise Refused("Nothing was chosen: open the page again.")
        return operations.take_over_certain(site, pairs, by=request.user, now=request.now)

    return act(
        request,
        do,
        then=_tracing_of(site),
        said="Recorded as verified: switched off and seen.",
        again=lambda refused: tracing(request, pk, refused=refused),
    )


@needs(Right.KEEP_PREMISES)
def candidates(request: Request, pk: UUID) -> HttpResponse:
    """Name what may feed a board whose feed isn't verified."""
    board = the_board(request, pk)
    ground = ground_of(board.site)
    also = request.GET.getlist("also")
    form = bound(request, forms.CandidatesForm, offered=may_feed(ground, board), initial={"feeders": also})
    known = [(ground.device_words(feeder_key(feed)), feed) for feed in ground.feeds if feed.board_id == board.pk]
    recorded = [f"{words} ({'verified' if feed.proven else 'not verified'})" for words, feed in known]
    return form_page(
        request,
        "premises/candidates.html",
        form,
        {"board": board, "name": board_label(board), "feeds": recorded, "back": board_at(board)}
        | _held(f"candidates:{board.pk}", board.site_id, f"What may feed {board.designation}"),
        do=lambda: operations.name_candidates(board, form.chosen(ground), by=request.user, now=request.now),
        then=_tracing_of(board.site),
        said=lambda new: f"{board.designation}: {len(new)} more named that may feed it.",
    )
