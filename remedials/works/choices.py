"""What a remedial takes besides time, in the trade's words."""

from django.db.models import TextChoices


class ItemKind(TextChoices):
    MATERIAL = "material", "material"
    ACCESS = "access", "access equipment"
    FIXED = "fixed", "fixed item"
