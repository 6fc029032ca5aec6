"""Quotes in the due list: chased before they lapse, questions answered, a danger notice where work was refused."""

from datetime import date, timedelta

import pytest

from inspections.models import Observation
from inspections.operations import give_danger_notice
from jobsite.ids import new_id
from remedials.due.models import DueRow
from remedials.due.queries import rows_due
from remedials.due.queries.rows import as_dicts, rows_to_read
from remedials.quotes.models import Offer, Question, Quote, Remark
from remedials.quotes.operations.following import take_on_quote
from remedials.works.models import Remedial, WayOut
from tests import factories as make
from tests.factories import NOON, TODAY

pytestmark = pytest.mark.django_db
CHASED = TODAY + timedelta(days=23)


def rows(*kinds: str) -> list[tuple[str, str, int, str, date]]:
    found = DueRow.objects.filter(kind__in=kinds) if kinds else DueRow.objects.all()
    return [(row.kind, row.code, row.rank, row.next_step, row.due) for row in found.order_by("kind", "-rank", "ref")]


def ask(quote: Quote, text: str = "Is it loud?", **fields) -> Question:
    by = make.anybody("office")
    usual = {"owner": by, "reply_by": TODAY + timedelta(days=2), "asked_at": NOON}
    question = Question.objects.create(quote=quote, **usual | fields)
    Remark.objects.create(question=question, text=text, name="Petra", by=by, at=NOON)
    return question


def declined(site, code: str = "C2") -> tuple[Observation, Remedial]:
    observation = make.make_observation(site, code=code)
    remedial = make.make_remedial(observation, stage="declined")
    WayOut.objects.create(
        remedial=remedial, stage="declined", who="Petra", on=TODAY, offer_again_on=TODAY + timedelta(days=28),
        recorded_at=NOON,
    )  # fmt: skip
    return observation, remedial


def test_a_quoted_remedial_says_which_quote_is_chased_and_when_it_lapses(site) -> None:
    offer = make.make_sent_offer(make.make_remedial(make.make_observation(site)))
    number = offer.quote.number
    step = f"Get an answer to quote {number}, which stands until 5 Mar 2026"
    assert rows() == [("answer", "C2", 3, step, CHASED)]
    assert DueRow.objects.get().quote == offer.quote_id


def test_a_quote_without_a_quoted_remedial_has_its_own_row(site, office) -> None:
    offer = make.make_sent_offer(sites=[site], prices=[{"words": "A charging point"}], by=office)
    row = DueRow.objects.get()
    assert (row.kind, row.ref, row.subject, row.owner, row.due) == (
        "quote", offer.quote_id, "Remedial works", office, CHASED
    )  # fmt: skip


def test_it_goes_from_its_remedials_to_its_own_row_when_they_go_on_another_way(site) -> None:
    observation = make.make_observation(site)
    remedial = make.make_remedial(observation)
    make.make_sent_offer(remedial)
    Remedial.objects.filter(pk=remedial.pk).update(stage="approved")
    assert [row[0] for row in rows()] == ["book", "quote"]


@pytest.mark.parametrize("state", ["draft", "answered", "superseded", "withdrawn"])
def test_only_what_is_with_the_customer_is_chased(site, state) -> None:
    offer = make.make_offer(sites=[site], prices=[{}])
    if state != "draft":
        offer = make.make_sent_offer(sites=[site], prices=[{}])
        ended = {} if state == "answered" else {"ended_at": NOON, "end_reason": "a reason"}
        type(offer).objects.filter(pk=offer.pk).update(state=state, **ended)
    assert rows() == []


def test_an_archived_site_is_not_chased_and_another_of_the_quote_takes_the_row(site) -> None:
    other = make.make_site("Other House")
    make.make_sent_offer(sites=[site, other], prices=[{}])
    first = DueRow.objects.get().site
    type(first).objects.filter(pk=first.pk).update(archived_at=NOON)
    assert [row.site for row in DueRow.objects.all()] == [{site.pk: other, other.pk: site}[first.pk]]
    type(first).objects.update(archived_at=NOON)
    assert rows() == []


def test_a_question_stands_by_the_danger_that_it_is_about(site) -> None:
    offer = make.make_sent_offer(sites=[site], prices=[{"code": "C1"}, {"code": "C3"}, {"code": ""}])
    about = {line.code: line.key for line in offer.lines.all()}
    for key in (about["C3"], about[""], None):
        ask(offer.quote, line_key=key)
    ask(offer.quote, open=False)
    step, due = "Answer the question about the quote", TODAY + timedelta(days=2)
    assert rows("question") == [("question", "", rank, step, due) for rank in (4, 1, 0)]
    assert {row.subject for row in DueRow.objects.filter(kind="question")} == {
        f"Quote {offer.quote.number}: Is it loud?"
    }


@pytest.mark.parametrize(("code", "rank"), [("C1", 4), ("C2", 3)])
def test_refused_danger_asks_for_a_notice_beside_the_day_to_offer_it_again(site, code, rank) -> None:
    declined(site, code)
    step = "Leave a danger notice: the work was refused"
    assert rows("notice") == [("notice", code, rank, step, TODAY)]
    assert [row[0] for row in rows()] == ["notice", "offer-again"]


@pytest.mark.parametrize("code", ["FI", "C3"])
def test_other_refusals_ask_for_none(site, code) -> None:
    declined(site, code)
    assert rows("notice") == []


def test_a_notice_that_is_left_ends_it(site, office) -> None:
    observation, _ = declined(site)
    give_danger_notice(
        [observation], id=new_id(), why="Live parts", advised="Keep off", given_to="Petra", how="hand", by=office, now=NOON
    )  # fmt: skip
    assert [row[0] for row in rows()] == ["offer-again"]


def test_other_work_that_was_accepted_for_it_needs_none(site) -> None:
    observation, _ = declined(site)
    make.make_remedial(observation, stage="approved")
    assert [row[0] for row in rows()] == ["book"]


def test_a_question_about_danger_whose_owner_has_left_is_a_loose_end_that_is_given_on(site, office, manager) -> None:
    left = make.make_user("Lena Left", "office", is_active=False)
    offer = make.make_sent_offer(make.make_remedial(make.make_observation(site, code="C1")))
    Quote.objects.update(owner=left)
    question = ask(offer.quote, owner=left)
    Offer.objects.filter(pk=offer.pk).update(state="withdrawn", ended_at=NOON, ended_by=office, end_reason="Dearer")
    row = DueRow.objects.get(kind="question")
    assert row.loose
    (shown,) = as_dicts(rows_to_read(office, today=TODAY).filter(kind="question"), today=TODAY, user=office)
    assert shown["take_on"] == f"/quotes/{offer.quote_id}/take-on/"
    day = TODAY + timedelta(days=1)
    for _ in range(2):
        take_on_quote(offer.quote, owner=manager, chase_on=day, by=office, now=NOON)
    question.refresh_from_db()
    assert (question.owner, question.reply_by) == (manager, day)
    assert not DueRow.objects.get(kind="question").loose


def test_a_notice_whose_owner_has_left_is_a_loose_end(site) -> None:
    _, remedial = declined(site)
    type(remedial.owner).objects.filter(pk=remedial.owner.pk).update(is_active=False)
    assert list(DueRow.objects.filter(kind="notice").values_list("loose", flat=True)) == [True]


def test_quotes_and_questions_are_for_those_who_see_prices(site, office, engineer) -> None:
    offer = make.make_sent_offer(sites=[site], prices=[{}])
    ask(offer.quote)
    seen = [{row.kind for row in rows_due(user, today=TODAY)} for user in (office, engineer)]
    assert seen == [{"quote", "question"}, set()]
