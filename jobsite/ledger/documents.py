"""Documents as they were handed out, and what is held, read by every floor above."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date
from uuid import UUID

from django.db.models import Q, QuerySet

from jobsite.ledger.models import Chain, Document, Hold


@dataclass(frozen=True, slots=True)
class About:
    """What a document is: its kind, and the keys of what it tells of. Two of the same `said` say the same."""

    kind: str
    said: str = ""
    site: UUID | None = None
    unit: UUID | None = None
    party: UUID | None = None
    subject: UUID | None = None
    as_of: date | None = None


def kept_document(about: About) -> Document | None:
    """The document that says just this already; None where there is none, or where `said` is empty. One statement."""
    if not about.said:
        return None
    return Document.objects.filter(**asdict(about)).select_related("file").first()


def holds_on(site: UUID | None) -> QuerySet[Hold]:
    """The holds in force on `site`, on the one that it went over to, or on everything; without a site, only the last.

    One statement for each site that it went over to.
    """
    on: list[UUID] = [site] if site else []
    while on and (into := Chain.objects.filter(pk=on[-1]).values_list("closed_into", flat=True).first()):
        on.append(into)
    return Hold.objects.filter(Q(site=None) | Q(site__in=on), lifted_at=None).order_by("placed_at", "pk")


def with_what_went_over(sites: Iterable[UUID]) -> set[UUID]:
    """`sites` and every site whose chain was closed into one of theirs, also by way of another. One statement a generation."""
    found = newest = set(sites)
    while newest := set(Chain.objects.filter(closed_into__in=newest).values_list("pk", flat=True)) - found:
        found = found | newest
    return found
