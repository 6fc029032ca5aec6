"""The page kit: how a view answers, and what every page stands in.

A LIST. The query returns dicts of ready strings (words from `jobsite.words`, marks from `jobsite.marks`):

    @needs(Right.SEE_WORK)
    def sites(request):
        found = queries.sites(request.user, words=request.GET.get("q", ""), after=request.GET.get("after", ""))
        if kind := file_wanted(request):                      # ?as=csv or ?as=xlsx
            return as_file(kind, "sites", queries.HEADS, queries.site_cells(...))
        context = {"rows": found.rows, "pager": pager(request, found)}
        return page(request, "premises/sites.html", context, fragment="premises/_sites.html")

  `found` is a `Slice` from `jobsite.paging.keyset(queryset, order, after=after)`. The full page includes the
  fragment inside the element that htmx swaps (`<div id="list">{% include "premises/_sites.html" %}</div>`);
  an htmx request gets the fragment alone. The fragment ends with `{% include "_pager.html" %}`.

A FORM, from a class that extends `jobsite.forms.PlainForm` (or `CreateForm`, which carries the new row's id):

    @needs(Right.KEEP_CUSTOMERS)
    def add_site(request):
        form = bound(request, SiteForm)                       # the POST and its files, or empty
        return form_page(request, "premises/site_form.html", form,
            do=lambda: operations.add_site(by=request.user, now=request.now, **form.cleaned_data),
            then=lambda site: reverse("premises:site", args=[site.pk]),
            said="Site added.")

  GET shows it. POST with errors, or an operation that raises `Refused`, shows it again with 422 and all that
  was typed, the sentence beside `refused.field` or at the top. `ChangedMeanwhile` shows the other person's values
  beside each field that differs; saving again then knowingly overwrites. `NotAllowed` answers 403 with its
  sentence. Success redirects to `then` (an address or a function of the result) and says `said`.
  A row saved on its own by htmx: `then=lambda made: page(request, "…/_row.html", …)` answers with that; its fragment
  ends with `{% include "_said.html" with apart=True %}`, which puts what was said into the page's own place for it.
  The template:

    {% extends "base.html" %}
    {% block title %}New site{% endblock %}
    {% block content %}
    <div class="head"><h1>New site</h1></div>
    {% include "_form.html" with button="Add site" back=back_address %}
    {% endblock %}

A FORM THAT LOSES NOTHING, without a network or after a crash: the template includes `_form.html` with `hold="what:KEY"` and
the script `jobsite/hold.js`, which says the rest. Safe to repeat it must be: a CreateForm, or an edit with its version.
Where the thing takes nothing more, the answer is `too_late`: the device then holds up nothing else for it.

A BUTTON that does one thing, without a form to fill in (always a POST with the CSRF token):

    @require_POST
    @needs(Right.INSPECT)
    def issue(request, pk):
        thing = get_object_or_404(Inspection.objects.visible_to(request.user), pk=pk)
        return act(request, lambda: operations.issue_inspection(thing, by=request.user, now=request.now),
            then=reverse(...), said="Report issued.", again=lambda refused: inspection(request, pk, refused=refused))

  Refused: `again(refused)` renders the page where the person stands, with `page(..., {"refused": refused})`: base.html
  shows the sentence and the answer is 422. Without `again` a small page shows it with a way back.
  In the template: `{% include "_act.html" with action=address button="Issue report" %}`. A button and the one that
  undoes it may share an address: `wants_back(request)`.

Blocks of base.html: title, sheets (more style sheets, drawing.css), scripts, content. A wide page sets
`{% block width %}wide{% endblock %}`; an engineer's page `{% block body_class %}phone{% endblock %}`.
Customers' pages behind private links extend plain.html instead. Templates to include: _form.html, _summary.html,
_act.html, _pager.html, _filter.html, _files.html, _empty.html, _code.html, _age.html.
Classes: sheet, head, acts, button, button main, soft, num, late, caution, live, loose, empty, two, facts, vh (for
screen readers only), scroll (a box for a wide table or drawing), stack (a table that becomes a stack of rows on a
phone; a cell names its head by data-head). Dates and times come as words (`jobsite.words`): a template's own format
of a time would be "9:30 a.m.".
"""

import re
from collections.abc import Callable, Iterable
from functools import wraps
from typing import Any, TypeVar, cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers, patch_vary_headers
from django.utils.http import url_has_allowed_host_and_scheme
from django_htmx.http import HttpResponseClientRedirect

from jobsite.downloads import as_file
from jobsite.paging import Slice, keyset
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from jobsite.shell import for_a_phone, shell

__all__ = [
    "Slice",
    "act",
    "as_file",
    "asked_anew",
    "bound",
    "file_wanted",
    "files",
    "form_page",
    "go",
    "keyset",
    "next_address",
    "page",
    "pager",
    "shell",
    "show_refusal",
    "too_late",
    "wants_back",
]

KEPT = re.compile(r"[\w:.-]{1,300}", re.ASCII)
Form = TypeVar("Form", bound=BaseForm)
View = TypeVar("View", bound=Callable[..., HttpResponseBase])
Address = str | Callable[[Any], str | HttpResponse]
Words = str | Callable[[Any], str]


def page(
    request: HttpRequest,
    template: str,
    context: dict[str, Any] | None = None,
    *,
    fragment: str = "",
    status: int | None = None,
) -> HttpResponse:
    """`template`, or for an htmx update only its `fragment`; the one place that knows about htmx.

    The status is 422 where the context holds a form with errors or a `refused`, else 200. A page fetched again
    for the browser's history is the full page, and caches keep the two apart by the Vary header.
    """
    context = context or {}
    htmx = getattr(request, "htmx", None)
    partly = bool(fragment and htmx and not htmx.history_restore_request and not htmx.boosted)
    if status is None:
        status = 422 if _has_errors(context) else 200
    response = render(request, fragment if partly else template, context, status=status)
    if fragment:
        patch_vary_headers(response, ["HX-Request", "HX-History-Restore-Request"])
    return response


def _has_errors(context: dict[str, Any]) -> bool:
    form = context.get("form")
    return bool(context.get("refused") or (form is not None and form.is_bound and form.errors))


def bound(request: HttpRequest, form_class: type[Form], **more: Any) -> Form:
    """A form of `form_class` with what was posted, or an empty one; `more` goes to the form (initial, prefix …)."""
    if request.method == "POST":
        return form_class(request.POST, request.FILES, **more)
    return form_class(**more)


def form_page(
    request: HttpRequest,
    template: str,
    form: BaseForm,
    context: dict[str, Any] | None = None,
    *,
    do: Callable[[], Any],
    then: Address,
    said: Words = "",
    fragment: str = "",
) -> HttpResponse:
    """Shows `form`, or does what it asks and goes on to `then`; whatever is wrong is shown in place with 422."""
    if form.is_valid():
        try:
            result = do()
        except Refused as refused:
            show_refusal(form, refused)
        else:
            return _done(request, result, then, said)
    return page(request, template, {"form": form, **(context or {})}, fragment=fragment)


def asked_anew(view: View) -> View:
    """A page that the browser never shows again by itself, since it may be another by now; its person's phone keeps it."""

    @wraps(view)
    def answered(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        response = view(request, *args, **kwargs)
        if for_a_phone(request):
            response.headers["Cache-Control"] = "private, no-cache"
        else:
            add_never_cache_headers(response)
        return response

    return cast(View, answered)


def act(
    request: HttpRequest,
    do: Callable[[], Any],
    *,
    then: Address,
    said: Words = "",
    again: Callable[[Refused], HttpResponse] | None = None,
) -> HttpResponse:
    """Does one thing that needs no form and goes on to `then`; a refusal is shown by `again`, or on a small page."""
    try:
        result = do()
    except NotAllowed as refused:
        raise PermissionDenied(refused.sentence) from refused
    except Refused as refused:
        if again:
            return again(refused)
        return page(request, "refused.html", {"refused": refused, "back": next_address(request, then)})
    return _done(request, result, then, said)


def too_late(request: HttpRequest, sentence: str, back: str) -> HttpResponse:
    """Answers 409 to a form that came after the thing was finished: nothing was changed, and no form can take it."""
    return page(request, "refused.html", {"refused": Refused(sentence), "back": back}, status=409)


def show_refusal(form: BaseForm, refused: Refused) -> None:
    """Puts the sentence of `refused` on `form`, beside its field or at the top. `NotAllowed` goes on as a 403."""
    if isinstance(refused, NotAllowed):
        raise PermissionDenied(refused.sentence) from refused
    form.add_error(refused.field if refused.field in form.fields else None, refused.sentence)
    if isinstance(refused, ChangedMeanwhile) and hasattr(form, "meet"):
        form.meet(refused.theirs)


def _done(request: HttpRequest, result: Any, then: Address, said: Words) -> HttpResponse:
    words = said(result) if callable(said) else said
    if words:
        messages.success(request, words)
    answer = then(result) if callable(then) else then
    return _saved(request, answer if isinstance(answer, HttpResponse) else go(request, answer))


def _saved(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """Tells a device that kept a form (X-Kept) that it was saved: only then it forgets it."""
    if KEPT.fullmatch(kept := request.headers.get("X-Kept", "")):
        response["X-Saved"] = kept
    return response


def go(request: HttpRequest, address: str) -> HttpResponse:
    """On to `address`, also out of an htmx update."""
    if getattr(request, "htmx", False):
        return HttpResponseClientRedirect(address)
    return HttpResponseRedirect(address)


def wants_back(request: HttpRequest) -> bool:
    """Whether a button asks to undo (`{% include "_act.html" with name="back" value="yes" … %}`).

    The button says which of the two it means, never the row: a click sent twice would undo itself otherwise.
    """
    return request.POST.get("back") == "yes"


def next_address(request: HttpRequest, otherwise: Address) -> str:
    """Where the person wanted to go on to (`next` in the form or the address), if that is on this service."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    if url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure()):
        return wanted
    return otherwise if isinstance(otherwise, str) else "/"


def pager(request: HttpRequest, found: Slice) -> dict[str, str]:
    """The addresses for `_pager.html`: the next page and the top of the list, all filters kept; "" where none."""
    return {
        "next": _with(request, after=found.next) if found.next else "",
        "first": _with(request, after="") if request.GET.get("after") else "",
    }


def _with(request: HttpRequest, **change: str) -> str:
    query = request.GET.copy()
    for name, value in change.items():
        query.pop(name, None)
        if value:
            query[name] = value
    return f"{request.path}?{query.urlencode()}" if query else request.path


def files(request: HttpRequest, *, without: Iterable[str] = ()) -> dict[str, str]:
    """The addresses for `_files.html`: this list as it is narrowed and sorted, as CSV and as a spreadsheet.

    `without`: what of this page's address could not be read.
    """
    gone = dict.fromkeys(without, "")
    return {kind: _with(request, **gone | {"after": "", "as": kind}) for kind in ("csv", "xlsx")}


def file_wanted(request: HttpRequest) -> str:
    """Which file of the list is asked for by `?as=`: "csv", "xlsx" or "" for the page."""
    kind = request.GET.get("as", "")
    return kind if kind in ("csv", "xlsx") else ""
