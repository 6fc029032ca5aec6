"""Work that a consumer accepted without asking for it to begin at once is held back while the contract may be cancelled."""

from collections.abc import Iterable
from datetime import date, timedelta
from uuid import UUID

from django.db.models import Q

from inspections.standards.consumers import CANCEL_DAYS
from jobsite import clock
from remedials.quotes.choices import Says
from remedials.quotes.models import LineRemedial
from remedials.works.models import Remedial


def held_back_until(remedials: Iterable[Remedial]) -> dict[UUID, date]:
    """The first day on which work on each of `remedials` may begin without asking the consumer first.

    Whether the right applies is for the firm's adviser; those that nothing holds back are missing. One statement.
    """
    yes = {"line__answers__stands": True, "line__answers__says": Says.YES, "line__offer__consumer": True}
    begin = "line__answers__answer__begin_at_once"  # nobody asked, or they said no
    rows = LineRemedial.objects.filter(
        Q(**{begin: False}) | Q(**{f"{begin}__isnull": True}), remedial__in=[r.pk for r in remedials], **yes
    )
    found: dict[UUID, date] = {}
    for key, given_at in rows.values_list("remedial", "line__answers__answer__given_at"):
        first = clock.local_day(given_at) + timedelta(days=CANCEL_DAYS.value + 1)
        found[key] = max(first, found.get(key, first))
    return found
