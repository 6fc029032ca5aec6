"""The firm itself, its policy, its number sequences, and how far long work has come."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from jobsite.ids import new_id


class SecondStep(models.TextChoices):
    """Of whom the firm asks a second step when they sign in."""

    NOBODY = "nobody", "nobody: everybody may set one up, nobody must"
    MANAGERS = "managers", "managers"
    DESK = "desk", "managers and the office"
    EVERYBODY = "everybody", "everybody"


class Firm(models.Model):
    """The one firm that this database serves."""

    id = models.UUIDField(primary_key=True, default=new_id)
    only = models.BooleanField(default=True, unique=True)
    name = models.TextField(default="Your firm")
    address = models.TextField(default="", blank=True)
    phone = models.TextField(default="", blank=True)
    email = models.TextField(default="", blank=True)
    nation = models.TextField(
        default="england", help_text="Whose bank holidays it keeps: a value of premises.choices.Nation."
    )
    surnames = models.BooleanField(default=False, help_text="Whether customers read the surnames of the firm's people.")
    second_step_for = models.TextField(
        default=SecondStep.MANAGERS,
        db_default=SecondStep.MANAGERS,
        choices=SecondStep,
        help_text="Who must use a second step to sign in.",
    )
    version = models.IntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(only=True), name="firm_is_one"),
            models.CheckConstraint(
                condition=Q(second_step_for__in=["nobody", "managers", "desk", "everybody"]),
                name="firm_second_step_for",
            ),
            models.CheckConstraint(
                condition=Q(nation__in=["england", "wales", "scotland", "northern-ireland"]), name="firm_nation"
            ),
        ]


class Policy(models.Model):
    """What the firm has decided for itself, from a day on: limits in days, counted starting with the day of record."""

    id = models.UUIDField(primary_key=True, default=new_id)
    holds_from = models.DateField(unique=True)
    c1_days = models.IntegerField(default=7)
    c2_days = models.IntegerField(default=28)
    fi_days = models.IntegerField(default=28)
    decide_days = models.IntegerField(default=3, help_text="Days to decide what an observation needs.")
    step_days = models.IntegerField(default=5, help_text="Days for the office's next step on a remedial.")
    look_again_days = models.IntegerField(default=7)
    inspection_notice_days = models.IntegerField(default=90)
    loop_factor = models.DecimalField(max_digits=3, decimal_places=2, default=Decimal("0.80"))
    loop_rounding = models.TextField(
        default="exact", help_text="How that is rounded: a value of standards.limits.Rounding."
    )
    meter_tolerance_percent = models.DecimalField(
        max_digits=4, decimal_places=2, default=Decimal(5), help_text="Within it two meters agree."
    )
    reason = models.TextField(blank=True, default="")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(c1_days__gte=1, c2_days__gte=1, fi_days__gte=1, decide_days__gte=1, step_days__gte=1),
                name="policy_days_positive",
            ),
            models.CheckConstraint(condition=Q(loop_factor__gt=0, loop_factor__lte=1), name="policy_loop_factor"),
            models.CheckConstraint(
                condition=Q(loop_rounding__in=["exact", "tabulated", "down", "nearest"]), name="policy_loop_rounding"
            ),
            models.CheckConstraint(
                condition=Q(meter_tolerance_percent__gte=Decimal("0.1"), meter_tolerance_percent__lte=25),
                name="policy_meter_tolerance",
            ),
        ]


class Sequence(models.Model):
    """The last number given out under a name; numbers are never reused."""

    name = models.TextField(primary_key=True)
    last = models.BigIntegerField(default=0)


class Progress(models.Model):
    """How far a piece of long work has come, for the page that waits for it."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        RUNNING = "running", "running"
        DONE = "done", "done"
        FAILED = "failed", "failed"

    id = models.UUIDField(primary_key=True, default=new_id)
    what = models.TextField()
    state = models.TextField(choices=State, default=State.WAITING)
    done = models.BigIntegerField(default=0)
    total = models.BigIntegerField(default=0)
    sentence = models.TextField(default="", blank=True)
    changed_at = models.DateTimeField()


FIRST_START = "first start"


class Heartbeat(models.Model):
    """When a part of the clockwork last ran to its end; under FIRST_START, when the program was first started here."""

    name = models.TextField(primary_key=True)
    at = models.DateTimeField()
