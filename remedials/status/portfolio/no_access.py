"""What is on record of getting in to one unit, as a document for whoever answers for it."""

from datetime import datetime
from uuid import UUID

from django.db.models import Q

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.documents import About
from jobsite.ledger.models import Document
from jobsite.premises.models import Party
from remedials.status.facts import Scope
from remedials.status.portfolio import facts
from remedials.status.portfolio.making import made_for
from remedials.status.portfolio.queries import name_of
from remedials.visits.models import Attempt
from remedials.visits.queries.evidence import TEMPLATE, gathered


def no_access_document(party: Party, scope: Scope, *, by: Actor, now: datetime) -> Document:
    """Every attempt to get in to the unit of `scope`, the oldest first, as far as `party` may read it; kept as handed out.

    What was tried at the site for no unit by itself is in it where they answer for all of the site. The firm's people stand in
    it as customers read them. Raises Refused where it grows beyond all measure.
    """
    unit, today = scope.units[0], clock.local_day(now)
    tried = Attempt.objects.filter(Q(unit=unit) | Q(unit=None), site=scope.site)
    first = tried.order_by("at").values_list("at", flat=True).first()
    seen: set[UUID] = set(facts.units_of(party, today).filter(site=scope.site).values_list("pk", flat=True))
    found = gathered(scope.site, unit, clock.local_day(first) if first else today, today, seen=seen)
    return made_for(
        About("no-access", site=scope.site.pk, unit=unit.pk, party=party.pk, as_of=today),
        found.facts,
        template=TEMPLATE,
        title=found.title,
        foot=f"{found.title}: {name_of(unit)}",
        name="attempts-to-get-in.pdf",
        by=by,
        now=now,
        pictures=found.pictures,
    )
