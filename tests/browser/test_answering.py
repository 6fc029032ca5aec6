"""A customer answers a quote on a phone: without JavaScript and with, from the link to the receipt."""

from datetime import timedelta
from decimal import Decimal

import pytest
from playwright.sync_api import expect

from jobsite import clock
from jobsite.firm.models import Firm
from remedials.quotes.models import Answer, Question
from tests.browser.conftest import look
from tests.factories import make_observation, make_quote_link, make_remedial, make_sent_offer

DANGER = "The metal of the cooker could become live and give an electric shock."


@pytest.fixture
def offer(site):
    """Sent just now: a dangerous line, two that exclude each other, an optional one, a call-out."""
    now = clock.now()
    Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")
    texts = [("Bare conductor", "C1"), ("Board worn", "C2"), ("Board worn, cheaper", "C2"), ("No labels", "C3")]
    works = [make_remedial(make_observation(site, text, code=code), work=f"Put right: {text}") for text, code in texts]
    prices = [
        {"danger": DANGER},
        {"either": "A", "price": Decimal("845.50"), "danger": "A switch may fail to disconnect a fault."},
        {"either": "A", "price": Decimal("310.00"), "certainty": "provisional"},
        {"optional": True, "price": Decimal("29.99"), "vat": Decimal("6.00")},
        {"kind": "call-out", "words": "Coming to you", "price": Decimal("45.00"), "code": ""},
    ]
    return make_sent_offer(*works, prices=prices, at=now, valid_until=clock.local_day(now) + timedelta(days=20))


@pytest.fixture
def at(offer):
    now = clock.now()
    return f"/q/{make_quote_link(offer, made_at=now, expires_at=now + timedelta(days=30))[1]}/"


def choose(page, words: str, answer: str) -> None:
    page.get_by_role("group", name=words, exact=True).get_by_role("radio", name=answer, exact=True).check()


@pytest.mark.parametrize("script", [False, True], ids=["without JavaScript", "with"])
def test_from_the_link_to_the_receipt(page_for, axe, offer, at, script):
    page = page_for(None, width=390, java_script_enabled=script)
    page.goto(at)
    name = "answering-js" if script else "answering"
    look(page, f"{name}-1")
    if script:
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") == 390
    choose(page, "Put right: Bare conductor", "Yes")
    choose(page, "Put right: Board worn", "Yes")
    choose(page, "Put right: Board worn, cheaper", "No")
    choose(page, "Put right: No labels", "Ask first")
    page.get_by_role("group", name="Put right: No labels").get_by_label("Your question").fill("What for?")
    if script:
        expect(page.locator("[data-sum]")).to_have_text("Chosen: £1,188.60 with VAT")
        axe(page)
    look(page, f"{name}-2")
    page.get_by_role("button", name="Look it over").click()
    expect(page.get_by_text("Together £1,188.60 with VAT")).to_be_visible()
    expect(page.get_by_role("checkbox")).not_to_be_checked()
    look(page, f"{name}-3")
    page.get_by_role("button", name="Confirm and accept").click()
    expect(page.get_by_text("Write your name: who says this.")).to_be_visible()
    if script:
        axe(page)
    page.get_by_role("button", name="Change something").click()
    worn = page.get_by_role("group", name="Put right: Board worn", exact=True)
    expect(worn.get_by_role("radio", name="Yes")).to_be_checked()
    page.get_by_role("button", name="Look it over").click()
    page.get_by_label("Your name").fill("Petra Landlady")
    page.get_by_label("Your order number").fill("PO 7")
    page.get_by_role("button", name="Confirm and accept").click()
    expect(page.get_by_role("heading", name="Answered by Petra Landlady")).to_be_visible()
    expect(page.get_by_text("What for?")).to_be_visible()
    look(page, f"{name}-4")
    if script:
        axe(page)
    assert page.context.cookies() == []
    answer = Answer.objects.get()
    assert (answer.to_pay, answer.begin_at_once, answer.order_number) == (Decimal("1188.60"), False, "PO 7")
    assert Question.objects.get().open


def test_the_office_records_and_replies(page_for, axe, offer, at):
    customer = page_for(None, width=390)
    customer.goto(at)
    customer.get_by_label("Your question").last.fill("How long does it take?")
    customer.get_by_label("Your name").fill("Petra")
    customer.get_by_role("button", name="Send the question").click()
    page = page_for("office", width=390)
    page.goto(f"/quotes/{offer.quote_id}/")
    axe(page)
    page.get_by_role("link", name="Reply").click()
    axe(page)
    look(page, "answering-office-question")
    page.get_by_label("Reply").fill("A day.")
    page.get_by_role("button", name="Send reply").click()
    page.get_by_role("link", name="Record an answer").click()
    axe(page)
    choose(page, "C1 Put right: Bare conductor: £120.00 with VAT", "Yes")
    page.get_by_label("Who said it").fill("Petra Landlady")
    look(page, "answering-office-record")
    page.get_by_role("button", name="Record the answer").click()
    expect(page.get_by_text("your adviser settles whether the 14 days to cancel apply")).to_be_visible()
    look(page, "answering-office-quote")
    axe(page)
