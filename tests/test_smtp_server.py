"""The mail server that tests stand beside behaves as it is told, as Python's own client of SMTP meets it."""

import smtplib
import time
from email.message import EmailMessage

import pytest

from tests.smtp_server import Manner, SmtpServer


def letter(to: str = "petra@example.com", text: str = "Dear Petra") -> EmailMessage:
    mail = EmailMessage()
    mail["From"], mail["To"], mail["Subject"], mail["Message-ID"] = "office@example.com", to, "Due", "<one@example.com>"
    mail.set_content(text)
    return mail


def send(server: SmtpServer, mail: EmailMessage, *, timeout: float = 5) -> None:
    with smtplib.SMTP("127.0.0.1", server.port, timeout=timeout) as client:
        client.send_message(mail)


def test_it_keeps_what_it_took():
    with SmtpServer() as server:
        send(server, letter(text="Dear Petra,\n.a line that begins with a dot\n\nBye"))
    (taken,) = server.taken
    assert (taken.message_id, taken.sender, taken.to) == (
        "<one@example.com>",
        "office@example.com",
        ("petra@example.com",),
    )
    assert taken.text.splitlines() == ["Dear Petra,", ".a line that begins with a dot", "", "Bye"]


@pytest.mark.parametrize(
    ("manner", "error"),
    [
        (Manner.REFUSE_AT_CONNECT, smtplib.SMTPConnectError),
        (Manner.BUSY_AT_CONNECT, smtplib.SMTPConnectError),
        (Manner.DIE_AT_CONNECT, smtplib.SMTPServerDisconnected),
        (Manner.REFUSE_SENDER, smtplib.SMTPSenderRefused),
        (Manner.REFUSE_ADDRESS, smtplib.SMTPRecipientsRefused),
        (Manner.LATER, smtplib.SMTPRecipientsRefused),
        (Manner.BUSY, smtplib.SMTPSenderRefused),
        (Manner.REFUSE_CONTENT, smtplib.SMTPDataError),
        (Manner.BUSY_AFTER_DATA, smtplib.SMTPDataError),
        (Manner.DIE_BEFORE_DATA, smtplib.SMTPServerDisconnected),
        (Manner.DIE_IN_DATA, smtplib.SMTPServerDisconnected),
        (Manner.DIE_AFTER_TAKING, smtplib.SMTPServerDisconnected),
        (Manner.HANG_AT_CONNECT, smtplib.SMTPServerDisconnected),
        (Manner.HANG_BEFORE_DATA, smtplib.SMTPServerDisconnected),
        (Manner.HANG_AFTER_TAKING, smtplib.SMTPServerDisconnected),
    ],
)
def test_it_misbehaves_as_it_is_told(manner, error):
    with SmtpServer(manner=manner) as server:
        with pytest.raises(error):
            send(server, letter(), timeout=0.3)
        keeps = manner in (Manner.DIE_AFTER_TAKING, Manner.HANG_AFTER_TAKING)
        assert len(server.taken) == keeps


def test_one_address_one_mail_and_slowness():
    with SmtpServer(slow_ms=50) as server:
        server.of_address["gone@example.com"] = Manner.REFUSE_ADDRESS
        server.next([Manner.BUSY])
        with pytest.raises(smtplib.SMTPSenderRefused, match="451"):
            send(server, letter())
        with pytest.raises(smtplib.SMTPRecipientsRefused, match="nobody of that name"):
            send(server, letter("gone@example.com"))
        began = time.monotonic()
        send(server, letter())
        assert time.monotonic() - began >= 0.05
        assert len(server.taken) == 1


def test_it_is_down_and_comes_back_at_the_same_port():
    server = SmtpServer().start()
    port = server.port
    server.stop()
    with pytest.raises(ConnectionRefusedError):
        send(server, letter())
    with server:
        send(server, letter())
        assert (server.port, server.ids()) == (port, ["<one@example.com>"])


def test_a_connection_that_stands_is_not_greeted_again():
    with SmtpServer() as server, smtplib.SMTP("127.0.0.1", server.port, timeout=5) as client:
        client.send_message(letter())
        server.manner = Manner.HANG_AT_CONNECT
        client.send_message(letter(text="Dear Petra again"))
        assert len(server.taken) == 2, "whatever it said yes to it keeps"
