"""A site that was recorded twice: all of one goes over to the other, and its chain in the ledger is closed.

Whatever refers to a site is found by looking at the models, those of the floors above too, so that none is forgotten.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection, models

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import close_chain, operation, record
from jobsite.messages.operations import move_messages
from jobsite.people.operations import move_links
from jobsite.premises import policy
from jobsite.premises.models import Board, PartyAtUnit, Site, SiteAccess, Supply, Unit
from jobsite.premises.operations.common import NOT_YOURS, plainly, tell_of_units
from jobsite.premises.verbs import Verb
from jobsite.refused import NotAllowed, Refused

Kept = Supply | Board | Unit
# The kinds whose names stand once at a site, in the order in which a page asks for other names.
NAMED: tuple[type[Kept], ...] = (Unit, Supply, Board)
# These go over by a rule of their own.
APART = {SiteAccess, Site}


@operation
def merge_sites(gone: Site, *, into: Site, names: Mapping[UUID, str], reason: str, by: Actor, now: datetime) -> Site:
    """All of `gone`, which is `into` recorded twice, goes over to `into`; returns that. It cannot be undone.

    1. Both sites are locked, in the order of their keys.
    2. Where both are plain, their one unit and their one intake are the same: what refers to them goes over to the
       other's. Otherwise units and supplies stay apart.
    3. Units, supplies and boards whose names clash are renamed as `names` says, by key.
    4. Everything that refers to the site, its units or its people goes over.
    5. `gone` is archived and leads to `into`; its chain is closed, and the other names its head.
    Raises Refused for sites of different customers or nations, for names that still clash, and without a reason.
    Again after success: nothing happens.
    """
    sites = {
        site.pk: site for site in Site.objects.select_for_update().filter(pk__in=[gone.pk, into.pk]).order_by("pk")
    }
    gone, into = sites[gone.pk], sites[into.pk]
    if not (policy.may_keep_site(by, gone) and policy.may_keep_site(by, into)):
        raise NotAllowed(NOT_YOURS)
    if gone.merged_into_id == into.pk:
        return into
    _may_be_one(gone, into, reason)
    counts = what_goes_over(gone)
    same = _same(gone, into)
    with plainly(), _merging():
        for mine, theirs in same:
            _one_over(mine, theirs, now)
        _rename(gone, names)
        _site_over(gone, into)
        move_messages(gone.pk, into=into.pk)
        move_links(gone.pk, into=into.pk, units={mine.pk: theirs.pk for mine, theirs in same})
        if not same:
            into.units.filter(whole_site=True).update(whole_site=False)
        gone.merged_into, gone.archived_at = into, gone.archived_at or now
        gone.save(update_fields=["merged_into", "archived_at"])
    tell_of_units(into.units.current().select_related("site").order_by("pk"), by=by, now=now)
    close_chain(gone.pk, into=into.pk)
    told = {"into": str(into.pk)} | {f"{name}s": count for name, count in counts.items()}
    record(Verb.SITE_MERGED, site=gone.pk, subject=gone, by=by, now=now, facts=told, words={"reason": reason})
    record(
        Verb.SITE_TOOK_OVER, site=into.pk, subject=into, by=by, now=now, facts={"closes": str(gone.pk)},
        words={"name": gone.name, "reason": reason},
    )  # fmt: skip
    return into


@contextmanager
def _merging() -> Iterator[None]:
    """Inside this, an issued report may go over to the unit that its own is: its trigger lets nothing else change."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config('premises.merging', 'yes', true)")
    yield
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config('premises.merging', '', true)")


def _may_be_one(gone: Site, into: Site, reason: str) -> None:
    if gone.pk == into.pk:
        raise Refused("Choose another site than this one.", field="into")
    if gone.merged_into_id or into.merged_into_id:
        raise Refused("One of the two went over to another site already.", field="into")
    if into.archived_at:
        raise Refused(f"{into.name} is archived: bring it back first.", field="into")
    if gone.customer_id != into.customer_id:
        raise Refused("They belong to different customers: hand one of them over first.", field="into")
    if gone.nation != into.nation:
        raise Refused("They lie in different nations: put that right first.", field="into")
    if not reason.strip():
        raise Refused("Say how you know that it is the same site.", field="reason")


def clashing(gone: Site, into: Site) -> list[Kept]:
    """Units, supplies and boards of `gone` that have the name of another at `into`: they need another name first."""
    same = {mine.pk for mine, _ in _same(gone, into)}
    return [
        row
        for kind in NAMED
        for row in _current(kind, gone)
        if row.pk not in same and _current(kind, into).filter(sort=row.sort).exists()
    ]


def _current(kind: type[Kept], site: Site) -> Any:
    return kind._default_manager.filter(site=site, retired_at__isnull=True).order_by("sort")  # noqa: SLF001


def what_goes_over(site: Site) -> dict[str, int]:
    """How many rows of each kind refer to `site`, by the name of the kind; only those that there are."""
    counts = {
        relation.related_model._meta.verbose_name: _rows(relation).filter(site=site).count()
        for relation in _relations(Site)
        if relation.related_model not in APART
    }
    return {str(name): count for name, count in sorted(counts.items()) if count}


def _same(gone: Site, into: Site) -> list[tuple[Kept, Kept]]:
    """Where each site is one unit as a whole with one intake: those of `gone` with those of `into`; else nothing."""
    pairs = [(list(_current(kind, gone)), list(_current(kind, into))) for kind in (Unit, Supply)]
    if any(len(mine) != 1 or len(theirs) != 1 for mine, theirs in pairs):
        return []
    plain = all(isinstance(row, Supply) or row.whole_site for mine, theirs in pairs for row in (*mine, *theirs))
    return [(mine[0], theirs[0]) for mine, theirs in pairs] if plain else []


def _rename(gone: Site, names: Mapping[UUID, str]) -> None:
    for kind in NAMED:
        for row in kind._default_manager.filter(site=gone, pk__in=list(names)):  # noqa: SLF001 - Django's own name
            setattr(row, kind.sort_by, names[row.pk].strip())
            row.save(update_fields=[kind.sort_by])


def _relations(model: type[models.Model]) -> list[Any]:
    """What refers to rows of `model`: foreign keys of tables, and the tables between two models."""
    hidden_too: list[Any] = model._meta.get_fields(include_hidden=True)
    reverse = (
        one for one in hidden_too if (one.one_to_many or one.one_to_one) and one.auto_created and not one.concrete
    )
    return [one for one in reverse if one.related_model._meta.managed]


def _rows(relation: Any) -> Any:
    return relation.related_model._base_manager  # noqa: SLF001 - Django's own name


def _site_over(gone: Site, into: Site) -> None:
    known = SiteAccess.objects.filter(site=into).values("user")
    SiteAccess.objects.filter(site=gone, user__in=known).delete()
    for relation in _relations(Site):
        if relation.related_model is not Site:
            name = relation.field.name
            _rows(relation).filter(**{name: gone}).update(**{name: into})
    Unit.objects.filter(site=into, whole_site=True, retired_at__isnull=False).update(whole_site=False)


def _one_over(mine: Kept, theirs: Kept, now: datetime) -> None:
    """What refers to `mine` refers to `theirs`, which is the same thing; what that has already is there once."""
    for role in mine.parties.all() if isinstance(mine, Unit) else ():
        if PartyAtUnit.objects.filter(unit=theirs.pk, party=role.party, role=role.role, since=role.since).exists():
            PartyAtUnit.objects.filter(pk=role.pk).delete()
    for relation in _relations(type(mine)):
        _rows_over(relation, mine, theirs)
    mine.retired_at = now
    mine.save(update_fields=["retired_at"])


def _rows_over(relation: Any, mine: Kept, theirs: Kept) -> None:
    name, rows = relation.field.name, _rows(relation)
    if relation.one_to_one:
        # A date that follows from reports: it is worked out anew for `theirs`.
        rows.filter(**{name: mine}).delete()
        return
    table = relation.related_model._meta
    if table.auto_created:
        other = next(field.name for field in table.fields if field.is_relation and field.name != name)
        there = rows.filter(**{name: theirs}).values(other)
        rows.filter(**{name: mine, f"{other}__in": there}).delete()
    rows.filter(**{name: mine}).update(**{name: theirs})
