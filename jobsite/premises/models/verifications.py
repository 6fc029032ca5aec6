"""What somebody verified at a board, with what was recorded before, so that a slip of the thumb can be taken back."""

from django.db import models
from django.db.models import Q

from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.premises import choices
from jobsite.premises.models.boards import Board, Circuit
from jobsite.premises.models.ground import OfSite
from jobsite.premises.models.sites import Site


class Verification(models.Model):
    """That a board or a circuit is what `designation` says: who says so, when, how they know, what stood there before.

    Never changed but once: when it is taken back. The row that it is about holds the last one that stands.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="verifications")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, null=True, related_name="verifications")
    circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, null=True, related_name="verifications")
    designation = models.TextField()
    how = models.TextField(choices=choices.HowVerified)
    by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()
    done_at = models.DateTimeField(
        null=True, help_text="When it was seen at the board, where it reached the record later."
    )
    designation_before = models.TextField(default="", blank=True)
    how_before = models.TextField(choices=choices.HowVerified, default="", blank=True)
    by_before = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    on_before = models.DateField(null=True)
    taken_back_at = models.DateTimeField(null=True)
    taken_back_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(board__isnull=False, circuit__isnull=True) | Q(board__isnull=True, circuit__isnull=False),
                name="verification_of_one_thing",
            ),
            models.CheckConstraint(condition=~Q(designation=""), name="verification_says_what"),
            models.CheckConstraint(condition=Q(how__in=choices.HowVerified.values), name="verification_how"),
        ]
        indexes = [
            models.Index(fields=["circuit", "-at"], name="verification_of_circuit"),
            models.Index(fields=["board", "-at"], name="verification_of_board"),
        ]

    def __str__(self) -> str:
        return self.designation

    @property
    def about(self) -> Board | Circuit:
        """What was verified; the database holds that it is one of the two."""
        return self.board if self.circuit is None else self.circuit  # type: ignore[return-value]
