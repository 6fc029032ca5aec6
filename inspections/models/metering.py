"""Two meters read over the same interval, kept with the defect that is under investigation."""

from django.db import models
from django.db.models import F, Q

from inspections.choices import MetersFound, MeterUnit
from inspections.models.observations import Observation
from jobsite.ids import new_id
from jobsite.people.models import Instrument, User
from jobsite.premises.models import OfSite, Site


class MeterComparison(models.Model):
    """What two meters counted and what that points to, by the tolerance of its day. A wrong one is answered by another."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="meter_comparisons")
    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, related_name="meter_comparisons")
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField()
    three_phase = models.BooleanField()
    source_wh = models.DecimalField(max_digits=18, decimal_places=6, null=True, help_text="What a second source gave.")
    tolerance_percent = models.DecimalField(max_digits=4, decimal_places=2)
    found = models.TextField(choices=MetersFound)
    ratio = models.DecimalField(max_digits=24, decimal_places=6, null=True, help_text="In doubt over relied on.")
    points_to = models.JSONField(default=list, help_text="Keys of standards.metering.FAULTS, likeliest first.")
    sentence = models.TextField()
    note = models.TextField(default="", blank=True)
    answers = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="answered_by")
    taken_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(ended_at__gt=F("began_at")), name="meters_interval"),
            models.CheckConstraint(condition=Q(found__in=MetersFound.values), name="meters_found"),
            models.CheckConstraint(
                condition=Q(tolerance_percent__gte="0.1", tolerance_percent__lte=25), name="meters_tolerance"
            ),
            models.CheckConstraint(condition=~Q(answers=F("id")), name="meters_answer_another"),
        ]
        indexes = [models.Index(fields=["observation", "-taken_at"], name="meters_of_observation")]

    def __str__(self) -> str:
        return self.get_found_display()


class MeterFigure(models.Model):
    """What one of the two counted: two states of its register, or the energy as it shows it; `wh` in watt hours."""

    id = models.UUIDField(primary_key=True, default=new_id)
    comparison = models.ForeignKey(MeterComparison, on_delete=models.PROTECT, related_name="figures")
    relied_on = models.BooleanField()
    what = models.TextField(help_text="Which meter or monitor, and where it measures.")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, related_name="+")
    unit = models.TextField(choices=MeterUnit)
    start = models.DecimalField(max_digits=18, decimal_places=6, null=True)
    end = models.DecimalField(max_digits=18, decimal_places=6, null=True)
    wh = models.DecimalField(max_digits=18, decimal_places=6)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["comparison", "relied_on"], name="meter_figure_one_of_each"),
            models.CheckConstraint(condition=~Q(what=""), name="meter_figure_says_which"),
            models.CheckConstraint(condition=Q(unit__in=MeterUnit.values), name="meter_figure_unit"),
            models.CheckConstraint(
                condition=Q(start__isnull=True, end__isnull=True) | Q(start__isnull=False, end__gte=F("start")),
                name="meter_figure_registers",
            ),
        ]
