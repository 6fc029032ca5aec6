"""Inspections, what they did not cover, and when the next one is due."""

from typing import Self

from django.db import models
from django.db.models import F, Q, QuerySet

from inspections.choices import InspectionKind, InspectionState, Outcome
from jobsite.ids import new_id
from jobsite.ledger.models import StoredFile
from jobsite.people.models import User
from jobsite.premises.models import Board, OfSite, Site, Unit


class Inspection(models.Model):
    """One inspection or another firm's report of one. Issued ones are frozen; a correction is a reissue."""

    id = models.UUIDField(primary_key=True, default=new_id)
    number = models.BigIntegerField(unique=True)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="inspections")
    units = models.ManyToManyField(Unit, related_name="inspections")
    boards = models.ManyToManyField(Board, related_name="inspections", blank=True)
    kind = models.TextField(choices=InspectionKind, default=InspectionKind.PERIODIC)
    other_firm = models.BooleanField(default=False)
    inspected_on = models.DateField()
    edition = models.TextField(
        help_text="Edition and amendment of the standard: a value of standards.editions.Edition."
    )
    inspector_name = models.TextField(default="", blank=True)
    firm_name = models.TextField(default="", blank=True)
    qualified_person_name = models.TextField(default="", blank=True)
    inspector = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    reference = models.TextField(default="", blank=True)
    extent = models.TextField(default="", blank=True)
    next_due_on = models.DateField(null=True, blank=True, help_text="The date for the next inspection it recommends.")
    remedy_limit_days = models.IntegerField(null=True, blank=True, help_text="A limit written in the report itself.")
    outcome_written = models.TextField(choices=Outcome, default="", blank=True)
    state = models.TextField(choices=InspectionState, default=InspectionState.DRAFT)
    issued_at = models.DateTimeField(null=True)
    issued_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    outcome = models.TextField(
        choices=Outcome, default="", blank=True, help_text="By the rule of its edition, at issue."
    )
    outcome_basis = models.TextField(default="", blank=True)
    codes_by = models.DateField(null=True, help_text="Until when a qualified person decides another firm's codes.")
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="replaced_by")
    reissue_reason = models.TextField(default="", blank=True, help_text="What was wrong in the report it replaces.")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, related_name="+")
    file_name = models.TextField(default="", blank=True)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=InspectionKind.values), name="inspection_kind"),
            models.CheckConstraint(condition=Q(state__in=InspectionState.values), name="inspection_state"),
            models.CheckConstraint(
                condition=Q(state="draft") | Q(issued_at__isnull=False, outcome__in=["satisfactory", "unsatisfactory"]),
                name="inspection_issued_has_outcome",
            ),
            models.CheckConstraint(
                condition=Q(next_due_on__isnull=True) | Q(next_due_on__gt=F("inspected_on")),
                name="inspection_next_is_later",
            ),
            models.CheckConstraint(
                condition=Q(replaces__isnull=True) | ~Q(reissue_reason=""), name="inspection_reissue_says_why"
            ),
        ]
        indexes = [models.Index(fields=["site", "-inspected_on"], name="inspection_of_site")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.number}"


class LimitationQuerySet(QuerySet["Limitation"]):
    def standing(self) -> Self:
        """Those that nobody has covered yet, of reports in force."""
        return self.filter(covered_by__isnull=True, inspection__state=InspectionState.ISSUED)


class Limitation(models.Model):
    """What an inspection did not cover, why, and with whom that was agreed; it stands until somebody covers it."""

    id = models.UUIDField(primary_key=True, default=new_id)
    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="limitations")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, null=True, blank=True, related_name="limitations")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, null=True, blank=True, related_name="limitations")
    what = models.TextField()
    why = models.TextField(default="", blank=True)
    agreed_with = models.TextField(default="", blank=True)
    covered_by = models.ForeignKey(Inspection, on_delete=models.PROTECT, null=True, related_name="covers")

    objects = LimitationQuerySet.as_manager()

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(what=""), name="limitation_says_what")]


class InspectionDue(models.Model):
    """When the next inspection of a unit is due, with the rule that says so; written when its reasons change."""

    unit = models.OneToOneField(Unit, on_delete=models.CASCADE, primary_key=True, related_name="inspection_due")
    due_on = models.DateField()
    basis = models.TextField()
    by_law = models.BooleanField(default=False)
    shows_from = models.DateField(help_text="From this day it stands in the due list.")
    noticed_on = models.DateField(null=True, help_text="When it was noticed that no report is on record.")
    after = models.ForeignKey(Inspection, on_delete=models.SET_NULL, null=True, related_name="+")
    owner = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["due_on"], name="inspection_due_on")]
