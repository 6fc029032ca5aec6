"""What the ledger says of documents and of holds."""

from django.db.models import TextChoices


class Verb(TextChoices):
    DOCUMENT_MADE = "document.made", "document made"
    HELD = "hold.placed", "held: nothing of it is erased"
    HOLD_LIFTED = "hold.lifted", "no longer held"
