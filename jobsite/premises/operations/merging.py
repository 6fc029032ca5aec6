"""A site that was recorded twice: all of one goes over to the other, and its chain in the ledger is closed.

Whatever refers to a site is found by looking at the models, those of the floors above too, so that none is forgotten.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import connection
from django.utils.module_loading import import_string

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import close_chain, operation, record
from jobsite.ledger.operations_documents import move_documents
from jobsite.messages.operations import move_messages
from jobsite.people.operations import keep_links_to_unit, move_links, withdraw_links_of
from jobsite.premises import policy
from jobsite.premises.choices import Earthing
from jobsite.premises.models import Board, PartyAtUnit, Site, SiteAccess, Supply, Unit
from jobsite.premises.operations.common import NOT_YOURS, change, plainly, tell_of_units
from jobsite.premises.queries.merging import NAMED, Kept, relations_of, rows_of, same_in_both, what_goes_over
from jobsite.premises.verbs import Verb
from jobsite.refused import NotAllowed, Refused

# What must agree before two rows are taken for one, with the words for it and what stands where it is not known.
AGREE: dict[type[Kept], dict[str, tuple[str, Any]]] = {
    Unit: {"kind": ("kinds of premises", None), "tenure": ("ways of being lived in or let", None)},
    Supply: {
        "phases": ("phases", None),
        "voltage": ("voltages", None),
        "earthing": ("earthing arrangements", Earthing.UNKNOWN),
        "main_fuse_a": ("main fuses", None),
        "ze_ohm": ("external impedances", None),
        "fault_current_ka": ("fault currents", None),
        "isolator": ("isolators at the intake", ""),
        "isolator_kind": ("isolators at the intake", ""),
    },
}
CHANGED = {Unit: Verb.UNIT_CHANGED, Supply: Verb.SUPPLY_CHANGED, Board: Verb.BOARD_CHANGED}


@operation
def merge_sites(gone: Site, *, into: Site, names: Mapping[UUID, str], reason: str, by: Actor, now: datetime) -> Site:
    """All of `gone`, which is `into` recorded twice, goes over to `into`; returns that. It cannot be undone.

    1. Both sites are locked, in the order of their keys.
    2. Where both are plain, their one unit and their one intake are the same: what refers to them goes over to the
       other's. Otherwise units and supplies stay apart.
    3. Units, supplies and boards whose names clash are renamed as `names` says, by key.
    4. Everything that refers to the site, its units or its people goes over. Where units stay apart, private links to the
       whole of `gone` are withdrawn: they would open the other's units; those to the whole of a plain `into` go on opening its
       one unit, but for the customer's own.
    5. `gone` is archived and leads to `into`; its chain is closed, and the other names its head.
    Raises Refused for sites of different customers or nations, where the two records of the one unit or intake contradict
    each other, for names that still clash, and without a reason.
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
    same = same_in_both(gone, into)
    with plainly(), _merging():
        for hook in settings.WHEN_SITES_MERGE:
            import_string(hook)(gone, into)
        # Each change looks the supply over: all of them before anything stands at two sites.
        for mine, theirs in same:
            _agreed(mine, theirs, by=by, now=now)
        _rename(gone, names, by=by, now=now)
        for mine, theirs in same:
            _one_over(mine, theirs, now)
        if not same:
            withdraw_links_of(gone.pk, whole=True, by=by, now=now)
            for unit in into.units.filter(whole_site=True):
                keep_links_to_unit(into.pk, unit.pk, but_for=into.customer_id)
        _site_over(gone, into)
        one = {mine.pk: theirs.pk for mine, theirs in same}
        move_messages(gone.pk, into=into.pk, same=one)
        move_links(gone.pk, into=into.pk, units=one)
        move_documents(gone.pk, into=into.pk, same=one)
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


def _agreed(mine: Kept, theirs: Kept, *, by: Actor, now: datetime) -> None:
    """What only `mine` knows is recorded of `theirs` too. Raises Refused where both know and differ."""
    known: dict[str, Any] = {}
    for name, (words, unknown) in AGREE[type(mine)].items():
        one, other = getattr(mine, name), getattr(theirs, name)
        if one in (other, unknown):
            continue
        if other != unknown:
            raise Refused(f"The two records give different {words}: put the wrong one right first.", field="into")
        known[name] = one
    if known:
        change(theirs, known, version=theirs.version, verb=CHANGED[type(theirs)], site=theirs.site_id, by=by, now=now)


def _rename(gone: Site, names: Mapping[UUID, str], *, by: Actor, now: datetime) -> None:
    for kind in NAMED:
        for row in kind._default_manager.filter(site=gone, pk__in=list(names)):  # noqa: SLF001 - Django's own name
            new = {kind.sort_by: names[row.pk].strip()}
            change(row, new, version=row.version, verb=CHANGED[kind], site=gone.pk, by=by, now=now)


def _site_over(gone: Site, into: Site) -> None:
    known = SiteAccess.objects.filter(site=into).values("user")
    SiteAccess.objects.filter(site=gone, user__in=known).delete()
    for relation in relations_of(Site):
        if relation.related_model is not Site:
            name = relation.field.name
            rows_of(relation).filter(**{name: gone}).update(**{name: into})
    Unit.objects.filter(site=into, whole_site=True, retired_at__isnull=False).update(whole_site=False)


def _one_over(mine: Kept, theirs: Kept, now: datetime) -> None:
    """What refers to `mine` refers to `theirs`, which is the same thing; what that has already is there once."""
    for role in mine.parties.all() if isinstance(mine, Unit) else ():
        if PartyAtUnit.objects.filter(unit=theirs.pk, party=role.party, role=role.role, since=role.since).exists():
            PartyAtUnit.objects.filter(pk=role.pk).delete()
    for relation in relations_of(type(mine)):
        _rows_over(relation, mine, theirs)
    mine.retired_at = now
    mine.save(update_fields=["retired_at"])


def _rows_over(relation: Any, mine: Kept, theirs: Kept) -> None:
    name, rows = relation.field.name, rows_of(relation)
    if relation.one_to_one:
        label = relation.related_model._meta.label
        if label in settings.TAKEN_OVER_WITH_UNITS:
            return
        if label not in settings.WORKED_OUT_OF_UNITS:
            raise TypeError(f"{relation.related_model} stands once a row: say how it goes over.")
        rows.filter(**{name: mine}).delete()
        return
    table = relation.related_model._meta
    if table.auto_created:
        other = next(field.name for field in table.fields if field.is_relation and field.name != name)
        there = rows.filter(**{name: theirs}).values(other)
        rows.filter(**{name: mine, f"{other}__in": there}).delete()
    rows.filter(**{name: mine}).update(**{name: theirs})
