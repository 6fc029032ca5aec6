"""Visits: who goes where and when, to do what."""

from typing import Self

from django.contrib.auth.models import AnonymousUser
from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import ArrayField, DateTimeRangeField, RangeOperators
from django.db import models
from django.db.models import Exists, F, Func, OuterRef, Q, Value

from inspections.models import Observation
from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.premises.models import OfSite, Site, Unit
from remedials.visits.choices import Answered, AskedHow, LineKind
from remedials.works.models import Remedial

# From start up to, not including, end: one visit may begin where the other ends.
SPAN = Func(F("start"), F("end"), Value("[)"), function="TSTZRANGE", output_field=DateTimeRangeField())


class Visits(OfSite):
    """Visits are seen by whoever sees their site, but by a subcontractor only where they go themselves."""

    def visible_to(self, user: "User | AnonymousUser") -> Self:
        seen = super().visible_to(user)
        if not (isinstance(user, User) and user.subcontractor):
            return seen
        own = Attendance.objects.filter(visit=OuterRef("pk"), engineer=user)
        return seen.filter(Exists(own.filter(cancelled=False)) | Q(state="cancelled") & Exists(own))


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
    outage_with = models.TextField(default="", blank=True, help_text="With whom the outage is agreed.")
    outage_start = models.DateTimeField(null=True, blank=True)
    outage_end = models.DateTimeField(null=True, blank=True)
    permits = models.TextField(default="", blank=True)
    locks = models.TextField(default="", blank=True, help_text="Locks of other firms that stand there.")
    emergency = models.BooleanField(default=False)
    despite = models.TextField(default="", blank=True, help_text="Why it was booked in spite of what was warned of.")
    answered = models.TextField(choices=Answered, default=Answered.NOT_ASKED, help_text="To the present time.")
    confirm_by = models.DateField(null=True, blank=True, help_text="Empty: nobody need confirm it.")
    remedials = models.ManyToManyField(Remedial, through="VisitLine", related_name="visits")
    booked_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    booked_at = models.DateTimeField()
    cancelled_reason = models.TextField(default="", blank=True)
    version = models.IntegerField(default=1)

    objects = Visits.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(end__gt=F("start")), name="visit_ends_after_start"),
            models.CheckConstraint(condition=Q(state__in=["booked", "cancelled"]), name="visit_state"),
            models.CheckConstraint(
                condition=~Q(state="cancelled") | ~Q(cancelled_reason=""), name="visit_cancelled_why"
            ),
            models.CheckConstraint(condition=Q(answered__in=Answered.values), name="visit_answered"),
            models.CheckConstraint(
                condition=Q(outage_start__isnull=True, outage_end__isnull=True) | Q(outage_end__gt=F("outage_start")),
                name="visit_outage_ends_after_start",
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
    """One thing to be done at a visit: a remedial, an inspection of a unit, a look at what was made safe, a call-out.

    `active` is false once the visit was cancelled or the thing taken off it. Whether a remedial was done is its own
    matter; of the others `settled_at` says that it was done here.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="lines")
    kind = models.TextField(choices=LineKind, default=LineKind.REMEDIAL)
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, null=True, related_name="lines")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, null=True, related_name="visit_lines")
    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, null=True, related_name="visit_lines")
    active = models.BooleanField(default=True)
    settled_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "remedial"], name="visit_line_once"),
            models.UniqueConstraint(fields=["remedial"], condition=Q(active=True), name="remedial_one_active_visit"),
            models.CheckConstraint(
                condition=Q(kind="remedial", remedial__isnull=False, unit__isnull=True, observation__isnull=True)
                | Q(kind="inspection", remedial__isnull=True, unit__isnull=False, observation__isnull=True)
                | Q(
                    kind__in=["look-again", "call-out"],
                    remedial__isnull=True,
                    unit__isnull=True,
                    observation__isnull=False,
                ),
                name="visit_line_one_thing",
            ),
            models.UniqueConstraint(
                fields=["unit"], condition=Q(active=True, settled_at__isnull=True), name="inspection_one_visit_to_come"
            ),
            models.UniqueConstraint(
                fields=["observation", "kind"],
                condition=Q(active=True, settled_at__isnull=True),
                name="look_one_visit_to_come",
            ),
        ]


class VisitMove(models.Model):
    """That a visit was moved: from when and whom to when and whom, and why."""

    id = models.UUIDField(primary_key=True, default=new_id)
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="moves")
    from_start = models.DateTimeField()
    from_end = models.DateTimeField()
    to_start = models.DateTimeField()
    to_end = models.DateTimeField()
    from_engineers = ArrayField(models.UUIDField())
    to_engineers = ArrayField(models.UUIDField())
    reason = models.TextField(default="", blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class Confirmation(models.Model):
    """That somebody was asked whether the time of a visit suits, or answered it."""

    id = models.UUIDField(primary_key=True, default=new_id)
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="confirmations")
    answered = models.TextField(choices=Answered)
    how = models.TextField(choices=AskedHow)
    whom = models.TextField(help_text="Who was asked, or answered.")
    words = models.TextField(default="", blank=True)
    start = models.DateTimeField(help_text="Of the time that it is about: a later move asks anew.")
    recorded_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, related_name="+", help_text="Empty: they answered on their link."
    )
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(answered__in=["asked", "confirmed", "cannot"]) & ~Q(whom=""), name="confirmation_complete"
            )
        ]
