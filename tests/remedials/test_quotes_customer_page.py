"""The customer's page of a quote: opening it answers nothing, what it takes, how each thing that can go wrong ends."""

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape

import pytest
import time_machine

from jobsite.firm.models import Firm
from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises.models import PartyAtUnit
from remedials.quotes.models import Answer, LineAnswer, Question, Remark
from remedials.quotes.operations.drafting import revise_quote
from remedials.quotes.operations.lines import edit_line
from remedials.quotes.operations.sending import send_offer
from remedials.works.models import Remedial
from tests.factories import (
    NOON,
    TODAY,
    anybody,
    make_link,
    make_observation,
    make_party,
    make_quote_link,
    make_remedial,
    make_sent_offer,
    unit_of,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON + timedelta(hours=1), tick=False):
        yield


@pytest.fixture(autouse=True)
def firm(db):
    return Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")


def text_of(response) -> str:
    """What a person reads, blanks run together."""
    body = response.content.decode().split("<main", 1)[1]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))).replace(" .", ".").replace(" ,", ",")


def remedial_for(site, text: str = "Cover missing", *, code: str = "C2", **fields):
    return make_remedial(make_observation(site, text, code=code), work=f"Put right: {text}", **fields)


@pytest.fixture
def offer(site):
    return make_sent_offer(remedial_for(site), remedial_for(site, "No earth", code="FI"))


@pytest.fixture
def at(offer):
    return f"/q/{make_quote_link(offer)[1]}/"


def said(offer, *says, **fields):
    """The form that says these to the lines of `offer`, in their order; None leaves one open."""
    usual = {"id": str(new_id()), "fingerprint": offer.fingerprint, "name": "Petra Landlady"}
    keys = [line.key for line in offer.lines.filter(kind="work")]
    return usual | {f"says-{key}": one for key, one in zip(keys, says, strict=False) if one} | fields


def key_of(offer, place=0) -> str:
    return str(offer.lines.all()[place].key)


# --- reading ----------------------------------------------------------------------------------------------------------


def test_it_says_what_is_offered(client, offer, at):
    response = client.get(at)
    read = text_of(response)
    assert response.status_code == 200
    for words in (
        f"Quote {offer.quote.number}, version 1, of 3 Feb 2026.",
        "For Petra Landlady.",
        "You can answer until 5 Mar 2026.",
        "Put right: Cover missing",
        "£120.00 with VAT",
        "Potentially dangerous.",
        "If everything is taken: £240.00 with VAT",
    ):
        assert words in read


def test_it_is_kept_nowhere_and_sets_no_cookie(client, at):
    response = client.get(at)
    assert response["Cache-Control"] == "no-store"
    assert response["Referrer-Policy"] == "no-referrer"
    assert not response.cookies


def test_a_business_sees_net_first(client, site):
    offer = make_sent_offer(remedial_for(site), consumer=False)
    read = text_of(client.get(f"/q/{make_quote_link(offer)[1]}/"))
    assert "£100.00 without VAT VAT £20.00" in read
    assert "Your right to cancel" not in read


def test_a_link_of_another_purpose_a_wrong_and_a_withdrawn_one_are_one_answer(client, offer, site):
    _, status = make_link(site)
    link, withdrawn = make_quote_link(offer)
    PrivateLink.objects.filter(pk=link.pk).update(withdrawn_at=NOON)
    _, expired = make_quote_link(offer, made_at=NOON - timedelta(days=2), expires_at=NOON)
    found = {client.get(f"/q/{token}/").content for token in (status, "wrong", withdrawn, expired)}
    assert len(found) == 1
    assert b"This link does not open" in found.pop()
    assert client.post(f"/q/{withdrawn}/confirm/", said(offer, "yes")).status_code == 404
    assert not Answer.objects.exists()


def test_the_document_is_the_one_that_was_sent(client, offer, at):
    response = client.get(f"{at}document/")
    assert response["Content-Type"] == "application/pdf"
    assert offer.fingerprint.encode() in response.content


def counts() -> tuple[int, ...]:
    rows = (Answer, LineAnswer, Question, Remark, Entry, Message)
    stages = tuple(Remedial.objects.order_by("pk").values_list("stage", "version"))
    return (*(model.objects.count() for model in rows), stages)


def links_in(response) -> set[str]:
    """Every address on the page, also those of its forms and buttons."""
    found = re.findall(r'(?:href|src|action|formaction)="([^"]+)"', unescape(response.content.decode()))
    return {one for one in found if one.startswith("/q/")}


def test_opening_every_link_answers_nothing(client, offer, at):
    """As a mail scanner does: HEAD and GET of whatever is linked, of forms and buttons too, over and over."""
    client.post(f"{at}look-over/", said(offer, "yes", "no"))
    before = counts()
    to_open, opened = {at}, set()
    while to_open:
        address = to_open.pop()
        opened.add(address)
        client.head(address)
        response = client.get(address, follow=True)
        assert response.status_code == 200
        if response["Content-Type"].startswith("text/html"):
            to_open |= links_in(response) - opened
    assert {one.removeprefix(at) for one in opened} >= {"", "document/", "look-over/", "ask/"}
    for part in ("confirm/", "pass-on/"):
        client.get(f"{at}{part}")
        client.head(f"{at}{part}?says-{key_of(offer)}=yes")
    assert counts() == before
    assert PrivateLink.objects.get().uses > 1


# --- answering --------------------------------------------------------------------------------------------------------


def test_looking_it_over_shows_the_total_and_changes_nothing(client, offer, at):
    before = counts()
    response = client.post(f"{at}look-over/", said(offer, "yes", "no"))
    read = text_of(response)
    assert "You will accept Put right: Cover missing: £120.00 with VAT Together £120.00 with VAT" in read
    assert "You will not accept Put right: No earth" in read
    assert "Your right to cancel" in read
    assert 'name="begin" id="id_begin">' in response.content.decode()
    assert counts() == before


def test_confirming_takes_the_answer_and_the_receipt_stays(client, offer, at):
    form = said(offer, "yes", "no", order_number="PO 7", begin="on", **{f"no-{key_of(offer, 1)}": "not now"})
    response = client.post(f"{at}confirm/", form)
    assert (response.status_code, response["Location"]) == (302, f"{at}?given=yes#answers")
    answer = Answer.objects.get()
    assert (answer.name, answer.order_number, answer.begin_at_once) == ("Petra Landlady", "PO 7", True)
    assert answer.link == PrivateLink.objects.get()
    assert answer.begin_words
    assert answer.rights_shown
    read = text_of(client.get(at))
    for words in (
        "Answered by Petra Landlady 3 Feb 2026, 13:00, on the private link.",
        "Put right: No earth (not now)",
        "Accepted together: £120.00 with VAT",
        "Order number: PO 7",
        "You asked expressly:",
        answer.fingerprint,
        "Every line of this quote is answered.",
    ):
        assert words in read


def test_the_same_form_twice_is_one_answer(client, offer, at):
    form = said(offer, "yes", "yes")
    for _ in range(2):
        assert client.post(f"{at}confirm/", form).status_code == 302
    assert Answer.objects.count() == 1


def test_who_answers_after_another_sees_what_was_answered(client, offer, at):
    client.post(f"{at}confirm/", said(offer, "yes", "yes"))
    response = client.post(f"{at}confirm/", said(offer, "no", "no", name="Olaf Other"))
    assert response.status_code == 422
    read = text_of(response)
    assert "Every line of this quote is answered." in read or "was answered already, by Petra Landlady" in read
    assert "I wanted to answer: Put right: Cover missing: No" in read
    assert Answer.objects.count() == 1


def test_two_who_answer_the_same_line_the_second_is_told_at_the_line(client, offer, at):
    client.post(f"{at}confirm/", said(offer, "yes"))
    response = client.post(f"{at}confirm/", said(offer, "no", "no", name="Olaf Other"))
    assert response.status_code == 422
    assert "Accepted by Petra Landlady, 3 Feb 2026, 13:00." in text_of(response)
    assert f'value="no" id="id_says-{key_of(offer, 1)}_1" checked' in response.content.decode()
    assert Answer.objects.count() == 1


def test_a_newer_version_shows_what_changed_and_keeps_what_was_typed(client, site):
    remedial = remedial_for(site)
    old = make_sent_offer(remedial)
    at = f"/q/{make_quote_link(old)[1]}/"
    new = next_version(old, price=Decimal("150.00"))
    response = client.post(f"{at}confirm/", said(old, "yes", **{f"no-{key_of(old)}": "kept"}))
    read, page = text_of(response), response.content.decode()
    assert response.status_code == 422
    assert "replaced by a newer version while you had it open. Nothing was sent" in read
    assert "What changed since version 1" in read
    assert "£100.00 → £150.00" in read
    assert 'value="yes" id="id_says-' in page
    assert re.search(r'value="yes"[^>]* checked', page)
    assert "kept</textarea>" in page
    assert f'value="{new.fingerprint}"' in page
    assert not Answer.objects.exists()


def next_version(old, **of_line):
    """The next version of `old`, with its first line changed and sent."""
    by = anybody("office")
    new = revise_quote(old.quote, id=new_id(), by=by, now=NOON)
    edit_line(new.lines.first(), version=new.version, by=by, now=NOON, **of_line)
    return send_offer(new, id=new_id(), how="printed", to="Petra", version=None, by=by, now=NOON)


def test_a_lapsed_quote_takes_a_question_only(client, site):
    offer = make_sent_offer(remedial_for(site), valid_until=TODAY - timedelta(days=1))
    at = f"/q/{make_quote_link(offer)[1]}/"
    assert "This quote held until 2 Feb 2026. Ring us for a new one" in text_of(client.get(at))
    response = client.post(f"{at}confirm/", said(offer, "yes"))
    assert response.status_code == 422
    assert "I wanted to answer: Put right: Cover missing: Yes" in text_of(response)
    sent = {"id": str(new_id()), "name": "Petra", "text": "I wanted to answer: yes"}
    assert client.post(f"{at}ask/", sent).status_code == 302
    assert (Answer.objects.count(), Question.objects.get().open) == (0, True)


def test_a_withdrawn_quote_says_so(client, offer, at):
    offer.state, offer.ended_at, offer.end_reason = "withdrawn", NOON, "A price was wrong."
    offer.save()
    assert "We withdrew this quote on 3 Feb 2026, 12:00: A price was wrong." in text_of(client.get(at))
    assert client.post(f"{at}confirm/", said(offer, "yes")).status_code == 422
    assert not Answer.objects.exists()


def test_work_that_was_settled_meanwhile_is_not_answered(client, offer, at):
    remedial = offer.lines.first().remedials.get()
    remedial.stage = "cancelled"
    remedial.save()
    read = text_of(client.get(at))
    assert "This work was settled meanwhile (cancelled)" in read
    response = client.post(f"{at}confirm/", said(offer, "yes", "yes"))
    assert response.status_code == 422
    assert not Answer.objects.exists()


# --- limits, passing on -----------------------------------------------------------------------------------------------


@pytest.fixture
def by_agent(site):
    """An offer to an agent who may approve up to £150, and the address of its page."""
    agent = make_party("Ada Agent", email="ada@example.com")
    for role, limit in (("agent", None), ("approver", 150)):
        PartyAtUnit.objects.create(unit=unit_of(site), party=agent, role=role, limit_pounds=limit, since=TODAY)
    offer = make_sent_offer(remedial_for(site), remedial_for(site, "Worn"), party=agent)
    return offer, f"/q/{make_quote_link(offer)[1]}/"


def test_beyond_the_limit_it_can_be_passed_on(client, site, by_agent):
    offer, at = by_agent
    owner = make_party("Oona Owner", email="oona@example.com")
    PartyAtUnit.objects.create(unit=unit_of(site), party=owner, role="owner", since=TODAY)
    assert "You may approve up to £150.00 at Sample House." in text_of(client.get(at))
    response = client.post(f"{at}look-over/", said(offer, "yes", "yes"))
    assert response.status_code == 422
    assert "You may approve up to £150.00 at Sample House, and this comes to £240.00" in text_of(response)
    assert "Oona Owner" in text_of(response)
    for _ in range(2):
        response = client.post(f"{at}pass-on/", {"party": str(owner.pk)})
        assert "Passed on to Oona Owner" in text_of(response)
    message = Message.objects.get()
    assert (message.address, message.to_id, message.filled_by) == ("oona@example.com", owner.pk, "quote")
    assert client.post(f"{at}confirm/", said(offer, "yes")).status_code == 302


def test_it_is_passed_on_only_to_who_may_approve_it(client, by_agent):
    _, at = by_agent
    stranger = make_party("Stan Stranger", email="stan@example.com")
    for party in (str(stranger.pk), "", "nonsense", "\0"):
        assert client.post(f"{at}pass-on/", {"party": party}).status_code == 422
    assert not Message.objects.exists()


# --- questions --------------------------------------------------------------------------------------------------------


def test_a_line_is_asked_about_and_the_other_answered_in_one_go(client, offer, at, office):
    key = key_of(offer, 1)
    form = said(offer, "yes", "ask", **{f"ask-{key}": "How long does it take?"})
    assert "You will ask Put right: No earth: How long does it take?" in text_of(client.post(f"{at}look-over/", form))
    for _ in range(2):
        client.post(f"{at}confirm/", form)
    question = Question.objects.get()
    assert (str(question.line_key), question.open, question.owner) == (key, True, offer.quote.owner)
    assert question.reply_by == TODAY + timedelta(days=2)
    assert Answer.objects.get().lines.count() == 1
    assert "How long does it take?" in text_of(client.get(at))
    assert Message.objects.filter(to_kind="staff", subject__startswith="Question about quote").count() == 1


def test_only_asking_answers_nothing(client, offer, at):
    form = said(offer, "ask", **{f"ask-{key_of(offer)}": "Why?"})
    assert client.post(f"{at}confirm/", form)["Location"] == f"{at}#questions"
    assert (Answer.objects.count(), Question.objects.count()) == (0, 1)


def test_more_than_thirty_questions_a_day_are_refused(client, offer, at):
    for number in range(31):
        form = {"id": str(new_id()), "name": "Petra", "text": f"Question {number}"}
        response = client.post(f"{at}ask/", form)
    assert response.status_code == 422
    assert "More than 30 questions were asked here today" in text_of(response)
    assert "Question 30</textarea>" in response.content.decode()
    assert Question.objects.count() == 30


# --- bad input --------------------------------------------------------------------------------------------------------


LONG = "x" * 100_000


@pytest.mark.parametrize("part", ["look-over/", "confirm/"])
@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"no": LONG}, "This is longer than 2000 characters."),
        ({"no": "a\0b"}, "There is a character in this that cannot be kept."),
        ({"says": "perhaps"}, "Choose yes, no or ask first."),
        ({"why": "spite"}, "Choose one of those offered."),
        ({"says": "ask"}, "Write your question."),
    ],
)
def test_what_is_wrong_with_a_line_is_said_at_the_line(client, offer, at, part, fields, sentence):
    key = key_of(offer)
    form = said(offer, "no", "yes") | {f"{name}-{key}": value for name, value in fields.items()}
    response = client.post(f"{at}{part}", form)
    assert response.status_code == 422
    assert sentence in text_of(response)
    assert re.search(rf'name="says-{key_of(offer, 1)}" value="yes"[^>]* checked', response.content.decode())
    assert not Answer.objects.exists()


def test_nothing_chosen_is_said(client, offer, at):
    for part in ("look-over/", "confirm/"):
        response = client.post(f"{at}{part}", said(offer))
        assert response.status_code == 422
        assert "nothing was chosen yet" in text_of(response)


def test_a_line_that_is_not_there_is_said(client, offer, at):
    for key in (str(new_id()), "<script>", "1"):
        response = client.post(f"{at}confirm/", said(offer, "yes", **{f"says-{key}": "yes"}))
        assert response.status_code == 422
        assert "not one of this quote's" in text_of(response)
    assert not Answer.objects.exists()


def test_without_a_name_it_is_not_taken_and_all_is_kept(client, offer, at):
    response = client.post(f"{at}confirm/", said(offer, "yes", "no", name=" ", order_number="PO 7"))
    assert response.status_code == 422
    assert "Write your name: who says this." in text_of(response)
    assert 'value="PO 7"' in response.content.decode()


def test_markup_is_only_text(client, offer, at):
    client.post(
        f"{at}confirm/", said(offer, "no", name="<b>P</b>", **{f"no-{key_of(offer)}": "<script>alert(1)</script>"})
    )
    page = client.get(at).content.decode()
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "<script>alert" not in page


def test_a_damaged_key_is_said(client, offer, at):
    response = client.post(f"{at}confirm/", said(offer, "yes", id="nonsense"))
    assert response.status_code == 422
    assert not Answer.objects.exists()
