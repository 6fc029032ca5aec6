"""Two people, or one twice, send at the same time; somebody changes the draft while its document is set."""

import subprocess
from collections.abc import Callable

import pytest
from django.db import connections

import jobsite.documents
from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from jobsite.messages.models import Message
from jobsite.refused import Refused
from remedials.quotes.models import Offer
from remedials.quotes.operations.sending import send_offer, withdraw_offer
from remedials.works.models import Remedial
from remedials.works.operations import approve_remedial
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON, TODAY

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def remedial(transactional_db) -> Remedial:
    make.make_terms()
    return make.make_remedial(make.make_observation(make.make_site()))


@pytest.fixture
def draft(remedial) -> Offer:
    return make.make_offer(remedial)


@pytest.fixture
def while_it_is_set(monkeypatch) -> Callable[..., list[object]]:
    """Do `act` on another connection each time a document is about to be set; what it returned or raised."""

    def begin(act: Callable[[], object]) -> list[object]:
        came: list[object] = []
        run = subprocess.run

        def act_first(*args, **kwargs):
            came.extend(at_once(lambda: with_little_patience(act)))
            return run(*args, **kwargs)

        monkeypatch.setattr(jobsite.documents.subprocess, "run", act_first)
        return came

    return begin


def with_little_patience(act: Callable[[], object]) -> object:
    """`act`, which fails where it has to wait 5 s for a lock, rather than for ever."""
    with connections["default"].cursor() as cursor:
        cursor.execute("SET lock_timeout = '5s'")
    return act()


def sending(draft: Offer, **more) -> Callable[[], Offer]:
    usual = {
        "id": new_id(),
        "how": "email",
        "to": "petra@example.com",
        "version": None,
        "by": draft.made_by,
        "now": NOON,
    }
    return lambda: send_offer(Offer.objects.select_related("quote").get(pk=draft.pk), **usual | more)


def told() -> int:
    return Entry.objects.filter(verb="quote.sent").count()


def test_of_two_who_send_at_once_one_wins_and_the_other_is_told(draft) -> None:
    results = at_once(sending(draft), sending(draft, to="other@example.com"))
    won = [one for one in results if isinstance(one, Offer)]
    lost = [one for one in results if isinstance(one, Refused)]
    assert (len(won), len(lost)) == (1, 1)
    assert "was sent already: it is with the customer" in lost[0].sentence
    assert [(row.address, row.occasion) for row in Message.objects.all()] == [
        (won[0].sent_to, f"quote {draft.pk} sent")
    ]
    assert told() == 1


def test_the_same_form_sent_twice_at_once_sends_one(draft) -> None:
    form = new_id()
    results = at_once(sending(draft, id=form), sending(draft, id=form))
    assert [getattr(one, "state", one) for one in results] == ["sent", "sent"]
    assert (Message.objects.count(), told()) == (1, 1)


def test_a_line_that_is_changed_while_the_document_is_set_stands_in_it(draft, while_it_is_set) -> None:
    """The first document says what no longer holds: it is thrown away, and another set."""
    came = while_it_is_set(lambda: draft.lines.update(words="Fit a steel cover"))
    sent = sending(draft)()
    assert (came, [line["words"] for line in sent.said["lines"]]) == ([1, 1], ["Fit a steel cover"])
    assert (told(), Message.objects.count()) == (1, 1)


def test_what_is_changed_each_time_is_asked_to_be_sent_once_more(draft, while_it_is_set) -> None:
    names = iter(["One", "Two", "Three"])
    while_it_is_set(lambda: draft.lines.update(words=next(names)))
    with pytest.raises(Refused, match="This quote was changed while its document was made"):
        sending(draft)()
    draft.refresh_from_db()
    assert (draft.state, told(), Message.objects.count()) == ("draft", 0, 0)


def test_work_that_is_approved_while_the_document_is_set_is_not_quoted(draft, remedial, while_it_is_set) -> None:
    def approve() -> str:
        said = {"given_by": "Petra", "how": "phone", "given_on": TODAY, "by": draft.made_by, "now": NOON}
        return approve_remedial(remedial, **said).stage

    came = while_it_is_set(approve)
    with pytest.raises(Refused, match=f"remedial {remedial.number} is approved"):
        sending(draft)()
    assert came == ["approved"]


def test_withdrawn_and_superseded_at_once_end_one_way(draft) -> None:
    first = sending(draft)()
    second = Offer.objects.create(
        quote=first.quote, number=2, consumer=True, valid_until=first.valid_until, made_by=draft.made_by, made_at=NOON
    )
    make.make_line(second, words="Something else")
    at_once(
        sending(second),
        lambda: withdraw_offer(
            Offer.objects.select_related("quote").get(pk=first.pk), reason="Priced anew", by=draft.made_by, now=NOON
        ),
    )
    states = dict(Offer.objects.values_list("number", "state"))
    assert states in ({1: "withdrawn", 2: "sent"}, {1: "superseded", 2: "sent"})
    first.quote.refresh_from_db()
    assert first.quote.chase_on is not None
