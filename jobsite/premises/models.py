"""Customers, sites, units, supplies, boards, circuits, feeds, second sources: the ground that everything stands on.

The database holds the supply together by `premises_hold_supply` (migration 0002): feeds form no loop, never leave the
site, and give no phase that they lack.
"""

from typing import TYPE_CHECKING, Any, Self

import pgtrigger
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q, QuerySet

from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.premises import choices
from jobsite.sorting import sort_key

if TYPE_CHECKING:
    from django.contrib.auth.models import AnonymousUser


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
    version = models.IntegerField(default=1)

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="site_has_a_name"),
            models.CheckConstraint(condition=Q(nation__in=choices.Nation.values), name="site_nation"),
        ]
        indexes = [
            models.Index(fields=["sort", "id"], name="site_list"),
            models.Index(fields=["customer"], name="site_of_customer"),
        ]

    def __str__(self) -> str:
        return self.name


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


class PartyAtUnit(models.Model):
    """What a party is at a unit, from when until when."""

    id = models.UUIDField(primary_key=True, default=new_id)
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="parties")
    party = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="roles")
    role = models.TextField(choices=choices.RoleAtUnit)
    limit_pounds = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["unit", "party", "role", "since"], name="party_role_once"),
            models.CheckConstraint(condition=Q(until__isnull=True) | Q(until__gte=F("since")), name="party_role_dates"),
            models.CheckConstraint(condition=Q(role__in=choices.RoleAtUnit.values), name="party_role_known"),
        ]


class Supply(Named):
    """An intake from the network."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="supplies")
    name = models.TextField(default="Supply")
    phases = ArrayField(models.TextField(), default=list)
    voltage = models.IntegerField(default=230, help_text="nominal, volts to earth")
    main_fuse_a = models.IntegerField(null=True, blank=True)
    earthing = models.TextField(choices=choices.Earthing, default=choices.Earthing.UNKNOWN)
    ze_ohm = models.DecimalField(max_digits=7, decimal_places=3, null=True, blank=True)
    fault_current_ka = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    retired_at = models.DateTimeField(null=True)
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["site", "sort"], condition=Q(retired_at__isnull=True), name="supply_name_once_a_site"
            ),
            models.CheckConstraint(
                condition=Q(phases__contained_by=list(choices.LINES)) & ~Q(phases=[]), name="supply_phases"
            ),
            models.CheckConstraint(condition=Q(earthing__in=choices.Earthing.values), name="supply_earthing"),
        ]
        triggers = hold_supply("supply", "phases", "site_id")

    def __str__(self) -> str:
        return self.name


class Board(Named):
    """A distribution board: what the firm has verified it to be, and what its label claims."""

    sort_by = "designation"
    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="boards")
    designation = models.TextField()
    label_found = models.TextField(default="", blank=True)
    designation_verified = models.BooleanField(default=False)
    place = models.TextField(default="", blank=True)
    phases = ArrayField(models.TextField(), default=list)
    main_switch = models.TextField(default="", blank=True)
    own_earthing = models.TextField(choices=choices.Earthing, default="", blank=True)
    zdb_ohm = models.DecimalField(max_digits=7, decimal_places=3, null=True, blank=True)
    fault_current_ka = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    units = models.ManyToManyField(Unit, related_name="boards", blank=True)
    notes = models.TextField(default="", blank=True)
    verified_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    verified_on = models.DateField(null=True)
    verified_how = models.TextField(choices=choices.HowVerified, default="", blank=True)
    retired_at = models.DateTimeField(null=True)
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["site", "sort"], condition=Q(retired_at__isnull=True), name="board_name_once_a_site"
            ),
            models.CheckConstraint(
                condition=Q(phases__contained_by=list(choices.LINES)) & ~Q(phases=[]), name="board_phases"
            ),
            models.CheckConstraint(condition=~Q(designation=""), name="board_has_a_designation"),
            models.CheckConstraint(
                condition=Q(designation_verified=False) | Q(verified_on__isnull=False), name="board_verified_when"
            ),
        ]
        indexes = [models.Index(fields=["site", "sort"], name="board_list")]
        triggers = hold_supply("board", "phases", "site_id")

    def __str__(self) -> str:
        return self.designation


class Circuit(models.Model):
    """A way of a board and the circuit on it."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="circuits")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, related_name="circuits")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="circuits", null=True, blank=True)
    way = models.IntegerField()
    phase = models.TextField(choices=choices.Phase, default=choices.Phase.L1)
    label_found = models.TextField(default="", blank=True)
    designation = models.TextField(default="", blank=True)
    verified_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    verified_on = models.DateField(null=True)
    verified_how = models.TextField(choices=choices.HowVerified, default="", blank=True)
    device_standard = models.TextField(choices=choices.DeviceStandard, default="", blank=True)
    device_type = models.TextField(default="", blank=True)
    rating_a = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)
    poles = models.IntegerField(null=True, blank=True)
    rcd_kind = models.TextField(choices=choices.RcdKind, default="", blank=True)
    rcd_ma = models.IntegerField(null=True, blank=True)
    rcd_shared = models.BooleanField(default=False)
    arrangement = models.TextField(choices=choices.Arrangement, default="", blank=True)
    line_mm2 = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    cpc_mm2 = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    points = models.IntegerField(null=True, blank=True)
    must_not_lose_power = models.TextField(default="", blank=True)
    spare = models.BooleanField(default=False)
    blanked = models.BooleanField(default=False)
    retired_at = models.DateTimeField(null=True)
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["board", "way", "phase"], condition=Q(retired_at__isnull=True), name="circuit_one_a_way"
            ),
            models.CheckConstraint(condition=Q(way__gte=1, way__lte=999), name="circuit_way"),
            models.CheckConstraint(condition=Q(phase__in=choices.Phase.values), name="circuit_phase"),
            models.CheckConstraint(condition=Q(rating_a__isnull=True) | Q(rating_a__gt=0), name="circuit_rating"),
            models.CheckConstraint(condition=Q(rcd_ma__isnull=True) | Q(rcd_ma__gt=0), name="circuit_rcd"),
        ]
        triggers = hold_supply("circuit", "phase", "board_id", "site_id", insert=True)

    def __str__(self) -> str:
        return self.designation or self.label_found or f"way {self.way_name}"

    @property
    def way_name(self) -> str:
        """The way as it is written at the board: 5, 5L1, or 5 three-phase."""
        return f"{self.way}" if self.phase == choices.Phase.THREE else f"{self.way}{self.phase}"

    @property
    def device(self) -> str:
        """The protective device in short: B32, BS 3036 30 A."""
        rating = f"{self.rating_a.normalize():f}" if self.rating_a is not None else ""
        if self.device_standard in {"BS EN 60898", "BS EN 61009", ""} and self.device_type:
            return f"{self.device_type}{rating}"
        return " ".join(filter(None, [self.device_standard, self.device_type, rating and f"{rating} A"]))


class Feed(models.Model):
    """Where a board is fed from: one circuit or one supply; normal or alternative; verified or only believed."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="feeds")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, related_name="feeds")
    from_circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="feeds", null=True, blank=True)
    from_supply = models.ForeignKey(Supply, on_delete=models.PROTECT, related_name="feeds", null=True, blank=True)
    kind = models.TextField(choices=choices.FeedKind, default=choices.FeedKind.NORMAL)
    verified = models.BooleanField(default=False)
    verified_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    verified_on = models.DateField(null=True)
    verified_how = models.TextField(choices=choices.HowVerified, default="", blank=True)
    changeover = models.TextField(default="", blank=True, help_text="How an alternative feed takes over, and where.")
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(from_circuit__isnull=False, from_supply__isnull=True)
                | Q(from_circuit__isnull=True, from_supply__isnull=False),
                name="feed_from_one_thing",
            ),
            models.UniqueConstraint(
                fields=["board"], condition=Q(kind="normal", verified=True), name="feed_one_verified_normal"
            ),
            models.UniqueConstraint(
                fields=["board", "from_circuit", "from_supply"], nulls_distinct=False, name="feed_once"
            ),
            models.CheckConstraint(
                condition=Q(verified=False) | Q(verified_on__isnull=False), name="feed_verified_when"
            ),
        ]
        triggers = hold_supply("feed", "board_id", "from_circuit_id", "from_supply_id", "site_id", insert=True)


class CircuitLink(models.Model):
    """Two circuits, often of two boards, that share a neutral or feed the same thing."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="circuit_links")
    one = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="links_from")
    other = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="links_to")
    kind = models.TextField(choices=choices.LinkKind)
    noted_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    noted_on = models.DateField()

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["one", "other", "kind"], name="circuit_link_once"),
            models.CheckConstraint(condition=Q(one__lt=F("other")), name="circuit_link_in_one_order"),
            models.CheckConstraint(condition=Q(kind__in=choices.LinkKind.values), name="circuit_link_kind"),
        ]


class SecondSource(Named):
    """A source besides the network: where it comes in, where it is isolated, how long to wait after."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="second_sources")
    name = models.TextField()
    kind = models.TextField(choices=choices.SourceKind)
    board = models.ForeignKey(Board, on_delete=models.PROTECT, related_name="second_sources")
    circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="second_sources", null=True, blank=True)
    rating_kw = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    phases = ArrayField(models.TextField(), default=list)
    isolate_supply_side = models.TextField(default="", blank=True)
    isolate_source_side = models.TextField(default="", blank=True)
    wait_minutes = models.IntegerField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True)
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=choices.SourceKind.values), name="second_source_kind"),
            models.CheckConstraint(
                condition=Q(phases__contained_by=list(choices.LINES)) & ~Q(phases=[]), name="second_source_phases"
            ),
            models.CheckConstraint(
                condition=Q(wait_minutes__isnull=True) | Q(wait_minutes__gte=0), name="second_source_wait"
            ),
        ]
