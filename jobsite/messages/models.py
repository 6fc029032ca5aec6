"""What is to be said to whom: a row first, then an e-mail, at most once for its occasion."""

from django.db import models
from django.db.models import Q

from jobsite.ids import new_id


class Message(models.Model):
    """One e-mail for one occasion.

    UNKNOWN: the mail server may or may not have taken it; only a person decides to send it again.
    DROPPED: its reason no longer stood when its turn came.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting to be sent"
        SENDING = "sending", "being sent"
        SENT = "sent", "sent"
        FAILED = "failed", "could not be sent"
        UNKNOWN = "unknown", "not known whether it was sent"
        DROPPED = "dropped", "no longer needed"

    class To(models.TextChoices):
        STAFF = "staff", "staff"
        CUSTOMER = "customer", "customer"

    id = models.UUIDField(primary_key=True, default=new_id)
    occasion = models.TextField(unique=True, help_text="What it is about, for whom and which time: once each.")
    to_kind = models.TextField(choices=To)
    to_id = models.UUIDField(help_text="The person or party; their rooms are above this one.")
    address = models.EmailField(max_length=254)
    subject = models.TextField()
    body = models.TextField()
    danger = models.BooleanField(default=False)
    site = models.UUIDField(null=True)
    reason_kind = models.TextField(
        default="", help_text="The kind of due row it stands for, asked again before sending."
    )
    reason_ref = models.UUIDField(null=True)
    filled_by = models.TextField(
        default="", help_text="Who completes it when it goes out (a quote): what it then holds is not kept in its body."
    )
    attachment = models.TextField(default="", help_text="The name of the file that goes with it.")
    link = models.UUIDField(null=True, help_text="The private link that went with it; its room is above this one.")
    state = models.TextField(choices=State, default=State.WAITING)
    attempts = models.IntegerField(default=0)
    written_at = models.DateTimeField()
    next_try_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True)
    settled_at = models.DateTimeField(null=True)
    error = models.TextField(default="")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "sending", "sent", "failed", "unknown", "dropped"]),
                name="message_state",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "sending"]) | Q(settled_at__isnull=False),
                name="message_settled_has_time",
            ),
        ]
        indexes = [
            models.Index(fields=["next_try_at"], condition=Q(state="waiting"), name="message_to_send"),
            models.Index(fields=["site", "written_at"], name="message_of_site"),
        ]
