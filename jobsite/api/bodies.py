"""What a body in JSON may hold: only fields that something reads, each of the kind that the description names.

DRF itself would take a number for a text, "yes" for true and "5" for 5, and cut spaces away before it counts a text's length:
then a slip in the sender's program is stored as if it were meant, and what the description says is not so.
"""

import re
from collections.abc import Mapping
from typing import Any

from rest_framework import serializers

from jobsite.api.patterns import DATE, INSTANT, KEY, NUMBER, TIME

NO_SUCH_FIELD = "There is no such field."
NO_SUCH_CHOICE = "There is no such choice."
SEND_TEXT, SEND_BOOLEAN, SEND_WHOLE = "Send a text.", "Send true or false.", "Send a whole number."
# What looks otherwise would be read all the same: "2026-W10-4" as a day, an instant without an offset as one of London.
SHAPES: tuple[tuple[type[serializers.Field], str, str], ...] = (
    (serializers.DateTimeField, INSTANT, "Send an instant with its offset, such as 2026-11-24T09:30:00Z."),
    (serializers.DateField, DATE, "Send a day, such as 2026-11-24."),
    (serializers.TimeField, TIME, "Send a time of day, such as 09:30."),
    (serializers.DecimalField, NUMBER, 'Send this number as a text, such as "12.50": so no digit is lost.'),
    (serializers.UUIDField, KEY, "Send a key, such as 01920000-0000-7a6d-b7ee-cb0f5da3af06."),
)


def as_described(body: serializers.BaseSerializer[Any], data: Any, *, of_json: bool) -> None:
    """Raises ValidationError for fields that nothing reads, also those of rows within: a misspelt one would be lost.

    And for values of another kind than the field's; where the body is no JSON (`of_json`) all is text, and an empty one null.
    """
    if wrong := _wrong(body, data, of_json):
        raise serializers.ValidationError(wrong)


def _wrong(field: Any, data: Any, of_json: bool) -> Any:
    if isinstance(field, serializers.Serializer) and isinstance(data, Mapping):
        wrong: dict[str, Any] = {str(name): [NO_SUCH_FIELD] for name in data if name not in field.fields}
        within = {name: _wrong(inner, data.get(name), of_json) for name, inner in field.fields.items()}
        return wrong | {name: errors for name, errors in within.items() if errors}
    if isinstance(field, serializers.ListSerializer) and isinstance(data, list):
        rows = [_wrong(field.child, row, of_json) or {} for row in data]
        return rows if any(rows) else None
    if isinstance(field, serializers.ListField) and isinstance(data, list):
        found = {at: _wrong(field.child, value, of_json) for at, value in enumerate(data)}
        return {at: errors for at, errors in found.items() if errors}
    if isinstance(field, serializers.DictField) and isinstance(data, Mapping):
        values = {str(name): _wrong(field.child, value, of_json) for name, value in data.items()}
        return {name: errors for name, errors in values.items() if errors}
    if data is None or (data == "" and not of_json):
        return None
    return _of_another_kind(field, data) if of_json else _of_another_shape(field, data)


def _of_another_kind(field: Any, value: Any) -> list[str] | None:
    """The sentence for a value, not null, that is of another kind of JSON than `field`; None where it is of the same."""
    if isinstance(field, serializers.ChoiceField):
        kinds = {type(choice) for choice in field.choices}
        return None if type(value) in kinds or value == "" else [NO_SUCH_CHOICE]
    if isinstance(field, serializers.CharField):
        if not isinstance(value, str):
            return [SEND_TEXT]
        most = field.max_length
        return [f"At most {most} characters."] if most is not None and len(value) > most else None
    if isinstance(field, serializers.BooleanField):
        return None if isinstance(value, bool) else [SEND_BOOLEAN]
    if isinstance(field, serializers.IntegerField):
        whole = isinstance(value, int) or (isinstance(value, float) and value.is_integer())
        return None if whole and not isinstance(value, bool) else [SEND_WHOLE]
    return _of_another_shape(field, value)


def _of_another_shape(field: Any, value: Any) -> list[str] | None:
    """The sentence for a value that is not written as `field` has it; None where it is, or may be written anyhow."""
    for kind, shape, sentence in SHAPES:
        if isinstance(field, kind):
            return None if isinstance(value, str) and re.fullmatch(shape, value) else [sentence]
    return None
