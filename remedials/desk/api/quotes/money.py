"""Sums: text to the penny, in pounds sterling, and it is said of each whether VAT is in it."""

from typing import Any

from rest_framework import serializers

NET = "Pounds, without VAT."
WITH_VAT = "Pounds, with VAT; under the reverse charge without, since the customer pays it over."


class Pounds(serializers.DecimalField):
    """A sum in pounds, as text to the penny."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_digits": 14, "decimal_places": 2, "read_only": True} | kwargs)


class InPounds(serializers.Serializer):
    """What has sums says their currency (ISO 4217)."""

    currency = serializers.CharField(default="GBP", read_only=True, help_text="Of every sum here: GBP.")


class Sum(serializers.DecimalField):
    """A sum that somebody sends: pounds without VAT, as text, whole pence."""

    def __init__(self, **kwargs: Any) -> None:
        usual: dict[str, Any] = {"max_digits": 12, "decimal_places": 2, "min_value": 0, "help_text": NET}
        super().__init__(**usual | kwargs)


class Kept(serializers.CharField):
    """Words that stay as they are where they are left out."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"required": False, "allow_blank": True, "max_length": 10_000} | kwargs)


def several(one: Any, most: int, **more: Any) -> Any:
    """A list of what the serializer class `one` reads, at most so many."""
    return one(many=True, max_length=most, **more)
