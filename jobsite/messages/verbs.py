"""What the ledger says of messages."""

from django.db.models import TextChoices


class Verb(TextChoices):
    SENT = "message.sent", "message sent"
    FAILED = "message.failed", "message could not be sent"
    UNKNOWN = "message.unknown", "not known whether the message was sent"
    DROPPED = "message.dropped", "message no longer needed"
    AGAIN = "message.again", "message to be sent again"
    ANEW = "message.anew", "message written anew to another address"
    RETURNED = "message.returned", "message came back"
    DELAYED = "message.delayed", "message delayed on its way"
