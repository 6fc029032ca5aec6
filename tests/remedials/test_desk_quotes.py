"""Where quotes meet the rest of the house: a site, a remedial, an observation, search, the history, a customer."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from jobsite.ledger.operations import operation, record
from remedials.desk.queries.search import found
from remedials.quotes.models import LineAnswer, Offer
from remedials.quotes.verbs import Verb
from remedials.works.verbs import Verb as OfWorks
from tests.factories import (
    NOON,
    TODAY,
    make_costing,
    make_job,
    make_observation,
    make_offer,
    make_party,
    make_remedial,
    make_site,
    make_terms,
)
from tests.remedials.desk import hrefs, read, statements, text_of
from tests.remedials.quoted import DAYS, answered, next_version, remedial_at, sent

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def house():
    return make_site("Mill Cottage", customer=make_party("Petra Landlady"))


@pytest.fixture
def seen(house):
    return make_observation(house, "Cover missing")


@pytest.fixture
def work(seen):
    return make_remedial(seen, work="Fit a cover")


def of(row, kind: str) -> str:
    return f"/{kind}/{row.pk}/"


# --- a site -----------------------------------------------------------------------------------------------------------


def test_a_site_shows_its_quotes_to_the_office(at_desk, house, work):
    offer = sent(work, name="Make it safe", days_ago=2)
    sent(remedial_at(make_site("Elsewhere")), name="Other work")
    response = at_desk.get(of(house, "sites"))
    words = (
        f"{offer.quote.number} version 1 Make it safe Petra Landlady with the customer 5 Mar 2026, 30 days left £120.00"
    )
    assert words in text_of(response)
    assert "Other work" not in text_of(response)
    assert f"/quotes/?state=&site={house.pk}" in hrefs(response)


def test_a_site_without_quotes_says_what_to_do_first(at_desk, house):
    assert "No quote yet. Price the remedials, then begin one." in read(at_desk, of(house, "sites"))


def test_an_engineer_sees_no_quotes_of_a_site(on_site, house, work):
    sent(work, name="Make it safe")
    shown = read(on_site, of(house, "sites"))
    assert "Make it safe" not in shown
    assert "£" not in shown


# --- a remedial and an observation ------------------------------------------------------------------------------------


def test_a_remedial_shows_its_price_its_quote_and_the_answer(at_desk, work):
    make_costing(work, "120.00", cost="70.00", set_price=Decimal("150.00"), set_why="Long way")
    offer = sent(work, days_ago=2, prices=[{"price": Decimal(150)}])
    shown = read(at_desk, of(work, "remedials"))
    assert "Price, net £150.00, set by hand: Long way Cost £70.00 Margin £80.00 (53 %)" in shown
    number = offer.quote.number
    assert f"Quote {number}, version 1 : with the customer since 1 Feb 2026, valid until 5 Mar 2026" in shown
    assert "£150.00 net, £180.00 to pay" in shown
    answered(offer, no=offer.lines.all(), name="Petra", how="paper")
    shown = read(at_desk, of(work, "remedials"))
    assert f"Quote {number}, version 1 : refused 3 Feb 2026 by Petra, on paper: the price" in shown


def test_a_remedial_that_is_not_priced_says_so(at_desk, work):
    assert "Not priced yet." in read(at_desk, of(work, "remedials"))


def test_an_engineer_sees_that_it_is_quoted_and_no_price(on_site, work, seen):
    make_costing(work, "120.00")
    offer = sent(work)
    answered(offer, yes=offer.lines.all(), order_number="PO 17")
    work.approvals.create(
        given_by="Petra", how="quote", given_on=TODAY, pounds=Decimal("120.00"), recorded_at=NOON, reference="PO 17"
    )
    for page in (of(work, "remedials"), of(seen, "observations")):
        response = on_site.get(page)
        assert f"Quote {offer.quote.number}, version 1: accepted 3 Feb 2026 by Petra Landlady, by telephone" in text_of(
            response
        )
        assert "£" not in text_of(response)
        assert not [href for href in hrefs(response) if href.startswith("/quotes/")]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"state": "draft"}, "in a draft, not sent"),
        ({"valid_until": TODAY - DAYS}, "lapsed on 2 Feb 2026 without an answer"),
        ({"state": "withdrawn", "ended_at": NOON, "end_reason": "x"}, "withdrawn before an answer"),
        ({"state": "superseded", "ended_at": NOON}, "not offered any more"),
    ],
)
def test_an_observation_says_how_what_puts_it_right_is_quoted(at_desk, seen, work, change, words):
    until = change.get("valid_until", TODAY + DAYS)
    offer = make_offer(work) if change == {"state": "draft"} else sent(work, valid_until=until)
    Offer.objects.filter(pk=offer.pk).update(**change)
    assert f"version 1 : {words}" in read(at_desk, of(seen, "observations"))


def test_another_was_chosen_instead(at_desk, seen, work):
    offer = sent(work, remedial_at(seen.site), prices=[{"either": "a"}, {"either": "a"}])
    one, two = offer.lines.all()
    answered(offer, yes=[two], not_chosen=[one])
    assert "another was chosen instead, 3 Feb 2026" in read(at_desk, of(seen, "observations"))


def test_only_the_last_version_that_had_it_is_spoken_of(at_desk, seen, work):
    offer = sent(work, remedial_at(seen.site))
    next_version(offer, offer.lines.all()[0])
    shown = read(at_desk, of(seen, "observations"))
    assert "version 2 : with the customer" in shown
    assert "version 1" not in shown


def test_an_answer_taken_back_is_none(at_desk, work):
    offer = sent(work)
    answered(offer, yes=offer.lines.all())
    LineAnswer.objects.update(stands=False)
    Offer.objects.update(state="sent")
    assert "with the customer since" in read(at_desk, of(work, "remedials"))


@pytest.mark.parametrize("size", [1, 6])
def test_quotes_cost_the_pages_no_statement_more(at_desk, seen, work, size):
    """Eight that a remedial's page costs besides what to switch off; nine for an observation's."""
    costs = []
    for _ in range(2):
        with statements() as sql:
            at_desk.get(of(work, "remedials"))
            at_desk.get(of(seen, "observations"))
        costs.append(len(sql))
        for _ in range(size):
            sent(work)
    assert costs[0] == costs[1]


# --- found, told, and whose -------------------------------------------------------------------------------------------


def hits(user, words: str) -> list[str]:
    return [row["title"] for group in found(user, words) if group["heading"] == "Quotes" for row in group["rows"]]


def test_a_quote_is_found_by_number_name_and_customer(office, house, work):
    offer = sent(work, name="Make it safe")
    for words in (str(offer.quote.number), f"#{offer.quote.number}", "make safe", "petra", "petra safe"):
        assert hits(office, words) == ["Make it safe"]
    assert hits(office, "nowhere") == []


def test_engineers_find_no_quotes(engineer, subcontractor, work):
    sent(work, name="Make it safe")
    assert hits(engineer, "make safe") == hits(subcontractor, "make safe") == []


@operation
def tell(verb, subject, *, site, by, facts=None, words=None) -> None:
    record(verb, site=site.pk, subject=subject, by=by, now=NOON, facts=facts, words=words)


def history(site) -> str:
    return reverse("desk:history", args=[site.pk])


def test_the_history_tells_of_quotes_terms_and_jobs_by_name(at_desk, office, house, work):
    offer = sent(work, name="Make it safe")
    tell(Verb.SENT, offer.quote, site=house, by=office, facts={"version": 1}, words={"to": "petra@example.com"})
    tell(Verb.JOB_ADDED, make_job("Blanks"), site=house, by=office)
    tell(Verb.TERMS_SET, make_terms(), site=house, by=office)
    response = at_desk.get(history(house))
    shown = text_of(response)
    assert (
        f"quote sent : quote {offer.quote.number}: Make it safe Olive Deskworth · version 1 to: petra@example.com"
        in shown
    )
    assert of(offer.quote, "quotes") in hrefs(response)
    assert "standard job added to the price book : standard job Blanks" in shown
    assert "rates and terms set : rates and terms from 2026-01-01" in shown


def test_the_history_tells_engineers_no_sums(at_desk, office, engineer, house, work):
    sums = {"price": "120.00", "cost": "70.00"}
    tell(Verb.PRICED, work, site=house, by=office, facts=sums, words={"set_why": "They pay late"})
    tell(OfWorks.APPROVED, work, site=house, by=office, facts={"pounds": "144.00", "how": "quote"})
    assert "cost 70.00, price 120.00" in read(at_desk, history(house))
    assert "pounds 144.00" in read(at_desk, history(house))
    at_desk.force_login(engineer)
    for page in (history(house), reverse("desk:history_text", args=[house.pk])):
        shown = at_desk.get(page).content.decode()
        assert "priced" in shown
        for secret in ("70.00", "120.00", "144.00", "They pay late"):
            assert secret not in shown


def test_a_customers_page_leads_to_their_quotes(at_desk, house):
    assert f"/quotes/?state=&customer={house.customer_id}" in hrefs(at_desk.get(of(house.customer, "customers")))


# --- what customers see of it -----------------------------------------------------------------------------------------


def test_a_status_page_says_that_a_quote_is_with_the_customer_and_no_price(client, house, work):
    from tests.factories import make_link

    _, token = make_link(house, expires_at=NOON + timedelta(days=30))
    sent(work, prices=[{"price": Decimal("437.19")}])
    other = make_party("Another Owner")
    sent(remedial_at(house, work="Theirs"), party=other, prices=[{"price": Decimal("911.23")}], name="A secret name")
    shown = text_of(client.get(reverse("status:site", args=[token])))
    assert "a quote is with you" in shown.lower()
    for secret in ("437", "524", "911", "1,093", "£", "Another Owner", "A secret name"):
        assert secret not in shown


@pytest.mark.parametrize(("begin", "consumer", "days", "said"), [
    (None, True, 0, True), (False, True, 14, True), (False, True, 15, False), (True, True, 0, False), (None, False, 0, False),
])  # fmt: skip
def test_work_that_a_consumer_may_still_cancel_says_so(at_desk, work, begin, consumer, days, said):
    offer = sent(work, consumer=consumer, days_ago=20)
    answered(offer, yes=list(offer.lines.all()), at=NOON - days * DAYS, begin_at_once=begin)
    words = text_of(at_desk.get(of(work, "remedials")))
    assert ("ask them before work is booked" in words) is said
