"""What the law asks for in writing when somebody moves in, and whether it was done."""

from typing import Self

from django.db import models
from django.db.models import Q

from inspections.choices import PaperAnswer
from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.premises.models import OfSite, Party, Site, Unit


class OccupancyChange(models.Model):
    """That somebody moves into a unit: from which day, on a tenancy granted when. The law's questions hang on it."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="occupancy_changes")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="occupancy_changes")
    since = models.DateField()
    tenancy_granted_on = models.DateField(null=True, blank=True)
    occupier = models.ForeignKey(Party, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    objects = OfSite.as_manager()

    class Meta:
        indexes = [models.Index(fields=["unit", "-since"], name="occupancy_of_unit")]

    def __str__(self) -> str:
        return f"change of occupancy on {self.since}"


class PaperQuerySet(OfSite):
    def open(self) -> Self:
        """Those that nobody has answered yet."""
        return self.filter(answer="")


class Paper(models.Model):
    """One thing that the law asks for, from whom, for whom, by when. The duty is the landlord's; the firm keeps the clock.

    `duty` is the key of the published rule; `what`, `to`, `owed_by` and `basis` are its words on the day it was asked.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="papers")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="papers")
    change = models.ForeignKey(OccupancyChange, on_delete=models.PROTECT, null=True, related_name="papers")
    duty = models.TextField()
    what = models.TextField()
    to = models.TextField(default="", blank=True)
    owed_by = models.TextField(default="", blank=True)
    basis = models.TextField()
    due_on = models.DateField()
    owner = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    answer = models.TextField(choices=PaperAnswer, default="", blank=True)
    answered_on = models.DateField(null=True, blank=True)
    how = models.TextField(default="", blank=True)
    answered_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    version = models.IntegerField(default=1)

    objects = PaperQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["change", "duty"], name="paper_once_a_change"),
            models.CheckConstraint(condition=Q(answer__in=["", *PaperAnswer.values]), name="paper_answer"),
            models.CheckConstraint(
                condition=Q(answer="", answered_on__isnull=True) | (~Q(answer="") & Q(answered_on__isnull=False)),
                name="paper_answered_when",
            ),
            models.CheckConstraint(condition=Q(answer="") | ~Q(how=""), name="paper_says_how"),
        ]
        indexes = [models.Index(fields=["due_on"], condition=Q(answer=""), name="paper_due")]

    def __str__(self) -> str:
        return self.what
