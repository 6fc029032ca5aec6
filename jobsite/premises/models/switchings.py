"""Switching tests: one device was switched off, and which boards were seen dead or alive then."""

from django.db import models
from django.db.models import F, Q

from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.premises import choices
from jobsite.premises.models.boards import Board, Circuit, Supply
from jobsite.premises.models.ground import OfSite
from jobsite.premises.models.sites import Site


class SwitchingTest(models.Model):
    """A circuit's device or a supply's isolator was switched off alone. Never changed but once: when it is withdrawn."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="switching_tests")
    off_circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="+", null=True, blank=True)
    off_supply = models.ForeignKey(Supply, on_delete=models.PROTECT, related_name="+", null=True, blank=True)
    others_off = models.BooleanField(
        default=False, help_text="Second sources and other feeds were off as well, changeovers on the normal feed."
    )
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    noted_at = models.DateTimeField()
    together_with = models.TextField(default="", blank=True)
    note = models.TextField(default="", blank=True)
    withdrawn_at = models.DateTimeField(null=True)
    withdrawn_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    withdrawn_why = models.TextField(default="", blank=True)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(off_circuit__isnull=False, off_supply__isnull=True)
                | Q(off_circuit__isnull=True, off_supply__isnull=False),
                name="switching_of_one_device",
            ),
            models.CheckConstraint(condition=Q(at__lte=F("noted_at")), name="switching_noted_afterwards"),
            models.CheckConstraint(
                condition=Q(withdrawn_at__isnull=True, withdrawn_by__isnull=True, withdrawn_why="")
                | (Q(withdrawn_at__isnull=False, withdrawn_by__isnull=False) & ~Q(withdrawn_why="")),
                name="switching_withdrawn_with_a_reason",
            ),
        ]
        indexes = [models.Index(fields=["site", "-at"], name="switching_of_site")]

    @property
    def off(self) -> Circuit | Supply:
        """What was switched off; the database holds that it is one of the two."""
        return self.off_supply if self.off_circuit is None else self.off_circuit  # type: ignore[return-value]


class BoardSeen(models.Model):
    """That a board was seen dead, or alive, in a test. A board without such a row was not looked at."""

    id = models.UUIDField(primary_key=True, default=new_id)
    test = models.ForeignKey(SwitchingTest, on_delete=models.PROTECT, related_name="seen")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, related_name="+")
    state = models.TextField(choices=choices.SeenState)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["test", "board"], name="board_seen_once_a_test"),
            models.CheckConstraint(condition=Q(state__in=choices.SeenState.values), name="board_seen_state"),
        ]
