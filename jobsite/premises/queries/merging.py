"""What two records of one site have in common, what would go over, and which names clash."""

from typing import Any

from django.db import models

from jobsite.premises.models import Board, Site, SiteAccess, Supply, Unit

Kept = Supply | Board | Unit
# The kinds whose names stand once at a site, in the order in which a page asks for other names.
NAMED: tuple[type[Kept], ...] = (Unit, Supply, Board)
# These go over by a rule of their own.
APART = {SiteAccess, Site}


def clashing(gone: Site, into: Site) -> list[Kept]:
    """Units, supplies and boards of `gone` that have the name of another at `into`: they need another name first."""
    same = {mine.pk for mine, _ in same_in_both(gone, into)}
    return [
        row
        for kind in NAMED
        for row in _current(kind, gone)
        if row.pk not in same and _current(kind, into).filter(sort=row.sort).exists()
    ]


def what_goes_over(site: Site) -> dict[str, int]:
    """How many rows of each kind refer to `site`, by the name of the kind; only those that there are."""
    counts = {
        relation.related_model._meta.verbose_name: rows_of(relation).filter(site=site).count()
        for relation in relations_of(Site)
        if relation.related_model not in APART
    }
    return {str(name): count for name, count in sorted(counts.items()) if count}


def same_in_both(gone: Site, into: Site) -> list[tuple[Kept, Kept]]:
    """Where each site is one unit as a whole with one intake: those of `gone` with those of `into`; else nothing."""
    pairs = [(list(_current(kind, gone)), list(_current(kind, into))) for kind in (Unit, Supply)]
    if any(len(mine) != 1 or len(theirs) != 1 for mine, theirs in pairs):
        return []
    plain = all(isinstance(row, Supply) or row.whole_site for mine, theirs in pairs for row in (*mine, *theirs))
    return [(mine[0], theirs[0]) for mine, theirs in pairs] if plain else []


def _current(kind: type[Kept], site: Site) -> Any:
    return kind._default_manager.filter(site=site, retired_at__isnull=True).order_by("sort")  # noqa: SLF001


def relations_of(model: type[models.Model]) -> list[Any]:
    """What refers to rows of `model`: foreign keys of tables, and the tables between two models."""
    hidden_too: list[Any] = model._meta.get_fields(include_hidden=True)
    reverse = (
        one for one in hidden_too if (one.one_to_many or one.one_to_one) and one.auto_created and not one.concrete
    )
    return [one for one in reverse if one.related_model._meta.managed]


def rows_of(relation: Any) -> Any:
    return relation.related_model._base_manager  # noqa: SLF001 - Django's own name
