"""Sending a version of a quote: frozen as it was said, the remedials quoted, the customer written to once."""

from datetime import timedelta

import pytest
from django.core import mail

from jobsite.ids import new_id
from jobsite.ledger.files import read_file
from jobsite.messages.models import Message
from jobsite.people.links import token_hash
from jobsite.people.models import PrivateLink
from remedials.due.operations import send
from remedials.quotes.models import Offer
from remedials.quotes.operations.sending import send_offer
from tests import factories as make
from tests.factories import NOON, TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def remedial(site):
    make.make_terms(vat_number="GB 999 9999 73")
    return make.make_remedial(make.make_observation(site))


@pytest.fixture
def draft(remedial, office) -> Offer:
    return make.make_offer(remedial, by=office)


def sent(offer: Offer, **more) -> Offer:
    usual = {"id": new_id(), "how": "email", "to": "petra@example.com", "version": None, "now": NOON}
    return send_offer(offer, **usual | {"by": offer.made_by} | more)


def test_what_was_sent_is_frozen_as_it_was_said(draft, remedial) -> None:
    offer = sent(draft)
    offer.refresh_from_db()
    remedial.refresh_from_db()
    assert (offer.state, offer.sent_to, offer.said["totals"]["to_pay"]) == ("sent", "petra@example.com", "120.00")
    assert read_file(offer.file).startswith(b"%PDF")
    assert (len(offer.fingerprint), offer.quote.chase_on) == (64, TODAY + timedelta(days=23))
    assert (remedial.stage, remedial.step_by, remedial.owner) == ("quoted", offer.quote.chase_on, offer.quote.owner)


def test_the_mail_brings_the_document_and_a_link_whose_token_is_kept_nowhere(draft) -> None:
    offer = sent(draft)
    send(now=NOON)
    (letter,) = mail.outbox
    link = PrivateLink.objects.get()
    token = letter.body.split("/q/")[1].split("/")[0]
    assert (letter.to, [name for name, _, _ in letter.attachments]) == (
        ["petra@example.com"],
        [f"quote-{offer.quote.number}-version-1.pdf"],
    )
    assert letter.attachments[0][1] == read_file(offer.file)
    assert (link.purpose, link.thing, link.party) == ("quote", offer.quote_id, offer.quote.party_id)
    assert bytes(link.token_hash) == token_hash(token)
    message = Message.objects.get()
    assert "[private link]" in message.body
    assert token not in message.body
