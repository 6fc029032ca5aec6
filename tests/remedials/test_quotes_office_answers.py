"""The office's side of answers: what it was told, a mistake taken back, questions, and what the quote's page shows."""

from datetime import timedelta

import pytest
import time_machine

from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.refused import NotAllowed, Refused
from remedials.quotes.models import Answer, Question, Remark
from remedials.quotes.operations.asking import ask_further, ask_question, close_question, reply
from tests.factories import NOON, TODAY, make_observation, make_quote_link, make_remedial, make_sent_offer, recorded
from tests.remedials.desk import statements, text_of

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(hours=2)


@pytest.fixture(autouse=True)
def in_the_afternoon():
    with time_machine.travel(LATER, tick=False):
        yield


def remedial_for(site, text: str = "Cover missing", *, code: str = "C2"):
    return make_remedial(make_observation(site, text, code=code), work=f"Put right: {text}")


@pytest.fixture
def offer(site):
    return make_sent_offer(remedial_for(site), remedial_for(site, "No earth", code="FI"))


def heard(offer, *says, **fields):
    usual = {"id": str(new_id()), "fingerprint": offer.fingerprint, "name": "Petra Landlady", "how": "phone"}
    usual |= {"party": str(offer.quote.party_id), "given_at": "2026-02-03T12:30", "begin": "no"}
    return usual | {f"says-{ln.key}": one for ln, one in zip(offer.lines.all(), says, strict=True) if one} | fields


# --- what the office was told -----------------------------------------------------------------------------------------


def test_what_was_said_by_telephone_is_recorded(at_desk, office, offer):
    where = f"/quotes/{offer.quote_id}/answer/"
    assert "Put right: Cover missing: £120.00 with VAT" in text_of(at_desk.get(where))
    for _ in range(2):
        form = heard(offer, "yes", "no", id="01920000-0000-7000-8000-000000000001")
        assert at_desk.post(where, form)["Location"] == f"/quotes/{offer.quote_id}/"
    answer = Answer.objects.get()
    assert (answer.recorded_by, answer.how, answer.begin_at_once) == (office, "phone", False)
    assert answer.given_at == NOON + timedelta(minutes=30)
    read = text_of(at_desk.get(f"/quotes/{offer.quote_id}/"))
    for words in (
        "Petra Landlady, 3 Feb 2026, 12:30",
        "by telephone, for Petra Landlady, version 1, recorded by Olive Deskworth, 3 Feb 2026, 14:00",
        "£120.00 with VAT of £20.00",
        "Accepted by telephone on 3 Feb 2026, 12:30, after version 1 was sent on 3 Feb 2026, 12:00 (by e-mail):",
        "your adviser settles whether the 14 days to cancel apply. They did not ask that work begins within that time",
    ):
        assert words in read


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"given_at": "2026-02-03T15:00"}, "This time has not come yet."),
        ({"given_at": "2026-02-02T15:00"}, "It was sent on 3 Feb 2026, 12:00: nobody answered before."),
        ({"name": ""}, "Needed: fill this in."),
        ({"how": "link"}, "Choose one of those offered."),
        ({"party": str(new_id())}, "Choose one of those offered."),
    ],
)
def test_what_is_wrong_is_said_and_kept(at_desk, offer, fields, sentence):
    response = at_desk.post(f"/quotes/{offer.quote_id}/answer/", heard(offer, "yes", None, note="rang twice", **fields))
    assert response.status_code == 422
    assert sentence in text_of(response)
    assert "rang twice" in text_of(response)
    assert not Answer.objects.exists()


def test_a_fault_of_choosing_stands_at_its_line(at_desk, site):
    offer = make_sent_offer(remedial_for(site), remedial_for(site, "Worn"), prices=[{"either": "A"}, {"either": "A"}])
    response = at_desk.post(f"/quotes/{offer.quote_id}/answer/", heard(offer, "yes", "yes"))
    assert response.status_code == 422
    assert text_of(response).count("Choose one of these only") >= 2


def test_there_must_be_a_version_with_the_customer(at_desk, offer):
    offer.state, offer.ended_at, offer.end_reason = "withdrawn", NOON, "a wrong price"
    offer.save()
    response = at_desk.get(f"/quotes/{offer.quote_id}/answer/")
    assert response.status_code == 422
    assert "no version with the customer" in text_of(response)


def test_a_mistake_is_taken_back_with_a_reason(at_desk, offer):
    at_desk.post(f"/quotes/{offer.quote_id}/answer/", heard(offer, "yes", "no"))
    where = f"/quote-answers/{Answer.objects.get().pk}/take-back/"
    assert at_desk.post(where, {"reason": ""}).status_code == 422
    assert at_desk.post(where, {"reason": "another quote was meant"}).status_code == 302
    read = text_of(at_desk.get(f"/quotes/{offer.quote_id}/"))
    assert "Taken back by Olive Deskworth, 3 Feb 2026, 14:00: another quote was meant" in read
    assert "Record an answer" in read


def test_engineers_see_none_of_it(on_site, offer):
    assert on_site.get(f"/quotes/{offer.quote_id}/answer/").status_code == 403


@pytest.mark.parametrize("lines", [1, 5])
def test_the_page_asks_a_fixed_number_of_statements(at_desk, site, lines):
    offer = make_sent_offer(*[remedial_for(site, f"Thing {n}") for n in range(lines)])
    with statements() as sql:
        assert at_desk.get(f"/quotes/{offer.quote_id}/answer/").status_code == 200
    assert len(sql) == 11


# --- questions --------------------------------------------------------------------------------------------------------


@pytest.fixture
def link(offer):
    return make_quote_link(offer, sent_to="landlady@example.com")[0]


def asked(offer, link, text="How long does it take?", **fields):
    return ask_question(offer, id=new_id(), text=text, name="Petra", by=link, now=LATER, **fields)


def test_a_question_is_answered_on_its_page(at_desk, office, offer, link):
    question = asked(offer, link, line_key=offer.lines.first().key)
    read = text_of(at_desk.get(f"/quotes/{offer.quote_id}/"))
    assert "About Put right: Cover missing open How long does it take? Petra, 3 Feb 2026, 14:00" in read
    where, form = f"/quote-questions/{question.pk}/", {"id": str(new_id()), "text": "An hour."}
    assert "How long does it take?" in text_of(at_desk.get(where))
    for _ in range(2):
        assert at_desk.post(where, form).status_code == 302
    question.refresh_from_db()
    assert (question.open, question.remarks.count()) == (False, 2)
    message = Message.objects.get(to_kind="customer")
    assert (message.address, message.filled_by) == ("landlady@example.com", "quote")
    assert "Olive replies:\n\nAn hour." in message.body
    further = ask_further(question, id=new_id(), text="And the dust?", name="Petra", by=link, now=LATER)
    assert further.open


def test_asking_and_replying_are_recorded(offer, link, office):
    with recorded() as told:
        question = asked(offer, link)
        reply(question, id=new_id(), text="An hour.", by=office, now=LATER)
        close_question(question, reason="they rang", by=office, now=LATER)
    assert [entry.verb for entry in told] == ["question.asked", "question.replied"]
    assert told[0].words == {"name": "Petra", "text": "How long does it take?"}
    assert told[0].facts["reply_by"] == (TODAY + timedelta(days=2)).isoformat()


def test_it_is_closed_without_a_reply_for_a_reason(at_desk, offer, link):
    question = asked(offer, link)
    where = f"/quote-questions/{question.pk}/close/"
    assert at_desk.post(where, {"reason": " "}).status_code == 422
    assert at_desk.post(where, {"reason": "they rang"}).status_code == 302
    assert "Closed by Olive Deskworth, 3 Feb 2026, 14:00: they rang" in text_of(
        at_desk.get(f"/quotes/{offer.quote_id}/")
    )
    assert not Question.objects.get().open


def test_only_the_office_replies(offer, link, engineer):
    question = asked(offer, link)
    with pytest.raises(NotAllowed):
        reply(question, id=new_id(), text="An hour.", by=engineer, now=LATER)
    with pytest.raises(NotAllowed):
        close_question(question, reason="hm", by=engineer, now=LATER)


@pytest.mark.parametrize("fields", [{"text": " "}, {"text": "x" * 5_001}, {"line_key": new_id()}])
def test_what_is_no_question_is_refused(offer, link, fields):
    with pytest.raises(Refused):
        asked(offer, link, **fields)
    assert not Remark.objects.exists()


def test_what_was_typed_stays_where_the_quote_was_withdrawn_meanwhile(at_desk, offer):
    offer.state, offer.ended_at, offer.end_reason = "withdrawn", NOON, "a wrong price"
    offer.save()
    response = at_desk.post(f"/quotes/{offer.quote_id}/answer/", heard(offer, "yes", None, name="Typed Already"))
    assert response.status_code == 422
    assert "no version with the customer" in text_of(response)
    assert 'value="Typed Already"' in response.content.decode()
