"""What remedials are priced at, for pages and for the lines of a quote. Never for an engineer."""

from collections.abc import Iterable
from uuid import UUID

from remedials.quotes.models import Costing
from remedials.works.models import Remedial


def costings_of(remedials: Iterable[Remedial]) -> dict[UUID, Costing]:
    """The costings of `remedials` by their keys; those that aren't priced are left out. One statement."""
    return {row.pk: row for row in Costing.objects.filter(remedial__in=[r.pk for r in remedials])}


def costing_of(remedial: Remedial) -> Costing | None:
    """The costing of one remedial; None where it isn't priced. One statement."""
    return Costing.objects.filter(remedial=remedial).select_related("job", "terms", "priced_by").first()
