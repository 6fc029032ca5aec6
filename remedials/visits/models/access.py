"""Getting in: when a site may be entered, whom to ask, what was tried, keys, codes, and who is in there alone."""

from typing import Self

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from jobsite.ids import new_id
from jobsite.ledger.models import StoredFile
from jobsite.people.models import User
from jobsite.premises.models import OfSite, Site, Unit
from remedials.visits.choices import AttemptHow, SeeToKind
from remedials.visits.models.visits import Visit
from remedials.works.models import Remedial


class AccessTime(models.Model):
    """A time of the week at which the customer lets people in; a site or unit with none is open at any time.

    Times are local. A unit with times of its own is not ruled by those of its site.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="access_times")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, null=True, blank=True, related_name="access_times")
    weekdays = ArrayField(models.IntegerField(), help_text="0 is Monday.")
    start = models.TimeField()
    end = models.TimeField()
    note = models.TextField(default="", blank=True)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(end__gt=F("start")), name="access_time_ends_after_start"),
            models.CheckConstraint(
                condition=Q(weekdays__contained_by=[0, 1, 2, 3, 4, 5, 6]) & ~Q(weekdays=[]),
                name="access_time_weekdays",
            ),
        ]


class ClosedDays(models.Model):
    """Days on which nobody may work there, such as the term of a school, both included."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="closed_days")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, null=True, blank=True, related_name="closed_days")
    first = models.DateField()
    last = models.DateField()
    why = models.TextField()

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(last__gte=F("first")), name="closed_days_in_order"),
            models.CheckConstraint(condition=~Q(why=""), name="closed_days_say_why"),
        ]


class OccupierNote(models.Model):
    """Whom to ask to be let in to a unit, and what to mind about the people there. Personal: shown to who needs it."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="occupier_notes")
    unit = models.OneToOneField(Unit, on_delete=models.PROTECT, related_name="occupier_note")
    contact = models.TextField(default="", blank=True)
    phone = models.TextField(default="", blank=True)
    email = models.EmailField(max_length=254, default="", blank=True)
    best_times = models.TextField(default="", blank=True)
    mind = models.TextField(
        default="", blank=True, help_text="Vulnerability: what to mind, in as few words as will do."
    )
    loses_power_badly = models.BooleanField(default=False, help_text="Somebody or something there must not lose power.")
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()


class Attempts(OfSite):
    """Attempts are seen by whoever sees their site."""

    def before_a_closed_door(self) -> Self:
        """Those that say of a visit that it was in vain. A telephone call about it that nobody answered is none."""
        return self.filter(how=AttemptHow.VISIT, got_in=False, visit__isnull=False)


class Attempt(models.Model):
    """One attempt to get in or to agree when: the landlord's evidence of reasonable steps. Never changed but its reply."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="attempts")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, null=True, blank=True, related_name="attempts")
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="attempts")
    how = models.TextField(choices=AttemptHow)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    whom = models.TextField(help_text="Who was asked, or whose door it was.")
    said = models.TextField(default="", blank=True, help_text="What was asked or written.")
    got_in = models.BooleanField(default=False)
    reply = models.TextField(default="", blank=True)
    replied_on = models.DateField(null=True, blank=True)
    photo = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, related_name="+")
    letter = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, related_name="+")
    next_on = models.DateField(null=True, blank=True, help_text="When to try again; empty: nothing more is needed.")
    recorded_at = models.DateTimeField()

    objects = Attempts.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(how__in=AttemptHow.values), name="attempt_how"),
            models.CheckConstraint(condition=~Q(whom=""), name="attempt_whom"),
            models.CheckConstraint(
                condition=Q(reply="", replied_on__isnull=True) | (~Q(reply="") & Q(replied_on__isnull=False)),
                name="attempt_reply_has_its_day",
            ),
        ]
        indexes = [models.Index(fields=["site", "at"], name="attempts_of_site")]


class SiteKey(models.Model):
    """A key of a site that the firm keeps, by its tag: where it hangs, or who has it. The tag never says the address."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="keys")
    tag = models.TextField(unique=True)
    what = models.TextField()
    held_for = models.TextField(default="", blank=True, help_text="Whose it is, to whom it goes back.")
    place = models.TextField(default="", blank=True, help_text="Where it hangs when it is in.")
    out_to = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    back_by = models.DateField(null=True, blank=True)
    given_back_at = models.DateTimeField(null=True, help_text="Given back to its owner for good.")
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(tag="") & ~Q(what=""), name="key_named"),
            models.CheckConstraint(
                condition=Q(given_back_at__isnull=True) | Q(out_to__isnull=True), name="key_given_back_is_not_out"
            ),
            models.CheckConstraint(
                condition=Q(out_to__isnull=False) | Q(back_by__isnull=True), name="key_back_by_if_out"
            ),
        ]


class KeyMove(models.Model):
    """That a key went out to somebody, came in, or was given back."""

    id = models.UUIDField(primary_key=True, default=new_id)
    key = models.ForeignKey(SiteKey, on_delete=models.PROTECT, related_name="moves")
    way = models.TextField(choices=[("out", "out"), ("in", "in"), ("back", "given back")])
    who = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    note = models.TextField(default="", blank=True)
    at = models.DateTimeField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(way__in=["out", "in", "back"]), name="key_move_way"),
            models.CheckConstraint(condition=~Q(way="out") | Q(who__isnull=False), name="key_move_out_to_somebody"),
        ]
        indexes = [models.Index(fields=["key", "at"], name="moves_of_key")]


class AlarmCode(models.Model):
    """A code of a site, encrypted. Shown to the booked engineer near the time only; each look is in the ledger."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="alarm_codes")
    place = models.TextField(help_text="What it opens or silences.")
    sealed = models.BinaryField(help_text="Encrypted; the key is not in the database.")
    retired_at = models.DateTimeField(null=True)
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(place=""), name="alarm_code_place")]


class SeeTo(models.Model):
    """What must be seen to before work at a site, a unit of it, or on one remedial begins."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="to_see_to")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, null=True, blank=True, related_name="to_see_to")
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, null=True, blank=True, related_name="to_see_to")
    kind = models.TextField(choices=SeeToKind)
    what = models.TextField()
    owner = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    by = models.DateField(help_text="By when it should be seen to.")
    met_on = models.DateField(null=True, blank=True)
    met_how = models.TextField(default="", blank=True)
    holds_until = models.DateField(null=True, blank=True, help_text="The last day on which it holds; empty: for good.")
    withdrawn_at = models.DateTimeField(null=True)
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=SeeToKind.values) & ~Q(what=""), name="see_to_what"),
            models.CheckConstraint(
                condition=Q(met_on__isnull=True, met_how="") | (Q(met_on__isnull=False) & ~Q(met_how="")),
                name="see_to_met_how",
            ),
        ]
        indexes = [models.Index(fields=["site"], name="see_to_of_site")]


class CheckIn(models.Model):
    """That somebody working alone is in a place, and when they said they would be out."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="check_ins")
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="check_ins")
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="check_ins")
    in_at = models.DateTimeField()
    out_by = models.DateTimeField()
    said_at = models.DateTimeField(null=True, help_text="When they said `out_by`; empty: as they went in.")
    heard_at = models.DateTimeField(
        null=True, help_text="When that reached us, where it was later: from a phone without signal."
    )
    out_at = models.DateTimeField(null=True)
    found_safe = models.TextField(default="", blank=True, help_text="How somebody else made sure that all was well.")

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["user"], condition=Q(out_at__isnull=True), name="check_in_one_place"),
            models.CheckConstraint(condition=Q(out_by__gt=F("in_at")), name="check_in_out_later"),
        ]
        indexes = [models.Index(fields=["out_by"], condition=Q(out_at__isnull=True), name="check_ins_overdue")]
