"""What the rows of premises have in common: a name that sorts, the site that shows them, the supply they hold together."""

from typing import TYPE_CHECKING, Any, Self

import pgtrigger
from django.db import models
from django.db.models import QuerySet

from jobsite.people.models import User
from jobsite.sorting import sort_key

if TYPE_CHECKING:
    from django.contrib.auth.models import AnonymousUser


class Named(models.Model):
    """A row with a name that sorts by a stored key."""

    sort_by = "name"
    sort = models.TextField(editable=False, default="")

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.sort = sort_key(getattr(self, self.sort_by))
        if (fields := kwargs.get("update_fields")) and self.sort_by in fields:
            kwargs["update_fields"] = {*fields, "sort"}
        super().save(*args, **kwargs)


class OfSite(QuerySet[Any]):
    """Rows that belong to a site and are seen by whoever sees the site."""

    def visible_to(self, user: "User | AnonymousUser") -> Self:
        if not isinstance(user, User) or not user.is_active:
            return self.none()
        if user.subcontractor:
            return self.filter(site__access__user=user)
        return self

    def current(self) -> Self:
        """Those that are still there."""
        return self.filter(retired_at__isnull=True)


def hold_supply(name: str, *columns: str, insert: bool = False) -> list[pgtrigger.Trigger]:
    """Triggers that look over the supply of the row's site once at the end of the transaction.

    The first marks the site as changed, the second looks it over if it is marked: a board list of a thousand feeds is
    checked once, not a thousand times.
    """
    when: Any = pgtrigger.UpdateOf(*columns)
    when = (pgtrigger.Insert | when) if insert else when
    mark = "PERFORM set_config('premises.s' || replace(NEW.site_id::text, '-', ''), 'changed', true); RETURN NEW;"
    return [
        pgtrigger.Trigger(name=f"{name}_changed", when=pgtrigger.Before, operation=when, func=mark),
        pgtrigger.Trigger(
            name=f"{name}_holds",
            level=pgtrigger.Row,
            when=pgtrigger.After,
            operation=when,
            timing=pgtrigger.Deferred,
            func="PERFORM premises_hold_supply(NEW.site_id); RETURN NULL;",
        ),
    ]
