"""Times offered to a customer by a private link: they choose one, and the visit is booked."""

from django.db import models
from django.db.models import F, Q

from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.premises.models import OfSite, Party, Site, Unit
from remedials.visits.models.visits import Visit
from remedials.works.models import Remedial


class TimesOffer(models.Model):
    """Some times for one visit. Nothing is held for it: a time that went meanwhile is refused when it is chosen."""

    STATES = [("open", "open"), ("chosen", "chosen"), ("none-suits", "none suits"), ("withdrawn", "withdrawn")]

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="times_offers")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, null=True, blank=True, related_name="times_offers")
    party = models.ForeignKey(Party, on_delete=models.PROTECT, null=True, blank=True, related_name="times_offers")
    remedials = models.ManyToManyField(Remedial, related_name="times_offers")
    engineers = models.ManyToManyField(User, related_name="+")
    access = models.TextField(default="", blank=True)
    outage = models.TextField(default="", blank=True)
    despite = models.TextField(
        default="", blank=True, help_text="Why times of which the office was warned are offered."
    )
    state = models.TextField(choices=STATES, default="open")
    answer_by = models.DateField()
    words = models.TextField(default="", blank=True, help_text="What the customer wrote with the answer.")
    answered_at = models.DateTimeField(null=True)
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, null=True, related_name="+")
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["open", "chosen", "none-suits", "withdrawn"]), name="times_offer_state"
            ),
            models.CheckConstraint(condition=~Q(state="chosen") | Q(visit__isnull=False), name="times_offer_visit"),
        ]


class OfferedTime(models.Model):
    """One of the times offered."""

    id = models.UUIDField(primary_key=True, default=new_id)
    offer = models.ForeignKey(TimesOffer, on_delete=models.PROTECT, related_name="times")
    start = models.DateTimeField()
    end = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["offer", "start"], name="offered_time_once"),
            models.CheckConstraint(condition=Q(end__gt=F("start")), name="offered_time_ends_after_start"),
        ]
        ordering = ["start"]
