"""What the ledger says of everything being taken out."""

from django.db.models import TextChoices


class Verb(TextChoices):
    ASKED = "take-out.asked", "all that the firm owns asked for"
    MADE = "take-out.made", "all that the firm owns taken out"
    TAKEN = "take-out.taken", "what was taken out carried away"
    GONE = "take-out.gone", "what was taken out removed from here"
