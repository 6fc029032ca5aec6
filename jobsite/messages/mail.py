"""A message as an e-mail: its parts (RFC 2046) and its head (RFC 5322)."""

from dataclasses import dataclass
from datetime import datetime
from email.charset import QP, Charset
from email.utils import format_datetime, formataddr, parseaddr
from typing import Self
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.mail import EmailMultiAlternatives
from django.core.validators import validate_email

from jobsite.firm.models import Firm
from jobsite.messages.models import Message
from jobsite.messages.rules.letters import html_of
from jobsite.words import london

# Any server takes it as it is, and no line is longer than RFC 5322 (2.1.1) allows: plain 8-bit text is neither.
READABLE = Charset("utf-8")
READABLE.body_encoding = QP


@dataclass(frozen=True)
class Complete:
    """What goes out for a message: its words, and files as (name, content, media type). None of it is kept in its row.

    `headers`: further lines of its head, as (name, value). `html`: its HTML part, made from `body` where it is empty.
    """

    body: str
    files: tuple[tuple[str, bytes, str], ...] = ()
    headers: tuple[tuple[str, str], ...] = ()
    html: str = ""


def as_written(message: Message) -> Complete:
    """The message as it stands in its row."""
    return Complete(message.body)


@dataclass(frozen=True)
class Letterhead:
    """Whom e-mails are from, and where answers go."""

    sender: str
    reply_to: str

    @classmethod
    def of_the_firm(cls) -> Self:
        """The firm's name beside FROM_EMAIL, unless that brings a name; answers go to the firm's own address."""
        firm = Firm.objects.first()
        name, address = parseaddr(settings.DEFAULT_FROM_EMAIL)
        entered = one_line(firm.name) if firm else ""
        return cls(formataddr((name or entered, address)), valid_address(firm.email) if firm else "")


def as_mail(message: Message, whole: Complete, head: Letterhead, *, now: datetime) -> EmailMultiAlternatives:
    """The e-mail of `message` with `whole` in it: plain text first, the richer part last (RFC 2046 5.1.4).

    Date is when it was written, as RFC 5322 (3.6.1) has it, not when it was handed over; never ahead of `now`.
    Auto-Submitted keeps machines from answering it (RFC 3834 5). Raises ValueError for what no e-mail can hold.
    """
    headers = {
        "Message-ID": message_id(message.pk),
        "Date": format_datetime(london(min(message.written_at, now))),
        "Auto-Submitted": "auto-generated",
    }
    mail = EmailMultiAlternatives(
        one_line(message.subject),
        whole.body,
        from_email=head.sender,
        to=[message.address],
        reply_to=[head.reply_to] if head.reply_to else None,
        headers=headers | dict(whole.headers),
        attachments=list(whole.files),
    )
    mail.encoding = READABLE
    mail.attach_alternative(whole.html or html_of(whole.body, title=one_line(message.subject)), "text/html")
    mail.message()  # what cannot be written is found out now, before anybody is bothered with it
    return mail


def one_line(text: str) -> str:
    """`text` on one line: a line break in a site's name would end the header."""
    return " ".join(text.split())


def valid_address(text: str) -> str:
    """`text` where it is an e-mail address, else ""."""
    try:
        validate_email(text)
    except ValidationError:
        return ""
    return text


def message_id(pk: UUID) -> str:
    """The Message-ID of a row: always the same, so that a mail server can recognise a repetition."""
    return f"<{pk}@{urlsplit(settings.SITE_ADDRESS).hostname}>"


def key_of(text: str) -> UUID | None:
    """The key of the row that has `text` as its Message-ID; None where it is none of ours."""
    key, _, host = text.strip().removeprefix("<").removesuffix(">").partition("@")
    try:
        found = UUID(key)
    except ValueError:
        return None
    return found if host.lower() == str(urlsplit(settings.SITE_ADDRESS).hostname).lower() else None
