"""A row of each kind that no other world of the tests has: filled in by its fields, with what its constraints ask for."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.db import DatabaseError
from django.db.models import Field, Model

from jobsite.ids import new_id
from jobsite.people.models import User
from remedials.desk.bulk.kinds import Kind, kinds
from tests.factories import NOON, TODAY

ODD = (
    '=HYPERLINK("http://x","y")\n+1-2@3\ttab\r\n\u201cquoted\u201d \'single\' \\N \\. \\x41 {a,b} "c" \U0001f50c\U0001f1ec\U0001f1e7 '
    "e\u0301 \u202eright to left\u202c \u0001\u0085\u2028\ufeff\ufffe _x000D_ Ω ≤ 0.4"
)
"""Text as nobody should write it: a formula, line ends of each kind, what COPY and JSON and XML mean something by, emoji."""
SAMPLES = {
    "TextField": ODD,
    "CharField": ODD,
    "DateTimeField": NOON + dt.timedelta(microseconds=123456),
    "DateField": TODAY,
    "TimeField": dt.time(8, 30, 15, 7),
    "BooleanField": False,
    "JSONField": {"text": ODD, "number": 1.5, "none": None, "list": [1, "2", {}]},
}


def somebody() -> User:
    """Whoever is in the firm."""
    return User.objects.order_by("pk").first()


# What constraints of the tables ask for beside what their fields say.
ALSO: dict[str, dict[str, Any]] = {
    "firm.Policy": {"loop_rounding": "down", "meter_tolerance_percent": Decimal("2.50")},
    "people.Shift": {"end": dt.time(16, 45)},
    "people.AccessToken": {"expires_at": NOON + dt.timedelta(days=30)},
    "inspections.MeterComparison": {"ended_at": NOON + dt.timedelta(hours=2), "tolerance_percent": Decimal("2.50")},
    "works.Approval": {"recorded_by": somebody},
    "works.WayOut": {"stage": "declined"},
    "visits.Confirmation": {"answered": "asked", "whom": "The caretaker", "start": NOON, "recorded_by": somebody},
    "visits.KeyMove": {"who": somebody},
    "visits.DiaryTerms": {
        "day_end": dt.time(17, 0),
        "winding_factor": Decimal("1.30"),
        "speed_kmh": 40,
        "visit_minutes_least": 30,
    },
    "due.Reminding": {"inspection_overdue_every": 7, "only": True, "working_days": [0, 1, 2, 3, 4]},
}


def fill_the_rest() -> list[str]:
    """Make a row of each kind of which there is none; the kinds that could not be made, with the reason."""
    wrong = []
    for kind in kinds(secrets=True):
        if not kind.model._base_manager.exists():
            try:
                row = filled(kind)
                kind.model._base_manager.bulk_create([row])
            except (DatabaseError, ValueError, TypeError) as error:
                wrong.append(f"{kind.label}: {str(error).splitlines()[0]}")
    return wrong


def filled(kind: Kind) -> Model:
    also = ALSO.get(kind.label, {})
    values = {}
    for field in kind.model._meta.concrete_fields:
        if field.name in also:
            value = also[field.name]
            values[field.name] = value() if callable(value) else value
        elif not (field.null or (field.primary_key and field.get_internal_type().endswith("AutoField"))):
            values[field.name] = _value(field)
    return kind.model(**{name: also[name] for name in also if name not in values} | values)


def _value(field: "Field[Any, Any]") -> Any:
    if field.is_relation:
        return field.related_model._base_manager.order_by("pk").first()
    if field.flatchoices:
        return field.flatchoices[0][0]
    kind = field.get_internal_type()
    if kind == "DecimalField":
        return Decimal(1).scaleb(-field.decimal_places)
    if kind == "BinaryField":
        return bytes(range(256))[: field.max_length or 256]
    if kind == "ArrayField":
        return [_value(field.base_field)]
    return new_id() if kind == "UUIDField" else SAMPLES.get(kind, 1)


SECRET_WORDS = ("password", "token", "hash", "secret", "sealed", "seed", "salt", "key_hash")
