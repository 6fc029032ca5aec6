"""Small lists beside a row, read in the row's own statement: one statement where there would be a dozen."""

from typing import Any

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import QuerySet
from django.db.models.functions import JSONObject


def listed(rows: QuerySet[Any], **fields: Any) -> ArraySubquery:
    """The rows of `rows` (correlated by OuterRef) as a list of dicts with `fields`: dates come as ISO text."""
    return ArraySubquery(rows.values(row=JSONObject(**fields)))
