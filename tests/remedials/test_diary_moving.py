"""Moving a visit from the diary: by form, as the drawing asks for it, and back."""

import re
from datetime import timedelta

import pytest

from jobsite.messages.models import Message
from remedials.visits.models import VisitMove
from tests import factories as make
from tests.remedials.desk import text_of
from tests.remedials.test_diary import at, booked

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
TOMORROW = make.TODAY + timedelta(days=1)


def where(visit) -> str:
    return f"/diary/visits/{visit.pk}/move/"


def to(visit, *engineers, start: str = "2026-02-04T09:15", minutes: int = 120, **more) -> dict:
    who = {"engineers": [str(person.pk) for person in engineers]}
    return {"start": start, "minutes": minutes, "version": visit.version} | who | more


DRAWING = {"X-Diary": "drawing"}


def test_the_form_moves_it_and_offers_the_way_back(at_desk, engineer, other_engineer) -> None:
    visit = booked("Old Pottery", engineer, start=at(14))
    page = text_of(at_desk.get(where(visit)))
    assert "Move visit 1 to Old Pottery" in page
    answer = at_desk.post(where(visit), to(visit, other_engineer), follow=True)
    assert "Visit 1 to Old Pottery moved from Tue 3 Feb, 14:00 to Wed 4 Feb, 09:15." in text_of(answer)
    visit.refresh_from_db()
    going = visit.attendances.filter(cancelled=False).values_list("engineer__name", flat=True)
    assert (visit.start, visit.end, list(going)) == (at(9.25, TOMORROW), at(11.25, TOMORROW), ["Otto Ampleby"])
    shown = answer.content.decode()
    back = dict(
        re.findall(
            r'<input type="hidden" name="(\w+)" value="([^"]*)"', shown.split("said-here")[1].split("</form>")[0]
        )
    )
    answer = at_desk.post(where(visit), back, follow=True)
    assert "moved from Wed 4 Feb, 09:15 to Tue 3 Feb, 14:00." in text_of(answer)
    visit.refresh_from_db()
    assert list(visit.attendances.filter(cancelled=False).values_list("engineer", flat=True)) == [engineer.pk]
    assert (visit.start, visit.end) == (at(14), at(16))


def test_the_drawing_is_told_where_to_go_on_to(at_desk, engineer) -> None:
    visit = booked("Old Pottery", engineer)
    there = "/diary/?day=2026-02-05&show=fortnight&moved=no-key"
    answer = at_desk.post(where(visit), to(visit, engineer, next=there), headers=DRAWING)
    move = VisitMove.objects.get()
    assert (answer.status_code, answer.json()) == (
        200,
        {"address": f"/diary/?day=2026-02-05&show=fortnight&moved={move.pk}"},
    )


@pytest.mark.parametrize(
    ("more", "field", "sentence"),
    [
        ({"start": "2026-02-02T09:15"}, "__all__|start", "This visit would begin in the past."),
        ({"start": "nonsense"}, "start", "Write the day and the time"),
        ({"version": 7}, "__all__", "Somebody changed this visit meanwhile"),
        ({"start": "2026-02-04T19:00"}, "despite", "works 08:00"),
    ],
)
def test_a_refusal_is_told_by_its_field_and_nothing_moves(at_desk, engineer, more, field, sentence) -> None:
    visit = booked("Old Pottery", engineer)
    answer = at_desk.post(where(visit), to(visit, engineer) | more, headers=DRAWING)
    errors = answer.json()["errors"]
    assert answer.status_code == 422
    assert set(errors) <= set(field.split("|")), errors
    assert sentence in " ".join(errors.values()) or field == "despite", errors
    visit.refresh_from_db()
    assert (visit.start, VisitMove.objects.count()) == (at(14), 0)


def test_a_warning_is_overruled_with_a_reason(at_desk, engineer) -> None:
    visit = booked("Old Pottery", engineer)
    late = to(visit, engineer, start="2026-02-04T19:00")
    assert set(at_desk.post(where(visit), late, headers=DRAWING).json()["errors"]) == {"despite"}
    assert at_desk.post(where(visit), late | {"despite": "They shut at six"}, headers=DRAWING).status_code == 200
    visit.refresh_from_db()
    assert (visit.start, visit.despite) == (at(19, TOMORROW), "They shut at six")


def test_the_form_lists_what_does_not_fit_and_the_drawing_is_told_it_whole(at_desk, engineer) -> None:
    visit = booked("Old Pottery", engineer)
    late = to(visit, engineer, start="2026-02-04T19:00")
    whole = at_desk.post(where(visit), late, headers=DRAWING).json()["errors"]["despite"]
    answer = at_desk.post(where(visit), late)
    shown = text_of(answer)
    assert "Edwin Wireman" in whole
    assert (answer.status_code, "Does not fit" in shown, shown.count(whole)) == (422, True, 1)
    assert "Say why it is moved there all the same" in shown


@pytest.mark.parametrize(
    ("answered", "email", "told"),
    [
        ("confirmed", "kiln@pottery.example", True),
        ("asked", "kiln@pottery.example", True),
        ("confirmed", "", False),
        ("not-asked", "kiln@pottery.example", False),
    ],
)
def test_it_says_whether_the_customer_hears_of_it_and_so_it_is(at_desk, engineer, answered, email, told) -> None:
    visit = booked("Old Pottery", engineer, answered=answered)
    visit.site.customer.email = email
    visit.site.customer.save()
    shown = text_of(at_desk.get(where(visit)))
    assert ("The customer will be told." in shown, "Nobody tells the customer: ring them." in shown) == (told, not told)
    at_desk.post(where(visit), to(visit, engineer, reason="Its parts are late"), headers=DRAWING)
    assert Message.objects.filter(to_kind=Message.To.CUSTOMER).exists() == told


def test_a_confirmed_visit_asks_for_the_reason(at_desk, engineer) -> None:
    visit = booked("Old Pottery", engineer, answered="confirmed")
    assert "The customer has agreed to the present time" in text_of(at_desk.get(where(visit)))
    assert set(at_desk.post(where(visit), to(visit, engineer), headers=DRAWING).json()["errors"]) == {"reason"}
    answer = at_desk.post(where(visit), to(visit, engineer, reason="Its parts are late"), headers=DRAWING)
    assert answer.status_code == 200
    assert VisitMove.objects.get().reason == "Its parts are late"


def test_bad_input_keeps_what_was_typed(at_desk, engineer) -> None:
    visit = booked("Old Pottery", engineer)
    answer = at_desk.post(where(visit), to(visit, engineer, start="soon", reason="Because"))
    assert (answer.status_code, 'value="soon"' in answer.content.decode(), "Because" in answer.content.decode()) == (
        422,
        True,
        True,
    )


def test_only_those_who_book_move(client, engineer) -> None:
    visit = booked("Old Pottery", engineer)
    client.force_login(engineer)
    assert client.post(where(visit), to(visit, engineer)).status_code == 403


def test_an_older_move_has_no_way_back(at_desk, engineer) -> None:
    visit = booked("Old Pottery", engineer)
    at_desk.post(where(visit), to(visit, engineer))
    first = VisitMove.objects.get()
    VisitMove.objects.filter(pk=first.pk).update(at=make.NOON - timedelta(minutes=5))
    visit.refresh_from_db()
    at_desk.post(where(visit), to(visit, engineer, start="2026-02-05T09:15"))
    assert "Move back" not in text_of(at_desk.get("/diary/", {"moved": first.pk}))
    assert "Move back" not in text_of(at_desk.get("/diary/", {"moved": "nonsense"}))
