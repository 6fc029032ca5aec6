"""What is to be said to whom: a row first, then an e-mail, at most once for its occasion."""

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeOperators
from django.db import models
from django.db.models import F, Func, Q, Value
from django.db.models.functions import Lower

from jobsite.ids import new_id


class Message(models.Model):
    """One e-mail for one occasion.

    A `reminder` is a polite word that a customer may stop; what danger or the law asks for is none. While `quiet_until` is
    ahead the database keeps no second reminder `about` the same thing to the same party.

    SENDING: a sender holds it under `claim`; from `handed_at` on the mail server may have it.
    RETURNED: a mail server that had taken it sent it back.
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
        RETURNED = "returned", "came back"

    class To(models.TextChoices):
        STAFF = "staff", "staff"
        CUSTOMER = "customer", "customer"

    id = models.UUIDField(primary_key=True, default=new_id)
    number = models.BigIntegerField(
        unique=True,
        editable=False,
        db_default=Func(Value("post_message_number"), function="nextval"),
        help_text="What the office calls it; the database gives it.",
    )
    occasion = models.TextField(unique=True, help_text="What it is about, for whom and which time: once each.")
    to_kind = models.TextField(choices=To)
    to_id = models.UUIDField(help_text="The person or party; their rooms are above this one.")
    address = models.EmailField(max_length=254)
    subject = models.TextField()
    body = models.TextField()
    danger = models.BooleanField(default=False)
    reminder = models.BooleanField(default=False)
    about = models.TextField(default="", help_text="What a reminder is about, whichever time it is: kind and key.")
    quiet_until = models.DateTimeField(null=True, help_text="No other reminder about it to the same party before.")
    why = models.TextField(default="", help_text="The rule by which it was written, in words for the office.")
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
    claim = models.UUIDField(
        null=True, help_text="Whose turn at sending it holds it: another one's late word counts nothing."
    )
    claimed_at = models.DateTimeField(null=True)
    handed_at = models.DateTimeField(null=True, help_text="From here on the mail server may have taken it.")
    settled_at = models.DateTimeField(null=True)
    error = models.TextField(default="", help_text="What went wrong, or why it was no longer needed.")
    address_refused = models.BooleanField(default=False, help_text="The mail server knows nobody of this address.")
    delayed_why = models.TextField(default="", help_text="What a mail server said that is still trying to deliver it.")
    returned_at = models.DateTimeField(null=True)
    returned_why = models.TextField(default="", help_text="What the mail server said that sent it back.")
    instead_of = models.UUIDField(
        null=True, help_text="The message that a person sends anew by this, to another address."
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "sending", "sent", "failed", "unknown", "dropped", "returned"]),
                name="message_state",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "sending"]) | Q(settled_at__isnull=False),
                name="message_settled_has_time",
            ),
            models.CheckConstraint(
                condition=~Q(state="returned") | Q(returned_at__isnull=False), name="message_returned_has_time"
            ),
            models.CheckConstraint(
                condition=Q(reminder=False)
                | Q(danger=False, quiet_until__gt=F("written_at"), to_kind="customer") & ~Q(about=""),
                name="message_reminder_about",
            ),
            ExclusionConstraint(
                name="message_reminder_once_a_week",
                expressions=[
                    (F("about"), RangeOperators.EQUAL),
                    (F("to_id"), RangeOperators.EQUAL),
                    (
                        Func("written_at", "quiet_until", function="tstzrange", output_field=DateTimeRangeField()),
                        RangeOperators.OVERLAPS,
                    ),
                ],
                condition=Q(reminder=True),
            ),
        ]
        indexes = [
            models.Index(F("danger").desc(), F("next_try_at"), condition=Q(state="waiting"), name="message_in_turn"),
            models.Index(fields=["claimed_at"], condition=Q(state="sending"), name="message_being_sent"),
            models.Index(fields=["-settled_at"], condition=Q(handed_at__isnull=False), name="message_handed_over"),
            models.Index(Lower("address"), F("written_at").desc(), name="message_to_address"),
            models.Index(fields=["to_id", "-written_at"], name="message_to_somebody"),
            models.Index(fields=["-written_at", "-id"], name="message_latest_first"),
            models.Index(fields=["site", "written_at"], name="message_of_site"),
            models.Index(fields=["reason_kind", "reason_ref"], name="message_of_reason"),
        ]
