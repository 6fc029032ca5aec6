"""Whether a customer wants reminders."""

from typing import Any
from uuid import UUID

from jobsite.addresses import address
from jobsite.premises.models import Party
from jobsite.words import day, london
from remedials.due.models import NoReminders


def standing(party: UUID) -> NoReminders | None:
    """That this party wants no reminders; None where it does. One statement."""
    return NoReminders.objects.filter(party=party, lifted_at__isnull=True).select_related("noted_by").first()


def note_of(party: Party) -> dict[str, Any]:
    """What the page of `party` says of reminders. One statement."""
    row = standing(party.pk)
    words = f"Gets no reminders since {day(london(row.said_at).date())}" if row else "Gets reminders"
    return {"words": words, "href": address("due:reminders_to", party.pk), "loud": row is not None}
