"""Customers and other parties; sites and their units; who is what at a unit."""

from datetime import date
from typing import TYPE_CHECKING, Self

from django.db import models
from django.db.models import F, Q, QuerySet

from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.premises import choices
from jobsite.premises.models.ground import Named, OfSite

if TYPE_CHECKING:
    from django.contrib.auth.models import AnonymousUser


class PartyQuerySet(QuerySet["Party"]):
    def visible_to(self, user: "User | AnonymousUser") -> Self:
        """All of them for the firm's own people, none for subcontractors and others."""
        known = isinstance(user, User) and user.is_active and not user.subcontractor
        return self if known else self.none()

    def current(self) -> Self:
        """Those not archived."""
        return self.filter(archived_at__isnull=True)


class Party(Named):
    """A person or an organisation that owns, rents, manages, pays or approves."""

    id = models.UUIDField(primary_key=True, default=new_id)
    name = models.TextField()
    organisation = models.BooleanField(default=False)
    email = models.EmailField(max_length=254, default="", blank=True)
    phone = models.TextField(default="", blank=True)
    address = models.TextField(default="", blank=True)
    archived_at = models.DateTimeField(null=True)
    erased_at = models.DateTimeField(null=True, help_text="When name, address, e-mail and telephone were erased.")
    version = models.IntegerField(default=1)

    objects = PartyQuerySet.as_manager()

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(name=""), name="party_has_a_name")]
        indexes = [models.Index(fields=["sort", "id"], name="party_list")]

    def __str__(self) -> str:
        return self.name


class SiteQuerySet(QuerySet["Site"]):
    def visible_to(self, user: "User | AnonymousUser") -> Self:
        """The sites that `user` may see: staff all, a subcontractor those of their own visits, others none."""
        if not isinstance(user, User) or not user.is_active:
            return self.none()
        if user.subcontractor:
            return self.filter(access__user=user)
        return self

    def current(self) -> Self:
        """Those not archived."""
        return self.filter(archived_at__isnull=True)


class Site(Named):
    """An address where the firm works."""

    id = models.UUIDField(primary_key=True, default=new_id)
    number = models.BigIntegerField(unique=True)
    name = models.TextField()
    address = models.TextField()
    postcode = models.TextField(default="", blank=True)
    nation = models.TextField(choices=choices.Nation, default=choices.Nation.ENGLAND)
    access_notes = models.TextField(default="", blank=True)
    latitude = models.DecimalField(max_digits=8, decimal_places=5, null=True, blank=True)
    longitude = models.DecimalField(max_digits=8, decimal_places=5, null=True, blank=True)
    customer = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="sites")
    archived_at = models.DateTimeField(null=True)
    merged_into = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, related_name="merged", help_text="Where it was recorded twice."
    )
    version = models.IntegerField(default=1)

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="site_has_a_name"),
            models.CheckConstraint(condition=Q(nation__in=choices.Nation.values), name="site_nation"),
            models.CheckConstraint(
                condition=Q(merged_into__isnull=True) | Q(archived_at__isnull=False), name="site_merged_is_archived"
            ),
        ]
        indexes = [
            models.Index(fields=["sort", "id"], name="site_list"),
            models.Index(fields=["customer"], name="site_of_customer"),
        ]

    @property
    def one_line(self) -> str:
        """Address and post code on one line: "Reach Lane, Ebbsford, QX4 9ZA"."""
        lines = [line.strip().rstrip(",").rstrip() for line in self.address.splitlines()]
        return ", ".join(filter(None, [*lines, self.postcode]))

    def __str__(self) -> str:
        return self.name


class FormerCustomer(models.Model):
    """Whose site it was before it was handed over: until when, and why."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="former_customers")
    party = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="former_sites")
    until = models.DateField(help_text="The last day, included.")
    reason = models.TextField()
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="former_customer_says_why")]


class SiteAccess(models.Model):
    """Sight of one site, granted from an upper floor (a subcontractor's visit)."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="access")
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="site_access")
    granted_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["site", "user"], name="site_access_once")]


class Unit(Named):
    """A flat, the common parts, a barn: what is inspected, owned and answered for by itself."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="units")
    name = models.TextField()
    kind = models.TextField(choices=choices.PremisesKind, default=choices.PremisesKind.HOUSE)
    tenure = models.TextField(choices=choices.Tenure, default=choices.Tenure.OWNER_OCCUPIED)
    tenancy_granted_on = models.DateField(
        null=True,
        blank=True,
        help_text="Of the present tenancy, where it is let: which rule of law binds depends on it.",
    )
    common_parts = models.BooleanField(default=False)
    whole_site = models.BooleanField(default=False, help_text="The one unit of a simple site; nobody sees the word.")
    retired_at = models.DateTimeField(null=True)
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["site", "sort"], condition=Q(retired_at__isnull=True), name="unit_name_once_a_site"
            ),
            models.CheckConstraint(condition=Q(kind__in=choices.PremisesKind.values), name="unit_kind"),
            models.CheckConstraint(condition=Q(tenure__in=choices.Tenure.values), name="unit_tenure"),
        ]

    def __str__(self) -> str:
        return self.name


class AtUnits(QuerySet["PartyAtUnit"]):
    def visible_to(self, user: "User | AnonymousUser") -> Self:
        """Seen by whoever sees the unit's site."""
        if not isinstance(user, User) or not user.is_active:
            return self.none()
        if user.subcontractor:
            return self.filter(unit__site__access__user=user)
        return self

    def standing(self, day: date) -> Self:
        """Those that have not ended before `day`."""
        return self.filter(Q(until__isnull=True) | Q(until__gte=day))


class PartyAtUnit(models.Model):
    """What a party is at a unit, from when until when."""

    id = models.UUIDField(primary_key=True, default=new_id)
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="parties")
    party = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="roles")
    role = models.TextField(choices=choices.RoleAtUnit)
    limit_pounds = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    objects = AtUnits.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["unit", "party", "role", "since"], name="party_role_once"),
            models.CheckConstraint(condition=Q(until__isnull=True) | Q(until__gte=F("since")), name="party_role_dates"),
            models.CheckConstraint(condition=Q(role__in=choices.RoleAtUnit.values), name="party_role_known"),
        ]
