"""What is owed in writing, by the law or by the firm itself: what started its clock, who has it, what it was met with."""

from typing import Self

from django.db import models
from django.db.models import Q

from inspections.choices import AskedBy, PaperAnswer, SupplyCame, SupplyHow
from inspections.models.inspections import Inspection
from jobsite.ids import new_id
from jobsite.ledger.models import StoredFile
from jobsite.people.models import User
from jobsite.premises.models import OfSite, Party, Site, Unit
from jobsite.words import when


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


class PaperRequest(models.Model):
    """That somebody asked in writing for a copy of a report: who, on which day, how. What the law asks then hangs on it."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="paper_requests")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="paper_requests")
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="paper_requests")
    asked_by = models.TextField(choices=AskedBy)
    who = models.TextField()
    asked_on = models.DateField()
    how = models.TextField(default="", blank=True, help_text="By letter, by e-mail; their reference.")
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(asked_by__in=AskedBy.values) & ~Q(who=""), name="paper_request_says_who")
        ]
        indexes = [models.Index(fields=["inspection"], name="paper_request_of_report")]

    def __str__(self) -> str:
        return f"{self.who} asked on {self.asked_on}"


class PaperQuerySet(OfSite):
    def open(self) -> Self:
        """Those that nobody has answered yet."""
        return self.filter(answer="")

    def standing(self) -> Self:
        """Those that no later one has taken the place of."""
        return self.filter(superseded_at__isnull=True)


class Paper(models.Model):
    """One thing that the law asks for, from whom, for whom, by when. The duty is the landlord's; the firm keeps the clock.

    Those `owed_by` the firm are its own notifications. `duty` is the key of the published rule; `what`, `to`, `owed_by` and
    `basis` are its words on the day it was asked; `named` are the occupiers known then. `trigger` and `event_on` say what
    started its clock: somebody moving in (`change`), a report or the completion of its works (`inspection`), somebody who
    asked (`request`), work that is notifiable (`work`: its remedial, of a floor above; `about` in words).
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="papers")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="papers")
    change = models.ForeignKey(OccupancyChange, on_delete=models.PROTECT, null=True, related_name="papers")
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, null=True, related_name="papers")
    request = models.ForeignKey(PaperRequest, on_delete=models.PROTECT, null=True, related_name="papers")
    work = models.UUIDField(null=True)
    about = models.TextField(default="", blank=True)
    trigger = models.TextField(default="new-occupation", help_text="A value of standards.duty_rows.Trigger.")
    event_on = models.DateField(null=True)
    duty = models.TextField()
    what = models.TextField()
    to = models.TextField(default="", blank=True)
    named = models.TextField(default="", blank=True)
    owed_by = models.TextField(default="", blank=True)
    basis = models.TextField()
    due_on = models.DateField()
    owner = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    answer = models.TextField(choices=PaperAnswer, default="", blank=True)
    answered_on = models.DateField(null=True, blank=True)
    how = models.TextField(default="", blank=True)
    answered_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    superseded_at = models.DateTimeField(null=True, help_text="Settled once, and owed anew: another row has that.")
    superseded_why = models.TextField(default="", blank=True)
    version = models.IntegerField(default=1)

    objects = PaperQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["change", "duty"], name="paper_once_a_change"),
            models.UniqueConstraint(
                fields=["inspection", "request", "work", "unit", "duty"],
                condition=Q(change__isnull=True, superseded_at__isnull=True),
                nulls_distinct=False,
                name="paper_once",
            ),
            models.CheckConstraint(condition=Q(answer__in=["", *PaperAnswer.values]), name="paper_answer"),
            models.CheckConstraint(
                condition=Q(answer="", answered_on__isnull=True) | (~Q(answer="") & Q(answered_on__isnull=False)),
                name="paper_answered_when",
            ),
            models.CheckConstraint(condition=Q(answer="") | ~Q(how=""), name="paper_says_how"),
            models.CheckConstraint(
                condition=Q(superseded_at__isnull=True) | (~Q(answer="") & ~Q(superseded_why="")),
                name="paper_superseded_is_settled",
            ),
        ]
        indexes = [
            models.Index(fields=["due_on"], condition=Q(answer=""), name="paper_due"),
            models.Index(fields=["inspection"], name="paper_of_report"),
            models.Index(fields=["work"], condition=Q(work__isnull=False), name="paper_of_work"),
        ]

    def __str__(self) -> str:
        return self.what


class PaperDocument(models.Model):
    """A document that the program made for a paper, kept byte for byte."""

    id = models.UUIDField(primary_key=True, default=new_id)
    paper = models.ForeignKey(Paper, on_delete=models.PROTECT, related_name="documents")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="+")
    name = models.TextField()
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["paper", "file"], name="paper_document_once")]

    def __str__(self) -> str:
        return f"{self.name}, made {when(self.made_at)}"


class PaperSupply(models.Model):
    """That a paper was handed to somebody: to whom, on which day, how, which document; or that they would not take it.

    One that was only e-mailed names its message, whose outcome is shown; that it reached them is another row, by a person.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    paper = models.ForeignKey(Paper, on_delete=models.PROTECT, related_name="supplies")
    form = models.UUIDField(help_text="The form that recorded it: one for several people.")
    to = models.TextField()
    party = models.ForeignKey(Party, on_delete=models.PROTECT, null=True, related_name="+")
    came = models.TextField(choices=SupplyCame)
    how = models.TextField(choices=SupplyHow)
    on = models.DateField()
    note = models.TextField(default="", blank=True)
    document = models.ForeignKey(PaperDocument, on_delete=models.PROTECT, null=True, related_name="supplies")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, related_name="+")
    file_name = models.TextField(default="", blank=True)
    message = models.UUIDField(null=True)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    taken_back_at = models.DateTimeField(null=True)
    taken_back_why = models.TextField(default="", blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(to=""), name="paper_supply_says_to_whom"),
            models.CheckConstraint(
                condition=Q(came__in=SupplyCame.values, how__in=SupplyHow.values), name="paper_supply_known"
            ),
            models.CheckConstraint(
                condition=Q(taken_back_at__isnull=True) | ~Q(taken_back_why=""), name="paper_supply_back_says_why"
            ),
            models.UniqueConstraint(fields=["form", "to"], name="paper_supply_once"),
        ]
        indexes = [models.Index(fields=["paper"], name="paper_supply_of_paper")]
        ordering = ["on", "recorded_at", "pk"]

    def __str__(self) -> str:
        return f"{self.get_came_display()} to {self.to}"
