"""Quotes when their site goes to another customer, was recorded twice, leaves the lists, or loses a unit."""

from datetime import timedelta

import pytest

from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises import operations
from jobsite.premises.models import PartyAtUnit, Site
from jobsite.refused import Refused
from remedials.quotes.models import Line, Offer, QuoteSite
from remedials.quotes.operations.sending import send_offer
from tests.at_once import at_once
from tests.factories import (
    NOON,
    TODAY,
    make_offer,
    make_party,
    make_quote_link,
    make_site,
    make_unit,
    recorded,
    unit_of,
)
from tests.remedials.quoted import answered, remedial_at, sent

pytestmark = pytest.mark.django_db


@pytest.fixture
def who(office):
    return {"by": office, "now": NOON}


@pytest.fixture
def house():
    return make_site("Mill Cottage", customer=make_party("Petra Landlady"))


def hand_over(site, to=None, **who) -> Site:
    to = to or make_party("Nora Newowner", email="nora@example.com")
    return operations.hand_over_site(site, to=to, on=TODAY, reason="Sold", roles=(), version=site.version, **who)


def role(site, party, **fields) -> None:
    unit = unit_of(site)
    PartyAtUnit.objects.create(unit=unit, party=party, role="agent", since=TODAY - timedelta(days=90), **fields)


# --- another customer -------------------------------------------------------------------------------------------------


def test_what_was_offered_to_the_former_customer_is_withdrawn(house, who):
    work = remedial_at(house)
    offer = sent(work)
    link, _ = make_quote_link(offer, expires_at=NOON + timedelta(days=60))
    with recorded() as told:
        hand_over(house, **who)
    offer.refresh_from_db()
    link.refresh_from_db()
    work.refresh_from_db()
    assert (offer.state, offer.end_reason) == ("withdrawn", "Mill Cottage went to another customer.")
    assert (link.withdrawn_at, work.stage) == (NOON, "to-price")
    assert [t.verb for t in told].count("quote.withdrawn") == 1
    assert told[-1].facts["quotes_withdrawn"] == [offer.quote.number]


def test_the_former_customer_is_told_and_the_new_one_never_hears_the_price(house, who):
    offer = sent(remedial_at(house))
    hand_over(house, **who)
    assert {message.address for message in Message.objects.all()} <= {offer.sent_to}
    assert not PrivateLink.objects.filter(thing=offer.quote_id, withdrawn_at=None).exists()


def test_others_keep_what_was_offered_to_them(house, who):
    owner = make_party("Owen Flat")
    role(house, owner)
    theirs, draft = sent(remedial_at(house), party=owner), make_offer(remedial_at(house))
    elsewhere = sent(remedial_at(make_site("Other", customer=house.customer)))
    hand_over(house, **who)
    states = [Offer.objects.get(pk=offer.pk).state for offer in (theirs, draft, elsewhere)]
    assert states == ["sent", "draft", "sent"]


def test_whoever_has_no_part_in_it_that_goes_on_loses_what_was_offered_to_them(house, who):
    gone, stays = make_party("Agent of the former owner"), make_party("Owen Flat")
    role(house, gone, until=TODAY - timedelta(days=1))
    role(house, stays)
    offers = [sent(remedial_at(house), party=party) for party in (gone, stays)]
    to = make_party("Nora Newowner")
    offers.append(sent(remedial_at(house), party=to))
    hand_over(house, to, **who)
    assert [Offer.objects.get(pk=offer.pk).state for offer in offers] == ["withdrawn", "sent", "sent"]


def test_a_draft_to_the_former_customer_is_not_sent(house, who):
    draft = make_offer(remedial_at(house))
    hand_over(house, **who)
    post = {"how": "printed", "to": "Petra", "version": None}
    with pytest.raises(Refused, match="Petra Landlady has no part in it any more"):
        send_offer(draft, id=new_id(), **post, **who)
    role(house, draft.quote.party)
    assert send_offer(draft, id=new_id(), **post, **who).state == "sent"


def test_an_offer_for_several_sites_is_withdrawn_whole(house, who):
    other = make_site("Other", customer=house.customer)
    offer = sent(remedial_at(house), remedial_at(other))
    hand_over(house, **who)
    assert Offer.objects.get(pk=offer.pk).state == "withdrawn"


def test_what_was_accepted_stays_accepted(house, who):
    offer = sent(remedial_at(house))
    answered(offer, yes=offer.lines.all())
    hand_over(house, **who)
    assert Offer.objects.get(pk=offer.pk).state == "answered"


def test_twice_withdraws_once(house, who):
    sent(remedial_at(house))
    to = make_party("Nora Newowner")
    hand_over(house, to, **who)
    house.refresh_from_db()
    with recorded() as told:
        hand_over(house, to, **who)
    assert told == []


# --- recorded twice ---------------------------------------------------------------------------------------------------


def merge(gone, into, **who) -> None:
    operations.merge_sites(gone, into=into, names={}, reason="The same door", **who)


@pytest.fixture
def twice(house):
    return house, make_site("Cottage at the mill", customer=house.customer)


def test_a_quote_goes_over_with_its_site(twice, who):
    gone, into = twice
    coming = {"words": "Coming out", "kind": "call-out", "visits": 1, "site": gone}
    offer = sent(remedial_at(gone), prices=[{}, coming])
    merge(gone, into, **who)
    assert list(offer.quote.sites.all()) == [into]
    assert set(Line.objects.filter(site__isnull=False).values_list("site", flat=True)) <= {into.pk}


@pytest.mark.parametrize("state", ["draft", "sent"])
def test_a_quote_for_both_is_for_the_one_and_keeps_its_sums(twice, who, state):
    gone, into = twice
    coming = [{"words": f"Coming out to {site}", "kind": "call-out", "visits": 1, "site": site} for site in twice]
    offer = (make_offer if state == "draft" else sent)(remedial_at(gone), remedial_at(into), prices=[{}, {}, *coming])
    before = list(offer.lines.values_list("key", "price", "vat", "words"))
    merge(gone, into, **who)
    assert list(offer.quote.sites.all()) == [into]
    assert list(offer.lines.values_list("key", "price", "vat", "words")) == before
    assert not Line.objects.filter(site=gone).exists()
    assert not QuoteSite.objects.filter(site=gone).exists()


@pytest.mark.django_db(transaction=True)
def test_a_quote_for_both_when_two_people_make_them_one(office):
    """The quote stands at the site that is left, once."""
    customer = make_party()
    gone, into = make_site("A", customer=customer), make_site("B", customer=customer)
    offer = make_offer(remedial_at(gone), remedial_at(into))
    at_once(
        lambda: merge(gone, into, by=office, now=NOON),
        lambda: merge(gone, into, by=office, now=NOON),
    )
    assert list(offer.quote.sites.all()) == [into]


# --- off the lists, and parts of it -----------------------------------------------------------------------------------


def test_no_site_leaves_the_lists_while_a_quote_waits_for_its_answer(house, who):
    offer = sent(remedial_at(house, code="C3"))
    sentence = (
        f"Quote {offer.quote.number}, version 1 was sent and is not answered: withdraw it, or record the answer, first."
    )
    with pytest.raises(Refused) as raised:
        operations.archive_site(house, **who)
    assert raised.value.sentence == sentence
    answered(offer, no=offer.lines.all())
    make_offer(remedial_at(house, code="C3"))
    assert operations.archive_site(house, **who).archived_at == NOON


def test_a_unit_taken_out_leaves_quotes_as_they_are(house, who):
    flat = make_unit(house, "Flat 2")
    offer = sent(remedial_at(house))
    operations.retire_unit(flat, **who)
    assert Offer.objects.get(pk=offer.pk).state == "sent"
