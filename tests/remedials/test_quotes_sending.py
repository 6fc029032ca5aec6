"""Sending a version of a quote: frozen as it was said, the remedials quoted, the customer written to once."""

from datetime import timedelta
from decimal import Decimal

import pytest

from jobsite.ids import new_id
from jobsite.ledger.files import read_file
from jobsite.messages.models import Message
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.quotes.models import Offer
from remedials.quotes.operations.drafting import revise_quote
from remedials.quotes.operations.following import chase_quote, make_quote_link, take_on_quote
from remedials.quotes.operations.sending import send_offer, withdraw_offer
from remedials.works.models import Remedial
from tests import factories as make
from tests.factories import NOON, TODAY, Told, recorded

pytestmark = pytest.mark.django_db
CHASED = TODAY + timedelta(days=23)


@pytest.fixture
def remedial(site) -> Remedial:
    make.make_terms(vat_number="GB 999 9999 73")
    return make.make_remedial(make.make_observation(site))


@pytest.fixture
def draft(remedial, office) -> Offer:
    return make.make_offer(remedial, by=office)


def sent(offer: Offer, **more) -> Offer:
    usual = {"id": new_id(), "how": "email", "to": "petra@example.com", "version": None, "now": NOON}
    return send_offer(offer, **usual | {"by": offer.made_by} | more)


def refusal(offer: Offer, **more) -> tuple[str, str | None]:
    with recorded() as told, pytest.raises(Refused) as refused:
        sent(offer, **more)
    assert (told, Message.objects.count()) == ([], 0)
    offer.refresh_from_db()
    assert offer.state == "draft"
    return refused.value.sentence, refused.value.field


def where(remedial: Remedial) -> tuple[str, object, object]:
    remedial.refresh_from_db()
    return remedial.stage, remedial.owner, remedial.step_by


def test_what_was_sent_is_frozen_as_it_was_said(draft, remedial) -> None:
    form = new_id()
    with recorded() as told:
        offer = sent(draft, id=form)
    offer.refresh_from_db()
    assert (offer.state, offer.sent_to, offer.said["totals"]["to_pay"]) == ("sent", "petra@example.com", "120.00")
    assert read_file(offer.file).startswith(b"%PDF")
    assert (len(offer.fingerprint), offer.quote.chase_on) == (64, CHASED)
    assert where(remedial) == ("quoted", offer.quote.owner, CHASED)
    facts = {"form": str(form), "version": 1, "how": "email", "fingerprint": offer.fingerprint, "file": offer.file.hash}
    facts |= {"valid_until": "2026-03-05", "chase_on": CHASED.isoformat(), "instead_of": None}
    step = {"quote": offer.quote.number, "step_by": CHASED.isoformat(), "owner": str(offer.quote.owner.pk)}
    assert told == [
        Told("quote.sent", offer.quote_id, facts, {"to": "petra@example.com"}),
        Told("remedial.quoted", remedial.pk, step),
    ]


def test_the_same_form_twice_sends_once(draft) -> None:
    form = new_id()
    first = sent(draft, id=form)
    with recorded() as told:
        assert sent(draft, id=form).pk == first.pk
    assert (told, Message.objects.count()) == ([], 1)


def test_another_form_for_what_was_sent_is_told_so(draft) -> None:
    sent(draft)
    with pytest.raises(Refused, match="was sent already: it is with the customer"):
        sent(draft)


def test_printed_writes_to_nobody(draft) -> None:
    offer = sent(draft, how="printed", to="Petra, by hand")
    assert (offer.sent_how, offer.sent_to, Message.objects.count()) == ("printed", "Petra, by hand", 0)


@pytest.mark.parametrize(
    ("more", "sentence", "field"),
    [
        ({"to": ""}, "Enter the e-mail address", "to"),
        ({"to": "petra"}, "This is no e-mail address", "to"),
        ({"how": "printed", "to": " "}, "Say to whom it is handed", "to"),
        ({"how": "pigeon"}, "Choose how it is sent", "how"),
        ({"now": NOON + timedelta(days=31)}, "It would have lapsed already: it stands until 5 Mar 2026", "valid_until"),
    ],
)
def test_what_it_cannot_be_sent_with(draft, more, sentence, field) -> None:
    said, beside = refusal(draft, **more)
    assert said.startswith(sentence)
    assert beside == field


def test_it_stands_on_its_last_day(draft) -> None:
    offer = sent(draft, now=NOON + timedelta(days=30))
    assert offer.quote.chase_on == TODAY + timedelta(days=31)  # not before tomorrow


def test_without_a_line_of_work_nothing_is_offered(site, office) -> None:
    make.make_terms()
    empty = make.make_offer(sites=[site], prices=[], by=office)
    assert refusal(empty) == ("Nothing is offered yet: add a line of work first.", None)
    make.make_line(empty, kind="call-out", visits=1)
    assert refusal(empty) == ("Nothing is offered yet: add a line of work first.", None)


def test_without_a_last_day_it_is_not_sent(remedial, office) -> None:
    endless = make.make_offer(remedial, by=office, valid_until=None)
    assert refusal(endless) == ("Say until when the quote stands.", "valid_until")


@pytest.mark.parametrize("stage", ["approved", "booked", "done", "reviewed", "cancelled", "by-others"])
def test_work_that_went_on_without_it_is_named(draft, remedial, stage) -> None:
    Remedial.objects.update(stage=stage)
    said, _ = refusal(draft)
    assert f"remedial {remedial.number} is {stage.replace('by-others', 'done by others')}" in said


def test_declined_work_is_offered_again_by_it(draft, remedial) -> None:
    Remedial.objects.update(stage="declined")
    with recorded() as told:
        sent(draft)
    assert where(remedial)[0] == "quoted"
    assert [one.verb for one in told] == ["quote.sent", "remedial.offered-again", "remedial.quoted"]


def test_an_archived_party_and_site_are_offered_nothing(draft, site) -> None:
    party = draft.quote.party
    type(party).objects.update(archived_at=NOON)
    assert refusal(draft) == ("Petra Landlady is archived: bring it back first.", "party")
    type(party).objects.update(archived_at=None)
    type(site).objects.update(archived_at=NOON)
    assert "archived" in refusal(draft)[0]


def test_who_saw_an_older_draft_looks_again(draft) -> None:
    with pytest.raises(ChangedMeanwhile, match="Somebody else changed this quote meanwhile"):
        sent(draft, version=draft.version + 1)
    assert sent(draft, version=draft.version).state == "sent"


def test_engineers_send_nothing(draft, engineer) -> None:
    with pytest.raises(NotAllowed):
        sent(draft, by=engineer)


def test_a_thrown_away_draft_is_said_to_be(draft) -> None:
    gone = Offer.objects.get(pk=draft.pk)
    Offer.objects.filter(pk=draft.pk).delete()
    with pytest.raises(Refused, match="thrown away"):
        sent(gone)


def test_a_new_version_takes_the_place_of_the_one_before(draft, remedial, site, office) -> None:
    first = sent(draft)
    dropped = first.quote
    other = make.make_remedial(make.make_observation(site, "Socket loose"), work="Fix the socket")
    second = revise_quote(dropped, id=new_id(), by=office, now=NOON)
    second.lines.all().delete()
    make.make_line(second, other)
    with recorded() as told:
        second = sent(second)
    first.refresh_from_db()
    assert (first.state, first.ended_by, second.state) == ("superseded", office, "sent")
    assert where(remedial)[0] == "to-price"
    assert where(other) == ("quoted", second.quote.owner, second.quote.chase_on)
    assert [one.verb for one in told] == [
        "quote.superseded", "quote.sent", "remedial.quoted", "remedial.to-price-again"
    ]  # fmt: skip
    assert "It takes the place of version 1" in Message.objects.get(occasion=f"quote {second.pk} sent").body


def test_a_remedial_that_another_quote_offers_too_stays_quoted(draft, remedial, office) -> None:
    offer = sent(draft)
    make.make_sent_offer(remedial, by=office, party=make.make_party("Otto Owner"))
    withdraw_offer(offer, reason="Priced anew", by=office, now=NOON)
    assert where(remedial)[0] == "quoted"


# --- withdrawing ------------------------------------------------------------------------------------------------------


def test_a_withdrawn_version_offers_nothing_and_the_customer_is_told(draft, remedial, office) -> None:
    offer = sent(draft)
    with recorded() as told:
        withdraw_offer(offer, reason=" The price of copper doubled ", by=office, now=NOON)
    offer.refresh_from_db()
    assert (offer.state, offer.end_reason, offer.ended_by) == ("withdrawn", "The price of copper doubled", office)
    assert (where(remedial)[0], offer.quote.chase_on) == ("to-price", None)
    assert told[0] == Told("quote.withdrawn", offer.quote_id, {"version": 1}, {"reason": "The price of copper doubled"})
    assert [one.verb for one in told] == ["quote.withdrawn", "remedial.to-price-again"]
    letter = Message.objects.get(occasion=f"quote {offer.pk} withdrawn")
    assert (letter.address, letter.filled_by) == ("petra@example.com", "")
    assert "Why: The price of copper doubled" in letter.body
    with recorded() as again:
        withdraw_offer(offer, reason="Twice", by=office, now=NOON)
    assert again == []


def test_what_was_accepted_of_it_stays_approved(site, office) -> None:
    make.make_terms()
    yes, other = (make.make_remedial(make.make_observation(site)) for _ in range(2))
    offer = sent(make.make_offer(yes, other, by=office))
    Remedial.objects.filter(pk=yes.pk).update(stage="approved")
    withdraw_offer(offer, reason="Priced anew", by=office, now=NOON)
    assert (where(yes)[0], where(other)[0]) == ("approved", "to-price")


def test_withdrawing_needs_a_reason_and_something_that_is_out(draft, office, engineer) -> None:
    with pytest.raises(Refused, match="cannot be withdrawn: it is draft"):
        withdraw_offer(draft, reason="No", by=office, now=NOON)
    offer = sent(draft)
    with pytest.raises(Refused, match="Say why it is withdrawn"):
        withdraw_offer(offer, reason=" ", by=office, now=NOON)
    with pytest.raises(NotAllowed):
        withdraw_offer(offer, reason="No", by=engineer, now=NOON)
    Offer.objects.filter(pk=offer.pk).update(state="answered")
    with pytest.raises(Refused, match="cannot be withdrawn: it is answered"):
        withdraw_offer(offer, reason="No", by=office, now=NOON)


def test_a_printed_one_is_withdrawn_by_letter_to_the_partys_own_address_where_there_is_one(draft, office) -> None:
    offer = sent(draft, how="printed", to="Petra, by hand")
    withdraw_offer(offer, reason="Priced anew", by=office, now=NOON)
    assert Message.objects.get().address == "petra@example.com"


# --- following up -----------------------------------------------------------------------------------------------------


def test_chasing_moves_the_day_of_the_quote_and_of_its_remedials(draft, remedial, office) -> None:
    offer, form, day = sent(draft), new_id(), TODAY + timedelta(days=9)
    chase = {"id": form, "heard": "Decides next week", "chase_on": day, "by": office, "now": NOON}
    with recorded() as told:
        chase_quote(offer.quote, **chase)
        chase_quote(offer.quote, **chase)
    assert told[0] == Told(
        "quote.chased", offer.quote_id, {"form": str(form), "chase_on": day.isoformat()}, {"heard": "Decides next week"}
    )
    assert [one.verb for one in told] == ["quote.chased", "remedial.taken-on"]
    assert where(remedial)[2] == day
    with pytest.raises(Refused, match="This day is past"):
        chase_quote(offer.quote, **chase | {"id": new_id(), "chase_on": TODAY - timedelta(days=1)})
    with pytest.raises(Refused, match="Say what was heard"):
        chase_quote(offer.quote, **chase | {"id": new_id(), "heard": ""})


def test_somebody_else_takes_it_on_with_its_remedials(draft, remedial, office, manager, engineer) -> None:
    offer = sent(draft)
    with recorded() as told:
        for _ in range(2):
            take_on_quote(offer.quote, owner=manager, chase_on=CHASED, by=office, now=NOON)
    assert [one.verb for one in told] == ["quote.taken-on", "remedial.taken-on"]
    assert where(remedial) == ("quoted", manager, CHASED)
    with pytest.raises(NotAllowed):
        take_on_quote(offer.quote, owner=engineer, chase_on=CHASED, by=office, now=NOON)
    withdraw_offer(offer, reason="Priced anew", by=office, now=NOON)
    with pytest.raises(Refused, match="there is no answer to chase"):
        take_on_quote(offer.quote, owner=office, chase_on=CHASED, by=office, now=NOON)


def test_a_link_to_hand_over_is_shown_once(draft, office, engineer) -> None:
    form, give = new_id(), {"given_to": "Petra, by hand", "by": office, "now": NOON}
    with pytest.raises(Refused, match="Nothing was sent yet"):
        make_quote_link(draft.quote, id=form, **give)
    offer = sent(draft, how="printed", to="Petra, by hand")
    link, token = make_quote_link(offer.quote, id=form, **give)
    assert (link.purpose, link.thing, link.party, len(token) > 40) == (
        "quote", offer.quote_id, offer.quote.party_id, True
    )  # fmt: skip
    assert make_quote_link(offer.quote, id=form, **give) == (link, "")
    with pytest.raises(NotAllowed):
        make_quote_link(offer.quote, id=new_id(), **give | {"by": engineer})


def test_the_mail_says_what_it_comes_to_as_this_customer_reads_it(remedial, office) -> None:
    for consumer, words in (
        (True, "comes to £120.00 with VAT."),
        (False, "comes to £100.00 without VAT, £120.00 with"),
    ):
        offer = sent(make.make_offer(remedial, by=office, consumer=consumer))
        assert words in Message.objects.get(occasion=f"quote {offer.pk} sent").body
        withdraw_offer(offer, reason="Another", by=office, now=NOON)


def test_a_price_of_nothing_may_be_sent(remedial, office) -> None:
    offer = sent(make.make_offer(remedial, by=office, prices=[{"price": Decimal(0), "cost": Decimal(0)}]))
    assert offer.said["totals"]["to_pay"] == "0.00"
