"""Pages of a long list by the key of the last row seen: no counting, no offset, the same cost on every page."""

import base64
import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.exceptions import BadRequest, FieldDoesNotExist, ValidationError
from django.db.models import F, Field, Q, QuerySet
from django.db.models.fields.tuple_lookups import Tuple, TupleGreaterThan, TupleLessThan

SIZE = 50
LONGEST_TOKEN = 2000
DAMAGED = "The address of this page of the list is damaged. Start again from the top of the list."


@dataclass(frozen=True)
class Slice:
    """Some rows of a list; `next` is the token of the page after it, "" at the end of the list.

    `ahead` are the rows that follow, as many as were asked for.
    """

    rows: list[Any]
    next: str = ""
    ahead: list[Any] = field(default_factory=list)


def keyset(
    queryset: QuerySet[Any], order: Sequence[str], *, after: str = "", size: int = SIZE, ahead: int = 1
) -> Slice:
    """At most `size` rows of `queryset` in `order`, beginning behind the row that `after` names; `ahead` looks beyond.

    `order` must end in something unique and name no column that can be NULL; "-name" sorts downwards.
    It may name annotations, and columns of related rows as "site__sort". Rows may be models or dicts
    (`values()` that includes the names in `order`). One statement. A token that this list did not make
    raises BadRequest (400).
    """
    if after:
        queryset = queryset.filter(_behind(queryset, order, _read(queryset, order, after)))
    rows = list(queryset.order_by(*order)[: size + ahead])
    if len(rows) <= size:
        return Slice(rows)
    return Slice(rows[:size], _token([_value(rows[size - 1], name) for name in _names(order)]), rows[size:])


def _names(order: Sequence[str]) -> list[str]:
    return [name.removeprefix("-") for name in order]


def _behind(queryset: QuerySet[Any], order: Sequence[str], values: list[Any]) -> Any:
    """The condition "sorts after `values`": a row comparison where all columns run the same way."""
    names = _names(order)
    downwards = [name.startswith("-") for name in order]
    if len(names) > 1 and len(set(downwards)) == 1:
        compare = TupleLessThan if downwards[0] else TupleGreaterThan
        return compare(Tuple(*map(F, names)), tuple(values))
    behind = Q()
    for at, name in enumerate(names):
        same = Q(**dict(zip(names[:at], values[:at], strict=True)))
        behind |= same & Q(**{f"{name}__{'lt' if downwards[at] else 'gt'}": values[at]})
    return behind


def _token(values: list[Any]) -> str:
    text = json.dumps([v.isoformat() if isinstance(v, date | datetime) else _plain(v) for v in values])
    return base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")


def _plain(value: Any) -> Any:
    return str(value) if isinstance(value, UUID | Decimal) else value


def _read(queryset: QuerySet[Any], order: Sequence[str], token: str) -> list[Any]:
    """The values in `token`, each made the type of its column again."""
    try:
        if len(token) > LONGEST_TOKEN:
            raise ValueError
        values = json.loads(base64.urlsafe_b64decode(token + "=" * (-len(token) % 4)))
        if not isinstance(values, list):
            raise TypeError
        return [_typed(_field(queryset, name), value) for name, value in zip(_names(order), values, strict=True)]
    except (ValueError, TypeError, ValidationError, ArithmeticError, RecursionError) as damaged:
        raise BadRequest(DAMAGED) from damaged


def _typed(field: Any, value: Any) -> Any:
    """`value` as `field` holds it; what no column of that type can hold is refused."""
    if isinstance(value, dict | list) or value is None:
        raise TypeError
    typed = field.to_python(value)
    if isinstance(typed, str) and ("\0" in typed or typed.encode("utf-8", "replace").decode() != typed):
        raise ValueError
    if isinstance(typed, int) and abs(typed) >= 2**63:
        raise ValueError
    return typed


def _field(queryset: QuerySet[Any], name: str) -> "Field[Any, Any]":
    """The model field or annotation that `name` sorts by."""
    annotation = queryset.query.annotations.get(name)
    if annotation is not None:
        return annotation.output_field
    model: Any = queryset.model
    field: Any = None
    for step in name.split("__"):
        try:
            meta = model._meta
            field = meta.pk if step == "pk" else meta.get_field(step)
        except FieldDoesNotExist as missing:
            raise LookupError(f"{name} is neither a column nor an annotation") from missing
        model = field.related_model or model
    return field.target_field if field.is_relation else field


def _value(row: Any, name: str) -> Any:
    if isinstance(row, dict):
        return row[name]
    for step in name.split("__"):
        row = getattr(row, step)
    return row.pk if hasattr(row, "pk") else row
