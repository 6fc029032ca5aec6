"""The same defect twice, by the API: still there?, which earlier one it is, that they are two, that it is there after all."""

import pytest
import time_machine

from inspections.models import Observation
from jobsite.ids import new_id
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.remedials.api.sending import entries, sent
from tests.remedials.test_api_verbs import post, refusal

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def seen(site):
    return make.make_observation(site, "Cover missing")


@pytest.fixture
def draft(site, engineer, seen):
    return make.make_inspection(site, issued=False, by=engineer)


def test_still_there_is_noted_again_once(client, engineer, draft, seen):
    body = {"id": str(new_id()), "observation": str(seen.pk)}
    with entries() as left:
        shown = [sent(client, engineer, f"inspections/{draft.pk}/note-again", 201, **body) for _ in range(2)]
    assert (shown[0], shown[0]["continues"], shown[0]["code"]) == (shown[1], str(seen.pk), "C2")
    assert left == [("observation.noted", body["id"])]
    elsewhere = body | {"observation": str(make.make_observation(make.make_site("Elsewhere")).pk)}
    told = refusal(post(client, engineer, f"inspections/{draft.pk}/note-again", **elsewhere), 409)
    assert (told["field"], told["detail"]) == ("observation", "It is not at the site of this inspection.")


def test_answered_and_taken_back(client, engineer, draft, seen):
    about = {"observation": str(seen.pk)}
    with entries() as left:
        shown = [
            sent(
                client, engineer, f"inspections/{draft.pk}/answer-not-seen", **about, answer="gone", seen="A new cover"
            )
            for _ in range(2)
        ]
        after = sent(client, engineer, f"inspections/{draft.pk}/take-back-answer", **about)
    assert (shown[0], shown[0]["answer"], shown[0]["seen"]) == (shown[1], "gone", "A new cover")
    assert (after["id"], draft.not_seen_again.count()) == (str(draft.pk), 0)
    assert left == [("not-seen-again.answered", str(seen.pk)), ("not-seen-again.taken-back", str(seen.pk))]
    told = refusal(post(client, engineer, f"inspections/{draft.pk}/answer-not-seen", **about, answer="gone"), 409)
    assert told["field"] == "seen"


def test_gone_on_an_issued_report_takes_a_qualified_person(client, engineer, qualified, site, seen):
    report = make.make_inspection(site)
    report.not_seen_again.create(observation=seen, by=engineer, at=NOON)
    address, body = f"inspections/{report.pk}/answer-not-seen", {"observation": str(seen.pk), "answer": "gone"}
    refusal(post(client, engineer, address, **body, seen="A new cover"), 403)
    sent(client, qualified, address, **body, seen="A new cover")
    seen.refresh_from_db()
    assert (seen.ended, seen.ended_reason) == ("gone", "A new cover")
    with entries() as left:
        shown = sent(client, engineer, f"observations/{seen.pk}/there-after-all", reason="It was another cover")
    assert (shown["ended"], left) == ("", [("observation.reopened", str(seen.pk))])


def test_there_after_all_only_of_what_was_found_gone(client, engineer, site):
    done = make.make_observation(site, ended="remedied", ended_on=TODAY)
    told = refusal(post(client, engineer, f"observations/{done.pk}/there-after-all", reason="x"), 409)
    assert told["detail"] == "It was not found gone."
    done.refresh_from_db()
    assert done.ended == "remedied"


def test_the_same_as_an_earlier_one_and_two_after_all(client, engineer, site, seen):
    later = make.make_observation(site, "Cover gone")
    with entries() as left:
        shown = [
            sent(client, engineer, f"observations/{later.pk}/continue-earlier", earlier=str(seen.pk)) for _ in range(2)
        ]
        apart = sent(client, engineer, f"observations/{later.pk}/part-from-earlier", reason="Two covers")
    assert (shown[0], shown[0]["continues"]) == (shown[1], str(seen.pk))
    assert apart["continues"] is None
    assert [verb for verb, _ in left if verb in ("observation.joined", "observation.parted")] == [
        "observation.joined",
        "observation.parted",
    ]
    assert list(Observation.objects.order_by("number").values_list("ended", flat=True)) == ["", ""]
    told = refusal(post(client, engineer, f"observations/{later.pk}/continue-earlier", earlier=str(later.pk)), 409)
    assert told["detail"]
    elsewhere = make.make_observation(make.make_site("Elsewhere"))
    told = refusal(post(client, engineer, f"observations/{later.pk}/continue-earlier", earlier=str(elsewhere.pk)), 409)
    assert "site" in told["detail"]
