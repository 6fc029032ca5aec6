"""What stands locked off at a site, from what was made safe: for the points at which somebody wants to switch off."""

from collections import defaultdict
from uuid import UUID

from django.db.models import Q

from inspections.models import MadeSafe
from jobsite.words import joined


def locks_of(site: UUID) -> dict[str, list[str]]:
    """Locks and keys in words, by the circuit, else the board, of what was made safe, else "". One statement."""
    standing = MadeSafe.objects.filter(ended="", observation__site=site)
    found: dict[str, list[str]] = defaultdict(list)
    for held in standing.filter(~Q(lock="") | ~Q(key_holder="")).select_related("observation__board").order_by("at"):
        seen = held.observation
        words = joined(
            f"locked off already: {held.what}",
            f"lock {held.lock}" if held.lock else "",
            f"key with {held.key_holder}" if held.key_holder else "",
            f"for observation {seen.number}",
        )
        found[str(seen.circuit_id or seen.board_id or "")].append(words)
    return dict(found)
