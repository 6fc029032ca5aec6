"""Two people answer at once, each on a connection of their own: the first stands, the second hears of it."""

import pytest

from jobsite.ids import new_id
from jobsite.messages.models import Message
from remedials.quotes.models import Answer, LineAnswer
from remedials.quotes.operations.answer_ground import NotTaken, RefusedLines
from remedials.quotes.operations.answering import Said, answer_offer
from remedials.works.models import Approval
from tests.at_once import at_once
from tests.factories import NOON, make_observation, make_quote_link, make_remedial, make_sent_offer, make_site

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def offer():
    site = make_site()
    return make_sent_offer(make_remedial(make_observation(site, code="C2")), make_remedial(make_observation(site)))


def answer(offer, link, name: str, says: str, key=None):
    said = {line.pk: Said(says) for line in offer.lines.all()}
    return answer_offer(
        offer, id=key or new_id(), says=said, name=name, fingerprint=offer.fingerprint, party=offer.quote.party,
        by=link, now=NOON,
    )  # fmt: skip


def test_the_first_stands_and_the_second_sees_who_answered(offer):
    one, other = make_quote_link(offer)[0], make_quote_link(offer)[0]
    results = at_once(lambda: answer(offer, one, "Ann", "yes"), lambda: answer(offer, other, "Bob", "no"))
    taken = [r for r in results if isinstance(r, Answer)]
    refused = [r for r in results if isinstance(r, NotTaken | RefusedLines)]
    assert (len(taken), len(refused)) == (1, 1)
    assert taken[0].name in refused[0].sentence
    assert LineAnswer.objects.filter(stands=True, answer=taken[0]).count() == LineAnswer.objects.count() == 2


def test_the_same_form_twice_at_once_is_one_answer(offer):
    link, key = make_quote_link(offer)[0], new_id()
    results = at_once(*[lambda: answer(offer, link, "Ann", "yes", key)] * 2)
    assert results == [Answer.objects.get()] * 2
    assert (Approval.objects.count(), Message.objects.count()) == (2, 2)
