"""The e-mail that brings a quote: its link's token is kept nowhere, whatever the mail server does; one reminder, no second."""

from datetime import timedelta

import pytest
from django.core import mail
from django.core.files.storage import default_storage
from django.db import connection

from jobsite.ids import new_id
from jobsite.ledger.files import path_of, read_file
from jobsite.messages.models import Message
from jobsite.messages.operations import CLAIM_HOLDS, claim, send_again
from jobsite.messages.operations.claims import begin
from jobsite.people.links import find_link, token_hash
from jobsite.people.models import PrivateLink
from jobsite.people.operations import withdraw_link
from remedials.due.operations import send, sweep
from remedials.quotes.models import Offer, Question
from remedials.quotes.operations.link_messages import address_of
from remedials.quotes.operations.mailing import complete
from remedials.quotes.operations.sending import send_offer, withdraw_offer
from tests import factories as make
from tests.factories import NOON, TODAY

pytestmark = pytest.mark.django_db
STATE = Message.State
LAPSING = NOON + timedelta(days=23)


@pytest.fixture
def offer(site, office) -> Offer:
    make.make_terms()
    draft = make.make_offer(make.make_remedial(make.make_observation(site)), by=office)
    return send_offer(
        draft, id=new_id(), how="email", to="petra@example.com", version=None, by=office, now=NOON
    )  # fmt: skip


def tokens() -> list[str]:
    return [letter.body.split("/q/")[1].split("/")[0] for letter in mail.outbox if "/q/" in letter.body]


def opens(token: str) -> bool:
    return find_link(token, purpose="quote", now=NOON + timedelta(hours=9)) is not None


def all_text() -> str:
    """Every row of every table as text: what an intruder who copies the database could read."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'")
        tables = [name for (name,) in cursor.fetchall()]
        found = []
        for table in tables:
            cursor.execute(f'SELECT t::text FROM "{table}" t')
            found += [row for (row,) in cursor.fetchall()]
    return "\n".join(found)


def test_the_mail_brings_the_document_and_a_link(offer) -> None:
    send(now=NOON)
    (letter,) = mail.outbox
    link = PrivateLink.objects.get()
    (token,) = tokens()
    assert (letter.to, [name for name, _, _ in letter.attachments]) == (
        ["petra@example.com"],
        [f"quote-{offer.quote.number}-version-1.pdf"],
    )
    assert letter.attachments[0][1] == read_file(offer.file)
    assert (link.purpose, link.thing, link.party) == ("quote", offer.quote_id, offer.quote.party_id)
    assert bytes(link.token_hash) == token_hash(token)
    assert "[private link]" in Message.objects.get().body
    assert "[private link]" not in letter.body


def test_no_table_holds_the_token(offer) -> None:
    send(now=NOON)
    (token,) = tokens()
    text = all_text()
    assert "[private link]" in text  # the walk does read the messages
    assert token not in text


def test_the_documents_page_of_the_office_names_what_goes_with_it(client, office, offer) -> None:
    client.force_login(office)
    answer = client.get(f"/messages/{Message.objects.get().pk}/")
    assert f"quote-{offer.quote.number}-version-1.pdf" in answer.content.decode()


@pytest.mark.parametrize("server", ["Busy", "Refusing", "NoSuchAddress"])
def test_what_was_surely_not_taken_goes_out_later_with_another_token(settings, office, offer, server) -> None:
    works = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = f"tests.mailers.{server}"
    send(now=NOON)
    first = bytes(PrivateLink.objects.get().token_hash)
    settings.EMAIL_BACKEND = works
    if server != "Busy":
        send_again(Message.objects.get(), by=office, now=NOON)
    send(now=NOON + timedelta(hours=1))
    link = PrivateLink.objects.get()  # still one: the first token never left the house
    assert bytes(link.token_hash) not in (first, b"")
    assert (len(mail.outbox), opens(tokens()[-1])) == (1, True)


def test_no_token_is_made_while_nobody_answers(settings, offer) -> None:
    settings.EMAIL_BACKEND = "tests.mailers.Unreachable"
    send(now=NOON)
    assert (Message.objects.get().state, PrivateLink.objects.count()) == (STATE.WAITING, 0)


def test_where_it_may_have_arrived_both_links_open_when_a_person_sends_again(settings, office, offer) -> None:
    works = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "tests.mailers.BreaksAfterTaking"
    send(now=NOON)
    assert Message.objects.get().state == STATE.UNKNOWN
    for hours in range(1, 30):
        send(now=NOON + timedelta(hours=hours))
    assert len(mail.outbox) == 1  # never a second one by the machine
    settings.EMAIL_BACKEND = works
    send_again(Message.objects.get(), by=office, now=NOON)
    send(now=NOON)
    first, second = tokens()
    assert (first != second, opens(first), opens(second)) == (True, True, True)


def test_a_crash_after_the_link_was_made_is_unknown_and_never_sent_again(offer) -> None:
    message = claim(now=NOON)
    complete(message, now=NOON)
    begin(message, now=NOON)  # and then the machine stops
    sweep(now=NOON + CLAIM_HOLDS * 2)
    send(now=NOON + CLAIM_HOLDS * 2)
    assert (Message.objects.get(pk=message.pk).state, mail.outbox) == (STATE.UNKNOWN, [])


def test_a_crash_before_the_mail_was_handed_over_costs_nothing(offer) -> None:
    complete(claim(now=NOON), now=NOON)  # and then the machine stops
    sweep(now=NOON + CLAIM_HOLDS * 2)
    send(now=NOON + CLAIM_HOLDS * 3)
    assert Message.objects.get().state == STATE.SENT
    (token,) = tokens()
    assert opens(token)


def test_a_document_that_is_lost_holds_the_mail_back_and_is_said(offer) -> None:
    default_storage.delete(path_of(offer.file.hash))
    send(now=NOON)
    message = Message.objects.get()
    assert (message.state, mail.outbox) == (STATE.WAITING, [])
    assert message.error.startswith("It could not be completed")


def test_what_was_withdrawn_before_it_left_stays_here(office, offer) -> None:
    withdraw_offer(offer, reason="Priced anew", by=office, now=NOON)
    send(now=NOON)
    assert [letter.subject for letter in mail.outbox] == [f"Quote {offer.quote.number}, version 1 is withdrawn"]
    assert (Message.objects.get(occasion=f"quote {offer.pk} sent").state, tokens()) == (STATE.DROPPED, [])


def test_who_sent_it_may_have_left_before_it_goes_out(office, offer) -> None:
    type(office).objects.update(is_active=False, roles=["engineer"])
    send(now=NOON)
    assert opens(tokens()[0])


# --- before it lapses -------------------------------------------------------------------------------------------------


def reminders() -> list[str]:
    return list(Message.objects.filter(occasion__endswith="lapses").values_list("state", flat=True))


def test_one_reminder_before_it_lapses(offer) -> None:
    sweep(now=LAPSING - timedelta(days=1))
    assert reminders() == []
    for days in range(9):
        sweep(now=LAPSING + timedelta(days=days))
    assert reminders() == [STATE.WAITING]
    mail.outbox.clear()
    send(now=LAPSING)
    last = [sent for sent in mail.outbox if sent.to == [offer.quote.party.email]][-1]
    assert last.subject == f"Quote {offer.quote.number} stands until 5 Mar 2026"
    assert (last.attachments, opens(tokens()[-1])) == ([], True)


def test_none_on_the_day_it_was_sent_and_none_at_night(site, office) -> None:
    make.make_terms()
    make.make_sent_offer(sites=[site], prices=[{}], valid_until=TODAY + timedelta(days=2), by=office)
    sweep(now=NOON)
    night = NOON.replace(hour=3) + timedelta(days=1)
    sweep(now=night)
    send(now=night)
    to_customers = [m for m in mail.outbox if m.to == ["petra@example.com"]]
    assert (reminders(), to_customers) == (["waiting"], [])  # written, and goes out when the quiet hours end
    sweep(now=NOON + timedelta(days=1))
    assert reminders() == [STATE.WAITING]


def ask(offer: Offer) -> None:
    Question.objects.create(quote=offer.quote, owner=offer.made_by, reply_by=TODAY, asked_at=NOON)


def answered(offer: Offer) -> None:
    Offer.objects.filter(pk=offer.pk).update(state="answered")


def withdrawn(offer: Offer) -> None:
    withdraw_offer(offer, reason="Priced anew", by=offer.made_by, now=NOON)


@pytest.mark.parametrize("happens", [ask, answered, withdrawn])
def test_its_reason_is_asked_again_before_it_goes_out(offer, happens) -> None:
    sweep(now=LAPSING)
    happens(offer)
    send(now=LAPSING)
    assert reminders() == [STATE.DROPPED]


@pytest.mark.parametrize("happens", [ask, answered, withdrawn])
def test_none_is_written_then(offer, happens) -> None:
    happens(offer)
    sweep(now=LAPSING)
    assert reminders() == []


def test_one_that_could_not_go_out_before_it_lapsed_stays_here(settings, offer) -> None:
    works = settings.EMAIL_BACKEND
    sweep(now=LAPSING + timedelta(days=7))
    settings.EMAIL_BACKEND = "tests.mailers.Unreachable"
    send(now=LAPSING + timedelta(days=7))
    settings.EMAIL_BACKEND = works
    send(now=LAPSING + timedelta(days=8))
    assert reminders() == [STATE.DROPPED]


def test_a_link_withdrawn_before_its_mail_goes_out_again_is_not_brought_back(settings, office, offer) -> None:
    works = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "tests.mailers.Busy"
    send(now=NOON)
    withdraw_link(PrivateLink.objects.get(), by=office, now=NOON + timedelta(minutes=1))
    settings.EMAIL_BACKEND = works
    send(now=NOON + timedelta(hours=1))
    assert (Message.objects.get().state, mail.outbox, PrivateLink.objects.count()) == (STATE.DROPPED, [], 1)


def test_the_address_of_a_withdrawn_link_is_not_written_to(office, offer) -> None:
    send(now=NOON)
    link = PrivateLink.objects.get()
    PrivateLink.objects.filter(pk=link.pk).update(sent_to="forwarded@example.com")
    link.refresh_from_db()
    assert address_of(offer.quote.party, link) == "forwarded@example.com"
    assert address_of(offer.quote.party, withdraw_link(link, by=office, now=NOON)) == offer.quote.party.email
