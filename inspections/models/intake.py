"""A spreadsheet on its way in: kept byte for byte, read by the worker, looked over, taken in or set aside."""

from django.db import models
from django.db.models import Q

from inspections.choices import IntakeKind, IntakeState
from inspections.models.inspections import Inspection
from jobsite.firm.models import Progress
from jobsite.ids import new_id
from jobsite.ledger.models import StoredFile
from jobsite.people.models import User
from jobsite.premises.models import OfSite, Site, Unit


class Intake(models.Model):
    """One uploaded file. `found` holds what the worker read: accepted and refused rows, notes.

    `left_out` maps the name of a row left out to the reason, `corrections` the name of a row to the cells that somebody
    here put right ({column: {head, was, now}}), `same` the name of a row to the earlier observation that it is, or "new"; `header` holds the report's particulars. `asked_by` has it taken in by
    the worker.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="intakes")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="+")
    kind = models.TextField(choices=IntakeKind)
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="+")
    file_name = models.TextField()
    header = models.JSONField(default=dict)
    state = models.TextField(choices=IntakeState, default=IntakeState.RECEIVED)
    progress = models.OneToOneField(Progress, on_delete=models.PROTECT, related_name="+")
    found = models.JSONField(default=dict)
    left_out = models.JSONField(default=dict)
    corrections = models.JSONField(default=dict)
    same = models.JSONField(default=dict)
    inspection = models.OneToOneField(Inspection, on_delete=models.PROTECT, null=True, related_name="intake")
    uploaded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    uploaded_at = models.DateTimeField()
    asked_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    taken_in_at = models.DateTimeField(null=True)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(state__in=IntakeState.values), name="intake_state"),
            models.CheckConstraint(
                condition=~Q(state="taking-in") | Q(asked_by__isnull=False), name="intake_taken_in_for_somebody"
            ),
            models.UniqueConstraint(
                fields=["site", "kind", "file"], condition=Q(state="taken-in"), name="intake_same_file_once"
            ),
        ]
