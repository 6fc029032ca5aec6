"""Visits: who goes where and when, to do what."""

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeOperators
from django.db import models
from django.db.models import F, Func, Q, Value

from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.premises.models import OfSite, Site
from remedials.works.models import Remedial

# From start up to, not including, end: one visit may begin where the other ends.
SPAN = Func(F("start"), F("end"), Value("[)"), function="TSTZRANGE", output_field=DateTimeRangeField())


class Visit(models.Model):
    """A time at a site. Closing a remedial never updates it: what a visit achieved is derived."""

    class State(models.TextChoices):
        BOOKED = "booked", "booked"
        CANCELLED = "cancelled", "cancelled"

    id = models.UUIDField(primary_key=True, default=new_id)
    number = models.BigIntegerField(unique=True)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="visits")
    start = models.DateTimeField()
    end = models.DateTimeField()
    state = models.TextField(choices=State, default=State.BOOKED)
    access = models.TextField(default="", blank=True)
    outage = models.TextField(default="", blank=True, help_text="What goes off, agreed with whom and for when.")
    remedials = models.ManyToManyField(Remedial, through="VisitLine", related_name="visits")
    booked_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    booked_at = models.DateTimeField()
    cancelled_reason = models.TextField(default="", blank=True)
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(end__gt=F("start")), name="visit_ends_after_start"),
            models.CheckConstraint(condition=Q(state__in=["booked", "cancelled"]), name="visit_state"),
            models.CheckConstraint(
                condition=~Q(state="cancelled") | ~Q(cancelled_reason=""), name="visit_cancelled_why"
            ),
        ]
        indexes = [models.Index(fields=["start"], name="visit_by_start")]


class Attendance(models.Model):
    """That an engineer is at a visit for its span: nobody is in two places at once."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="attendances")
    engineer = models.ForeignKey(User, on_delete=models.PROTECT, related_name="attendances")
    start = models.DateTimeField()
    end = models.DateTimeField()
    cancelled = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "engineer"], name="attendance_once"),
            models.CheckConstraint(condition=Q(end__gt=F("start")), name="attendance_ends_after_start"),
            ExclusionConstraint(
                name="one_place_at_a_time",
                condition=Q(cancelled=False),
                expressions=[
                    ("engineer", RangeOperators.EQUAL),
                    (SPAN, RangeOperators.OVERLAPS),
                ],
            ),
        ]


class VisitLine(models.Model):
    """A remedial to be done at a visit. `active` is false once the visit was cancelled or the remedial taken off it."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="lines")
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="lines")
    active = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "remedial"], name="visit_line_once"),
            models.UniqueConstraint(fields=["remedial"], condition=Q(active=True), name="remedial_one_active_visit"),
        ]
