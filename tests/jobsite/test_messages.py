"""Messages: a row first, then one e-mail, and never a second one that a person did not ask for."""

import threading
from datetime import timedelta

import pytest
from django.core import mail
from django.db import connections

from jobsite.ledger.models import Chain, Entry
from jobsite.ledger.rules import START
from jobsite.messages.models import Message
from jobsite.messages.operations import (
    BACKOFF,
    claim,
    message_id,
    send_again,
    send_waiting,
    settle,
    settle_abandoned,
    write_messages,
)
from jobsite.messages.operations.claims import begin, claim_some
from jobsite.refused import NotAllowed, Refused
from tests.factories import NOON, Told, make_site, recorded

pytestmark = pytest.mark.django_db
STATE = Message.State


def draft(occasion="look again 1", **fields):
    usual = {"to_kind": "customer", "to_id": "01890a5d-ac96-774b-bcce-b302099a8057", "address": "petra@example.com"}
    usual |= {"subject": "Inspection due", "body": "Dear Petra", "written_at": NOON, "next_try_at": NOON}
    return Message(occasion=occasion, **usual | fields)


def write(occasion="look again 1", **fields):
    write_messages([draft(occasion, **fields)])
    return Message.objects.get(occasion=occasion)


def always(message):
    return True


def never(message):
    return False


def states():
    return dict(Message.objects.values_list("occasion", "state"))


def test_an_occasion_is_written_once():
    assert write_messages([draft(), draft("another")]) == 2
    assert write_messages([draft(body="changed"), draft("third")]) == 1
    assert Message.objects.get(occasion="look again 1").body == "Dear Petra"


def test_a_message_whose_site_went_over_meanwhile_is_recorded_at_the_other(site):
    """Two sites become one while a message is at the mail server: the chain of the one is closed by then."""
    into = make_site("Into")
    write(site=site.pk)
    taken = claim(now=NOON)
    Message.objects.update(site=into.pk)
    settle(taken, state=STATE.SENT, now=NOON)
    assert [entry.verb for entry in Entry.objects.filter(chain=into.pk, subject=taken.pk)] == ["message.sent"]
    assert not Entry.objects.filter(chain=site.pk, subject=taken.pk).exists()


def test_a_message_that_was_being_written_when_its_site_went_over_is_settled_at_the_other(site):
    """The sweep had read the site before the two became one, and wrote the message after it: that chain is closed."""
    middle, into = make_site("Middle"), make_site("Into")
    for gone, other in ((site, middle), (middle, into)):
        Chain.objects.create(pk=gone.pk, head=START, closed_into=other.pk)
    message = write(site=site.pk)
    assert send_waiting(now=NOON, stands=always) == 1
    assert states() == {"look again 1": STATE.SENT}
    assert Message.objects.get().site == into.pk
    assert [entry.chain for entry in Entry.objects.filter(subject=message.pk)] == [into.pk]


def test_it_is_sent_once_and_recorded(site):
    message = write(site=site.pk)
    with recorded() as told:
        assert send_waiting(now=NOON, stands=always) == 1
        assert send_waiting(now=NOON, stands=always) == 0
    assert [(m.to, m.subject, m.extra_headers["Message-ID"]) for m in mail.outbox] == [
        (["petra@example.com"], "Inspection due", message_id(message.pk))
    ]
    assert told == [Told("message.sent", message.pk, {"to": str(message.to_id)})]
    assert states() == {"look again 1": STATE.SENT}


def test_a_line_break_in_a_subject_breaks_no_header():
    write(subject="Danger present: Old\nBarn")
    send_waiting(now=NOON, stands=always)
    assert [sent.subject for sent in mail.outbox] == ["Danger present: Old Barn"]


def test_it_is_dropped_when_its_reason_is_gone():
    write()
    send_waiting(now=NOON, stands=never)
    assert (states(), mail.outbox) == ({"look again 1": STATE.DROPPED}, [])


def test_it_waits_for_its_time():
    write(next_try_at=NOON + timedelta(hours=1))
    assert send_waiting(now=NOON, stands=always) == 0
    assert send_waiting(now=NOON + timedelta(hours=1), stands=always) == 1


def test_none_is_begun_when_the_time_is_over():
    write()
    assert send_waiting(now=NOON, stands=always, seconds=0) == 0
    assert (states(), mail.outbox) == ({"look again 1": STATE.WAITING}, [])


def test_danger_goes_first():
    write("plain", next_try_at=NOON - timedelta(days=1))
    write("danger", danger=True)
    send_waiting(now=NOON, stands=always, limit=1)
    assert states() == {"plain": STATE.WAITING, "danger": STATE.SENT}


@pytest.mark.parametrize(
    ("server", "state"),
    [
        ("Unreachable", STATE.WAITING),
        ("Busy", STATE.WAITING),
        ("Refusing", STATE.FAILED),
        ("NoSuchAddress", STATE.FAILED),
        ("BreaksAfterTaking", STATE.UNKNOWN),
    ],
)
def test_what_a_server_answers_decides(settings, server, state):
    settings.EMAIL_BACKEND = f"tests.mailers.{server}"
    write()
    send_waiting(now=NOON, stands=always)
    assert states() == {"look again 1": state}
    assert Message.objects.get().error != ""


def test_unknown_is_never_sent_again_by_itself(settings):
    settings.EMAIL_BACKEND = "tests.mailers.BreaksAfterTaking"
    write()
    for days in range(30):
        now = NOON + timedelta(days=days)
        settle_abandoned(now=now)
        send_waiting(now=now, stands=always)
    assert len(mail.outbox) == 1


def test_an_unreachable_server_costs_no_attempt_and_is_never_given_up(settings):
    """A mail server that is down for weeks is no fault of a message: it keeps its place, and says what it waits for."""
    settings.EMAIL_BACKEND = "tests.mailers.Unreachable"
    write()
    for days in range(30):
        assert send_waiting(now=NOON + timedelta(days=days), stands=always) == 1
    message = Message.objects.get()
    assert (message.state, message.attempts, message.next_try_at) == (STATE.WAITING, 0, NOON)
    assert "nobody answers" in message.error


def test_a_busy_server_is_tried_later_and_at_last_given_up(settings):
    settings.EMAIL_BACKEND = "tests.mailers.Busy"
    write()
    now, waits = NOON, []
    while Message.objects.get().state == STATE.WAITING:
        send_waiting(now=now, stands=always)
        message = Message.objects.get()
        waits.append(message.next_try_at - now)
        now = message.next_try_at
    assert waits[:-1] == list(BACKOFF)
    assert message.state == STATE.FAILED
    assert timedelta(days=4) <= sum(waits[:-1], timedelta()) <= timedelta(days=5)  # RFC 5321, 4.5.4.1


def test_a_claim_that_was_never_handed_over_waits_again():
    write()
    assert claim(now=NOON) is not None
    assert settle_abandoned(now=NOON + timedelta(minutes=9)) == 0
    assert settle_abandoned(now=NOON + timedelta(minutes=11)) == 1
    assert states() == {"look again 1": STATE.WAITING}
    assert send_waiting(now=NOON + timedelta(days=1), stands=always) == 1
    assert len(mail.outbox) == 1


def test_a_claim_that_was_handed_over_and_not_finished_becomes_unknown():
    write()
    assert begin(claim(now=NOON), now=NOON)
    assert settle_abandoned(now=NOON + timedelta(minutes=9)) == 0
    assert settle_abandoned(now=NOON + timedelta(minutes=11)) == 1
    assert states() == {"look again 1": STATE.UNKNOWN}
    assert send_waiting(now=NOON + timedelta(days=1), stands=always) == 0


def test_who_comes_back_late_sends_nothing_that_another_took_over():
    write()
    late = claim(now=NOON)
    settle_abandoned(now=NOON + timedelta(minutes=11))
    other = claim(now=NOON + timedelta(hours=1))
    assert not begin(late, now=NOON)
    settle(late, state=STATE.FAILED, now=NOON)
    assert states() == {"look again 1": STATE.SENDING}
    assert begin(other, now=NOON)


def test_the_late_word_of_the_sender_itself_puts_unknown_right():
    write()
    late = claim(now=NOON)
    begin(late, now=NOON)
    settle_abandoned(now=NOON + timedelta(minutes=11))
    settle(late, state=STATE.SENT, now=NOON + timedelta(minutes=12))
    assert states() == {"look again 1": STATE.SENT}


def test_what_breaks_every_sender_down_is_given_up_and_takes_no_others_with_it():
    write("poison", next_try_at=NOON - timedelta(days=1))
    write("plain")
    now, claimed = NOON, 0
    claim_some(now=now)  # both, and then the process is gone
    for _ in range(30):
        now += timedelta(days=2)
        settle_abandoned(now=now)
        batch = claim_some(now=now)
        claimed += len(batch) > 1
        if [row.occasion for row in batch] == ["plain"]:
            settle(batch[0], state=STATE.SENT, now=now)
    assert claimed == 0
    assert states() == {"poison": STATE.FAILED, "plain": STATE.SENT}


def test_a_reason_that_cannot_be_looked_at_stops_nobody_else():
    def broken(message):
        if message.occasion == "poison":
            raise ValueError("no such kind of row")
        return True

    write("poison", danger=True)
    write("plain")
    assert send_waiting(now=NOON, stands=broken) == 2
    assert states() == {"poison": STATE.WAITING, "plain": STATE.SENT}
    assert "no such kind of row" in Message.objects.get(occasion="poison").error


def test_what_no_e_mail_can_hold_is_refused_and_stops_nobody_else():
    write("poison", danger=True, address="nobody\n@example.com")
    write("plain")
    send_waiting(now=NOON, stands=always)
    assert states() == {"poison": STATE.FAILED, "plain": STATE.SENT}
    assert "cannot be written as an e-mail" in Message.objects.get(occasion="poison").error


def test_a_claim_of_a_clock_that_was_a_year_ahead_holds_nothing_up():
    write(next_try_at=NOON)
    claim(now=NOON + timedelta(days=365))
    settle_abandoned(now=NOON + timedelta(minutes=1))
    assert send_waiting(now=NOON + timedelta(minutes=1), stands=always) == 1


def test_why_it_was_dropped_is_kept():
    def gone(message):
        message.error = "It was made safe meanwhile."
        return False

    write()
    send_waiting(now=NOON, stands=gone)
    assert Message.objects.get().error == "It was made safe meanwhile."


def test_a_person_may_send_an_unknown_one_again(office):
    message = write()
    begin(claim(now=NOON), now=NOON)
    settle_abandoned(now=NOON + timedelta(minutes=11))
    with recorded() as told:
        send_again(message, by=office, now=NOON)
        send_again(message, by=office, now=NOON)
    assert told == [Told("message.again", message.pk)]
    assert send_waiting(now=NOON, stands=always) == 1
    assert states() == {"look again 1": STATE.SENT}


def test_a_sent_one_is_not_sent_again(office):
    message = write()
    send_waiting(now=NOON, stands=always)
    with pytest.raises(Refused, match="is sent; it cannot be sent again"):
        send_again(message, by=office, now=NOON)


def test_an_engineer_may_not_send_again(engineer):
    with pytest.raises(NotAllowed):
        send_again(write(), by=engineer, now=NOON)


@pytest.mark.django_db(transaction=True)
def test_two_senders_at_once_send_each_message_once():
    make_site()
    write_messages([draft(f"occasion {n}") for n in range(20)])
    start, counts = threading.Barrier(2), []

    def work():
        try:
            start.wait()
            counts.append(send_waiting(now=NOON, stands=always))
        finally:
            connections.close_all()

    threads = [threading.Thread(target=work) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum(counts) == 20
    assert sorted(m.extra_headers["Message-ID"] for m in mail.outbox) == sorted(
        message_id(pk) for pk in Message.objects.values_list("pk", flat=True)
    )
