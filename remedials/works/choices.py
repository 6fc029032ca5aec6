"""What a remedial takes besides time, in the trade's words."""

from django.db.models import TextChoices


class ItemKind(TextChoices):
    MATERIAL = "material", "material"
    ACCESS = "access", "access equipment"
    FIXED = "fixed", "fixed item"


class Network(TextChoices):
    """What is connected by a remedial and the network operator is told of."""

    NOTHING = "", "nothing"
    GENERATION = "generation", "generation or a battery"
    CHARGING_POINT = "charging-point", "a charging point"
