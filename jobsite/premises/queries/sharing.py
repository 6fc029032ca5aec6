"""To whom a private link to a site may be given, and what it would show them that is not theirs."""

from datetime import date

from django.db.models import Q, QuerySet

from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import Party, PartyAtUnit, Site


def parts_at(site: Site, today: date, *, before_their_day: bool = False) -> QuerySet[PartyAtUnit]:
    """Who is what at the units of `site`; with `before_their_day` also those whose first day is still to come."""
    parts = PartyAtUnit.objects.standing(today).filter(unit__site=site, unit__retired_at=None)
    return parts if before_their_day else parts.filter(since__lte=today)


def may_be_given(site: Site, parts: QuerySet[PartyAtUnit]) -> QuerySet[Party]:
    """The customer and whoever is something at a unit, but for the archived and those whose data were erased."""
    mine = Party.objects.filter(Q(pk=site.customer_id) | Q(pk__in=parts.values("party")), erased_at=None)
    return mine.current().order_by("sort")


def more_than_theirs(party: Party, customer: object, parts: QuerySet[PartyAtUnit]) -> str:
    """Where `party` only lives, in words: a link to the whole site shows all the other units too. "" for who is more."""
    theirs = list(parts.filter(party=party).select_related("unit").order_by("unit__sort"))
    if party.pk == customer or any(part.role != RoleAtUnit.OCCUPIER for part in theirs):
        return ""
    return ", ".join(dict.fromkeys(part.unit.name for part in theirs))
