"""JSON without surprises."""

import re
from typing import Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

LARGEST = 2**53  # beyond it JSON readers lose digits; PostgreSQL's bigint ends at 2**63 - 1
UNSTORABLE = re.compile("[\0\ud800-\udfff]")


class CleanJSONParser(JSONParser):
    """JSON in which no text holds a NUL or a lone surrogate and no whole number exceeds 2^53."""

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Any = None) -> Any:
        """What the body says. Raises ParseError for what is no such JSON, or is nested deeper than anybody writes."""
        try:
            data = super().parse(stream, media_type, parser_context)
            refuse_unstorable(data)
        except RecursionError:
            raise ParseError("This is nested too deeply.") from None
        except LookupError:
            raise ParseError("Send JSON as UTF-8.") from None
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
    elif isinstance(value, str) and UNSTORABLE.search(value):
        raise ParseError("Text may not hold a NUL or half a surrogate pair.")
    elif isinstance(value, int) and abs(value) > LARGEST:
        raise ParseError("A number is too large.")
