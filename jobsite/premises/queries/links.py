"""The private links of a site: to whom, until when, how often used."""

from datetime import datetime
from typing import Any

from django.urls import reverse

from jobsite.people.models import PrivateLink
from jobsite.premises.models import Party, Site
from jobsite.words import when


def links_of(site: Site, *, now: datetime) -> list[dict[str, Any]]:
    """All links of a site, the latest first, those that open something before those that don't. Three statements."""
    rows = list(PrivateLink.objects.filter(site=site.pk).select_related("made_by").order_by("-made_at", "-id"))
    units = dict(site.units.values_list("pk", "name"))
    parties = dict(Party.objects.filter(pk__in={row.party for row in rows}).values_list("pk", "name"))
    found = [_row(row, units, parties, now) for row in rows]
    return sorted(found, key=lambda row: not row["opens"])


def _row(row: PrivateLink, units: dict[Any, str], parties: dict[Any, str], now: datetime) -> dict[str, Any]:
    if row.withdrawn_at:
        state = f"withdrawn {when(row.withdrawn_at)}"
    else:
        state = f"until {when(row.expires_at)}" if row.expires_at > now else f"ended {when(row.expires_at)}"
    opens = row.withdrawn_at is None and row.expires_at > now
    return {
        "purpose": row.get_purpose_display(),
        "of": units.get(row.unit, "the whole site") if row.unit else "the whole site",
        "to": ", ".join(filter(None, (row.sent_to, parties.get(row.party, "")))) or "not noted",
        "made": f"{when(row.made_at)}, {row.made_by}",
        "state": state,
        "used": f"{row.uses} times, last {when(row.last_used_at)}" if row.last_used_at else "not yet",
        "opens": opens,
        "css": "" if opens else "gone",
        "withdraw": reverse("premises:link_withdraw", args=[row.pk]) if opens else "",
    }
