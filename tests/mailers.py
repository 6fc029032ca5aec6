"""Mail servers that misbehave, as Django mail backends: what a sender meets in the open."""

import smtplib
from typing import Any

from django.core.mail.backends.locmem import EmailBackend


class Unreachable(EmailBackend):
    """Nobody answers."""

    def open(self) -> None:
        raise ConnectionRefusedError("nobody answers")


class Busy(EmailBackend):
    """Answers 421: try again later."""

    def send_messages(self, messages: Any) -> int:
        raise smtplib.SMTPDataError(421, b"busy")


class Refusing(EmailBackend):
    """Answers 554: never."""

    def send_messages(self, messages: Any) -> int:
        raise smtplib.SMTPDataError(554, b"no")


class NoSuchAddress(EmailBackend):
    """Knows nobody of that name."""

    def send_messages(self, messages: Any) -> int:
        raise smtplib.SMTPRecipientsRefused({"x@example.com": (550, b"unknown")})


class BreaksAfterTaking(EmailBackend):
    """Takes the message, then the line goes dead before the answer arrives."""

    def send_messages(self, messages: Any) -> int:
        super().send_messages(messages)
        raise smtplib.SMTPServerDisconnected("connection lost")
