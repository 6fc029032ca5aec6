"""What was decided and done about an observation before it is remedied."""

from django.db import models
from django.db.models import F, Q

from inspections.choices import Code, Decision, MadeSafeEnd, MadeSafeHow, NoticeAnswer, NoticeHow, StillThere
from inspections.models.inspections import Inspection
from inspections.models.observations import Observation
from jobsite.ids import new_id
from jobsite.ledger.models import StoredFile
from jobsite.people.models import User
from jobsite.premises.models import Site


class Review(models.Model):
    """A qualified person's decision on the code of an observation, with the reason; the last one is in force."""

    id = models.UUIDField(primary_key=True, default=new_id)
    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, related_name="reviews")
    decision = models.TextField(choices=Decision)
    code_before = models.TextField(choices=Code, default="", blank=True)
    code = models.TextField(choices=Code, default="", blank=True)
    reason = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(decision__in=Decision.values), name="review_decision"),
            models.CheckConstraint(condition=Q(code__in=["", *Code.values]), name="review_code"),
            models.CheckConstraint(condition=Q(decision="agree") | ~Q(reason=""), name="review_says_why"),
        ]
        indexes = [models.Index(fields=["observation", "-at"], name="review_of_observation")]


class MadeSafe(models.Model):
    """A temporary action agreed with the duty-holder. The defect stays open until it is remedied."""

    id = models.UUIDField(primary_key=True, default=new_id)
    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, related_name="made_safes")
    how = models.TextField(choices=MadeSafeHow)
    what = models.TextField()
    agreed_with = models.TextField()
    lock = models.TextField(default="", blank=True)
    key_holder = models.TextField(default="", blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    look_again_on = models.DateField()
    looker = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    photo = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, related_name="+")
    no_photo = models.TextField(default="", blank=True, help_text="Why there is no photograph of it.")
    ended = models.TextField(choices=MadeSafeEnd, default="", blank=True)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["observation"], condition=Q(ended=""), name="made_safe_one_stands"),
            models.CheckConstraint(condition=~Q(agreed_with=""), name="made_safe_agreed_with"),
            models.CheckConstraint(condition=~Q(how="locked") | ~Q(key_holder=""), name="made_safe_key_holder"),
            models.CheckConstraint(
                condition=Q(ended="", ended_at__isnull=True) | (~Q(ended="") & Q(ended_at__isnull=False)),
                name="made_safe_ended_when",
            ),
        ]


class DangerNotice(models.Model):
    """What was said in writing about a danger: what, where, why, what was advised, to whom, and their answer."""

    id = models.UUIDField(primary_key=True, default=new_id)
    number = models.BigIntegerField(unique=True)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="danger_notices")
    observations = models.ManyToManyField(Observation, related_name="danger_notices")
    why = models.TextField()
    advised = models.TextField()
    given_to = models.TextField()
    how = models.TextField(choices=NoticeHow)
    given_at = models.DateTimeField()
    given_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    answer = models.TextField(choices=NoticeAnswer, default="", blank=True)
    answered_at = models.DateTimeField(null=True)
    answered_by = models.TextField(default="", blank=True)
    answer_note = models.TextField(default="", blank=True)
    as_given = models.JSONField(
        default=dict, help_text="What it said of firm, site and observations when it was given."
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(given_to="") & ~Q(advised=""), name="danger_notice_complete"),
            models.CheckConstraint(
                condition=Q(answer="") | Q(answered_at__gte=F("given_at")), name="danger_notice_answer"
            ),
        ]


class NotSeenAgain(models.Model):
    """An open observation that a later inspection covers and does not note again, and what is said of it there.

    While the inspection is a draft a row is an answer; from the issue on each such observation has one. Only a qualified
    person's "not there any more" ends it; whatever else is said, it stays open and is shown as not confirmed.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="not_seen_again")
    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, related_name="not_seen_again")
    answer = models.TextField(choices=StillThere, default="", blank=True)
    seen = models.TextField(default="", blank=True, help_text="What was seen where it had been.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["inspection", "observation"], name="not_seen_again_once"),
            models.CheckConstraint(condition=Q(answer__in=StillThere.values), name="not_seen_again_answer"),
            models.CheckConstraint(condition=~Q(answer="gone") | ~Q(seen=""), name="not_seen_again_says_what"),
        ]
