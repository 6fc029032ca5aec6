"""Small lists beside a row, read in the row's own statement: one statement where there would be a dozen."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import QuerySet
from django.db.models.functions import JSONObject

from inspections.choices import Code

ORDER_OF_CODES = (*(code.value for code in (Code.C1, Code.C2, Code.FI, Code.C3)), "")


def listed(rows: QuerySet[Any], **fields: Any) -> ArraySubquery:
    """The rows of `rows` (correlated by OuterRef) as a list of dicts with `fields`: dates come as ISO text."""
    return ArraySubquery(rows.values(row=JSONObject(**fields)))


def day_of(text: str | None) -> date | None:
    """The date in ISO text."""
    return date.fromisoformat(text) if text else None


def moment_of(text: str | None) -> datetime | None:
    """The instant in ISO text."""
    return datetime.fromisoformat(text) if text else None


def worst_first(codes: Iterable[str]) -> list[str]:
    """Codes in the order C1, C2, FI, C3, not coded."""
    return sorted(codes, key=ORDER_OF_CODES.index)


def joined(*parts: str | None, by: str = ", ") -> str:
    """The parts that say something, with `by` between them."""
    return by.join(part for part in parts if part)
