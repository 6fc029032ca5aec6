"""What the firm has decided for its diary, from a day on."""

from datetime import time
from decimal import Decimal

from django.db import models
from django.db.models import F, Q

from jobsite.ids import new_id
from jobsite.people.models import User


class DiaryTerms(models.Model):
    """How strictly bookings are looked at, the firm's usual hours, and how driving is reckoned.

    `severities` holds a value of `rules.checks.Severity` by the value of a `rules.checks.Check`; one that is missing
    has the default that `rules.checks` gives. All figures are common practice or from memory, for the firm to set.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    holds_from = models.DateField(unique=True)
    severities = models.JSONField(default=dict, blank=True)
    day_start = models.TimeField(default=time(8, 0), help_text="Of who has no working week of their own.")
    day_end = models.TimeField(default=time(16, 30))
    winding_factor = models.DecimalField(
        max_digits=4, decimal_places=2, default=Decimal("1.30"), help_text="Road over great-circle distance."
    )
    speed_kmh = models.IntegerField(default=40, help_text="Mean driving speed in kilometres an hour.")
    matrix_address = models.TextField(default="", blank=True, help_text="A routing server's table service, or none.")
    visit_minutes_least = models.IntegerField(default=30, help_text="No visit is planned shorter than this.")
    confirm_days = models.IntegerField(default=3, help_text="A visit should be confirmed so many days before it.")
    letter_days = models.IntegerField(default=14, help_text="Between one letter about access and the next.")
    code_hours = models.IntegerField(default=2, help_text="An alarm code is shown so long before and after the visit.")
    check_out_minutes = models.IntegerField(default=30, help_text="Grace before the alarm of who works alone.")
    reason = models.TextField(default="", blank=True)
    set_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    version = models.IntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(day_end__gt=F("day_start")), name="diary_day_ends_after_start"),
            models.CheckConstraint(
                condition=Q(winding_factor__gte=1, winding_factor__lte=3, speed_kmh__gte=5, speed_kmh__lte=120),
                name="diary_driving",
            ),
            models.CheckConstraint(
                condition=Q(
                    visit_minutes_least__gte=5,
                    confirm_days__gte=0,
                    letter_days__gte=1,
                    code_hours__gte=0,
                    check_out_minutes__gte=0,
                ),
                name="diary_figures",
            ),
        ]
