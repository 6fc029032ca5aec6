"""What a mail server's delivery report says, read as RFC 3464 (and RFC 6533 for addresses beyond ASCII) write it. Pure.

A report is a multipart/report of three parts: words for a person, fields for a program, and the mail that it is about or
its head, where the Message-ID stands that we gave it.
"""

import email
import email.policy
from dataclasses import dataclass
from email.message import Message as Mail
from email.parser import HeaderParser

STATUS_PARTS = ("message/delivery-status", "message/global-delivery-status")
WHOLE_PARTS = ("message/rfc822", "message/global")
HEAD_PARTS = ("text/rfc822-headers", "message/global-headers")
LONGEST = 2_000
FAILED, DELAYED = "failed", "delayed"


class NoReport(ValueError):
    """What was read is no delivery report, or says nothing that can be used."""


@dataclass(frozen=True)
class Report:
    """What a report says of one recipient: `action` as RFC 3464 2.3.3 names it, `status` as RFC 3463 counts it."""

    message_id: str
    action: str
    status: str
    recipient: str
    words: str

    @property
    def final(self) -> bool:
        """Whether nobody tries any more (RFC 3464 2.3.3: "failed" is final, "delayed" is not)."""
        return self.action == FAILED


def read_report(data: bytes) -> Report:
    """The report in the mail `data`. Raises NoReport with a sentence.

    Of several recipients the one that failed counts, since we write to one at a time and a list may have multiplied it.
    """
    mail = email.message_from_bytes(data, policy=email.policy.compat32)
    if mail.get_content_type() != "multipart/report" or not mail.is_multipart():
        raise NoReport("This is no delivery report: its content is not multipart/report (RFC 3464).")
    parts = [part for part in mail.walk() if part is not mail]
    message_id = _message_id(parts)
    groups = _recipients(parts)
    if not groups:
        raise NoReport("The report has no part that says what became of the mail (message/delivery-status).")
    if not message_id:
        raise NoReport(
            "The report does not bring the head of the mail that it is about: nobody knows which one it was."
        )
    group = next((one for one in groups if _field(one, "Action").lower() == FAILED), groups[0])
    return Report(
        message_id=message_id,
        action=_field(group, "Action").lower(),
        status=_field(group, "Status").split(" ")[0],
        recipient=_typed(_field(group, "Original-Recipient") or _field(group, "Final-Recipient")),
        words=_words(group),
    )


def _recipients(parts: list[Mail]) -> list[Mail]:
    """The groups of fields a recipient (RFC 3464 2.3); the group of the whole report stands before them."""
    for part in parts:
        if part.get_content_type() in STATUS_PARTS:
            return [
                one for one in _groups(part) if one["Action"] and (one["Final-Recipient"] or one["Original-Recipient"])
            ]
    return []


def _groups(part: Mail) -> list[Mail]:
    """Groups of fields parted by blank lines. Python's parser knows that of message/delivery-status only."""
    payload = part.get_payload()
    if not isinstance(payload, list):
        content = part.get_payload(decode=True)
        text = content.decode("utf-8", "replace") if isinstance(content, bytes) else ""
    elif len(payload) == 1:
        text = str(payload[0])
    else:
        return [one for one in payload if isinstance(one, Mail)]
    groups = text.replace("\r\n", "\n").split("\n\n")
    return [HeaderParser().parsestr(group) for group in groups if group.strip()]


def _message_id(parts: list[Mail]) -> str:
    """The Message-ID of the mail that came back: it stands in the third part."""
    for part in parts:
        if part.get_content_type() in (*HEAD_PARTS, *WHOLE_PARTS):
            payload = part.get_payload()
            heads = payload if isinstance(payload, list) and payload else _groups(part)
            return str(next((one["Message-ID"] for one in heads if isinstance(one, Mail)), "") or "").strip()
    return ""


def _field(group: Mail, name: str) -> str:
    return " ".join(str(group[name] or "").split())


def _typed(value: str) -> str:
    """The address of `rfc822; petra@example.com`."""
    return value.partition(";")[2].strip() or value


def _words(group: Mail) -> str:
    """What the server said, with the status: "5.1.1: 550 nobody of that name here"."""
    said = _typed(_field(group, "Diagnostic-Code"))
    return ": ".join(part for part in (_field(group, "Status"), said) if part)[:LONGEST]
