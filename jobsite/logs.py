"""What the logs may say: never the token of a private link, for whoever reads the log could open the page with it.

A service open to others writes a line of JSON for each thing (`JsonLines`), with the id of the request or task in which it
happened (`DOING`): the same that stands in the answer's header X-Request-Id.
"""

import json
import logging
import re
from contextvars import ContextVar
from datetime import UTC, datetime

# By the word before it, also where only a part of it was copied; and anything as long as a token, whatever stands before.
BEFORE = r"/(?:[spqvt]|copy|copies|calendar|stop)/"
TOKEN = re.compile(rf"({BEFORE})[^/\s?#\"']+|(/)[A-Za-z0-9_-]{{40,}}(?![A-Za-z0-9_.-])")
PRIVATE_PAGE = re.compile(BEFORE)


def without_tokens(text: str) -> str:
    """`text` with the token of any private link's address replaced."""
    return TOKEN.sub(r"\1\2…", text)


def holds_token(path: str) -> bool:
    """Whether the address `path` is that of a private link, or of what somebody took for one."""
    return PRIVATE_PAGE.match(path) is not None


class HideTokens(logging.Filter):
    """A filter for handlers and loggers that takes tokens out of the line, its arguments and its traceback."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg, record.args = without_tokens(record.getMessage()), None
        if record.exc_info and not record.exc_text:
            record.exc_text = logging.Formatter().formatException(record.exc_info)
        if record.exc_text:
            record.exc_text = without_tokens(record.exc_text)
        return True


DOING: ContextVar[dict[str, str]] = ContextVar("DOING", default={})  # noqa: B039  never changed, only set anew
"""What this process is doing just now, for every line that it writes: `request` or `task`, each an id."""


class JsonLines(logging.Formatter):
    """One line of JSON a record: at, level, logger, message, what was being done, and the record's `facts`.

    Tokens are taken out here too, whatever filters a handler has.
    """

    def format(self, record: logging.LogRecord) -> str:
        at = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        line: dict[str, object] = {"at": at, "level": record.levelname.lower(), "logger": record.name}
        line |= {"message": record.getMessage(), **DOING.get(), **getattr(record, "facts", {})}
        if record.exc_info and not record.exc_text:
            record.exc_text = self.formatException(record.exc_info)
        if record.exc_text:
            line["traceback"] = record.exc_text
        return json.dumps({key: _clean(value) for key, value in line.items()}, default=str, ensure_ascii=False)


def _clean(value: object) -> object:
    return value if isinstance(value, int | float | None) else without_tokens(str(value))
