"""The planner's work: what it was asked, what it proposes, what it could not plan and why."""

from django.db import models
from django.db.models import F, Q

from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.premises.models import Site
from remedials.visits.choices import Effort, PlanState, ProposalState
from remedials.visits.models.visits import Visit
from remedials.works.models import Remedial


class Plan(models.Model):
    """One asking: the days from `first`, whom it may send, how hard it searches. Same `asked` and seed: same answer."""

    id = models.UUIDField(primary_key=True, default=new_id)
    number = models.BigIntegerField(unique=True)
    first = models.DateField()
    days = models.IntegerField(default=7)
    effort = models.TextField(choices=Effort, default=Effort.NORMAL)
    seed = models.IntegerField(default=1)
    state = models.TextField(choices=PlanState, default=PlanState.WAITING)
    progress = models.UUIDField(help_text="The firm's note of how far it has come.")
    asked = models.JSONField(default=dict, help_text="All that the search was given, so that it can be done again.")
    figures = models.JSONField(
        default=dict, help_text="Driving, work planned, how long it took, what the rule would do."
    )
    sentence = models.TextField(default="", blank=True, help_text="Why it failed, or that time cut it short.")
    after = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="+", help_text="Begun from it.")
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    ready_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(days__gte=1, days__lte=31), name="plan_days"),
            models.CheckConstraint(condition=Q(state__in=PlanState.values), name="plan_state"),
            models.CheckConstraint(condition=Q(effort__in=Effort.values), name="plan_effort"),
        ]


class Proposal(models.Model):
    """One visit that a plan proposes: people accept or refuse it; accepted, it is a booked visit."""

    id = models.UUIDField(primary_key=True, default=new_id)
    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="proposals")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="proposals")
    engineers = models.ManyToManyField(User, related_name="+")
    remedials = models.ManyToManyField(Remedial, related_name="proposals")
    start = models.DateTimeField()
    end = models.DateTimeField()
    drive_minutes = models.IntegerField(default=0, help_text="From where they are before it.")
    reason = models.TextField()
    state = models.TextField(choices=ProposalState, default=ProposalState.OPEN)
    said = models.TextField(default="", blank=True, help_text="Why it was refused, or is no longer possible.")
    decided_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    decided_at = models.DateTimeField(null=True)
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(end__gt=F("start")), name="proposal_ends_after_start"),
            models.CheckConstraint(condition=Q(state__in=ProposalState.values), name="proposal_state"),
            models.CheckConstraint(condition=~Q(state="accepted") | Q(visit__isnull=False), name="proposal_has_visit"),
        ]
        indexes = [models.Index(fields=["start"], condition=Q(state="open"), name="proposals_open")]


class Unplanned(models.Model):
    """Work that a plan could not place, and why."""

    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="unplanned")
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="+")
    why = models.TextField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["plan", "remedial"], name="unplanned_once")]


class DrivingTime(models.Model):
    """Minutes and kilometres from one postcode district to another, from a table that the firm loaded."""

    from_district = models.TextField()
    to_district = models.TextField()
    minutes = models.IntegerField()
    km = models.DecimalField(max_digits=6, decimal_places=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["from_district", "to_district"], name="driving_time_once"),
            models.CheckConstraint(condition=Q(minutes__gte=0, km__gte=0), name="driving_time_figures"),
        ]
