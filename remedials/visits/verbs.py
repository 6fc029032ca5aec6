"""What is done to visits, as the record names it."""

from django.db.models import TextChoices


class Verb(TextChoices):
    BOOKED = "visit.booked", "visit booked"
    CANCELLED = "visit.cancelled", "visit cancelled"
