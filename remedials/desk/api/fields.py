"""Fields that rooms of the API share: what the pages' forms let somebody type, of the same length and range."""

from typing import Any

from rest_framework import serializers
from rest_framework.fields import empty

from jobsite.premises.choices import LINES
from remedials.desk.api.ground import Key, Text

LONGEST_LINE, LONGEST_WORDS = 200, 4000
MOST_AT_ONCE = 500


class Line(Text):
    """A name, a place: at most 200 characters, as on the pages."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_length": LONGEST_LINE} | kwargs)


class Words(Text):
    """Several lines: at most 4,000 characters, as on the pages."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_length": LONGEST_WORDS} | kwargs)


class Number(serializers.DecimalField):
    """An exact number that need not be known (null), never negative unless `min_value` says so."""

    def __init__(self, **kwargs: Any) -> None:
        if not kwargs.get("required", False):
            kwargs = {"required": False, "allow_null": True, "default": None} | kwargs
        super().__init__(**{"min_value": 0} | kwargs)


class Keys(serializers.ListField):
    """Keys of rows, at most 500; with `required=False` an empty list where they are left out."""

    def __init__(self, **kwargs: Any) -> None:
        if not kwargs.get("required", True):
            kwargs.setdefault("default", list)
            kwargs.pop("required")
        super().__init__(child=Key(), **{"max_length": MOST_AT_ONCE} | kwargs)


class Phases(serializers.ListField):
    """One phase at least of L1, L2 and L3; in that order whatever the order they were sent in."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs |= {"allow_empty": False, "max_length": len(LINES)}
        super().__init__(child=serializers.ChoiceField(choices=[(line, line) for line in LINES]), **kwargs)

    def to_internal_value(self, data: Any) -> list[str]:
        """Each phase once, in order."""
        given = super().to_internal_value(data)
        if len(given) > len(LINES):  # DRF counts what is left after this, where each stands once
            raise serializers.ValidationError(f"At most {len(LINES)} phases.")
        return [line for line in LINES if line in given]


class Changes(serializers.Serializer):
    """Mixed in before the fields of a new row: what is to be changed of one that is there. What is left out stays."""

    def get_fields(self) -> dict[str, Any]:
        """The same fields, none of which has to be sent, but those that `still_needed` names."""
        fields = super().get_fields()
        for name, field in fields.items():
            if name not in getattr(self, "still_needed", ()):
                field.required, field.default = False, empty
        return fields


class Nothing(serializers.Serializer):
    """Nothing: the address says it all."""
