"""Sending to a real mail server over a real socket: what it took is sent, what it surely did not take waits, the rest is asked."""

import email.utils
import ssl
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import environ
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from django.core.mail.backends.smtp import EmailBackend

from jobsite.firm.models import Firm
from jobsite.messages.carrier import dotted, nobody_there
from jobsite.messages.mail import Complete
from jobsite.messages.models import Message
from jobsite.messages.operations import message_id, send_again, send_round, send_waiting, write_messages
from tests.factories import NOON
from tests.smtp_server import Manner, SmtpServer

pytestmark = pytest.mark.django_db
STATE = Message.State


@pytest.fixture(autouse=True)
def impatient(settings):
    settings.EMAIL_TIMEOUT = settings.MAIL_ANSWER_TIMEOUT = 0.3


def write(occasion="one", **fields):
    usual = {"to_kind": "customer", "to_id": "01890a5d-ac96-774b-bcce-b302099a8057", "address": "petra@example.com"}
    usual |= {"subject": "Inspection due", "body": "Dear Petra,\n\ncome.\n", "written_at": NOON, "next_try_at": NOON}
    write_messages([Message(occasion=occasion, **usual | fields)])
    return Message.objects.get(occasion=occasion)


def always(message):
    return True


def at_each(messages):
    return always


def send(now=NOON, **how):
    return send_waiting(now=now, stands=always, **how)


def outcomes():
    return dict(Message.objects.values_list("occasion", "state"))


# --- what becomes of one message ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("manner", "state", "counted", "taken"),
    [
        (Manner.TAKE, STATE.SENT, 1, 1),
        (Manner.REFUSE_AT_CONNECT, STATE.WAITING, 0, 0),
        (Manner.BUSY_AT_CONNECT, STATE.WAITING, 0, 0),
        (Manner.DIE_AT_CONNECT, STATE.WAITING, 0, 0),
        (Manner.HANG_AT_CONNECT, STATE.WAITING, 0, 0),
        (Manner.REFUSE_SENDER, STATE.WAITING, 1, 0),
        (Manner.BUSY, STATE.WAITING, 1, 0),
        (Manner.LATER, STATE.WAITING, 1, 0),
        (Manner.HANG_BEFORE_DATA, STATE.WAITING, 1, 0),
        (Manner.DIE_BEFORE_DATA, STATE.WAITING, 1, 0),
        (Manner.BUSY_AFTER_DATA, STATE.WAITING, 1, 0),
        (Manner.REFUSE_ADDRESS, STATE.FAILED, 1, 0),
        (Manner.REFUSE_CONTENT, STATE.FAILED, 1, 0),
        (Manner.DIE_IN_DATA, STATE.UNKNOWN, 1, 0),
        (Manner.DIE_AFTER_TAKING, STATE.UNKNOWN, 1, 1),
        (Manner.HANG_AFTER_TAKING, STATE.UNKNOWN, 1, 1),
    ],
)
def test_what_the_server_does_decides(smtp, manner, state, counted, taken):
    smtp.manner = manner
    write()
    assert send() == 1
    message = Message.objects.get()
    assert (message.state, message.attempts, len(smtp.taken)) == (state, counted, taken)
    assert bool(message.error) == (state != STATE.SENT)
    assert (message.claim is None) == (state == STATE.WAITING)
    assert message.address_refused == (manner is Manner.REFUSE_ADDRESS)
    smtp.manner = Manner.TAKE
    send(NOON + timedelta(days=1))
    sent = state in (STATE.SENT, STATE.WAITING)
    assert outcomes() == {"one": STATE.SENT if sent else state}
    assert smtp.ids() == [message_id(message.pk)] * (1 if sent else taken)


def test_nobody_listens_for_a_day_and_is_back(smtp):
    write("first")
    write("second")
    smtp.stop()
    for hours in range(24):
        assert send_round(now=NOON + timedelta(hours=hours), look=at_each).more is False
    assert {message.attempts for message in Message.objects.all()} == {0}
    assert "cannot be reached" in Message.objects.get(occasion="first").error
    smtp.start()
    assert send(NOON + timedelta(days=1)) == 2
    assert set(outcomes().values()) == {STATE.SENT}


@pytest.mark.parametrize(
    ("code", "words", "nobody"),
    [
        (550, b"5.1.1 nobody of that name here", True),  # RFC 3463, 3.2: bad destination mailbox address
        (550, b"5.2.1 mailbox disabled", True),  # 3.3
        (550, b"5.7.1 relaying denied", False),  # 3.8: policy, the same for any address
        (550, b"nobody of that name", True),
        (554, b"no", False),
    ],
)
def test_an_address_that_nobody_has_is_told_from_what_the_server_does_not_like(code, words, nobody):
    assert nobody_there(code, words) is nobody


# --- many over one connection -------------------------------------------------------------------------------------------


def test_many_go_over_one_connection(smtp):
    for n in range(50):
        write(f"message {n}", address=f"p{n}@example.com")
    assert send() == 50
    assert (len(smtp.taken), smtp.connections, len(set(smtp.ids()))) == (50, 1, 50)
    assert set(outcomes().values()) == {STATE.SENT}


def test_a_connection_that_broke_is_opened_again_and_nothing_goes_twice(smtp):
    for n in range(6):
        write(f"message {n}", next_try_at=NOON - timedelta(minutes=10 - n))
    smtp.next([Manner.TAKE, Manner.DIE_BEFORE_DATA, Manner.TAKE, Manner.DIE_AFTER_TAKING, Manner.BUSY_AFTER_DATA])
    assert send() == 6
    assert outcomes() == {
        "message 0": STATE.SENT,
        "message 1": STATE.SENT,  # the server had enough of the connection: at once once more, on a new one
        "message 2": STATE.UNKNOWN,
        "message 3": STATE.WAITING,
        "message 4": STATE.SENT,
        "message 5": STATE.SENT,
    }
    assert len(smtp.ids()) == len(set(smtp.ids())) == 5
    assert smtp.connections == 3


def test_one_bad_address_does_not_hold_up_the_others(smtp):
    smtp.of_address["gone@example.com"] = Manner.DIE_BEFORE_DATA
    write("bad", danger=True, address="gone@example.com")
    for n in range(5):
        write(f"good {n}")
    send()
    found = outcomes()
    assert found.pop("bad") == STATE.WAITING
    assert set(found.values()) == {STATE.SENT}


def test_a_server_in_trouble_is_left_alone_after_three(smtp):
    smtp.manner = Manner.BUSY
    for n in range(10):
        write(f"message {n}")
    found = send_round(now=NOON, look=at_each)
    assert (found.looked_at, found.more) == (3, False)
    assert sorted(Message.objects.values_list("attempts", flat=True)) == [0] * 7 + [1] * 3


def test_after_five_breaks_in_a_row_sending_rests_and_begins_again(smtp):
    for n in range(8):
        write(f"message {n}")
    smtp.manner = Manner.DIE_AFTER_TAKING
    assert send() == 3
    assert send() == 2 + 1
    assert send() == 0
    assert send(NOON + timedelta(minutes=3)) == 0
    smtp.manner = Manner.TAKE
    assert send(NOON + timedelta(minutes=5)) == 2
    assert sorted(outcomes().values()) == [STATE.SENT] * 2 + [STATE.UNKNOWN] * 6


def test_a_round_says_whether_more_can_go_out(smtp):
    for n in range(3):
        write(f"message {n}")
    assert send_round(now=NOON, look=at_each, limit=2).more is True
    assert send_round(now=NOON, look=at_each, limit=2).more is False


# --- what stands in it --------------------------------------------------------------------------------------------------


def taken(smtp):
    (one,) = smtp.taken
    return one.mail


def test_its_head(smtp, settings):
    settings.DEFAULT_FROM_EMAIL, settings.RETURN_EMAIL = "post@example.com", "returns@example.com"
    Firm.objects.create(name="Larkspur & Sons, Electrical", email="office@example.com")
    message = write(subject="Danger:\nOld Barn, Überlingen", written_at=NOON - timedelta(hours=3))
    headers = (("List-Unsubscribe", "<https://localhost/stop/" + "x" * 90 + "/>"), ("List-Unsubscribe-Post", "a=b"))
    send(complete=lambda message: Complete(message.body, headers=headers))
    mail = taken(smtp)
    assert mail["Message-ID"] == message_id(message.pk)
    assert mail["Auto-Submitted"] == "auto-generated"  # RFC 3834, 5
    assert mail["Subject"] == "Danger: Old Barn, Überlingen"
    assert mail["Reply-To"] == "office@example.com"
    assert email.utils.parseaddr(mail["From"]) == ("Larkspur & Sons, Electrical", "post@example.com")
    assert smtp.taken[0].sender == "returns@example.com"
    # RFC 5322, 3.6.1: when it was put into its final form, not when it was handed over.
    assert email.utils.parsedate_to_datetime(mail["Date"]) == NOON - timedelta(hours=3)
    assert mail["List-Unsubscribe"].replace(" ", "") == headers[0][1]
    assert b"\r\nList-Unsubscribe-Post: a=b\r\n" in smtp.taken[0].raw


def test_a_firm_that_entered_no_address_gets_no_answers_to_a_wrong_one(smtp):
    Firm.objects.create(name="", email="ring us")
    write()
    send()
    assert taken(smtp)["Reply-To"] is None


def test_it_has_text_first_and_html_second_and_files_beside_them(smtp):
    """RFC 2046, 5.1.4: of alternatives the last is the richest; RFC 5322, 2.1.1: no line over 998 octets."""
    write(body="Dear Petra,\n\n" + "a long line ü " * 200 + "\n.\n\nOpen it:\nhttps://localhost/due/\n")
    send(
        complete=lambda message: Complete(
            message.body, files=(("quote.pdf", b"%PDF-1.7\n\x00\xff", "application/pdf"),)
        )
    )
    mail = taken(smtp)
    assert mail.get_content_type() == "multipart/mixed"
    both, file = mail.iter_parts()
    assert both.get_content_type() == "multipart/alternative"
    text, html = both.iter_parts()
    assert (text.get_content_type(), html.get_content_type()) == ("text/plain", "text/html")
    assert text.get_content().replace("\r\n", "\n") == Message.objects.get().body
    assert 'href="https://localhost/due/"' in html.get_content()
    assert (file.get_filename(), file.get_content()) == ("quote.pdf", b"%PDF-1.7\n\x00\xff")
    lines = smtp.taken[0].raw.split(b"\r\n")
    assert max(map(len, lines)) <= 998
    assert all(byte < 128 for byte in smtp.taken[0].raw)  # any server takes it, with 8BITMIME or without


def test_sent_again_it_is_the_same_mail(smtp, office):
    message = write()
    smtp.manner = Manner.DIE_AFTER_TAKING
    send()
    smtp.manner = Manner.TAKE
    send_again(message, by=office, now=NOON + timedelta(days=1))
    send(NOON + timedelta(days=1))
    first, second = smtp.taken
    assert (first.message_id, first.mail["Date"]) == (second.message_id, second.mail["Date"])


def test_dots_are_doubled_and_the_last_line_ends():
    """RFC 5321, 4.5.2."""
    assert dotted(b".one\r\n..\r\ntwo.\r\n.") == b"..one\r\n...\r\ntwo.\r\n..\r\n"


# --- signing in, and nobody reads on the way ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def certificate(tmp_path_factory) -> Path:
    """A certificate for 127.0.0.1 that this test signs itself, with its key."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "mail for tests")])
    began = datetime.now(UTC) - timedelta(days=1)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(began)
        .not_valid_after(began + timedelta(days=9))
        .add_extension(x509.SubjectAlternativeName([x509.IPAddress(ip_address("127.0.0.1"))]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    path = tmp_path_factory.mktemp("tls") / "both.pem"
    path.write_bytes(
        key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
        + made.public_bytes(serialization.Encoding.PEM)
    )
    return path


@pytest.mark.parametrize("at_once", [False, True])
@pytest.mark.parametrize("password", ["right", "wrong"])
def test_tls_and_signing_in(settings, certificate, monkeypatch, at_once, password):
    """EMAIL_URL=smtp+tls://… (STARTTLS, RFC 3207) and smtp+ssl://… (TLS at once, RFC 8314 3.3), with a name and a password."""
    tls = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    tls.load_cert_chain(certificate)
    trusting = ssl.create_default_context(cafile=str(certificate))
    monkeypatch.setattr(EmailBackend, "ssl_context", trusting)
    with SmtpServer(tls=tls, tls_at_once=at_once, user="firm", password="right") as server:
        scheme = "smtp+ssl" if at_once else "smtp+tls"
        from_url(settings, f"{scheme}://firm:{password}@127.0.0.1:{server.port}")
        settings.EMAIL_TIMEOUT = settings.MAIL_ANSWER_TIMEOUT = 5
        write()
        send()
        assert len(server.taken) == (password == "right")
    message = Message.objects.get()
    assert message.state == (STATE.SENT if password == "right" else STATE.WAITING)
    assert password == "right" or "535 wrong name or password" in message.error


def from_url(settings, url):
    """Set the settings as jobsite.settings does from EMAIL_URL."""
    for name, value in environ.Env.email_url_config(url).items():
        setattr(settings, name, value)
