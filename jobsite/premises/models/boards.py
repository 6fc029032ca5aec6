"""Where power comes in and how it is shared out: supplies, boards, circuits."""

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.premises import choices
from jobsite.premises.models.ground import Named, OfSite, hold_supply
from jobsite.premises.models.sites import Site, Unit


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
    isolator = models.TextField(default="", blank=True, help_text="The customer's own, before the boards, in words.")
    isolator_kind = models.TextField(choices=choices.SwitchKind, default="", blank=True)
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
            models.CheckConstraint(condition=Q(isolator_kind__in=choices.SwitchKind.values), name="supply_isolator"),
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
    label_noted_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    label_noted_on = models.DateField(null=True)
    designation_verified = models.BooleanField(default=False)
    place = models.TextField(default="", blank=True)
    phases = ArrayField(models.TextField(), default=list)
    main_switch = models.TextField(default="", blank=True)
    main_switch_kind = models.TextField(choices=choices.SwitchKind, default="", blank=True)
    own_earthing = models.TextField(choices=choices.Earthing, default="", blank=True)
    zdb_ohm = models.DecimalField(max_digits=7, decimal_places=3, null=True, blank=True)
    fault_current_ka = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    units = models.ManyToManyField(Unit, related_name="boards", blank=True)
    notes = models.TextField(default="", blank=True)
    verified_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    verified_on = models.DateField(null=True)
    verified_how = models.TextField(choices=choices.HowVerified, default="", blank=True)
    replaced_by = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="replaces")
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
                condition=Q(main_switch_kind__in=choices.SwitchKind.values), name="board_main_switch"
            ),
            models.CheckConstraint(
                condition=Q(designation_verified=False) | Q(verified_on__isnull=False), name="board_verified_when"
            ),
        ]
        indexes = [models.Index(fields=["site", "sort"], name="board_list")]
        triggers = hold_supply("board", "phases", "site_id")

    def __str__(self) -> str:
        return self.designation

    @property
    def proven(self) -> bool:
        """Whether somebody saw that it is what its designation says: what somebody was told is believed only."""
        return self.designation_verified and self.verified_how != choices.HowVerified.TOLD


class Circuit(models.Model):
    """A way of a board and the circuit on it."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="circuits")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, related_name="circuits")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="circuits", null=True, blank=True)
    way = models.IntegerField()
    phase = models.TextField(choices=choices.Phase, default=choices.Phase.L1)
    label_found = models.TextField(default="", blank=True)
    label_noted_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    label_noted_on = models.DateField(null=True)
    designation = models.TextField(default="", blank=True)
    verified_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    verified_on = models.DateField(null=True)
    verified_how = models.TextField(choices=choices.HowVerified, default="", blank=True)
    device_standard = models.TextField(choices=choices.DeviceStandard, default="", blank=True)
    device_type = models.TextField(default="", blank=True)
    rating_a = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)
    poles = models.IntegerField(null=True, blank=True)
    breaking_capacity_ka = models.DecimalField(max_digits=5, decimal_places=1, null=True, blank=True)
    rcd_kind = models.TextField(choices=choices.RcdKind, default="", blank=True)
    rcd_ma = models.IntegerField(null=True, blank=True)
    rcd_shared = models.BooleanField(default=False)
    arrangement = models.TextField(choices=choices.Arrangement, default="", blank=True)
    line_mm2 = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    cpc_mm2 = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    length_m = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)
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
            models.CheckConstraint(
                condition=Q(breaking_capacity_ka__isnull=True) | Q(breaking_capacity_ka__gt=0), name="circuit_breaks"
            ),
            models.CheckConstraint(condition=Q(length_m__isnull=True) | Q(length_m__gt=0), name="circuit_length"),
            models.CheckConstraint(
                condition=~Q(rcd_kind=choices.RcdKind.VOLTAGE) | Q(rcd_ma__isnull=True), name="circuit_no_rcd"
            ),
        ]
        triggers = hold_supply("circuit", "phase", "board_id", "site_id", insert=True)

    def __str__(self) -> str:
        return self.designation or self.label_found or f"way {self.way_name}"

    @property
    def verified(self) -> bool:
        """Whether somebody said what its designation rests on, be it only what they were told."""
        return bool(self.designation and self.verified_how)

    @property
    def proven(self) -> bool:
        """Whether somebody saw that it is what its designation says: what somebody was told is believed only."""
        return self.verified and self.verified_how != choices.HowVerified.TOLD

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
