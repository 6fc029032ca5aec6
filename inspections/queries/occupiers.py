"""Who lives in a unit, as far as the record knows."""

from collections.abc import Iterable
from datetime import date

from django.db.models import Q

from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import Party, Unit


def occupiers_on(unit: Unit, on: date) -> list[Party]:
    """Those recorded as occupiers of `unit` on a day, by name. One statement."""
    there = Q(roles__until__isnull=True) | Q(roles__until__gte=on)
    rows = Party.objects.filter(there, roles__unit=unit, roles__role=RoleAtUnit.OCCUPIER, roles__since__lte=on)
    return list(rows.distinct().order_by("sort", "pk"))


def names_of(parties: Iterable[Party]) -> str:
    """Their names in a sentence: "Ann Archer, Bo Brook and Cy Cole"; "" for nobody."""
    names = [party.name for party in parties]
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))
