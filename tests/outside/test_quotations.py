"""Quotes as offers in law, and what a consumer's quote shows, against what was read of both.

Notes on the law of contract (offer, acceptance, withdrawal: Routledge v Grant 1828, Byrne v Van Tienhoven 1880), guidance of
nibusinessinfo.co.uk on consumers' contracts and on prices (total with taxes first, since 6 Apr 2025): secondary pages.
That a quote must not look like a VAT invoice is from memory.
"""

from datetime import datetime, timedelta
from io import BytesIO

import pypdf
import pytest

from jobsite.ids import new_id
from remedials.quotes.models import Answer
from remedials.quotes.operations.answer_ground import NotTaken
from remedials.quotes.operations.answering import Said, answer_offer
from remedials.quotes.operations.sending import withdraw_offer
from remedials.quotes.queries.document import quote_document
from tests import factories as make
from tests.factories import NOON, TODAY

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def offer(site):
    make.make_terms(vat_number="GB 123 4567 82")
    remedials = [make.make_remedial(make.make_observation(site)) for _ in range(2)]
    return make.make_sent_offer(*remedials, valid_until=TODAY + 30 * DAY)


def accept(offer, now: datetime, lines: slice = slice(None)) -> Answer:
    link, _ = make.make_quote_link(offer, expires_at=now + DAY)
    says = {line.pk: Said("yes") for line in list(offer.lines.all())[lines]}
    given = {"name": "Petra Landlady", "fingerprint": offer.fingerprint, "party": offer.quote.party}
    return answer_offer(offer, id=new_id(), says=says, by=link, now=now, **given)


def test_an_offer_stands_to_the_end_of_its_last_day(offer) -> None:
    assert accept(offer, NOON + 30 * DAY).to_pay == 240


def test_acceptance_after_the_stated_validity_has_no_effect(offer) -> None:
    with pytest.raises(NotTaken) as refused:
        accept(offer, NOON + 31 * DAY)
    assert (refused.value.why, Answer.objects.count()) == ("lapsed", 0)


def test_an_offer_may_be_withdrawn_before_acceptance_though_it_still_stands(offer, office) -> None:
    withdraw_offer(offer, reason="A price was wrong", by=office, now=NOON + DAY)
    with pytest.raises(NotTaken) as refused:
        accept(offer, NOON + 2 * DAY)
    assert (refused.value.why, Answer.objects.count()) == ("withdrawn", 0)


def test_what_was_accepted_before_the_withdrawal_stays_accepted(offer, office) -> None:
    answer = accept(offer, NOON + DAY, slice(1))
    withdraw_offer(offer, reason="A price was wrong", by=office, now=NOON + 2 * DAY)
    answer.refresh_from_db()
    assert (answer.taken_back_at, [row.says for row in answer.lines.filter(stands=True)]) == (None, ["yes"])


def test_when_and_how_it_was_accepted_is_kept_with_the_rights_that_were_shown(offer) -> None:
    answer = accept(offer, NOON + DAY)
    assert (answer.how, answer.given_at, answer.fingerprint) == ("link", NOON + DAY, offer.fingerprint)
    assert "within 14 days" in answer.rights_shown


def test_a_consumer_is_told_of_the_right_to_cancel_with_its_form_and_asked_about_beginning_at_once(offer) -> None:
    said = offer.said
    for told, words in (
        ("cancellation", "within 14 days"),
        ("cancellation_form", "hereby give notice"),
        ("begin", "I ask you expressly"),
    ):
        assert words in said[told]["words"]
        assert said[told]["default"]


def test_a_business_is_not_told_of_rights_that_it_does_not_have(site) -> None:
    make.make_terms()
    offer = make.make_sent_offer(make.make_remedial(make.make_observation(site)), consumer=False)
    assert [offer.said[told] for told in ("cancellation", "cancellation_form", "begin")] == [None] * 3


def words_of(offer) -> str:
    made = quote_document(offer.said, heads=(), now=NOON)
    pages = pypdf.PdfReader(BytesIO(made.pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_a_consumers_document_shows_the_total_with_vat_before_the_total_without(offer) -> None:
    words = words_of(offer)
    assert "£240.00" in words
    assert "£200.00" not in words or words.index("£240.00") < words.index("£200.00")


def test_the_document_is_a_quote_and_no_invoice(offer) -> None:
    words = words_of(offer)
    assert f"Quote {offer.quote.number}" in words
    assert "This is a quotation, not a VAT invoice." in words
    assert words.casefold().count("invoice") == 1
