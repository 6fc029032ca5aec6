"""What a mail server says that could not deliver a message: read as RFC 3464 has it, noted, and flagged where the address is used."""

import io
import re
import sys
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from jobsite.ledger.models import Entry
from jobsite.messages.mail import key_of, message_id
from jobsite.messages.models import Message
from jobsite.messages.operations import came_back, send_again, send_to, send_waiting, take_returned, write_messages
from jobsite.messages.queries import came_back as addresses_that_came_back
from jobsite.messages.queries import warning
from jobsite.messages.rules.reports import NoReport, read_report
from jobsite.refused import NotAllowed, Refused
from tests.factories import NOON, Told, recorded
from tests.smtp_server import Manner

pytestmark = pytest.mark.django_db
STATE = Message.State

# Made after the example of RFC 3464, appendix E.1, with our own names.
REPORT = """\
Date: Tue, 3 Feb 2026 13:00:00 +0000
From: Mail delivery <mailer-daemon@mx.example.net>
To: returns@example.com
Subject: Returned mail: cannot send within 5 days
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status; boundary="RAA14128.773615765/mx.example.net"

--RAA14128.773615765/mx.example.net

The original message was not delivered.

--RAA14128.773615765/mx.example.net
Content-Type: message/delivery-status

Reporting-MTA: dns; mx.example.net
Arrival-Date: Tue, 3 Feb 2026 12:00:00 +0000

Final-Recipient: rfc822;petra@example.net
Original-Recipient: rfc822;petra@example.com
Action: {action}
Status: {status}
Diagnostic-Code: smtp; 550 5.1.1 nobody of that name
 in this house
Remote-MTA: dns; example.net

--RAA14128.773615765/mx.example.net
Content-Type: {third}

Message-ID: {message_id}
From: office@example.com
To: petra@example.com
Subject: Inspection due

--RAA14128.773615765/mx.example.net--
"""


def report(message=None, *, action="failed", status="5.1.1", third="message/rfc822", of="") -> bytes:
    about = of or message_id(message.pk)
    text = REPORT.format(action=action, status=status, third=third, message_id=about)
    return text.replace("\n", "\r\n").encode()


def make(state="sent", occasion="one", **fields) -> Message:
    usual = {"to_kind": "customer", "to_id": "01890a5d-ac96-774b-bcce-b302099a8057", "address": "petra@example.com"}
    usual |= {"subject": "Inspection due", "body": "Dear Petra", "written_at": NOON, "next_try_at": NOON}
    settled = None if state in ("waiting", "sending") else NOON
    return Message.objects.create(occasion=occasion, state=state, settled_at=settled, **usual | fields)


# --- reading ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("third", ["message/rfc822", "text/rfc822-headers", "message/global-headers", "message/global"])
def test_a_report_is_read(third):
    found = read_report(report(of="<a@b>", third=third))
    assert (found.message_id, found.action, found.status, found.final) == ("<a@b>", "failed", "5.1.1", True)
    assert found.recipient == "petra@example.com"
    assert found.words == "5.1.1: 550 5.1.1 nobody of that name in this house"


def test_a_report_of_addresses_beyond_ascii_is_read():
    """RFC 6533: the fields stand in message/global-delivery-status, in UTF-8."""
    data = report(of="<a@b>").replace(b"message/delivery-status", b"message/global-delivery-status")
    assert read_report(data).status == "5.1.1"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not multipart/report"),
        (b"Subject: Out of office\r\n\r\nI am away.", "not multipart/report"),
        (report(of="<a@b>").replace(b"message/delivery-status", b"text/plain"), "what became of the mail"),
        (report(of=""" """), "head of the mail"),
        (b"\xff\xfe\x00" * 500, "not multipart/report"),
    ],
)
def test_what_is_no_report_is_told(data, words):
    with pytest.raises(NoReport, match=words):
        read_report(data)


@pytest.mark.parametrize(
    "text", ["", "<>", "<x@localhost>", "<01890a5d-ac96-774b-bcce-b302099a8057@elsewhere.example>"]
)
def test_a_message_id_of_others_is_none_of_ours(text):
    assert key_of(text) is None


# --- noting -------------------------------------------------------------------------------------------------------------


def test_it_comes_back(site):
    message = make(site=site.pk)
    with recorded() as told:
        take_returned(report(message), now=NOON)
        take_returned(report(message), now=NOON)  # the same report again
    message.refresh_from_db()
    assert (message.state, message.returned_at) == (STATE.RETURNED, NOON)
    assert "nobody of that name" in message.returned_why
    assert [one.verb for one in told] == ["message.returned"]
    (entry,) = Entry.objects.filter(chain=site.pk, subject=message.pk)
    assert (entry.facts["status"], "why" in entry.facts) == ("5.1.1", False)


def test_what_was_not_known_has_arrived_somewhere_and_came_back():
    message = make("unknown")
    take_returned(report(message), now=NOON)
    message.refresh_from_db()
    assert message.state == STATE.RETURNED


def test_a_delay_is_noted_and_settles_nothing():
    message = make()
    with recorded() as told:
        take_returned(report(message, action="delayed", status="4.4.1"), now=NOON)
        take_returned(report(message, action="delayed", status="4.4.1"), now=NOON)
    message.refresh_from_db()
    assert (message.state, message.returned_at) == (STATE.SENT, None)
    assert message.delayed_why.startswith("4.4.1")
    assert told == [Told("message.delayed", message.pk, {"status": "4.4.1"})]


@pytest.mark.parametrize("action", ["delivered", "relayed", "expanded"])
def test_good_news_changes_nothing(action):
    message = make()
    take_returned(report(message, action=action, status="2.1.5"), now=NOON)
    message.refresh_from_db()
    assert (message.state, message.delayed_why) == (STATE.SENT, "")


@pytest.mark.parametrize("state", ["waiting", "failed", "dropped"])
def test_a_report_on_what_was_not_sent_changes_nothing(state):
    message = make(state)
    take_returned(report(message), now=NOON)
    message.refresh_from_db()
    assert message.state == state


def test_a_report_on_nothing_of_ours_is_told():
    with pytest.raises(NoReport, match="no message of ours"):
        take_returned(report(of="<01890a5d-ac96-774b-bcce-b302099a8057@localhost>"), now=NOON)


def test_the_command_reads_stdin(monkeypatch, capsys):
    message = make()
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(report(message))))
    call_command("take_returned")
    assert f"Message {message.number} to petra@example.com came back. 5.1.1" in capsys.readouterr().out
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"Subject: away\r\n\r\nI am away.")))
    with pytest.raises(CommandError, match="no delivery report") as stopped:
        call_command("take_returned")
    assert stopped.value.returncode == 65


# --- what the office does -----------------------------------------------------------------------------------------------


def test_the_office_notes_that_it_came_back(office):
    message = make()
    with recorded() as told:
        came_back(message, why=" no such mailbox ", by=office, now=NOON)
        came_back(message, why="again", by=office, now=NOON)
    message.refresh_from_db()
    assert (message.state, message.returned_why) == (STATE.RETURNED, "no such mailbox")
    assert [one.verb for one in told] == ["message.returned"]


def test_not_without_a_word_not_by_others_not_what_never_went(office, engineer):
    with pytest.raises(Refused, match="Say what"):
        came_back(make(), why=" ", by=office, now=NOON)
    with pytest.raises(NotAllowed):
        came_back(make(occasion="two"), why="gone", by=engineer, now=NOON)
    with pytest.raises(Refused, match="cannot have come back"):
        came_back(make("waiting", occasion="three"), why="gone", by=office, now=NOON)


@pytest.mark.parametrize("state", ["failed", "unknown", "returned"])
def test_it_goes_to_another_address_as_a_message_of_its_own_once(office, state):
    message = make(state, returned_at=NOON, reason_kind="inspection", why="30 days before an inspection")
    with recorded() as told:
        new = send_to(message, address=" petra@example.org ", by=office, now=NOON)
        assert send_to(message, address="Petra@example.org", by=office, now=NOON) == new
    assert (new.address, new.state, new.instead_of) == ("petra@example.org", STATE.WAITING, message.pk)
    assert (new.body, new.why, new.reason_kind) == (message.body, message.why, "inspection")
    assert new.number > message.number
    assert message_id(new.pk) != message_id(message.pk)
    assert [(one.verb, one.facts["as"]) for one in told] == [("message.anew", str(new.pk))]
    message.refresh_from_db()
    assert message.state == state


def test_a_reminder_of_this_week_may_go_to_another_address(office):
    week = {"reminder": True, "about": "inspection 1", "quiet_until": NOON + timedelta(days=7)}
    new = send_to(make("failed", **week), address="petra@example.org", by=office, now=NOON)
    assert new.reminder is False


@pytest.mark.parametrize(
    ("state", "address", "words"),
    [
        ("failed", "petra", "no e-mail address"),
        ("failed", "PETRA@example.com", "this very address"),
        ("sent", "petra@example.org", "needs no other address"),
    ],
)
def test_where_it_cannot_go(office, state, address, words):
    with pytest.raises(Refused, match=words):
        send_to(make(state), address=address, by=office, now=NOON)


def test_what_came_back_goes_again_with_another_link(office):
    message = make("returned", returned_at=NOON, link="01890a5d-ac96-774b-bcce-b302099a8057")
    send_again(message, by=office, now=NOON)
    message.refresh_from_db()
    assert (message.state, message.link) == (STATE.WAITING, None)


# --- an address that came back is flagged -------------------------------------------------------------------------------


def test_an_address_is_flagged_until_something_later_is_taken():
    make("returned", returned_at=NOON, returned_why="no such mailbox", address="Petra@Example.com")
    assert warning("petra@example.COM") == (
        "The last message to Petra@Example.com came back on 3 Feb 2026: no such mailbox"
    )
    make(
        "failed", occasion="two", written_at=NOON + timedelta(days=1), error="too large"
    )  # says nothing of the address
    assert warning("petra@example.com") != ""
    make("sent", occasion="three", written_at=NOON + timedelta(days=2))
    assert warning("petra@example.com") == ""


def test_an_address_that_was_refused_is_flagged(smtp):
    smtp.manner = Manner.REFUSE_ADDRESS
    message = make("waiting")
    send_waiting(now=NOON, stands=lambda _: True)
    message.refresh_from_db()
    assert "was refused on 3 Feb 2026" in warning(message.address)


def test_many_addresses_cost_one_statement(django_assert_num_queries):
    for n in range(5):
        make("returned", occasion=f"{n}", returned_at=NOON, address=f"p{n}@example.com")
    with django_assert_num_queries(1):
        assert len(addresses_that_came_back([f"p{n}@example.com" for n in range(9)])) == 5
    with django_assert_num_queries(0):
        assert addresses_that_came_back(["", ""]) == {}


# --- pages --------------------------------------------------------------------------------------------------------------


@pytest.fixture
def desk(client, office):
    client.force_login(office)
    return client


def words(response) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


def test_the_page_says_all_of_it_and_offers_what_can_be_done(desk):
    message = make("unknown", why="30 days before an inspection", attempts=2, error="The connection broke")
    shown = words(desk.get(reverse("messages:message", args=[message.pk])))
    for part in (
        f"Number {message.number}",
        "Why 30 days before",
        "Attempts 2",
        "What went wrong The connection broke",
    ):
        assert part in shown
    for button in ("Send again", "Send it to another address", "It came back"):
        assert button in shown


def test_it_came_back_by_hand(desk):
    message = make()
    where = reverse("messages:came_back", args=[message.pk])
    assert desk.post(where, {"why": ""}).status_code == 422
    shown = words(desk.post(where, {"why": "no such mailbox"}, follow=True))
    assert "Came back" in shown
    assert "What the mail server said no such mailbox" in shown


def test_to_another_address_by_hand(desk):
    message = make("returned", returned_at=NOON)
    where = reverse("messages:send_to", args=[message.pk])
    assert "this very address" in words(desk.post(where, {"address": "petra@example.com"}))
    shown = words(desk.post(where, {"address": "petra@example.org"}, follow=True))
    assert f"In the place of message {message.number}, to petra@example.com: came back" in shown
    assert "Sent anew as message" in words(desk.get(reverse("messages:message", args=[message.pk])))


def test_the_list_is_narrowed(desk, site):
    other = make("failed", occasion="other", to_id=site.customer.pk, address="x@example.org", danger=True)
    make("sent")
    where = reverse("messages:messages")
    for query in (
        {"to": str(other.number)}, {"to": "landlady"}, {"to": "EXAMPLE.ORG"}, {"danger": "yes"},
        {"person": str(site.customer.pk)}, {"state": "failed", "danger": "yes"},
    ):  # fmt: skip
        assert [row["number"] for row in desk.get(where, query).context["rows"]] == [str(other.number)], query
    assert len(desk.get(where).context["rows"]) == 2
    assert "No message is like that" in words(desk.get(where, {"to": "nobody"}))


def test_the_list_says_what_is_held_up_and_why(desk):
    assert desk.get(reverse("messages:messages")).context["held_up"] == ""
    make("waiting", error="The mail server cannot be reached: nobody answers")
    shown = desk.get(reverse("messages:messages")).context["held_up"]
    assert shown.startswith("1 message should have gone out since 3 Feb 2026")
    assert shown.endswith("The mail server cannot be reached: nobody answers")


def test_what_goes_to_an_address_that_came_back_warns(desk):
    make("returned", returned_at=NOON, returned_why="no such mailbox")
    waiting = make("waiting", occasion="two", written_at=NOON + timedelta(days=1))
    assert "came back on 3 Feb 2026: no such mailbox" in words(desk.get(reverse("messages:messages")))
    assert "came back on 3 Feb 2026" in words(desk.get(reverse("messages:message", args=[waiting.pk])))


def test_the_party_and_the_person_say_so(desk, client, site, manager):
    make("returned", returned_at=NOON, returned_why="no such mailbox", address=site.customer.email)
    assert "no such mailbox" in words(desk.get(reverse("premises:party", args=[site.customer.pk])))
    make("returned", occasion="two", returned_at=NOON, returned_why="box full", address=manager.email)
    client.force_login(manager)
    assert "box full" in words(client.get(reverse("people:person", args=[manager.pk])))


def test_the_list_costs_the_same_for_many(desk, site, django_assert_max_num_queries):
    for n in range(30):
        make("waiting" if n % 2 else "returned", occasion=f"{n}", returned_at=NOON, site=site.pk)
    with django_assert_max_num_queries(13):
        desk.get(reverse("messages:messages"))


def test_the_history_of_the_site_leads_to_the_message(desk, client, site, engineer):
    message = make(site=site.pk)
    take_returned(report(message), now=NOON)
    history, page = reverse("desk:history", args=[site.pk]), reverse("messages:message", args=[message.pk])
    shown = desk.get(history)
    assert "message came back" in words(shown)
    assert page in shown.content.decode()
    client.force_login(engineer)
    assert page not in client.get(history).content.decode()


# --- whether mail goes out at all ---------------------------------------------------------------------------------------


def test_trying_the_mail_server(smtp, capsys):
    call_command("try_mail", "petra@example.com")
    said = capsys.readouterr().out
    assert f"Way out: 127.0.0.1, port {smtp.port}, no TLS" in said
    assert "Taken for petra@example.com" in said
    (taken,) = smtp.taken
    assert taken.mail["Subject"].startswith("Trial")
    assert key_of(taken.message_id) is None


@pytest.mark.parametrize(
    ("manner", "words"),
    [
        (Manner.REFUSE_ADDRESS, "nobody of that name"),
        (Manner.REFUSE_AT_CONNECT, "no mail from you"),
        (Manner.BUSY, "busy"),
    ],
)
def test_trying_a_mail_server_that_does_not_want(smtp, manner, words):
    smtp.manner = manner
    with pytest.raises(CommandError, match=words):
        call_command("try_mail", "petra@example.com")
    with pytest.raises(CommandError, match="no e-mail address"):
        call_command("try_mail", "petra")


def test_an_occasion_that_was_written_once_is_once_also_after_it_came_back():
    make("returned", returned_at=NOON)
    assert write_messages([Message(occasion="one")]) == 0
