"""Which danger notices a customer's page and its documents name."""

from typing import TYPE_CHECKING

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Concat, Lower

from inspections.models import DangerNotice, Observation
from jobsite.premises.models import FormerCustomer, Party

if TYPE_CHECKING:
    from remedials.status.facts import Scope


def notices_in(scope: "Scope") -> QuerySet[DangerNotice]:
    """The danger notices that were given about the scope's units, and about nobody else's.

    A notice names whom it was given to, what they answered and who holds a key. So where the site was handed over only
    those given since are the new customer's; of the earlier ones, those given to the reader (without one, the customer).
    """
    others = Observation.objects.filter(site=scope.site).exclude(unit__in=scope.keys)
    found = DangerNotice.objects.filter(site=scope.site, observations__unit__in=scope.keys)
    if scope.one_unit:
        found = found.exclude(observations__in=others)
    reader = Party.objects.filter(pk=scope.reader or scope.site.customer_id).values("name")
    found = found.alias(to=Lower("given_to"), reader=Lower(Subquery(reader)))
    theirs = Q(to=F("reader"))
    for after in (",", " ("):  # as in "Petra Landlady, owner"
        theirs |= Q(to__startswith=Concat(F("reader"), Value(after)))
    return found.filter(~Exists(_handed_over_since()) | theirs).distinct()


def _handed_over_since() -> QuerySet[FormerCustomer]:
    """The handings over after a notice was given, also of a site that went over to the present one afterwards.

    By when it was recorded, which is on that day or later: until then the firm gave notices to the former customer.
    """
    at = Q(site=OuterRef("site")) | Q(site__merged_into=OuterRef("site"))
    at |= Q(site__merged_into__merged_into=OuterRef("site"))
    return FormerCustomer.objects.filter(at, recorded_at__gt=OuterRef("given_at"))
