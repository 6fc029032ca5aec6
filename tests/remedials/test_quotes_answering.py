"""What an answer to a quote does: to its lines, to remedials, to the offer, and whom it is told."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import UUID

import pytest

from jobsite.ids import new_id
from jobsite.ledger import queries as ledger
from jobsite.messages.models import Message
from jobsite.premises.models import PartyAtUnit
from jobsite.refused import NotAllowed, Refused
from remedials.quotes.models import Answer, LineAnswer
from remedials.quotes.operations.answer_ground import NotTaken, OverLimit, RefusedLines
from remedials.quotes.operations.answering import Said, answer_offer, take_back_answer
from remedials.quotes.operations.sending import send_offer
from remedials.works.models import Approval, WayOut
from remedials.works.operations import approve_remedial, offer_again
from tests.factories import (
    NOON,
    TODAY,
    make_line,
    make_observation,
    make_offer,
    make_party,
    make_quote_link,
    make_remedial,
    make_sent_offer,
    make_terms,
    recorded,
    unit_of,
)
from tests.remedials.quoted import next_version

pytestmark = pytest.mark.django_db
YES, NO = Said("yes"), Said("no")
LATER = NOON + timedelta(hours=2)


def remedial_for(site, text: str = "Cover missing", *, code: str = "C2", **fields):
    return make_remedial(make_observation(site, text, code=code), work=f"Put right: {text}", **fields)


def sent(*remedials, **fields):
    """An offer that was sent, and the link of its party."""
    offer = make_sent_offer(*remedials, **fields)
    return offer, make_quote_link(offer)[0]


def said_to(offer, *says) -> dict[UUID, Said]:
    """What is said to the lines of `offer`, in their order; None leaves one open."""
    return {line.pk: said for line, said in zip(offer.lines.all(), says, strict=True) if said}


def answered(offer, link, *says, **fields):
    usual = {"id": new_id(), "name": "Petra Landlady", "fingerprint": offer.fingerprint, "party": offer.quote.party}
    usual |= {"now": LATER}
    return answer_offer(offer, says=said_to(offer, *says), by=link, **usual | fields)


# --- what it does -----------------------------------------------------------------------------------------------------


def test_a_yes_approves_and_a_no_declines(site):
    yes, no = remedial_for(site), remedial_for(site, "No earth", code="FI")
    offer, link = sent(yes, no)
    with recorded() as told:
        answer = answered(offer, link, YES, Said("no", "price", "too dear"), order_number=" PO 7 ")
    for row in (yes, no, offer, offer.quote):
        row.refresh_from_db()
    assert (yes.stage, no.stage, offer.state, offer.quote.chase_on) == ("approved", "declined", "answered", None)
    approval, way_out = Approval.objects.get(), WayOut.objects.get()
    assert (approval.how, approval.given_by, approval.pounds) == ("quote", "Petra Landlady", Decimal("120.00"))
    assert (approval.reference, approval.recorded_by, approval.party) == ("PO 7", None, site.customer)
    assert (way_out.who, way_out.reason, way_out.recorded_by) == ("Petra Landlady", "the price: too dear", None)
    assert way_out.offer_again_on == no.step_by == TODAY + timedelta(days=28)
    assert (answer.net, answer.vat, answer.to_pay) == (Decimal("100.00"), Decimal("20.00"), Decimal("120.00"))
    assert [entry.verb for entry in told] == ["remedial.approved", "remedial.declined", "quote.answered"]
    last = told[-1]
    keys = [str(line.key) for line in offer.lines.all()]
    assert last.subject == offer.quote_id
    assert last.facts["lines"] == {"yes": keys[:1], "no": keys[1:], "not-chosen": []}
    assert last.words == {"name": "Petra Landlady", "order_number": "PO 7"}
    assert list(ledger.faults()) == []


def test_the_same_form_again_is_the_same_answer(site):
    offer, link = sent(remedial_for(site))
    first = answered(offer, link, YES)
    with recorded() as told:
        assert answered(offer, link, YES, id=first.pk) == first
    assert told == []
    assert (Answer.objects.count(), LineAnswer.objects.count(), Approval.objects.count()) == (1, 1, 1)
    assert Message.objects.count() == 2


def test_who_comes_second_hears_who_answered_what(site):
    offer, link = sent(remedial_for(site), remedial_for(site, "No earth", code="FI"))
    answered(offer, link, YES, None)
    with pytest.raises(RefusedLines) as refused:
        answered(offer, link, NO, NO, name="Olaf Other")
    first = offer.lines.first()
    assert refused.value.lines == {
        first.pk: "Petra Landlady answered this already (yes), on 3 Feb 2026, 14:00: that stands."
    }
    answered(offer, link, None, YES)
    with pytest.raises(NotTaken, match="answered already, by Petra Landlady on 3 Feb 2026, 14:00") as over:
        answered(offer, link, NO, None)
    assert over.value.why == "answered"


def test_a_line_left_out_stays_open_and_is_answered_later(site):
    first, second = remedial_for(site), remedial_for(site, "No earth", code="FI")
    offer, link = sent(first, second)
    answered(offer, link, YES, None)
    for row in (first, second, offer):
        row.refresh_from_db()
    assert (first.stage, second.stage, offer.state) == ("approved", "quoted", "sent")
    answered(offer, link, None, NO)
    second.refresh_from_db()
    offer.refresh_from_db()
    assert (second.stage, offer.state) == ("declined", "answered")


def test_a_remedial_in_two_lines_is_declined_only_when_both_are_refused(site):
    remedial = remedial_for(site)
    offer, link = sent(remedial, remedial, prices=[{}, {"words": "Do it dearer"}])
    answered(offer, link, NO, None)
    remedial.refresh_from_db()
    assert remedial.stage == "quoted"
    answered(offer, link, None, NO)
    remedial.refresh_from_db()
    assert remedial.stage == "declined"


def test_of_either_or_the_other_is_not_chosen(site):
    cheap, dear = remedial_for(site), remedial_for(site, "Board worn")
    offer, link = sent(cheap, dear, prices=[{"either": "board"}, {"either": "board"}])
    answered(offer, link, None, YES)
    for row in (cheap, dear, offer):
        row.refresh_from_db()
    assert (cheap.stage, dear.stage, offer.state) == ("declined", "approved", "answered")
    assert WayOut.objects.get().reason == "Not chosen: another line of the quote was."
    assert [a.says for a in LineAnswer.objects.order_by("line__position")] == ["not-chosen", "yes"]


def test_both_of_either_or_are_refused_at_the_lines(site):
    offer, link = sent(
        remedial_for(site), remedial_for(site, "Worn"), prices=[{"either": "board"}, {"either": "board"}]
    )
    with pytest.raises(RefusedLines) as refused:
        answered(offer, link, YES, YES)
    assert set(refused.value.lines) == {line.pk for line in offer.lines.all()}
    assert not Answer.objects.exists()


def test_the_call_out_comes_once_with_what_is_accepted(site):
    prices = [{}, {}, {"kind": "call-out", "words": "Call-out", "price": Decimal("45.00"), "code": ""}]
    offer, link = sent(remedial_for(site), remedial_for(site, "Worn"), prices=prices)
    first = answered(offer, link, YES, None, None)
    second = answered(offer, link, None, YES, None)
    assert (first.to_pay, second.to_pay) == (Decimal("174.00"), Decimal("120.00"))
    offer.refresh_from_db()
    assert offer.state == "answered"


def test_a_call_out_is_never_answered_by_itself(site):
    prices = [{}, {"kind": "call-out", "words": "Call-out", "code": ""}]
    offer, link = sent(remedial_for(site), prices=prices)
    with pytest.raises(Refused, match="not one of this quote's"):
        answered(offer, link, None, YES)


def test_a_day_to_offer_it_again_by_the_worst_open_code(site):
    make_terms(again_c1_days=3, again_c2_days=14, again_fi_days=21, again_other_days=200)
    works = [remedial_for(site, code=code) for code in ("C1", "C2", "FI", "C3")]
    offer, link = sent(*works)
    answered(offer, link, NO, NO, NO, NO)
    days = [(w.ways_out.get().offer_again_on - TODAY).days for w in works]
    assert days == [3, 14, 21, 200]


def test_what_was_agreed_otherwise_takes_no_answer_and_part_of_it_no_no(site, office):
    agreed, other = remedial_for(site), remedial_for(site, "Worn")
    draft = make_offer(agreed, by=office)
    both = make_line(draft, agreed, other, words="Both together", position=9)
    make_terms()
    offer = send_offer(draft, id=new_id(), how="printed", to="Petra", version=None, by=office, now=NOON)
    link = make_quote_link(offer)[0]
    agreed.refresh_from_db()
    agreed.stage = "booked"
    agreed.save()
    with pytest.raises(RefusedLines, match="was agreed with us otherwise"):
        answered(offer, link, NO, None)
    with pytest.raises(RefusedLines, match="Part of this work was agreed"):
        answered(offer, link, None, NO)
    answered(offer, link, None, YES)
    agreed.refresh_from_db()
    other.refresh_from_db()
    assert (agreed.stage, other.stage, Approval.objects.get().remedial_id) == ("booked", "approved", other.pk)
    assert both.answers.get().says == "yes"


@pytest.mark.parametrize("stage", ["done", "cancelled", "by-others", "declined"])
def test_a_line_whose_work_was_settled_meanwhile_takes_no_answer(site, stage):
    settled, other = remedial_for(site), remedial_for(site, "Worn")
    offer, link = sent(settled, other)
    settled.stage = stage
    settled.save()
    with pytest.raises(RefusedLines, match="was settled meanwhile"):
        answered(offer, link, YES, YES)
    answered(offer, link, None, YES)
    offer.refresh_from_db()
    assert offer.state == "answered"


# --- what is refused --------------------------------------------------------------------------------------------------


def test_a_lapsed_offer_takes_no_answer(site):
    offer, link = sent(remedial_for(site), valid_until=TODAY - timedelta(days=1))
    with pytest.raises(NotTaken, match="held until 2 Feb 2026: please ring us") as refused:
        answered(offer, link, YES)
    assert refused.value.why == "lapsed"


def test_the_last_day_is_londons(site):
    """At 23:30 UTC on 30 June it is 1 July in London, and the offer of 30 June has lapsed."""
    late = NOON.replace(month=6, day=30, hour=23, minute=30)
    offer, link = sent(remedial_for(site), valid_until=date(2026, 6, 30))
    with pytest.raises(NotTaken, match="held until 30 Jun 2026"):
        answered(offer, link, YES, now=late)
    answered(offer, link, YES, now=late.replace(hour=22, minute=59))


def test_another_fingerprint_is_another_version(site):
    offer, link = sent(remedial_for(site))
    with pytest.raises(NotTaken, match="replaced by a newer one") as refused:
        answered(offer, link, YES, fingerprint="0" * 64)
    assert refused.value.why == "superseded"


@pytest.mark.parametrize(("state", "why"), [("withdrawn", "withdrawn"), ("superseded", "superseded")])
def test_an_offer_that_ended_takes_no_answer(site, state, why):
    offer, link = sent(remedial_for(site))
    end(offer, state)
    with pytest.raises(NotTaken) as refused:
        answered(offer, link, YES)
    assert refused.value.why == why


def end(offer, state):
    offer.state, offer.ended_at, offer.end_reason = state, NOON, "wrong price"
    offer.save()


def test_a_link_that_was_withdrawn_meanwhile_answers_nothing(site):
    offer, link = sent(remedial_for(site))
    link.withdrawn_at = NOON
    link.save()
    with pytest.raises(NotAllowed, match="does not open any more"):
        answered(offer, link, YES)


def test_a_link_to_another_quote_answers_nothing(site):
    offer, _ = sent(remedial_for(site))
    _, other = sent(remedial_for(site, "Worn"))
    with pytest.raises(NotAllowed):
        answered(offer, other, YES)


@pytest.mark.parametrize(
    ("fields", "field"), [({"name": "  "}, "name"), ({"says": {}}, None)], ids=["no name", "nothing said"]
)
def test_what_is_missing_is_said(site, fields, field):
    offer, link = sent(remedial_for(site))
    usual = {"says": said_to(offer, YES), "name": "P", "fingerprint": offer.fingerprint, "party": offer.quote.party}
    with pytest.raises(Refused) as refused:
        answer_offer(offer, id=new_id(), by=link, now=LATER, **usual | fields)
    assert refused.value.field == field


def test_an_archived_site_takes_no_answer(site):
    offer, link = sent(remedial_for(site))
    site.archived_at = NOON
    site.save()
    with pytest.raises(Refused, match="not on our books"):
        answered(offer, link, YES)


# --- limits -----------------------------------------------------------------------------------------------------------


def agent_of(site, limit):
    party = make_party("Ada Agent", email="ada@example.com")
    PartyAtUnit.objects.create(unit=unit_of(site), party=party, role="agent", since=TODAY)
    PartyAtUnit.objects.create(unit=unit_of(site), party=party, role="approver", limit_pounds=limit, since=TODAY)
    return party


def test_an_agent_accepts_up_to_the_limit_and_no_further_in_two_steps(site):
    agent = agent_of(site, 150)
    offer, link = sent(remedial_for(site), remedial_for(site, "Worn"), party=agent)
    with pytest.raises(OverLimit, match=r"You may approve up to £150.00 at Sample House, and this comes to £240.00"):
        answered(offer, link, YES, YES)
    answered(offer, link, YES, None)
    with pytest.raises(OverLimit, match=r"comes to £240.00"):
        answered(offer, link, None, YES)
    answered(offer, link, None, NO)


def test_an_owner_needs_no_limit(site):
    agent_of(site, 150)
    owner = make_party("Oona Owner", email="oona@example.com")
    PartyAtUnit.objects.create(unit=unit_of(site), party=owner, role="owner", since=TODAY)
    offer, _ = sent(remedial_for(site), remedial_for(site, "Worn"), party=owner)
    link, _ = make_quote_link(offer, party=owner.pk)
    assert answered(offer, link, YES, YES, party=owner).to_pay == 240


# --- who is told ------------------------------------------------------------------------------------------------------


def test_a_refused_danger_reaches_the_managers_where_the_owner_has_left(site, manager):
    offer, link = sent(remedial_for(site, code="C1"))
    type(manager).objects.filter(pk=offer.quote.owner_id).update(is_active=False)
    offer.refresh_from_db()
    answered(offer, link, NO)
    told = Message.objects.filter(to_kind="staff", danger=True)
    assert {message.to_id for message in told} == {manager.pk}


def test_the_customer_has_a_receipt_and_the_owner_a_note(site):
    offer, link = sent(remedial_for(site))
    answer = answered(offer, link, YES, order_number="PO 7")
    receipt, to_owner = Message.objects.order_by("to_kind")
    assert receipt.address == "petra@example.com"
    for said in ("Petra Landlady answered", "3 Feb 2026, 14:00", "£120.00", "PO 7", answer.fingerprint):
        assert said in receipt.body
    assert (to_owner.to_id, to_owner.danger) == (offer.quote.owner_id, False)
    assert to_owner.subject == f"Accepted: quote {offer.quote.number}, Petra Landlady"


def test_a_refused_danger_is_told_first(site):
    offer, link = sent(remedial_for(site, code="C1"))
    answered(offer, link, NO)
    to_owner = Message.objects.get(to_kind="staff")
    assert to_owner.danger
    assert to_owner.subject.startswith("C1 refused: ")
    assert "see that a danger notice is given where none was" in to_owner.body


def test_a_refused_investigation_is_told_as_unresolved(site):
    offer, link = sent(remedial_for(site, code="FI"))
    answered(offer, link, NO)
    assert "whether there is a danger stays unknown" in Message.objects.get(to_kind="staff").body


# --- what the office records ------------------------------------------------------------------------------------------


def test_the_office_records_what_it_was_told(site, office):
    offer, _ = sent(remedial_for(site))
    answer = answered(offer, office, YES, how="phone", given_at=NOON + timedelta(minutes=5))
    assert (answer.recorded_by, answer.link, answer.how) == (office, None, "phone")
    assert Approval.objects.get().recorded_by == office


@pytest.mark.parametrize("given_at", [LATER + timedelta(minutes=1), NOON - timedelta(minutes=1)])
def test_an_answer_is_given_after_it_was_sent_and_not_to_come(site, office, given_at):
    offer, _ = sent(remedial_for(site))
    with pytest.raises(Refused) as refused:
        answered(offer, office, YES, how="phone", given_at=given_at)
    assert refused.value.field == "given_at"


def test_what_was_said_in_time_is_recorded_after_the_last_day(site, office):
    offer, _ = sent(remedial_for(site), valid_until=TODAY)
    answered(offer, office, YES, how="phone", given_at=NOON, now=NOON + timedelta(days=3))


def test_an_engineer_records_no_answer(site, engineer):
    offer, _ = sent(remedial_for(site))
    with pytest.raises(NotAllowed):
        answered(offer, engineer, YES, how="phone", given_at=NOON)


def test_a_mistake_is_taken_back(site, office):
    yes, no = remedial_for(site), remedial_for(site, "Worn")
    offer, link = sent(yes, no)
    answer = answered(offer, office, YES, NO, how="phone", given_at=NOON)
    take_back_answer(answer, why="another quote was meant", by=office, now=LATER)
    for row in (yes, no, offer):
        row.refresh_from_db()
    assert (yes.stage, no.stage, offer.state) == ("quoted", "quoted", "sent")
    assert not Approval.objects.filter(taken_back_at=None).exists()
    assert not LineAnswer.objects.filter(stands=True).exists()
    with recorded() as told:
        take_back_answer(answer, why="again", by=office, now=LATER)
    assert told == []
    answered(offer, link, YES, YES)


def test_what_the_customer_answered_is_not_ours_to_take_back(site, office):
    offer, link = sent(remedial_for(site))
    answer = answered(offer, link, YES)
    with pytest.raises(Refused, match="not ours to take back"):
        take_back_answer(answer, why="hm", by=office, now=LATER)


def test_what_has_gone_further_is_not_taken_back(site, office):
    remedial = remedial_for(site)
    offer, _ = sent(remedial)
    answer = answered(offer, office, YES, how="phone", given_at=NOON)
    remedial.refresh_from_db()
    remedial.stage = "booked"
    remedial.save()
    with pytest.raises(Refused, match="has gone further since"):
        take_back_answer(answer, why="a mistake", by=office, now=LATER)
    assert LineAnswer.objects.filter(stands=True).exists()


def test_only_the_last_answer_is_taken_back(site, office):
    """What came after may hang on it: a call-out that is charged once, a line that is needed."""
    offer, link = sent(remedial_for(site), remedial_for(site, "Worn"))
    first = answered(offer, office, YES, None, how="phone", given_at=NOON)
    answered(offer, link, None, YES, now=LATER + timedelta(minutes=1))
    with pytest.raises(Refused, match="only the last one can be taken back"):
        take_back_answer(first, why="a mistake", by=office, now=LATER + timedelta(hours=1))


def test_nothing_is_taken_back_from_under_a_later_version(site, office):
    refused = remedial_for(site, "Worn", code="C1")
    offer, _ = sent(remedial_for(site), refused)
    first = answered(offer, office, YES, NO, how="phone", given_at=NOON)
    offer.refresh_from_db()
    next_version(offer, offer.lines.last())
    with pytest.raises(Refused, match="later version of this quote went out"):
        take_back_answer(first, why="a mistake", by=office, now=LATER)


def test_a_word_given_since_is_not_overruled_by_taking_back(site, office):
    remedial = remedial_for(site)
    offer, _ = sent(remedial)
    no = answered(offer, office, NO, how="phone", given_at=NOON)
    offer_again(remedial, by=office, now=LATER)
    approve_remedial(
        remedial, given_by="Petra", how="phone", given_on=TODAY, pounds=Decimal(5), by=office, now=LATER
    )  # fmt: skip
    with pytest.raises(Refused, match="has gone further since"):
        take_back_answer(no, why="a mistake", by=office, now=LATER + timedelta(hours=1))
    remedial.refresh_from_db()
    assert remedial.stage == "approved"


def test_a_link_answers_for_its_own_party_only(site):
    offer, link = sent(remedial_for(site))
    with pytest.raises(NotAllowed, match="given to somebody else"):
        answered(offer, link, YES, party=make_party("Somebody Else"))


@pytest.mark.parametrize(("field", "most"), [("name", 200), ("order_number", 100), ("note", 2000)])
def test_what_is_written_behind_a_link_has_bounds(site, field, most):
    offer, link = sent(remedial_for(site))
    with pytest.raises(Refused, match="too long") as refused:
        answered(offer, link, YES, **{field: "x" * (most + 1)})
    assert refused.value.field == field
    answered(offer, link, YES, **{field: "x" * most})


def test_no_right_to_cancel_is_told_where_nothing_was_accepted(site):
    offer, link = sent(remedial_for(site), consumer=True)
    assert answered(offer, link, NO).rights_shown == ""


def test_a_limit_is_used_up_by_earlier_versions_too(site):
    agent = agent_of(site, 250)
    first, second = remedial_for(site), remedial_for(site, "Worn")
    offer, link = sent(first, second, party=agent)
    answered(offer, link, YES, None)
    offer.refresh_from_db()
    later = next_version(offer, offer.lines.last(), besides="50.00")
    with pytest.raises(OverLimit):
        answered(later, link, YES, YES)
    answered(later, link, None, YES)


def test_work_for_a_danger_that_lost_against_another_is_told_as_refused(site):
    one, other = remedial_for(site, code="C3"), remedial_for(site, "Live parts", code="C1")
    offer, link = sent(one, other, prices=[{"either": "A"}, {"either": "A"}])
    answered(offer, link, YES, None)
    told = Message.objects.get(to_kind="staff")
    assert (told.danger, told.subject.startswith("C1 refused")) == (True, True)


def test_the_receipt_repeats_the_note(site):
    offer, link = sent(remedial_for(site))
    answered(offer, link, YES, note="Mornings only")
    assert "Your note: Mornings only" in Message.objects.get(to_kind="customer").body
