"""Private links made and sent, found again by the office, and what becomes of them when people and sites change."""

import re
from datetime import date, timedelta

import pytest
import time_machine
from django.core import mail
from django.urls import reverse

from jobsite.firm.models import Firm
from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.messages.operations import send_again, send_to
from jobsite.people.links import find_link, token_hash
from jobsite.people.models import PrivateLink
from jobsite.people.operations import withdraw_link
from jobsite.premises import operations, queries
from jobsite.premises.operations.sharing import letter, send_link
from jobsite.premises.queries.links import all_links, links_of, links_of_party
from jobsite.refused import NotAllowed, Refused
from remedials.due.operations import send
from tests import factories as make
from tests.factories import NOON, TODAY, Told, recorded
from tests.remedials.desk import text_of

YEAR = NOON + timedelta(days=365)
STATE = Message.State


@pytest.fixture(autouse=True)
def at_noon(db):
    Firm.objects.create(name="Sample Sparks", phone="01632 960123")
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def customer(site):
    site.customer.name, site.customer.email = "Ada Owner", "ada@example.com"
    site.customer.save()
    return site.customer


def sent(site, customer, office, **more):
    body = letter(customer, about="How it stands.", note="", expires_at=YEAR)
    usual = {"id": new_id(), "purpose": "status", "site": site.pk, "party": customer, "address": "ada@example.com"}
    usual |= {"subject": "How it stands", "body": body, "why": "A test.", "expires_at": YEAR, "by": office, "now": NOON}
    return send_link(**usual | more)


def token_in(letter) -> str:
    return re.search(r"/s/([\w-]{43})/", letter.body).group(1)


def opens(token: str, now=NOON) -> bool:
    return find_link(token, purpose="status", now=now) is not None


# --- sent by e-mail ---------------------------------------------------------------------------------------------------


def test_the_token_is_in_the_mail_and_in_no_row(site, customer, office):
    key = new_id()
    with recorded() as told:
        link = sent(site, customer, office, id=key)
        assert sent(site, customer, office, id=key) == link
    facts = {"purpose": "status", "unit": None, "expires_at": YEAR.isoformat()}
    assert told == [Told("link.made", link.pk, facts, {"sent_to": "ada@example.com"})]
    send(now=NOON)
    send(now=NOON)
    (letter_,) = mail.outbox
    token = token_in(letter_)
    assert opens(token)
    message = Message.objects.get()
    assert (message.state, message.why, message.link) == (STATE.SENT, "A test.", link.pk)
    assert token not in message.body
    assert "Dear Ada Owner," in letter_.body
    assert "It opens until 3 Feb 2027, 12:00." in letter_.body
    assert "ring 01632 960123" in letter_.body
    assert bytes(PrivateLink.objects.get().token_hash) == token_hash(token)


def test_withdrawn_before_it_went_out_nothing_goes_out(site, customer, office):
    link = sent(site, customer, office)
    withdraw_link(link, by=office, now=NOON)
    send(now=NOON)
    message = Message.objects.get()
    assert (mail.outbox, message.state) == ([], STATE.DROPPED)
    assert message.error == "The office withdrew its link."


def test_what_would_have_ended_by_then_does_not_go_out(site, customer, office):
    sent(site, customer, office, expires_at=NOON + timedelta(days=2))
    with time_machine.travel(NOON + timedelta(days=2), tick=False):
        send(now=NOON + timedelta(days=2))
    message = Message.objects.get()
    assert (mail.outbox, message.state) == ([], STATE.DROPPED)
    assert message.error == "The private link that it brings was withdrawn, or has ended."


def test_sent_to_another_address_it_brings_a_link_of_its_own(site, customer, office):
    first = sent(site, customer, office, expires_at=YEAR)
    send(now=NOON)
    Message.objects.update(state=STATE.RETURNED, returned_at=NOON)
    send_to(Message.objects.get(), address="ada@example.org", by=office, now=NOON)
    send(now=NOON)
    one, two = map(token_in, mail.outbox)
    assert (opens(one), opens(two), one == two) == (True, True, False)
    links = PrivateLink.objects.order_by("made_at", "pk")
    assert sorted((row.sent_to, row.party, row.expires_at) for row in links) == [
        ("ada@example.com", customer.pk, YEAR),
        ("ada@example.org", customer.pk, YEAR),
    ]
    withdraw_link(first, by=office, now=NOON)
    assert (opens(one), opens(two)) == (False, True)


def test_what_is_not_known_to_have_arrived_goes_again_with_another_link(site, customer, office):
    sent(site, customer, office)
    send(now=NOON)
    Message.objects.update(state=STATE.UNKNOWN)
    send_again(Message.objects.get(), by=office, now=NOON)
    send(now=NOON)
    assert [opens(token_in(one)) for one in mail.outbox] == [True, True]
    assert PrivateLink.objects.count() == 2


@pytest.mark.parametrize(
    ("more", "field"),
    [({"address": ""}, "email"), ({"expires_at": NOON + timedelta(hours=2)}, "expires_at")],
)
def test_what_cannot_be_sent(site, customer, office, more, field):
    with recorded() as told, pytest.raises(Refused) as raised:
        sent(site, customer, office, **more)
    assert (raised.value.field, told, Message.objects.count()) == (field, [], 0)


def test_engineers_send_no_links(site, customer, engineer):
    with pytest.raises(NotAllowed):
        sent(site, customer, engineer)


def test_the_form_sends_to_the_address_of_whom_it_is_for(client, site, customer, office):
    tenant = make.make_party("Tom Tenant", email="tom@example.com")
    make.unit_of(site).parties.create(party=tenant, role="occupier", since=date(2020, 1, 1))
    client.force_login(office)
    where = reverse("premises:link_make", args=[site.pk])
    form = {"id": new_id(), "party": tenant.pk, "how": "mail", "expires_at": "2027-02-03T12:00", "note": "As we said."}
    response = client.post(where, form)
    assert response.status_code == 302
    send(now=NOON)
    (letter_,) = mail.outbox
    assert letter_.to == ["tom@example.com"]
    assert "Dear Tom Tenant,\n\nAs we said." in letter_.body
    assert opens(token_in(letter_))


@pytest.mark.parametrize(
    ("form", "sentence"),
    [
        ({"how": "show"}, "Say whom you give it to"),
        ({"how": "mail"}, "Choose whom the e-mail is for"),
        ({"how": "mail", "party": "customer"}, "No address of Sample Customer is recorded"),
        ({"how": "show", "sent_to": "Ada", "expires_at": "2026-02-03T11:00"}, "A link must end in the future."),
    ],
)
def test_what_the_form_asks_for_again(client, site, office, form, sentence):
    site.customer.name, site.customer.email = "Sample Customer", ""
    site.customer.save()
    client.force_login(office)
    if form.get("party"):
        form = form | {"party": site.customer_id}
    data = {"id": new_id(), "expires_at": "2027-02-03T12:00"} | form
    response = client.post(reverse("premises:link_make", args=[site.pk]), data)
    assert response.status_code == 422
    assert sentence in text_of(response)
    assert PrivateLink.objects.count() == 0


# --- who has which ----------------------------------------------------------------------------------------------------


def test_the_firms_links_are_found_by_name_and_by_whether_they_open(client, site, customer, office):
    make.make_link(site, party=customer.pk, sent_to="Ada, on paper", uses=3, last_used_at=NOON, expires_at=YEAR)
    make.make_link(site, sent_to="the broker", withdrawn_at=NOON, expires_at=YEAR)
    other = make.make_site("Barn House")
    make.make_link(other, sent_to="Bramwell Bo", purpose="quote", thing=new_id(), expires_at=YEAR)
    client.force_login(office)

    def found(**asked) -> str:
        return text_of(client.get(reverse("premises:every_link"), asked))

    assert "Ada, on paper, Ada Owner" in found()
    assert "3 times, last" in found()
    assert "the broker" not in found()
    assert "the broker" in found(which="ended")
    assert "Ada, on paper" not in found(which="ended")
    assert "Bramwell" in found(q="barn")
    assert "Ada, on paper" not in found(q="barn")
    assert "Ada, on paper" in found(q="ada own", which="all")
    assert "Bramwell" not in found(purpose="status")
    ofs = found(customer=customer.pk, which="all")
    assert "the broker" in ofs  # names nobody, but opens a site of theirs
    assert "Bramwell" not in ofs
    assert "None fits what you asked for." in found(q="nobody of that name")


def test_the_list_says_how_the_mail_went(client, site, customer, office):
    sent(site, customer, office)
    client.force_login(office)
    where = reverse("premises:party", args=[customer.pk])
    assert "e-mail waiting to be sent" in text_of(client.get(where))
    send(now=NOON)
    assert "e-mail sent" in text_of(client.get(where))
    assert "not yet" in text_of(client.get(where))


def test_who_may_not_share_sees_no_links(client, site, customer, engineer):
    client.force_login(engineer)
    assert client.get(reverse("premises:every_link")).status_code == 403


@pytest.mark.parametrize("count", [2, 40])
def test_lists_cost_the_same_at_any_length(site, customer, office, count, django_assert_max_num_queries):
    for n in range(count):
        link, _ = make.make_link(site, party=make.make_party(f"P{n}").pk, unit=make.unit_of(site), expires_at=YEAR)
        Message.objects.create(
            occasion=f"{n}", to_kind="customer", to_id=customer.pk, address="a@example.com", subject="s", body="b",
            link=link.pk, written_at=NOON, next_try_at=NOON,
        )  # fmt: skip
    with django_assert_max_num_queries(5):
        assert len(links_of(site, now=NOON)) == count
    with django_assert_max_num_queries(5):
        assert len(all_links(office, now=NOON).rows) == count
    with django_assert_max_num_queries(5):
        links_of_party(customer, now=NOON)
    with django_assert_max_num_queries(7):
        all_links(office, now=NOON, words="P1", customer=customer.pk)


def test_withdrawn_from_the_list(client, site, customer, office):
    link, token = make.make_link(site, expires_at=YEAR)
    everything, _ = make.make_link(site, expires_at=YEAR)
    PrivateLink.objects.filter(pk=everything.pk).update(site=None, party=customer.pk, purpose="portfolio")
    client.force_login(office)
    for one in (link, everything):
        assert client.post(reverse("premises:link_withdraw", args=[one.pk])).status_code == 302
        one.refresh_from_db()
        assert one.withdrawn_at == NOON
    assert not opens(token)


# --- when people and sites change -------------------------------------------------------------------------------------


def test_who_is_nothing_at_a_unit_any_more_reads_it_until_that_day(site, customer, office):
    unit = make.unit_of(site)
    tenant, agent = make.make_party("Tom Tenant"), make.make_party("Agnes Agent")
    role = unit.parties.create(party=tenant, role="occupier", since=date(2020, 1, 1))
    stays = unit.parties.create(party=agent, role="agent", since=date(2020, 1, 1))
    unit.parties.create(party=agent, role="payer", since=date(2020, 1, 1))
    _, token = make.make_link(site, unit=unit, party=tenant.pk, expires_at=YEAR)
    _, of_whole = make.make_link(site, party=tenant.pk, expires_at=YEAR)
    quote, _ = make.make_link(site, party=tenant.pk, purpose="quote", thing=new_id(), expires_at=YEAR)
    _, of_agent = make.make_link(site, unit=unit, party=agent.pk, expires_at=YEAR)
    until = TODAY + timedelta(days=10)
    with recorded() as told:
        operations.end_role(role, until=until, by=office, now=NOON)
        operations.end_role(stays, until=until, by=office, now=NOON)
    assert [(one.verb, one.facts.get("links_end")) for one in told] == [("role.ended", 2), ("role.ended", None)]
    on_the_last_day, after = NOON + timedelta(days=10), NOON + timedelta(days=11)
    assert (opens(token, on_the_last_day), opens(of_whole, on_the_last_day)) == (True, True)
    assert (opens(token, after), opens(of_whole, after), opens(of_agent, after)) == (False, False, True)
    quote.refresh_from_db()
    assert quote.expires_at == YEAR


def test_whose_part_ended_before_today_reads_nothing_from_now_on(site, customer, office):
    unit = make.unit_of(site)
    tenant = make.make_party("Tom Tenant")
    role = unit.parties.create(party=tenant, role="occupier", since=date(2020, 1, 1))
    _, token = make.make_link(site, unit=unit, party=tenant.pk, expires_at=YEAR)
    with recorded() as told:
        operations.end_role(role, until=TODAY - timedelta(days=3), by=office, now=NOON)
    assert [one.verb for one in told] == ["link.withdrawn", "role.ended"]
    assert not opens(token)


def test_a_house_that_becomes_flats_shows_who_had_the_house_no_flats(site, customer, office):
    unit = make.unit_of(site)
    tenant, _ = make.make_link(site, party=make.make_party("Tom").pk, expires_at=YEAR)
    unnamed, _ = make.make_link(site, expires_at=YEAR)
    owner, _ = make.make_link(site, party=customer.pk, expires_at=YEAR)
    operations.add_unit(site, id=new_id(), name="The new flat", by=office, now=NOON)
    for link in (tenant, unnamed, owner):
        link.refresh_from_db()
    assert (tenant.unit, unnamed.unit, owner.unit) == (unit.pk, unit.pk, None)


def test_two_records_become_one_and_nobody_sees_more_than_before(office):
    owner = make.make_party("Ada Owner")
    gone, into = make.make_site("A", customer=owner), make.make_site("B", customer=owner)
    make.make_unit(gone, "Flat 1")
    gone.units.update(whole_site=False)
    house = make.unit_of(into)
    tenant, _ = make.make_link(into, party=make.make_party("Tom").pk, expires_at=YEAR)
    own, _ = make.make_link(into, party=owner.pk, expires_at=YEAR)
    names = {row.pk: f"{row} (2)" for row in queries.clashing(gone, into)}
    operations.merge_sites(gone, into=into, names=names, reason="Twice", by=office, now=NOON)
    for link in (tenant, own):
        link.refresh_from_db()
    assert (tenant.unit, own.unit) == (house.pk, None)
