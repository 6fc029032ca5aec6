"""What the logs may say: never the token of a private link, for whoever reads the log could open the page with it."""

import logging
import re

TOKEN = re.compile(r"(/(?:[sqvt]|calendar)/)[^/\s?#\"']+")


def without_tokens(text: str) -> str:
    """`text` with the token of any private link's address replaced."""
    return TOKEN.sub(r"\1…", text)


class HideTokens(logging.Filter):
    """A filter for handlers and loggers that takes tokens out of the line, its arguments and its traceback."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg, record.args = without_tokens(record.getMessage()), None
        if record.exc_info and not record.exc_text:
            record.exc_text = logging.Formatter().formatException(record.exc_info)
        if record.exc_text:
            record.exc_text = without_tokens(record.exc_text)
        return True
