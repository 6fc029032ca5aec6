"""The API's verbs on quotes that go out: sent, withdrawn, chased, answered as the office was told, questions."""

import pytest

from jobsite.ids import new_id
from jobsite.ledger.files import read_file
from jobsite.messages.models import Message
from remedials.quotes.models import Answer, Offer, Remark
from remedials.works.models import Remedial
from tests.factories import make_answered, make_offer, make_party, make_sent_offer, make_terms
from tests.remedials.api.verbs import done, said_why_not
from tests.remedials.quoted import remedial_at

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def offer(site):
    return make_sent_offer(remedial_at(site), remedial_at(site))


def test_send_a_draft(client, office, site):
    make_terms(vat_number="GB 999 9999 73")
    draft = make_offer(remedial_at(site))
    where = f"offers/{draft.pk}/send"
    body = {"id": str(new_id()), "how": "email", "to": "petra@example.com"}
    said_why_not(client, office, where, 412, version=7, **body)
    shown = done(client, office, where, "quote.sent", "remedial.quoted", version=1, **body)
    assert (shown["state"], shown["sent_to"], shown["sent_how"]) == ("sent", "petra@example.com", "email")
    assert read_file(Offer.objects.get().file).startswith(b"%PDF")
    assert [message.address for message in Message.objects.all()] == ["petra@example.com"]
    done(client, office, where, **body)
    assert Message.objects.count() == 1


def test_send_refused(client, office, engineer, site):
    draft = make_offer(remedial_at(site))
    where, body = f"offers/{draft.pk}/send", {"id": str(new_id()), "how": "email", "to": "nobody"}
    said_why_not(client, engineer, where, 403, **body)
    sentence = said_why_not(client, office, where, **body)
    assert sentence == "This is no e-mail address: it is written like name@example.com."
    assert (Offer.objects.get().state, Message.objects.count()) == ("draft", 0)


def test_withdraw(client, office, offer):
    where = f"offers/{offer.pk}/withdraw"
    shown = done(
        client, office, where, "quote.withdrawn", "remedial.to-price-again", "remedial.to-price-again", reason="A price"
    )
    assert (shown["state"], shown["end_reason"]) == ("withdrawn", "A price")
    done(client, office, where, reason="A price")
    draft = make_offer(*Remedial.objects.all())
    assert said_why_not(client, office, f"offers/{draft.pk}/withdraw", reason="x").endswith(
        "cannot be withdrawn: it is draft."
    )


def test_chase_and_take_on(client, office, engineer, manager, offer):
    where = f"quotes/{offer.quote_id}"
    body = {"id": str(new_id()), "heard": "She asks her partner", "chase_on": "2026-02-10"}
    shown = done(client, office, f"{where}/chase", "quote.chased", "remedial.taken-on", "remedial.taken-on", **body)
    assert (shown["chase_on"], shown["offers"][0]["net"]) == ("2026-02-10", "200.00")
    done(client, office, f"{where}/chase", **body)
    past = said_why_not(client, office, f"{where}/chase", **body | {"id": str(new_id()), "chase_on": "2026-02-01"})
    assert past
    given = {"owner": str(manager.pk), "chase_on": "2026-02-11"}
    shown = done(
        client, office, f"{where}/take-on", "quote.taken-on", "remedial.taken-on", "remedial.taken-on", **given
    )
    assert shown["owner"] == str(manager.pk)
    assert "Only the office" in said_why_not(
        client, office, f"{where}/take-on", 403, **given | {"owner": str(engineer.pk)}
    )


# --- answers ----------------------------------------------------------------------------------------------------------


def heard(offer, *says, **more):
    lines = [{"line": str(line.pk), "says": one} for line, one in zip(offer.lines.all(), says, strict=True) if one]
    body = {"id": str(new_id()), "fingerprint": offer.fingerprint, "says": lines, "name": "Petra Landlady"}
    return body | {"how": "phone", "given_at": "2026-02-03T12:00:00Z"} | more


def test_record_an_answer_and_take_it_back(client, office, offer):
    body = heard(offer, "yes", "no")
    body["says"][1] |= {"why_not": "price", "words": "Too dear"}
    shown = done(
        client, office, f"offers/{offer.pk}/answer", "remedial.approved", "remedial.declined", "quote.answered",
        status=201, **body,
    )  # fmt: skip
    assert (shown["net"], shown["to_pay"], shown["currency"], shown["how"]) == ("100.00", "120.00", "GBP", "phone")
    assert sorted((row["says"], row["words"]) for row in shown["lines"]) == [("no", "Too dear"), ("yes", "")]
    done(client, office, f"offers/{offer.pk}/answer", status=201, **body)
    assert Answer.objects.count() == 1
    where = f"quote-answers/{shown['id']}/take-back"
    assert said_why_not(client, office, where, 400, why="") == "{'why': ['This field may not be blank.']}"
    back = done(
        client, office, where, "remedial.unanswered", "remedial.unanswered", "quote.answer-taken-back",
        why="Another quote",
    )  # fmt: skip
    assert (back["taken_back_why"], {row["stands"] for row in back["lines"]}) == ("Another quote", {False})


def test_an_answer_that_is_not_taken(client, office, engineer, offer):
    where = f"offers/{offer.pk}/answer"
    said_why_not(client, engineer, where, 403, **heard(offer, "yes", None))
    newer = said_why_not(client, office, where, **heard(offer, "yes", None, fingerprint="another"))
    assert newer.startswith("This version was replaced by a newer one.")
    ahead = said_why_not(client, office, where, **heard(offer, "yes", None, given_at="2026-02-04T12:00:00Z"))
    assert ahead == "This time has not come yet."
    by_link = said_why_not(client, office, where, 400, **heard(offer, "yes", None, how="link"))
    assert "is not a valid choice" in by_link
    stranger = heard(offer, "yes", None, party=str(make_party("Somebody else").pk))
    assert said_why_not(client, office, where, **stranger) == "This party may not approve it."
    done(
        client, office, where, "remedial.approved", "quote.answered", status=201, **heard(offer, "yes", None)
    )  # fmt: skip
    twice = said_why_not(client, office, where, **heard(offer, "no", None))
    assert "Petra Landlady answered this already (yes)" in twice
    assert Answer.objects.count() == 1


# --- questions --------------------------------------------------------------------------------------------------------


def test_reply_to_a_question(client, office, offer):
    question = make_answered(offer)["quote-questions"]
    where, body = f"quote-questions/{question.pk}/reply", {"id": str(new_id()), "text": "Two hours."}
    shown = done(client, office, where, "question.replied", **body)
    assert (shown["open"], [remark["text"] for remark in shown["remarks"]]) == (
        False, ["How long does it take?", "Two hours."],
    )  # fmt: skip
    done(client, office, where, **body)
    assert Remark.objects.count() == 2


def test_close_a_question(client, office, engineer, offer):
    question = make_answered(offer)["quote-questions"]
    where = f"quote-questions/{question.pk}/close"
    said_why_not(client, engineer, where, 403, reason="x")
    shown = done(client, office, where, "question.closed", reason="They rang")
    assert (shown["open"], shown["closed_why"], shown["closed_by"]) == (False, "They rang", str(office.pk))
    done(client, office, where, reason="They rang")
