"""Readings taken on circuits, with the limit each was judged by."""

from django.db import models
from django.db.models import Q

from inspections.choices import Quantity, Verdict
from jobsite.ids import new_id
from jobsite.people.models import Instrument, User
from jobsite.premises.models import Circuit, OfSite, Site


class Reading(models.Model):
    """One value read on one circuit. Never changed: a wrong one is answered by another."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="readings")
    circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="readings")
    quantity = models.TextField(choices=Quantity)
    value = models.DecimalField(max_digits=10, decimal_places=3, help_text="in `unit`")
    above_range = models.BooleanField(default=False, help_text='The instrument showed ">" this value.')
    unit = models.TextField(default="Ω")
    limit = models.DecimalField(max_digits=10, decimal_places=4, help_text="exact, in `unit`")
    basis = models.TextField(help_text="The rule, factor, table and edition, in words.")
    limit_entered = models.BooleanField(
        default=False, help_text="Entered from the standard or the maker, not computed."
    )
    verdict = models.TextField(choices=Verdict)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="readings")
    instrument_in_check = models.BooleanField()
    taken_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(value__gte=0) & Q(limit__gt=0), name="reading_positive"),
            models.CheckConstraint(condition=Q(verdict__in=Verdict.values), name="reading_verdict"),
        ]
        indexes = [models.Index(fields=["circuit", "-taken_at"], name="reading_of_circuit")]
