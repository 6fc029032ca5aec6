"""Whether the time of a visit suits: asked by private link or otherwise, answered, superseded by a move."""

from datetime import timedelta

import pytest
from django.core import mail

from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.refused import NotAllowed, Refused
from remedials.due.operations import send
from remedials.visits.models import Confirmation, Visit
from remedials.visits.operations import (
    answer_by_link,
    ask_whether_it_suits,
    book_visit,
    cancel_visit,
    move_visit,
    record_confirmation,
)
from remedials.visits.operations.confirming import Superseded
from tests.at_once import at_once
from tests.factories import NOON, Told, anybody, make_site, make_visit_link, recorded
from tests.remedials.desk import text_of
from tests.remedials.work import on_the_way

pytestmark = pytest.mark.usefixtures("at_noon")
HOUR = timedelta(hours=1)
MORNING = NOON + timedelta(days=1) - 3 * HOUR


@pytest.fixture
def visit(office, engineer) -> Visit:
    remedial = on_the_way("C2", site=make_site("Mill House"))
    return book_visit(
        remedial.site, id=new_id(), remedials=[remedial], engineers=[engineer], start=MORNING, end=MORNING + 2 * HOUR,
        by=office, now=NOON,
    )  # fmt: skip


def ask(visit, by, **more):
    usual = {"id": new_id(), "how": "link", "whom": "petra@example.com", "by": by, "now": NOON}
    return ask_whether_it_suits(visit, **usual | more)


def said(visit, by, **more):
    usual = {"id": new_id(), "answered": "confirmed", "how": "phone", "whom": "Petra", "by": by, "now": NOON}
    return record_confirmation(visit, **usual | more)


def answer(visit, link, **more):
    usual = {"answered": "confirmed", "name": "Petra", "words": "", "now": NOON + HOUR}
    return answer_by_link(visit, link=link, **usual | more)


def link_of(visit, **more):
    return make_visit_link(visit, **{"made_at": NOON, "expires_at": NOON + timedelta(days=30)} | more)


def move(visit, engineer, by, **more):
    visit.refresh_from_db()
    start = visit.start + timedelta(days=1)
    usual = {"start": start, "end": start + 2 * HOUR, "engineers": [engineer], "reason": "Parts late", "by": by}
    return move_visit(visit, **usual | {"now": NOON + HOUR, "version": visit.version} | more)


def test_asking_by_link_writes_one_e_mail_whose_link_is_in_no_row(visit, office, client) -> None:
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            ask(visit, office, id=key, words="About two hours.")
    facts = {"number": visit.number, "answered": "asked", "how": "link", "start": MORNING.isoformat()}
    words = {"whom": "petra@example.com", "words": "About two hours.", "when": "4 Feb 2026, 09:00"}
    assert told == [Told("visit.asked", visit.pk, facts, words)]
    visit.refresh_from_db()
    assert (visit.answered, Confirmation.objects.count()) == ("asked", 1)
    for _ in range(2):
        send(now=NOON)
    sent = [one for one in mail.outbox if one.to == ["petra@example.com"]]
    assert len(sent) == 1
    assert "About two hours." in sent[0].body
    address = next(word for word in sent[0].body.split() if "/v/" in word)
    token = address.rstrip("/").rsplit("/", 1)[1]
    assert not Message.objects.filter(body__contains=token).exists()


def test_a_question_is_not_sent_once_it_was_moved_or_answered(visit, office, engineer) -> None:
    ask(visit, office)
    move(visit, engineer, office)
    send(now=NOON + HOUR)
    assert [one for one in mail.outbox if one.to == ["petra@example.com"]] == []
    ask(visit, office, now=NOON + 2 * HOUR)
    said(visit, office, now=NOON + 2 * HOUR)
    send(now=NOON + 3 * HOUR)
    assert [one for one in mail.outbox if one.to == ["petra@example.com"]] == []


def test_a_question_whose_link_was_withdrawn_after_a_try_that_failed_is_not_sent(visit, office) -> None:
    ask(visit, office)
    link, _ = link_of(visit, withdrawn_at=NOON)
    Message.objects.filter(reason_kind="visit-asked").update(link=link.pk)
    send(now=NOON + HOUR)
    assert [one for one in mail.outbox if one.to == ["petra@example.com"]] == []
    assert PrivateLink.objects.count() == 1


@pytest.mark.parametrize(
    ("more", "field"),
    [({"whom": " "}, "whom"), ({"whom": "Petra"}, "whom"), ({"now": MORNING + 3 * HOUR}, None)],
)
def test_asking_is_refused(visit, office, more, field) -> None:
    with pytest.raises(Refused) as refused:
        ask(visit, office, **more)
    assert refused.value.field == field
    assert not Confirmation.objects.exists()


def test_what_is_confirmed_or_cancelled_is_not_asked(visit, office) -> None:
    said(visit, office)
    with pytest.raises(Refused, match="confirmed already"):
        ask(visit, office)
    cancel_visit(visit, reason="Not needed", by=office, now=NOON)
    with pytest.raises(Refused, match="is cancelled"):
        said(visit, office)


def test_the_office_records_an_answer_once(visit, office) -> None:
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            said(visit, office, id=key, answered="cannot", words="Away that week", how="letter")
    facts = {"number": visit.number, "answered": "cannot", "how": "letter", "start": MORNING.isoformat()}
    words = {"whom": "Petra", "words": "Away that week", "when": "4 Feb 2026, 09:00"}
    assert told == [Told("visit.answered", visit.pk, facts, words)]
    visit.refresh_from_db()
    assert visit.answered == "cannot"


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"answered": "asked"}, "answered"),
        ({"how": "link"}, "how"),
        ({"whom": ""}, "whom"),
        ({"answered": "cannot"}, "words"),
    ],
)
def test_recording_is_refused(visit, office, more, field) -> None:
    with pytest.raises(Refused) as refused:
        said(visit, office, **more)
    assert refused.value.field == field


def test_only_the_office_asks_and_records(visit, engineer) -> None:
    for act in (ask, said):
        with pytest.raises(NotAllowed):
            act(visit, engineer)


def test_the_customer_answers_on_the_link_and_may_change_their_mind(visit, office) -> None:
    link, _ = link_of(visit)
    with recorded() as told:
        for _ in range(2):
            answer(visit, link)
    assert [(entry.verb, entry.facts["answered"]) for entry in told] == [("visit.answered", "confirmed")]
    row = answer(visit, link, answered="cannot", words="Not before ten")
    visit.refresh_from_db()
    assert (visit.answered, row.recorded_by, row.how) == ("cannot", None, "link")
    assert Message.objects.filter(to_id=office.pk, subject__startswith="The time does not suit").count() == 1


@pytest.mark.parametrize(
    ("more", "field"),
    [({"name": " "}, "name"), ({"answered": "cannot"}, "words"), ({"answered": "perhaps"}, "answered")],
)
def test_an_answer_on_the_link_is_refused(visit, more, field) -> None:
    with pytest.raises(Refused) as refused:
        answer(visit, link_of(visit)[0], **more)
    assert refused.value.field == field


def test_a_link_of_another_visit_or_purpose_or_that_has_ended_answers_nothing(visit) -> None:
    for more in ({"thing": new_id()}, {"purpose": "quote"}, {"withdrawn_at": NOON}, {"expires_at": NOON + HOUR}):
        with pytest.raises(NotAllowed):
            answer(visit, link_of(visit, **more)[0])


def test_a_moved_visit_takes_no_answer_about_its_old_time(visit, office, engineer, other_engineer) -> None:
    link, _ = link_of(visit)
    visit.refresh_from_db()
    move(visit, other_engineer, office, start=visit.start, end=visit.end)  # other people, the same time
    answer(visit, link)
    move(visit, engineer, office, now=NOON + 2 * HOUR)
    with pytest.raises(Superseded, match="moved since"):
        answer(visit, link, now=NOON + 3 * HOUR)
    visit.refresh_from_db()
    assert visit.answered == "not-asked"


# --- the customer's page ----------------------------------------------------------------------------------------------


def test_opening_the_page_answers_nothing_and_sets_no_cookie(visit, client) -> None:
    _, token = link_of(visit)
    shown = client.get(f"/v/{token}/")
    assert "4 Feb 2026, 09:00–11:00" in text_of(shown)
    assert (shown.status_code, shown.cookies, Confirmation.objects.count()) == (200, {}, 0)
    assert shown["Cache-Control"] == "no-store"


def test_the_page_takes_an_answer_and_shows_it(visit, client) -> None:
    _, token = link_of(visit)
    typed = {"answered": "confirmed", "name": "Petra Landlady", "words": ""}
    done = client.post(f"/v/{token}/", typed)
    assert (done.status_code, done["Location"]) == (303, f"/v/{token}/")
    shown = client.get(f"/v/{token}/")
    assert "Thank you: we have your answer. This time suits. Petra Landlady" in text_of(shown)
    assert "<details><summary>Say otherwise</summary><form" in shown.content.decode()
    visit.refresh_from_db()
    assert visit.answered == "confirmed"
    client.post(f"/v/{token}/", typed | {"answered": "cannot", "words": "Rather\nin May"})
    assert "Rather<br>in May" in client.get(f"/v/{token}/").content.decode()
    wrong = client.post(f"/v/{token}/", typed | {"name": ""})
    assert (wrong.status_code, "<details open><summary>" in wrong.content.decode()) == (422, True)


def test_what_the_office_noted_of_a_call_is_not_shown_to_who_holds_the_link(visit, office, client) -> None:
    _, token = link_of(visit)
    noted = {"id": new_id(), "how": "phone", "whom": "Petra", "words": "Sounded annoyed", "by": office, "now": NOON}
    record_confirmation(visit, answered="confirmed", **noted)
    shown = text_of(client.get(f"/v/{token}/"))
    assert ("we have your answer" in shown, "Sounded annoyed" in shown) == (True, False)


def test_the_page_keeps_what_was_typed(visit, client) -> None:
    _, token = link_of(visit)
    wrong = client.post(f"/v/{token}/", {"answered": "cannot", "name": "Petra Landlady", "words": ""})
    assert (wrong.status_code, "Say why, or which times would suit." in text_of(wrong)) == (422, True)
    assert 'value="Petra Landlady"' in wrong.content.decode()


@pytest.mark.parametrize("token", ["A" * 43, "x"])
def test_a_wrong_link_opens_nothing(db, client, token) -> None:
    shown = client.get(f"/v/{token}/")
    assert (shown.status_code, "This link does not open" in text_of(shown)) == (404, True)


def test_a_page_about_a_time_that_no_longer_stands_says_so(visit, office, engineer, client) -> None:
    _, token = link_of(visit)
    move(visit, engineer, office)
    shown = text_of(client.get(f"/v/{token}/"))
    assert "moved since you were asked" in shown
    assert "Send the answer" not in shown
    late = client.post(f"/v/{token}/", {"answered": "confirmed", "name": "Petra", "words": ""})
    assert (late.status_code, Confirmation.objects.count()) == (422, 0)


# --- the office's pages -----------------------------------------------------------------------------------------------


def test_the_office_asks_and_records_on_the_visits_page(visit, at_desk) -> None:
    where = f"/visits/{visit.pk}/"
    shown = text_of(at_desk.get(where))
    assert "not asked yet, to be confirmed by" in shown
    asked = {"id": str(new_id()), "how": "link", "whom": "petra@example.com", "words": ""}
    assert at_desk.post(f"{where}ask/", asked)["Location"] == where
    assert "petra@example.com was asked by private link" in text_of(at_desk.get(where))
    typed = {"id": str(new_id()), "answered": "confirmed", "how": "phone", "whom": "Petra", "words": "Ring twice"}
    at_desk.post(f"{where}answered/", typed)
    shown = text_of(at_desk.get(where))
    assert ("Petra said it suits, by telephone" in shown, "Ring twice" in shown) == (True, True)
    wrong = at_desk.post(f"{where}answered/", typed | {"id": str(new_id()), "whom": ""})
    assert (wrong.status_code, "Ring twice" in text_of(wrong)) == (422, True)


def test_moves_stay_on_the_page(visit, office, engineer, other_engineer, at_desk) -> None:
    move(visit, other_engineer, office)
    shown = text_of(at_desk.get(f"/visits/{visit.pk}/"))
    assert "From 4 Feb 2026, 09:00–11:00" in shown
    assert "to 5 Feb 2026, 09:00–11:00" in shown
    assert "Parts late" in shown


@pytest.mark.django_db(transaction=True)
def test_an_answer_and_a_move_at_once_leave_one_truth() -> None:
    office, engineer = anybody("office"), anybody("engineer")
    remedial = on_the_way("C2")
    visit = book_visit(
        remedial.site, id=new_id(), remedials=[remedial], engineers=[engineer], start=MORNING, end=MORNING + 2 * HOUR,
        by=office, now=NOON,
    )  # fmt: skip
    link, _ = link_of(visit)
    answered, moved = at_once(
        lambda: answer(visit, link), lambda: move(Visit.objects.get(pk=visit.pk), engineer, office)
    )
    visit.refresh_from_db()
    assert isinstance(moved, Visit)
    assert isinstance(answered, Confirmation | Superseded)
    assert (visit.answered, visit.version) == ("not-asked", 2)
