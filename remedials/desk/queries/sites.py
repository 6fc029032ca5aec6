"""The list of sites."""

from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.utils.html import format_html_join
from django.utils.safestring import SafeString

from inspections.choices import DANGEROUS
from inspections.models import InspectionDue, Observation
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.paging import SIZE, Slice, keyset
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.words import late, near_day
from remedials.desk.queries.columns import worst_first
from remedials.due.queries import NO_DATE

SORTS: dict[str, tuple[str, ...]] = {
    "name": ("sort", "id"),
    "number": ("-number",),
    "customer": ("customer__sort", "sort", "id"),
    "inspection": ("next_due", "sort", "id"),
}
HEADS = ("Number", "Site", "Address", "Customer", "C1", "C2", "FI", "C3", "Not coded", "Next inspection")

Counts = dict[UUID, dict[str, int]]


def found_sites(
    user: User, *, today: date, words: str = "", standing: str = "", sort: str = "name"
) -> tuple[QuerySet[Site], tuple[str, ...]]:
    """The sites that `user` may see and their order, narrowed by words (name, address, customer, number) and standing.

    `standing`: "danger" (C1, C2 or FI open), "inspection" (next inspection past), "archived"; "" for all current.
    """
    sites = Site.objects.visible_to(user).filter(archived_at__isnull=standing != "archived")
    due = InspectionDue.objects.filter(unit__site=OuterRef("pk"), unit__retired_at__isnull=True)
    earliest = due.order_by().values("unit__site").annotate(first=Min("due_on")).values("first")
    sites = sites.annotate(next_due=Coalesce(Subquery(earliest), NO_DATE))
    if standing == "danger":
        sites = with_danger(sites)
    if standing == "inspection":
        sites = sites.filter(next_due__lt=today)
    return that_say(sites, words), SORTS.get(sort, SORTS["name"])


def with_danger(sites: Any) -> Any:
    """Those of `sites` where a C1, C2 or FI is open."""
    return sites.filter(Exists(Observation.objects.open().dangerous().filter(site=OuterRef("pk"))))


def that_say(sites: Any, words: str) -> Any:
    """Those of `sites` whose name, address, customer or number holds each of the first eight `words`."""
    for word in words.split()[:8]:
        sites = sites.filter(_says(word))
    return sites


def _says(word: str) -> Q:
    named = Q(name__icontains=word) | Q(address__icontains=word) | Q(postcode__icontains=word)
    named |= Q(customer__name__icontains=word)
    return named | Q(number=int(word)) if word.isascii() and word.isdigit() and len(word) < 16 else named


def page_of_sites(
    sites: QuerySet[Site], order: tuple[str, ...], *, today: date, after: str = "", size: int = SIZE
) -> Slice:
    """One page of `sites` as dicts of ready strings. Two statements: the sites, and what is open at those shown."""
    found = keyset(sites.select_related("customer"), order, after=after, size=size)
    counts, overdue = open_counts((site.pk for site in found.rows), today=today)
    rows = [_row(site, counts.get(site.pk, {}), overdue.get(site.pk, 0), today) for site in found.rows]
    return Slice(rows, found.next)


def open_counts(sites: Any, *, today: date) -> tuple[Counts, dict[UUID, int]]:
    """How many observations are open at each of `sites` by code in force, and how many C1, C2, FI are past their date.

    One statement.
    """
    past = Count("pk", filter=Q(remedy_by__lt=today, code__in=DANGEROUS))
    rows = Observation.objects.open().filter(site__in=list(sites)).values_list("site", "code")
    counts: Counts = {}
    overdue: dict[UUID, int] = {}
    for site, code, count, late_ones in rows.annotate(n=Count("pk"), past=past).order_by():
        counts.setdefault(site, {})[code] = count
        overdue[site] = overdue.get(site, 0) + late_ones
    return counts, overdue


def _row(site: Site, counts: dict[str, int], overdue: int, today: date) -> dict[str, Any]:
    due = None if site.next_due == NO_DATE else site.next_due  # type: ignore[attr-defined]
    return {
        "number": str(site.number),
        "name": site.name,
        "href": address("desk:site", site.pk),
        "address": site.one_line,
        "customer": site.customer.name,
        "marks": marks_of(counts),
        "overdue": f"{overdue} past remedy by" if overdue else "",
        "next": near_day(due, today),
        "late": late(due, today),
    }


def marks_of(counts: dict[str, int]) -> SafeString:
    """Open items by code as a row of marks: "C1 2", "C2 5"; empty for none."""
    parts = [(code_mark(code), str(counts[code])) for code in worst_first(counts)]
    return format_html_join(" ", '<span class="tally">{} {}</span>', parts)


def cells_of_sites(sites: QuerySet[Site], order: tuple[str, ...], *, today: date) -> list[list[Any]]:
    """All of `sites` for a download, in their order. Two statements."""
    rows = list(sites.select_related("customer").order_by(*order))
    counts, _ = open_counts((site.pk for site in rows), today=today)
    return [_cells(site, counts.get(site.pk, {})) for site in rows]


def _cells(site: Site, counts: dict[str, int]) -> list[Any]:
    due = None if site.next_due == NO_DATE else site.next_due  # type: ignore[attr-defined]
    open_items = [counts.get(code, 0) for code in ("C1", "C2", "FI", "C3", "")]
    return [site.number, site.name, site.one_line, site.customer.name, *open_items, due]
