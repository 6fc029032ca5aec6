"""The pages that show everything together."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from inspections.models import Observation
from inspections.queries.coding import codes_to_review
from jobsite import clock
from jobsite.addresses import address
from jobsite.downloads import as_file
from jobsite.kept_plans import plan_kept
from jobsite.pages import file_wanted, files, go, page, pager
from jobsite.people.guard import needs
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.words import WEEKDAYS, day
from remedials.desk import acts
from remedials.desk.forms import DueNarrowing, SitesNarrowing
from remedials.desk.queries import observation as observations
from remedials.desk.queries import remedial as remedials
from remedials.desk.queries import search as searching
from remedials.desk.queries import site as one_site
from remedials.desk.queries import sites as all_sites
from remedials.due import queries as due_list
from remedials.quotes.policy import may_price
from remedials.quotes.queries.lists import quotes_of
from remedials.status.record import history as telling
from remedials.works.models import Remedial
from remedials.works.states import WORDS, Stage

DUE_HEADS = (
    "Code", "Made safe", "Next step", "What", "Rule", "Site", "Where", "First recorded", "Remedy by", "Who", "By", "Loose end",
    "In hand until", "In hand because",
)  # fmt: skip


@needs(Right.SEE_WORK)
def due(request: HttpRequest) -> HttpResponse:
    """The first page: what is due, the worst and latest first; above it what nobody may overlook."""
    user: Any = request.user
    today = clock.local_day(request.now)  # type: ignore[attr-defined]
    people = due_list.everybody(today=today)
    narrowing = DueNarrowing(request.GET, user, people)
    seen = due_list.rows_due(user, today=today)
    rows = due_list.narrowed(seen, **narrowing.narrowing())
    if kind := file_wanted(request):
        return as_file(kind, f"due {today}", DUE_HEADS, map(_due_cells, due_list.all_rows(rows, today=today)))
    after = request.GET.get("after", "")
    found = due_list.page_of_rows(rows, today=today, after=after, user=user, owner=narrowing.of_person())
    context = {
        "groups": _groups(found.rows),
        "ruler": found.ruler,
        "pager": pager(request, found),
        "files": files(request),
        "filter": narrowing,
        "today": f"{WEEKDAYS_IN_FULL[WEEKDAYS[today.weekday()]]} {day(today)}",
        "last_ran": due_list.last_ran(request),
        "acts": acts.of_home(user),
        "heaps": [] if after else _heaps(seen, user, people, today),
        "to_review": codes_to_review(user) if not after and _qualified(user, people) else [],
        "waits": address("desk:waits") if user.may(Right.PLAN_WORK) else "",
        "by_waiting": address("desk:due", owner="all", waits_on="anybody"),
    }
    return page(request, "desk/due.html", context, fragment="desk/_due.html")


def _groups(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The rows of a page under their headings."""
    groups: list[dict[str, Any]] = []
    for row in rows:
        if row["heading"]:
            groups.append({"heading": row["heading"], "rows": []})
        groups[-1]["rows"].append(row)
    return groups


WEEKDAYS_IN_FULL = dict(
    zip(WEEKDAYS, ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"), strict=True)
)
HEAP_SHOWN = 5


def _qualified(user: Any, people: list[Any]) -> bool:
    """Whether `user` may decide codes today; who may not is asked nothing."""
    return any(person.pk == user.pk and person.qualified for person in people)


def _heaps(seen: Any, user: Any, people: list[Any], today: Any) -> list[dict[str, Any]]:
    """What stands above the list: everybody sees it, whosever it is and however the list below is narrowed."""
    leavers = [person.pk for person in people if not person.is_active]
    heaps = due_list.first_things(seen, today=today, leavers=leavers, user=user)
    for heap in heaps:
        more = len(heap["rows"]) > HEAP_SHOWN
        heap["all"] = address("desk:due", owner="all", only=heap["heap"]) if more else ""
        heap["rows"] = heap["rows"][:HEAP_SHOWN]
    return heaps


def _due_cells(row: dict[str, Any]) -> list[Any]:
    return [
        row["letters"], "made safe" if row["made_safe"] else "", row["next_step"], row["subject"], row["rule"],
        row["site"], row["place"], row["first"], row["remedy_by"], row["who"], row["due"], "yes" if row["loose"] else "",
        row["in_hand_until"], row["in_hand_why"],
    ]  # fmt: skip


@needs(Right.SEE_WORK)
def sites(request: HttpRequest) -> HttpResponse:
    """The list of sites with what is open at each."""
    today = clock.local_day(request.now)  # type: ignore[attr-defined]
    narrowing = SitesNarrowing(request)
    rows, order = all_sites.found_sites(request.user, today=today, **narrowing.narrowing())  # type: ignore[arg-type]
    if kind := file_wanted(request):
        return as_file(kind, "sites", all_sites.HEADS, all_sites.cells_of_sites(rows, order, today=today))
    found = all_sites.page_of_sites(rows, order, today=today, after=request.GET.get("after", ""))
    context = {
        "rows": found.rows,
        "pager": pager(request, found),
        "files": files(request),
        "filter": narrowing,
        "acts": acts.of_sites(request.user),  # type: ignore[arg-type]
    }
    return page(request, "desk/sites.html", context, fragment="desk/_sites.html")


@needs(Right.SEE_WORK)
def site(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One site: how it is supplied, what is open, how it stands, what comes next."""
    user: Any = request.user
    now = request.now  # type: ignore[attr-defined]
    with plan_kept():
        row = get_object_or_404(one_site.with_columns(Site.objects.visible_to(user), user, now=now), pk=pk)
    if row.merged_into_id:
        return go(request, address("desk:site", row.merged_into_id))
    context = one_site.site_context(row, user, now=now)
    approved = [r["key"] for r in context["remedials"] if r["stage"] == WORDS[Stage.APPROVED]]
    context |= {"acts": acts.of_site(user, row, approved), "links": _links_of_site(user, row)}
    context["quotes"] = quotes_of(user, row, today=clock.local_day(now)) if may_price(user) else None
    context["all_quotes"] = address("quotes:quotes", state="", site=row.pk)
    context["may_customers"] = user.may(Right.KEEP_CUSTOMERS) and row.archived_at is None
    context["may_draw"] = user.may(Right.DRAW_PROOF)
    context["may_leave"] = user.may(Right.KEEP_CUSTOMERS)
    if user.may(Right.PLAN_WORK) and row.archived_at is None:
        context["make"] = address("works:make", row.pk)
    return page(request, "desk/site.html", context)


def _links_of_site(user: Any, row: Site) -> list[dict[str, str]]:
    links = [
        (True, "History", address("desk:history", row.pk)),
        (True, "Getting in", address("visits:getting_in", row.pk)),
        (True, "Papers owed and given", address("inspections:papers", row.pk)),
        (True, "Locks and keys out", address("inspections:locks_at", row.pk)),
        (True, "What is there, and who answers for it", address("premises:premises", row.pk)),
        (True, "What feeds each board, found by switching off", address("premises:tracing", row.pk)),
        (user.may(Right.KEEP_PREMISES), "Add a board", address("premises:board_new", row.pk)),
        (may_price(user), "What is to be priced here", address("quotes:pile", row.pk)),
        (user.may(Right.SHARE_STATUS), "Private links", address("premises:links", row.pk)),
        (user.may(Right.SHARE_STATUS), "Documents for customers", address("proof:site_documents", row.pk)),
        (user.may(Right.DRAW_PROOF), "Record as of a date, holds", address("proof:site_record", row.pk)),
        (user.may(Right.KEEP_CUSTOMERS), "End our part here", address("due:leaving", row.pk)),
    ]
    return [{"label": label, "href": href} for allowed, label, href in links if allowed and href]


@needs(Right.SEE_WORK)
def observation(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One observation: what was written, decided and done."""
    user: Any = request.user
    now = request.now  # type: ignore[attr-defined]
    with plan_kept():
        row = get_object_or_404(observations.with_columns(Observation.objects.visible_to(user)), pk=pk)
    context = observations.observation_context(row, user, now=now) | _rights(user)
    context["quotes"] = remedials.quotes_in_words(row, now=now, prices=may_price(user))
    return page(request, "desk/observation.html", context | {"acts": acts.of_observation(user, row, now=now)})


def _rights(user: Any) -> dict[str, bool]:
    """The rights that decide on links inside a page."""
    return {"plans": user.may(Right.PLAN_WORK), "inspects": user.may(Right.INSPECT)}


@needs(Right.SEE_WORK)
def remedial(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One remedial: the work, its stage, what proves it."""
    user: Any = request.user
    now = request.now  # type: ignore[attr-defined]
    row = get_object_or_404(remedials.with_columns(Remedial.objects.visible_to(user), user), pk=pk)
    context = remedials.remedial_context(row, now=now, prices=may_price(user)) | _rights(user)
    context["prices_shown"] = may_price(user)
    context |= {"acts": acts.of_remedial(user, row, now=now), "why_not": acts.why_not_review(user, row, now=now)}
    return page(request, "desk/remedial.html", context)


@needs(Right.SEE_WORK)
def history(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What was done at a site, newest first."""
    row = get_object_or_404(Site.objects.visible_to(request.user), pk=pk)
    found = telling.page_of_history(row, after=request.GET.get("after", ""), prices=may_price(request.user))  # type: ignore[arg-type]
    context = {
        "site": row,
        "site_href": address("desk:site", pk),
        "merged": telling.merged_into(row),
        "rows": found.rows,
        "pager": pager(request, found),
        "text": address("desk:history_text", pk),
    }
    return page(request, "desk/history.html", context, fragment="desk/_history.html")


@needs(Right.SEE_WORK)
def history_text(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The whole history as a file that proves itself against the ledger."""
    row = get_object_or_404(Site.objects.visible_to(request.user), pk=pk)
    prices = may_price(request.user)  # type: ignore[arg-type]
    lines = telling.as_text(row, now=request.now, prices=prices)  # type: ignore[attr-defined]
    response = HttpResponse("\n".join([*lines, ""]), content_type="text/plain; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="history-of-site-{row.number}.txt"'
    return response


@needs(Right.SEE_WORK)
def search(request: HttpRequest) -> HttpResponse:
    """Whatever bears these words or this number."""
    words = request.GET.get("q", "")[: searching.LONGEST]
    return page(request, "desk/search.html", {"words": words, "groups": searching.found(request.user, words)})  # type: ignore[arg-type]
