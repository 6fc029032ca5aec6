"""What the office's pages show of archives and holds, as dicts of ready strings."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet
from django.urls import reverse

from jobsite.addresses import address
from jobsite.firm.models import Progress
from jobsite.ledger.documents import holds_on
from jobsite.ledger.models import Hold
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.words import when
from remedials.status.models import Bundle

OWN = (Bundle.Kind.AS_OF, Bundle.Kind.ASSESSOR)
MOST = 50
IMPATIENT = timedelta(seconds=15)
"""After so long without a worker, the page offers to do it itself."""
PATIENT = timedelta(minutes=3)
"""So long a worker may be silent that has begun."""


def seen_by(user: User) -> QuerySet[Bundle]:
    """The archives that `user` may take away: of sites that they see, and the packs, which are of several."""
    rows = Bundle.objects.filter(kind__in=OWN).select_related("site", "progress", "document__file", "asked_by")
    several = Q(site=None) if not user.subcontractor else Q(pk=None)
    return rows.filter(Q(site__in=Site.objects.visible_to(user)) | several)


def rows_of(bundles: QuerySet[Bundle]) -> list[dict[str, str]]:
    """The latest of `bundles`, for a list. One statement."""
    return [_row(bundle) for bundle in bundles.order_by("-asked_at", "-pk")[:MOST]]


def _row(bundle: Bundle) -> dict[str, str]:
    document = bundle.document
    return {
        "href": reverse("proof:archive", args=[bundle.pk]),
        "what": when(bundle.as_of)
        if bundle.kind == Bundle.Kind.AS_OF
        else f"Remedials {', '.join(map(str, bundle.jobs))}",
        "reason": bundle.reason,
        "asked": f"{when(bundle.asked_at)}, {bundle.asked_by.name}",
        "state": f"made, {size_words(document.file.size)}" if document else bundle.progress.get_state_display(),
    }


def size_words(size: int) -> str:
    """A size in bytes as it is spoken of: "312 kB", "4.1 MB"."""
    return f"{max(1, round(size / 1000))} kB" if size < 1_000_000 else f"{size / 1_000_000:.1f} MB"


def archive_page(bundle: Bundle, *, now: datetime) -> dict[str, Any]:
    """How far an archive has come, or how it is taken away and checked. No statement."""
    progress, document = bundle.progress, bundle.document
    waiting = progress.state in (Progress.State.WAITING, Progress.State.RUNNING)
    patience = IMPATIENT if progress.state == Progress.State.WAITING else PATIENT
    context: dict[str, Any] = {
        "bundle": bundle,
        "title": progress.what,
        "waiting": waiting and document is None,
        "failed": progress.state == Progress.State.FAILED,
        "sentence": progress.sentence or "Waiting for the worker.",
        "slow": now - progress.changed_at > patience,
        "back": reverse("proof:site_record", args=[bundle.site_id]) if bundle.site_id else reverse("proof:assessor"),
        "back_words": f"Records of {bundle.site.name}" if bundle.site else "Packs for the assessor",
        "facts": [("For", bundle.reason), ("Asked for", f"{when(bundle.asked_at)} by {bundle.asked_by.name}")],
    }
    if document:
        context["facts"] += [("Made", when(document.made_at)), ("Size", size_words(document.file.size))]
        context["proofs"] = [
            ("SHA-256 of manifest.json", document.fingerprint),
            ("SHA-256 of the archive", document.file_id),
        ]
    return context


def hold_rows(holds: Iterable[Hold]) -> list[dict[str, str]]:
    """Holds for a list: what for, on what, by whom, lifted or not. At most two statements."""
    rows = list(holds)
    people = {row.placed_by for row in rows} | {row.lifted_by for row in rows if row.lifted_by}
    names = dict(User.objects.filter(pk__in=people).values_list("pk", "name")) if people else {}
    keys = {row.site for row in rows if row.site}
    sites = dict(Site.objects.filter(pk__in=keys).values_list("pk", "name")) if keys else {}
    return [_hold(row, names, sites) for row in rows]


def _hold(row: Hold, names: dict[UUID, str], sites: dict[UUID, str]) -> dict[str, str]:
    lifted = (
        f"lifted {when(row.lifted_at)} by {names.get(row.lifted_by, '')}: {row.lifted_why}" if row.lifted_by else ""
    )
    return {
        "reason": row.reason,
        "on": sites.get(row.site, "a site that is gone") if row.site else "the whole firm",
        "href": address("desk:site", row.site) if row.site else "",
        "placed": f"{when(row.placed_at)}, {names.get(row.placed_by, 'somebody')}",
        "state": lifted or "in force",
        "lift": "" if row.lifted_at else reverse("proof:hold_lift", args=[row.pk]),
    }


def holds_in_force(site: Site | None) -> list[dict[str, str]]:
    """The holds on a site and on the firm, for a page. At most four statements."""
    return hold_rows(holds_on(site.pk if site else None))


def all_holds() -> list[dict[str, str]]:
    """Every hold: those in force first, then the latest. At most three statements."""
    return hold_rows(Hold.objects.order_by("-lifted_at", "-placed_at", "pk")[:200])
