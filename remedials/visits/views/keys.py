"""Pages of keys and alarm codes."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import act, bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import NotAllowed, Refused
from remedials.visits.forms import getting_in as forms
from remedials.visits.models import AlarmCode, SiteKey
from remedials.visits.operations import codes, keys
from remedials.visits.queries import getting_in as queries
from remedials.visits.views.common import of_the_firm
from remedials.visits.views.getting_in import ASK, ask, home, the_site


def _the_key(request: Request, pk: UUID) -> SiteKey:
    return get_object_or_404(SiteKey.objects.visible_to(request.user).select_related("site", "out_to"), pk=pk)


@needs(Right.SEE_WORK)
@of_the_firm
def keys_out(request: Request) -> HttpResponse:
    """Every key that is out, the longest overdue first."""
    return page(request, "visits/keys.html", {"rows": queries.keys_out(request.user, now=request.now)})


@needs(Right.BOOK)
def key_new(request: Request, pk: UUID) -> HttpResponse:
    """Take a key in."""
    site = the_site(request, pk)
    form = bound(request, forms.KeyForm)
    return ask(
        request, form, site, "A key", "Take it in", said="Kept.",
        do=lambda: keys.take_key(site, by=request.user, now=request.now, **form.cleaned_data),
    )  # fmt: skip


@needs(Right.SEE_WORK)
def key(request: Request, pk: UUID) -> HttpResponse:
    """A key: where it is, and where it was."""
    row = _the_key(request, pk)
    shown = queries.key_row(row, clock.local_day(request.now))
    return page(
        request,
        "visits/key.html",
        {"key": shown, "back": home(row.site_id), "history": queries.key_history(row), "acts": _acts(row, request)},
    )


def _acts(row: SiteKey, request: Request) -> list[dict[str, str]]:
    if row.given_back_at:
        return []
    office = request.user.may(Right.BOOK)
    if row.out_to_id:
        own = office or row.out_to_id == request.user.pk
        return [{"address": address("visits:key_in", row.pk), "words": "It came back in"}] if own else []
    both = [("visits:key_out", "Give it out"), ("visits:key_back", "Given back to its owner for good")]
    return [{"address": address(name, row.pk), "words": words} for name, words in both] if office else []


@needs(Right.BOOK)
def key_out(request: Request, pk: UUID) -> HttpResponse:
    """Give a key out."""
    row = _the_key(request, pk)
    form = bound(request, forms.KeyOutForm)
    return _moved(request, row, form, "Give it out", lambda data: keys.give_key_out(
        row, by=request.user, now=request.now, **data))  # fmt: skip


@needs(Right.SEE_WORK)
def key_in(request: Request, pk: UUID) -> HttpResponse:
    """A key came back in."""
    row = _the_key(request, pk)
    form = bound(request, forms.NoteForm)
    return _moved(request, row, form, "It came back in", lambda data: keys.bring_key_in(
        row, by=request.user, now=request.now, **data))  # fmt: skip


@needs(Right.BOOK)
def key_back(request: Request, pk: UUID) -> HttpResponse:
    """A key went back to its owner for good."""
    row = _the_key(request, pk)
    form = bound(request, forms.NoteForm)
    return _moved(request, row, form, "Given back for good", lambda data: keys.give_key_back(
        row, by=request.user, now=request.now, **data))  # fmt: skip


def _moved(request, row, form, words, do) -> HttpResponse:  # type: ignore[no-untyped-def]
    back = address("visits:key", row.pk)
    context = {"title": f"Key {row.tag}", "place": row.site.name, "back": back, "button": words, "about": row.what}
    return form_page(request, ASK, form, context, do=lambda: do(form.cleaned_data), then=back, said="Noted.")


# --- codes ------------------------------------------------------------------------------------------------------------


def _the_code(request: Request, pk: UUID) -> AlarmCode:
    return get_object_or_404(AlarmCode.objects.visible_to(request.user).select_related("site"), pk=pk)


@never_cache
@needs(Right.BOOK)
def code_new(request: Request, pk: UUID) -> HttpResponse:
    """Enter an alarm code, which is not shown here again."""
    site = the_site(request, pk)
    form = bound(request, forms.CodeForm)
    return ask(
        request, form, site, "An alarm code", "Keep it", said="Kept, encrypted.",
        do=lambda: codes.keep_code(site, by=request.user, now=request.now, **form.cleaned_data),
    )  # fmt: skip


@require_POST
@needs(Right.BOOK)
def code_retire(request: Request, pk: UUID) -> HttpResponse:
    """Erase a code that no longer holds."""
    row = _the_code(request, pk)
    return act(
        request,
        lambda: codes.retire_code(row, by=request.user, now=request.now),
        then=home(row.site_id),
        said="Erased.",
    )


@never_cache
@needs(Right.SEE_WORK)
def code(request: Request, pk: UUID) -> HttpResponse:
    """A code: asked for by a button, shown once for each press, to whom it may be shown; nothing of it is kept anywhere."""
    row = _the_code(request, pk)
    context: dict[str, object] = {
        "site": row.site, "place": row.place, "back": home(row.site_id), "here": address("visits:code", row.pk)
    }  # fmt: skip
    if request.method == "POST":
        try:
            context["code"] = codes.look_at_code(row, by=request.user, now=request.now)
        except NotAllowed as refused:
            return page(request, "visits/code.html", context | {"refused": refused}, status=403)
        except Refused as refused:
            context["refused"] = refused
    return page(request, "visits/code.html", context)
