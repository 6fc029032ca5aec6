"""Closing once more: the same form is harmless, a second closing is asked about, and stands below the first."""

from datetime import timedelta

import pytest

from jobsite.ids import new_id
from jobsite.refused import Refused
from remedials.works.models import Proof
from remedials.works.operations import review_proof
from remedials.works.queries import fresh_readings
from tests import factories as make
from tests.remedials.desk import text_of
from tests.remedials.pages import at, refused
from tests.remedials.work import ask_reading, close, on_the_way, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
LATER = make.NOON + timedelta(minutes=5)
ASKED = "This was closed at 3 Feb 2026, 12:00 by Edwin Wireman. What you add is filed beside it."


def test_the_same_form_twice_is_one_closing(on_site, engineer) -> None:
    remedial = on_the_way("C2")
    sent = {"id": str(new_id()), "note": "New cover"}
    assert [on_site.post(at("close", remedial), sent).status_code for _ in range(2)] == [302, 302]
    assert Proof.objects.count() == 1


def test_back_and_close_again_asks_first_and_loses_nothing(on_site) -> None:
    remedial = on_the_way("C2")
    on_site.post(at("close", remedial), {"id": str(new_id())})
    sent = {"id": str(new_id()), "note": "One thing more"}
    answer = on_site.post(at("close", remedial), sent)
    assert refused(answer, f"{ASKED} Tick this if you mean it.")
    assert ("One thing more" in text_of(answer), Proof.objects.count()) == (True, 1)
    assert on_site.post(at("close", remedial), sent | {"beside": "on"}).status_code == 302
    assert sorted(Proof.objects.values_list("state", flat=True)) == ["beside", "stands"]


def test_the_page_of_a_closed_one_says_so(on_site, engineer) -> None:
    remedial = on_the_way("C2", photo_required=True)
    close(remedial, by=engineer, no_photo_reason="too dark")
    said = text_of(on_site.get(at("close", remedial)))
    assert (ASKED in said, "Still missing to close" in said, "File it beside" in said) == (True, False, True)


def test_another_engineers_closing_is_filed_without_asking(on_site, other_engineer) -> None:
    remedial = on_the_way("C2")
    close(remedial, by=other_engineer)
    assert on_site.post(at("close", remedial), {"id": str(new_id())}).status_code == 302
    assert Proof.objects.filter(state="beside").count() == 1


def test_the_operation_asks_too(engineer) -> None:
    remedial = on_the_way("C2")
    close(remedial, by=engineer)
    with pytest.raises(Refused, match="Say so if what you add is to be filed beside it"):
        close(remedial, by=engineer)
    assert close(remedial, by=engineer, beside=True).state == "beside"


def test_a_failing_reading_that_a_later_one_answered_is_never_filed(on_site, engineer) -> None:
    remedial = on_the_way("C2")
    circuit = ask_reading(remedial)
    take(circuit, "5", by=engineer)
    good = take(circuit, "0.5", by=engineer, now=LATER)
    close(remedial, by=engineer, now=LATER, readings=[good])
    assert fresh_readings(remedial) == []
    on_site.post(at("close", remedial), {"id": str(new_id()), "beside": "on"})
    assert list(Proof.objects.get(state="beside").readings.all()) == []
    new = take(circuit, "0.4", by=engineer, now=LATER + timedelta(minutes=5))
    assert fresh_readings(remedial) == [new]


def test_the_remedials_page_shows_the_first_above_what_was_added(at_desk, engineer) -> None:
    remedial = on_the_way("C2")
    close(remedial, by=engineer)
    close(remedial, by=engineer, beside=True, now=LATER)
    said = text_of(at_desk.get(f"/remedials/{remedial.pk}/"))
    first, second = "Closed by Edwin Wireman, 3 Feb 2026, 12:00", "Added by Edwin Wireman, 3 Feb 2026, 12:05"
    assert 0 < said.index(first) < said.index(second)


# --- the review -------------------------------------------------------------------------------------------------------


def test_the_reviewer_sees_every_reading_and_what_was_added(client, engineer, qualified) -> None:
    remedial = on_the_way("C2")
    circuit = ask_reading(remedial)
    take(circuit, "5", by=engineer)
    good = take(circuit, "0.5", by=engineer, now=LATER)
    close(remedial, by=engineer, now=LATER, readings=[good])
    close(remedial, by=engineer, now=LATER, beside=True, note="The lid was cracked too")
    client.force_login(qualified)
    said = text_of(client.get(at("review", remedial)))
    assert "fail 5 Ω , at most 1.09 Ω" in said
    assert "Edwin Wireman, 3 Feb 2026, 12:00 Not put up as proof" in said
    assert "Edwin Wireman, 3 Feb 2026, 12:05 Put up as proof" in said
    assert "Added by Edwin Wireman, 3 Feb 2026, 12:05" in said
    assert "The lid was cracked too" in said


def test_readings_of_an_earlier_closing_are_not_shown_again(client, engineer, qualified) -> None:
    remedial = on_the_way("C2")
    circuit = ask_reading(remedial)
    old = take(circuit, "0.9", by=engineer)
    first = close(remedial, by=engineer, readings=[old])
    review_proof(first, decision="sent-back", reason="Blurred", by=qualified, now=make.NOON)
    new = take(circuit, "0.5", by=engineer, now=LATER)
    close(remedial, by=engineer, now=LATER, readings=[new])
    client.force_login(qualified)
    said = text_of(client.get(at("review", remedial)))
    assert ("0.5 Ω" in said, "0.9 Ω" in said) == (True, False)
