"""How boards and circuits hang together: feeds, circuits that share something, sources besides the network."""

from typing import Self

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.premises import choices
from jobsite.premises.models.boards import Board, Circuit, Supply
from jobsite.premises.models.ground import Named, OfSite, hold_supply
from jobsite.premises.models.sites import Site


class FeedsOfSite(OfSite):
    """Feeds of a site."""

    def proven(self) -> Self:
        """Those that somebody saw to be true: what somebody was told is believed only."""
        return self.filter(verified=True).exclude(verified_how=choices.HowVerified.TOLD)


class Feed(models.Model):
    """Where a board is fed from: one circuit or one supply; normal, possible or alternative; verified or only believed.

    A possible feed is one of several candidates: only one of them is true, so they alone may form a loop on paper.
    """

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

    objects = FeedsOfSite.as_manager()

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
            models.CheckConstraint(
                condition=Q(verified=False) | ~Q(kind=choices.FeedKind.POSSIBLE), name="feed_possible_not_verified"
            ),
        ]
        triggers = hold_supply("feed", "board_id", "from_circuit_id", "from_supply_id", "site_id", "kind", insert=True)

    @property
    def proven(self) -> bool:
        """Whether somebody saw that the board is fed from there: what somebody was told is believed only."""
        return self.verified and self.verified_how != choices.HowVerified.TOLD


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
