"""What the ledger says of visits."""

from django.db.models import TextChoices


class Verb(TextChoices):
    BOOKED = "visit.booked", "visit booked"
    CANCELLED = "visit.cancelled", "visit cancelled"
