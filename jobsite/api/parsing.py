"""JSON without surprises."""

from typing import Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

LARGEST = 2**53  # beyond it JSON readers lose digits; PostgreSQL's bigint ends at 2**63 - 1


class CleanJSONParser(JSONParser):
    """JSON in which no text holds a NUL or a lone surrogate and no whole number exceeds 2^53."""

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Any = None) -> Any:
        data = super().parse(stream, media_type, parser_context)
        refuse_unstorable(data)
        return data


def refuse_unstorable(value: Any) -> None:
    """Raise ParseError where `value` holds something that the database cannot keep."""
    if isinstance(value, dict):
        for key, inner in value.items():
            refuse_unstorable(key)
            refuse_unstorable(inner)
    elif isinstance(value, list):
        for inner in value:
            refuse_unstorable(inner)
    elif isinstance(value, str):
        if "\0" in value or not value.isprintable() and any("\ud800" <= c <= "\udfff" for c in value):
            raise ParseError("Text may not hold a NUL or half a surrogate pair.")
    elif isinstance(value, int) and abs(value) > LARGEST:
        raise ParseError("A number is too large.")
