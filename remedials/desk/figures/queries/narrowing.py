"""What the figures are narrowed to: sites by nation, by words of the site, by words of its customer."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from jobsite.people.models import User
from jobsite.premises.choices import Nation
from jobsite.premises.models import Site
from jobsite.words import many

NAMED = 3
"""So many sites are named on the page; of more only the count."""


@dataclass(frozen=True)
class Narrowed:
    """Which sites count. All empty: every one, also those that are archived, since what was done there was done."""

    nation: str = ""
    site: str = ""
    customer: str = ""

    @property
    def all(self) -> bool:
        """Whether every site counts."""
        return not (self.nation or self.site or self.customer)

    def sites(self, user: User) -> QuerySet[Site]:
        """The sites of `user` that count. Every word must stand in name, address, post code, or be the number."""
        found = Site.objects.visible_to(user)
        if self.nation:
            found = found.filter(nation=self.nation)
        for word in self.site.split()[:8]:
            named = Q(name__icontains=word) | Q(address__icontains=word) | Q(postcode__icontains=word)
            number = word.isascii() and word.isdigit() and len(word) < 16
            found = found.filter(named | Q(number=int(word)) if number else named)
        for word in self.customer.split()[:8]:
            found = found.filter(customer__name__icontains=word)
        return found

    def of(self, rows: Any, user: User, field: str = "site") -> Any:
        """Those of the queryset `rows`, visible to `user` already, whose site counts. No statement."""
        return rows if self.all else rows.filter(**{f"{field}__in": self.sites(user)})

    def in_words(self, user: User) -> str:
        """What is counted, for the head of the page. No statement for every site, else two."""
        if self.all:
            return "All sites."
        found = self.sites(user)
        names = list(found.order_by("sort", "pk").values_list("name", flat=True)[: NAMED + 1])
        if not names:
            return "No site fits this: all figures are of nothing."
        count = found.count()
        return f"{many(count, 'site')}{_named(names)}{_in(self.nation)}."


def _named(names: Iterable[str]) -> str:
    names = list(names)
    return f": {', '.join(names)}" if len(names) <= NAMED else ""


def _in(nation: str) -> str:
    return f", in {Nation(nation).label}" if nation else ""
