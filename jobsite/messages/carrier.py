"""The way to the mail server: one connection for many mails, which always knows whether the server may have taken one.

SMTP as in RFC 5321. Until the dot that ends a mail has been sent, the server has not taken it (4.1.1.4): whatever goes
wrong before is surely not taken and is tried again. What goes wrong between the dot and the answer is not known.
"""

import contextlib
import re
import smtplib
import socket
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.smtp import EmailBackend
from django.core.mail.message import sanitize_address

from jobsite.messages.models import Message

STATE = Message.State
Begin = Callable[[], bool]
TOO_BIG = 552  # RFC 5321 4.2.2: of MAIL with a size (RFC 1870) it is about this mail, not about us
CLOSES = 421
GO_ON = 354
NO_SUCH_ADDRESS = (550, 551, 553)  # RFC 5321 4.2.2, where no status of RFC 3463 says it more plainly


class Unreachable(Exception):
    """There is no mail server to talk to now: nobody answers, or it turns us away whatever the mail."""


@dataclass(frozen=True)
class Carried:
    """How it ended: SENT, WAITING (surely not taken), FAILED (refused) or UNKNOWN; a state of None: the claim was lost.

    `trouble`: it would have gone the same with any other mail.
    """

    state: STATE | None
    error: str = ""
    address_refused: bool = False
    trouble: bool = False


SENT = Carried(STATE.SENT)
LOST = Carried(None)


class Carrier:
    """One connection, opened when the first mail is there and again when it broke. Close it when done."""

    def __init__(self) -> None:
        self.connection: Any = get_connection()
        self.carried = 0

    def open(self) -> None:
        """Reach the mail server, unless it is reached already. Raises Unreachable with what went wrong."""
        try:
            if self.connection.open():
                self.carried = 0
        except Exception as error:
            what = "turns us away" if isinstance(error, smtplib.SMTPResponseException) else "cannot be reached"
            raise Unreachable(f"The mail server {what}: {said(error)}") from error
        if (client := self._client()) and client.sock:
            # The end of a mail follows its text in a packet of its own, which must not wait for an answer to the first.
            client.sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    def close(self) -> None:
        """Say goodbye, if the other side still listens."""
        with contextlib.suppress(Exception):
            self.connection.close()

    def hang_up(self) -> None:
        """Close without a word: a server that hangs answers no goodbye either."""
        if isinstance(self.connection, EmailBackend) and self.connection.connection:
            self.connection.connection.close()
            self.connection.connection = None

    def carry(self, mail: EmailMessage, *, begin: Begin) -> Carried:
        """Hand `mail` over. `begin` is asked just before the server could take it, and stops it by False.

        Raises Unreachable, and what `begin` raises; then nothing was handed over.
        A mail at which the server breaks off is tried later like any other that was not taken: it must not hold up the rest.
        """
        if not isinstance(self.connection, EmailBackend):
            return self._by_another_way(mail, begin)
        data = mail.message().as_bytes(linesep="\r\n")  # type: ignore[call-arg] # Django's own kind of message
        again = self.carried > 0
        while True:
            self.open()
            try:
                return self._carry(mail, data, begin)
            except (smtplib.SMTPServerDisconnected, OSError) as error:
                self.hang_up()
                if not again or isinstance(error.__context__, TimeoutError):
                    text = f"The mail server broke off before it was handed over: {said(error)}"
                    return Carried(STATE.WAITING, text, trouble=True)
                again = False  # it may only have had enough of the long connection: once more on a new one

    def _client(self) -> smtplib.SMTP | None:
        return self.connection.connection if isinstance(self.connection, EmailBackend) else None

    def _carry(self, mail: EmailMessage, data: bytes, begin: Begin) -> Carried:
        """The steps of one mail. Raises SMTPServerDisconnected or OSError while it is surely not taken."""
        client = self._client()
        if client is None:
            raise smtplib.SMTPServerDisconnected("not connected")
        client.ehlo_or_helo_if_needed()
        size = [f"size={len(data)}"] if client.has_extn("size") else []
        code, words = client.mail(envelope_sender(mail), size)
        if code == TOO_BIG:
            return self._refused(client, code, words)
        if code >= 400:
            # Whatever it thinks of us, no other mail would fare better; a person may put that right meanwhile.
            self._forget(client, code)
            return Carried(
                STATE.WAITING, f"The mail server takes nothing from us now: {answer(code, words)}", trouble=True
            )
        code, words = client.rcpt(sanitize_address(mail.to[0], "utf-8"))
        if code >= 400:
            return self._refused(client, code, words, address=True)
        if not begin():
            self._forget(client, code)
            return LOST
        code, words = client.docmd("data")
        if code != GO_ON:
            return self._refused(client, code, words)
        client.send(dotted(data))
        return self._end(client)

    def _end(self, client: smtplib.SMTP) -> Carried:
        """The dot, and the answer to it: from the first to the second nobody knows."""
        try:
            _patience(client, settings.MAIL_ANSWER_TIMEOUT)
            client.send(b".\r\n")
            code, words = client.getreply()
            _patience(client, settings.EMAIL_TIMEOUT)
        except (smtplib.SMTPException, OSError) as error:
            self.hang_up()
            return Carried(STATE.UNKNOWN, f"The connection broke while it was handed over: {said(error)}", trouble=True)
        if 200 <= code < 300:
            self.carried += 1
            return SENT
        return self._refused(client, code, words)

    def _refused(self, client: smtplib.SMTP, code: int, words: bytes, *, address: bool = False) -> Carried:
        """An answer of 4yz is for now and 5yz for good (RFC 5321 4.2.1)."""
        self._forget(client, code)
        if code < 500:
            text = f"The mail server asks to come again: {answer(code, words)}"
            return Carried(STATE.WAITING, text, trouble=not address or code == CLOSES)
        if address:
            error = f"The mail server refused the address: {answer(code, words)}"
            return Carried(STATE.FAILED, error, address_refused=nobody_there(code, words))
        return Carried(STATE.FAILED, f"The mail server refused: {answer(code, words)}")

    def _forget(self, client: smtplib.SMTP, code: int) -> None:
        """Make ready for the next mail; a connection that cannot is given up."""
        try:
            if code != CLOSES:
                client.rset()
                return
        except (smtplib.SMTPException, OSError):
            pass
        self.hang_up()

    def _by_another_way(self, mail: EmailMessage, begin: Begin) -> Carried:
        """A folder, or whatever else the settings name: what it raises says what a mail server would have answered."""
        if not begin():
            return LOST
        connection, self.connection = self.connection, get_connection()  # a folder keeps a file for each
        try:
            connection.send_messages([mail])
        except smtplib.SMTPRecipientsRefused as error:
            code, words = next(iter(error.recipients.values()))
            wait = code < 500
            text = f"The mail server refused the address: {answer(code, words)}"
            return Carried(STATE.WAITING if wait else STATE.FAILED, text, address_refused=nobody_there(code, words))
        except smtplib.SMTPResponseException as error:
            wait = 400 <= error.smtp_code < 500
            return Carried(STATE.WAITING if wait else STATE.FAILED, f"The mail server refused: {error}")
        except Exception as error:  # noqa: BLE001 - it may have been taken before this went wrong
            return Carried(STATE.UNKNOWN, f"The connection broke while it was handed over: {error}", trouble=True)
        return SENT


def _patience(client: smtplib.SMTP, seconds: float) -> None:
    if client.sock:
        client.sock.settimeout(seconds)


def dotted(data: bytes) -> bytes:
    """`data` as it goes over the line, up to the dot that ends it (RFC 5321 4.5.2)."""
    return re.sub(rb"(?m)^\.", b"..", data if data.endswith(b"\r\n") else data + b"\r\n")


def envelope_sender(mail: EmailMessage) -> str:
    """Where a mail server sends what it cannot deliver: RETURN_EMAIL, else the sender's own address."""
    sender = settings.RETURN_EMAIL or mail.from_email
    return sanitize_address(sender, "utf-8").rpartition("<")[2].rstrip(">")


def nobody_there(code: int, words: bytes | str) -> bool:
    """Whether an answer to RCPT is about the address: a status 5.1.x or 5.2.x (RFC 3463 3.2, 3.3), else the code alone."""
    text = words.decode("utf-8", "replace") if isinstance(words, bytes) else str(words)
    status = text.split(" ", 1)[0]
    if status.count(".") == 2 and status.replace(".", "").isdigit():
        return status.startswith(("5.1.", "5.2."))
    return code in NO_SUCH_ADDRESS


def answer(code: int, words: bytes | str) -> str:
    """What a server answered, for reading: "550 nobody of that name"."""
    text = words.decode("utf-8", "replace") if isinstance(words, bytes) else str(words)
    return f"{code} {' '.join(text.split())}"[:1_000]


def said(error: Exception) -> str:
    """An error for reading; of one that a server answered, its answer."""
    if isinstance(error, smtplib.SMTPResponseException):
        return answer(error.smtp_code, error.smtp_error)
    return " ".join(str(error).split())[:1_000] or type(error).__name__
