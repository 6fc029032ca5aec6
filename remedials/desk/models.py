"""What the desk keeps of its own: what was taken out of here."""

from typing import TYPE_CHECKING, Self

from django.db import models
from django.db.models import Q, QuerySet

from jobsite.firm.models import Progress
from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.people.rights import Right

if TYPE_CHECKING:
    from django.contrib.auth.models import AnonymousUser


class TakeOuts(QuerySet["TakeOut"]):
    """What was taken out, for whoever may see all of the firm."""

    def visible_to(self, user: "User | AnonymousUser") -> Self:
        """All of it for a manager of the firm, nothing for anybody else."""
        own = isinstance(user, User) and not user.subcontractor and user.may(Right.KEEP_FIRM)
        return self if own else self.none()


class TakeOut(models.Model):
    """That a manager had everything taken out that the firm owns. Its file lies in the storage for some days, then goes.

    No `Document` and no `StoredFile`: those are themselves taken out, and each such file would hold all before it.
    """

    class Kind(models.TextChoices):
        WORKBOOKS = "workbooks", "workbooks for people"
        ARCHIVE = "archive", "archive for programs"

    id = models.UUIDField(primary_key=True, default=new_id)
    kind = models.TextField(choices=Kind)
    progress = models.ForeignKey(Progress, on_delete=models.PROTECT, related_name="+")
    asked_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    made_at = models.DateTimeField(null=True)
    size = models.BigIntegerField(default=0, help_text="Bytes.")
    rows = models.BigIntegerField(default=0)
    fingerprint = models.TextField(
        default="", blank=True, help_text="SHA-256 of an archive's manifest.json, or of the ZIP of workbooks."
    )
    gone_at = models.DateTimeField(null=True, help_text="When its file was removed.")

    objects = TakeOuts.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(made_at__isnull=True, fingerprint="", gone_at__isnull=True)
                | Q(made_at__isnull=False) & ~Q(fingerprint=""),
                name="take_out_made_or_not",
            )
        ]
        indexes = [models.Index(fields=["-asked_at"], name="take_out_by_age")]
