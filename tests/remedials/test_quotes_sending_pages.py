"""The pages on which a quote is sent and followed up."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from pypdf import PdfReader

from jobsite.ledger.files import read_file
from jobsite.messages.models import Message
from jobsite.people.links import find_link
from jobsite.people.models import PrivateLink
from remedials.quotes.models import Offer, Quote
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.jobsite.premises import posted, text_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def draft(site, office) -> Offer:
    make.make_terms()
    return make.make_offer(make.make_remedial(make.make_observation(site, code="C1")), by=office)


@pytest.fixture
def offer(site, office) -> Offer:
    make.make_terms()
    return make.make_sent_offer(make.make_remedial(make.make_observation(site)), by=office)


def at(name: str, quote: Quote) -> str:
    return reverse(f"quotes:{name}", args=[quote.pk])


def pdf_text(answer) -> str:
    from io import BytesIO

    return "\n".join(one.extract_text() for one in PdfReader(BytesIO(answer.content)).pages)


def test_the_draft_is_looked_at_and_sent(at_desk, draft) -> None:
    shown = at_desk.get(at("send", draft.quote))
    assert "A C1 is danger present: a quote makes nothing safe." in text_of(shown)
    looked = pdf_text(at_desk.get(at("document", draft.quote)))
    assert "(draft, not sent)" in looked
    assert Message.objects.count() == 0
    form = posted(shown)
    assert (form["how"], form["to"]) == ("email", "petra@example.com")
    done = at_desk.post(at("send", draft.quote), form, follow=True)
    assert f"Quote {draft.quote.number}, version 1 is on its way to petra@example.com." in text_of(done)
    draft.refresh_from_db()
    assert draft.state == "sent"
    again = at_desk.post(at("send", draft.quote), form, follow=True)  # the back button, and once more
    assert (again.status_code, Message.objects.count()) == (200, 1)
    kept = at_desk.get(at("document", draft.quote))
    assert kept.content == read_file(draft.file)
    assert at_desk.get(at("send", draft.quote)).status_code == 302


def test_what_is_wrong_stands_beside_the_field_with_all_that_was_typed(at_desk, draft) -> None:
    form = posted(at_desk.get(at("send", draft.quote))) | {"to": "petra at home"}
    refused = at_desk.post(at("send", draft.quote), form)
    assert refused.status_code == 422
    assert "This is no e-mail address" in text_of(refused)
    assert 'value="petra at home"' in refused.content.decode()


def test_lines_for_nothing_are_asked_about(at_desk, draft) -> None:
    make.make_line(draft, price=0, cost=0)
    assert "1 line of work at £0.00: is that meant?" in text_of(at_desk.get(at("send", draft.quote)))


def test_printed_it_is_ready_and_a_link_is_handed_over_once(at_desk, draft) -> None:
    form = posted(at_desk.get(at("send", draft.quote))) | {"how": "printed", "to": "Petra, by hand"}
    assert "is ready: print its document and hand it over." in text_of(
        at_desk.post(at("send", draft.quote), form, follow=True)
    )
    make_one = posted(at_desk.get(at("link_make", draft.quote))) | {"given_to": "Petra, with the paper"}
    shown = at_desk.post(at("link_make", draft.quote), make_one)
    (token,) = re.findall(r"/q/([\w-]{40,})/", shown.content.decode())
    assert (shown["Cache-Control"].count("no-store"), "<svg" in shown.content.decode()) == (1, True)
    assert find_link(token, purpose="quote", now=NOON) is not None
    again = at_desk.post(at("link_make", draft.quote), make_one)
    assert "its address was shown then" in text_of(again)
    assert (PrivateLink.objects.count(), token in again.content.decode()) == (1, False)


def test_the_page_of_a_quote_says_how_it_went_out_and_lists_its_links(at_desk, offer) -> None:
    link, _ = make.make_quote_link(offer, uses=2, last_used_at=NOON)
    shown = text_of(at_desk.get(at("quote", offer.quote)))
    for words in ("Version 1, by e-mail to petra@example.com", "opened 2 times", "Chase the answer", "Withdraw it"):
        assert words in shown
    where = reverse("quotes:link_withdraw", args=[link.pk])
    at_desk.post(where, posted(at_desk.get(where)))
    link.refresh_from_db()
    assert link.withdrawn_at == NOON
    assert "withdrawn 3 Feb 2026" in text_of(at_desk.get(at("quote", offer.quote)))


def test_it_is_withdrawn_with_a_caution_and_a_reason(at_desk, offer) -> None:
    shown = at_desk.get(at("withdraw", offer.quote))
    assert "A withdrawal counts once it has reached the customer" in text_of(shown)
    assert at_desk.post(at("withdraw", offer.quote), posted(shown)).status_code == 422
    form = posted(shown) | {"reason": "Priced anew"}
    for _ in range(2):
        done = at_desk.post(at("withdraw", offer.quote), form, follow=True)
    assert "Withdrawn." in text_of(done)
    offer.refresh_from_db()
    assert (offer.state, offer.end_reason, Message.objects.count()) == ("withdrawn", "Priced anew", 1)


def test_it_is_chased_and_given_to_somebody(at_desk, offer, manager, subcontractor) -> None:
    day = (TODAY + timedelta(days=4)).isoformat()
    form = posted(at_desk.get(at("chase", offer.quote))) | {"heard": "Thinks about it", "chase_on": day}
    at_desk.post(at("chase", offer.quote), form)
    form = posted(at_desk.get(at("take_on", offer.quote))) | {"owner": str(manager.pk), "chase_on": day}
    at_desk.post(at("take_on", offer.quote), form)
    quote = Quote.objects.get(pk=offer.quote_id)
    assert (quote.owner, quote.chase_on.isoformat()) == (manager, day)


def test_the_due_list_leads_to_the_quote(at_desk, site, office, offer) -> None:
    make.make_sent_offer(sites=[site], prices=[{}], name="New lights", by=office)
    shown = at_desk.get(reverse("desk:due"))
    assert f"Get an answer to quote {offer.quote.number}, which stands until 5 Mar 2026" in text_of(shown)
    for quote in Quote.objects.all():
        assert reverse("quotes:quote", args=[quote.pk]) in shown.content.decode()


def test_an_old_version_is_asked_for_by_its_number(at_desk, offer) -> None:
    assert at_desk.get(at("document", offer.quote), {"version": "1"}).status_code == 200
    for wrong in ("2", "x", "99999999"):
        assert at_desk.get(at("document", offer.quote), {"version": wrong}).status_code == 404


@pytest.mark.parametrize("links", [1, 5])
def test_the_page_of_a_quote_takes_the_same_statements_whatever_went_out(
    at_desk, offer, links, django_assert_num_queries
) -> None:
    for _ in range(links):
        make.make_quote_link(offer)
    with django_assert_num_queries(20):
        at_desk.get(at("quote", offer.quote))
