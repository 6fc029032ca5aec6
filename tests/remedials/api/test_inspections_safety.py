"""Danger, findings, photographs, readings, meters and facts by the API."""

from datetime import date

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile

from inspections.models import DangerNotice, FactCorrection, MadeSafe, MeterComparison, Observation, Reading
from jobsite.ids import new_id
from tests import factories as make
from tests.factories import NOON, unit_of
from tests.remedials.api.sending import a_photo, entries, form, sent
from tests.remedials.desk import hold
from tests.remedials.test_api_verbs import fresh, post, refusal

pytestmark = pytest.mark.django_db
SAFE = {
    "how": "locked",
    "what": "Way 5 off",
    "agreed_with": "Petra",
    "key_holder": "Petra",
    "look_again_on": "2026-02-10",
}


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def danger(site):
    return make.make_observation(site, "Live parts bare", code="C1")


# --- made safe --------------------------------------------------------------------------------------------------------


def test_make_safe_twice_makes_one(client, engineer, danger):
    body = SAFE | {"id": str(new_id()), "no_photo": "dark"}
    with entries() as left:
        shown = [sent(client, engineer, f"observations/{danger.pk}/make-safe", 201, **body) for _ in range(2)]
    row = MadeSafe.objects.get()
    assert (row.how, row.by, row.at, row.look_again_on) == ("locked", engineer, NOON, date(2026, 2, 10))
    assert (shown[0], shown[0]["has_photo"], shown[0]["no_photo"]) == (shown[1], False, "dark")
    assert left == [("made-safe.done", str(danger.pk))]


def test_make_safe_with_a_photograph_by_another_earlier(client, office, engineer, danger):
    fields = SAFE | {"id": str(new_id()), "done_by": str(engineer.pk), "done_at": "2026-02-03T09:30:00Z"}
    shown = form(client, office, f"observations/{danger.pk}/make-safe", photo=a_photo(), **fields)
    assert (shown["has_photo"], shown["by"], shown["at"]) == (True, str(engineer.pk), "2026-02-03T09:30:00Z")
    assert client.get(f"/api/v1/made-safe/{shown['id']}/photo/")["Content-Type"] == "image/jpeg"


def test_who_looks_again_is_still_here(client, office, engineer, danger):
    left_since = make.make_user("Lee Left", "engineer", is_active=False)
    address, body = f"observations/{danger.pk}/make-safe", SAFE | {"id": str(new_id()), "no_photo": "dark"}
    gone = "Lee Left has left the firm: choose somebody else."
    with entries() as left:
        for who in ({"looker": str(left_since.pk)}, {"done_by": str(left_since.pk)}):
            told = refusal(post(client, office, address, **body, **who), 409)
            assert (told["field"], told["detail"]) == ("looker", gone)
        who = {"done_by": str(left_since.pk), "looker": str(engineer.pk)}  # what they did before they left stays theirs
        shown = sent(client, office, address, 201, **body, **who)
    assert (shown["by"], shown["looker"]) == (str(left_since.pk), str(engineer.pk))
    assert left == [("made-safe.done", str(danger.pk))]


def test_a_reported_defect_is_nobodys_who_left(client, office, site):
    lee = make.make_user("Lee Left", "engineer", is_active=False)
    body = {"id": str(new_id()), "unit": str(unit_of(site).pk), "text": "It hums", "reported_by": "Tina Tenant"}
    with entries() as left:
        told = refusal(post(client, office, f"sites/{site.pk}/report-defect", **body, owner=str(lee.pk)), 409)
    assert (told["field"], told["detail"]) == ("owner", "Lee Left has left the firm: choose somebody else.")
    assert (left, Observation.objects.count()) == ([], 0)


def test_what_is_not_made_safe(client, engineer, danger):
    address, body = f"observations/{danger.pk}/make-safe", SAFE | {"id": str(new_id())}
    assert refusal(post(client, engineer, address, **body), 409)["field"] in ("photo", "no_photo")
    told = refusal(post(client, engineer, address, **body | {"no_photo": "dark", "key_holder": ""}), 409)
    assert told["field"] == "key_holder"
    later = body | {"no_photo": "dark", "done_at": "2026-02-03T13:00:00Z"}
    assert refusal(post(client, engineer, address, **later), 409)["field"] == "done_at"
    far = refusal(post(client, engineer, address, **body | {"done_at": "2500-01-01T00:00:00Z"}), 400)
    assert far["errors"] == {"done_at": ["The year must be between 1900 and 2199."]}
    assert MadeSafe.objects.count() == 0


def test_look_again_and_reconnect(client, engineer, danger):
    held = hold(danger, by=engineer)
    body = {"id": str(new_id()), "look_again_on": "2026-02-20", "note": "lock on"}
    with entries() as left:
        shown = [sent(client, engineer, f"made-safe/{held.pk}/look-again", **body) for _ in range(2)]
        seen = sent(client, engineer, f"made-safe/{held.pk}/reconnect", reason="The tenant took the lock off")
    assert (shown[0], shown[0]["look_again_on"], shown[0]["key_holder"]) == (shown[1], "2026-02-20", "Dirk")
    assert (seen["id"], seen["code"], seen["made_safe"]) == (str(danger.pk), "C1", False)
    assert left == [("made-safe.looked-again", str(danger.pk)), ("made-safe.reconnected", str(danger.pk))]
    past = refusal(post(client, engineer, f"made-safe/{held.pk}/look-again", **body | {"id": str(new_id())}), 409)
    assert past["detail"]


def test_tell_of_a_danger_and_its_answer(client, engineer, site, danger):
    body = {"id": str(new_id()), "observations": [str(danger.pk)], "why": "bare", "advised": "keep away"}
    body |= {"given_to": "Petra, owner", "how": "hand"}
    with entries() as left:
        shown = [sent(client, engineer, "notices/give", 201, **body) for _ in range(2)]
        said = sent(client, engineer, f"notices/{body['id']}/answer", answer="refused", answer_note="Not now")
    notice = DangerNotice.objects.get()
    assert (shown[0], shown[0]["number"], shown[0]["observations"]) == (shown[1], notice.number, [str(danger.pk)])
    assert (said["answer"], said["answer_note"], said["answered_at"]) == ("refused", "Not now", "2026-02-03T12:00:00Z")
    assert left == [("notice.given", body["id"]), ("notice.answered", body["id"])]
    other = refusal(post(client, engineer, f"notices/{body['id']}/answer", answer="acknowledged"), 409)
    assert other["detail"]
    improve = make.make_observation(site, code="C3")
    told = refusal(
        post(client, engineer, "notices/give", **body | {"id": str(new_id()), "observations": [str(improve.pk)]}), 409
    )
    assert told["detail"]
    unknown = body | {"id": str(new_id()), "observations": [str(new_id())]}
    assert refusal(post(client, engineer, "notices/give", **unknown), 400)["errors"] == {
        "observations": ["There is no such row."]
    }


# --- found at a visit -------------------------------------------------------------------------------------------------


def test_found_with_what_was_made_safe_and_who_was_told(client, engineer, site):
    fields = {"id": str(new_id()), "unit": str(unit_of(site).pk), "text": "Live parts bare", "code": "C1"}
    fields |= {"made_safe": "true", "safe_what": "Way 5 off", "agreed_with": "Petra", "key_holder": "Petra"}
    fields |= {"look_again_on": "2026-02-10", "notice": "true", "advised": "keep away"}
    with entries() as left:
        shown = form(
            client, engineer, f"sites/{site.pk}/note-found", photos=[a_photo()], safe_photo=a_photo("blue"), **fields
        )
    row = Observation.objects.get()
    assert (shown["code"], shown["made_safe"], shown["reviewed"]) == ("C1", True, False)
    assert (row.photos.count(), row.made_safes.get().how, row.danger_notices.get().given_to) == (1, "locked", "Petra")
    notice = row.danger_notices.get()
    assert left == [
        ("observation.seen", str(row.pk)),
        ("observation.photographed", str(row.pk)),
        ("made-safe.done", str(row.pk)),
        ("notice.given", str(notice.pk)),
    ]


def test_found_not_sure_and_what_is_missing(client, engineer, site):
    address, body = f"sites/{site.pk}/note-found", {"unit": str(unit_of(site).pk), "text": "It hums", "code": ""}
    shown = sent(client, engineer, address, 201, id=str(new_id()), **body)
    assert (shown["code"], shown["may_be_dangerous"]) == ("", True)
    told = refusal(post(client, engineer, address, id=str(new_id()), **body, made_safe=True), 409)
    assert (told["field"], told["detail"]) == ("safe_what", "Say what exactly was done, and where.")
    improve = body | {"code": "C3", "notice": True, "given_to": "Petra", "advised": "none"}
    assert refusal(post(client, engineer, address, id=str(new_id()), **improve), 409)["field"] == "code"
    assert Observation.objects.count() == 1


def test_photograph_of_a_defect(client, engineer, danger):
    with entries() as left:
        shown = form(client, engineer, f"observations/{danger.pk}/add-photo", photo=a_photo(), caption="the cover")
        again = form(client, engineer, f"observations/{danger.pk}/add-photo", photo=a_photo(), caption="the cover")
    assert (shown["id"], shown["caption"]) == (again["id"], "the cover")
    assert left == [("observation.photographed", str(danger.pk))]
    for data in (b"GIF89a", b"<svg onload=alert(1)>", b"\xff\xd8\xff not a photo"):
        told = client.post(
            f"/api/v1/observations/{danger.pk}/add-photo/",
            {"photo": SimpleUploadedFile("a.jpg", data)},
            headers=fresh(),
        )
        assert refusal(told, 409)["field"] == "photo"
    assert danger.photos.count() == 1


# --- findings ---------------------------------------------------------------------------------------------------------


def test_a_finding_and_that_it_was_none(client, qualified, engineer, site):
    seen = make.make_observation(site, "Meter odd", code="FI")
    body = {"id": str(new_id()), "code": "C2", "text": "No earth"}
    told = refusal(post(client, engineer, f"observations/{seen.pk}/record-finding", **body), 403)
    assert told["detail"].startswith("Only a qualified person decides codes")
    with entries() as left:
        shown = sent(client, qualified, f"observations/{seen.pk}/record-finding", 201, **body)
        back = sent(client, qualified, f"observations/{seen.pk}/withdraw-finding", reason="Wrong circuit")
    assert (shown["investigation"]["ended"], shown["finding"]["id"], shown["finding"]["code"]) == (
        "finding", body["id"], "C2",
    )  # fmt: skip
    assert (back["ended"], Observation.objects.get(pk=body["id"]).ended) == ("", "withdrawn")
    assert [verb for verb, _ in left][:1] == ["observation.finding"]
    assert ("observation.finding-withdrawn", str(seen.pk)) in left
    nothing = sent(
        client, qualified, f"observations/{seen.pk}/record-finding", 201, id=str(new_id()), code="", text="Sound"
    )
    assert (nothing["finding"], nothing["investigation"]["ended"]) == (None, "finding")


# --- readings, meters, facts ------------------------------------------------------------------------------------------


def test_the_readings_of_a_board_all_or_none(client, engineer):
    board = make.make_board(make.make_site(earthing="TN-S"), "Hall")
    circuit = make.make_circuit(board)
    tool = str(make.make_instrument().pk)
    good = {"id": str(new_id()), "circuit": str(circuit.pk), "quantity": "loop-impedance", "value": "0.35"}
    bad = good | {"id": str(new_id()), "value": "640"}
    unread = good | {"id": str(new_id()), "value": "many"}
    address = f"boards/{board.pk}/take-readings"
    told = refusal(post(client, engineer, address, readings=[good, bad], instrument=tool), 409)
    assert list(told["errors"]) == [bad["id"]]
    assert "did you mean 0.64" in told["errors"][bad["id"]][0]
    told = refusal(post(client, engineer, address, readings=[good, unread], instrument=tool), 409)
    assert list(told["errors"]) == [unread["id"]]
    assert Reading.objects.count() == 0
    origin = {"id": str(new_id()), "supply": str(make.supply_of(board.site).pk), "quantity": "loop-impedance-origin"}
    with entries() as left:
        both = [good, bad | {"as_read": True}]
        shown = [sent(client, engineer, address, 201, readings=both, instrument=tool) for _ in range(2)]
    assert (shown[0], [row["id"] for row in shown[0]["results"]]) == (shown[1], [good["id"], bad["id"]])
    assert [verb for verb, _ in left] == ["reading.taken"] * 2
    spare = make.make_instrument("OT-1", archived_at=NOON)
    for wrong in (str(new_id()), str(spare.pk)):
        where, rest = f"circuits/{circuit.pk}/take-reading", {"quantity": "loop-impedance", "value": "0.35"}
        for told in (
            refusal(post(client, engineer, where, id=str(new_id()), instrument=wrong, **rest), 400),
            refusal(post(client, engineer, address, readings=[good | {"id": str(new_id())}], instrument=wrong), 400),
        ):
            assert told["errors"] == {"instrument": ["There is no such instrument in use."]}
    assert Reading.objects.count() == 2
    unknown = [origin | {"value": "0.2", "quantity": "loop-impedance", "supply": str(new_id())}]
    assert list(refusal(post(client, engineer, address, readings=unknown, instrument=tool), 400)["errors"]) == [
        "readings"
    ]


def test_two_meters_compared(client, engineer, site):
    seen = make.make_observation(site, "Bill doubled", code="FI")
    body = {"id": str(new_id()), "began_at": "2026-02-03T09:00:00Z", "ended_at": "2026-02-03T10:00:00Z"}
    body["relied_on"] = {"what": "the supplier's meter", "unit": "kWh", "start": "100", "end": "103"}
    body["in_doubt"] = {"what": "the clamps", "unit": "Wh", "energy": "1500"}
    address = f"observations/{seen.pk}/compare-meters"
    with entries() as left:
        shown = [sent(client, engineer, address, 201, **body) for _ in range(2)]
    row = MeterComparison.objects.get()
    assert (shown[0], shown[0]["found"], shown[0]["ratio"]) == (shown[1], row.found, "0.500000")
    assert [one["wh"] for one in sorted(shown[0]["figures"], key=lambda f: f["wh"])] == ["1500.000000", "3000.000000"]
    assert left == [("meters.compared", str(row.pk))]
    half = body | {"id": str(new_id()), "relied_on": {"what": "m", "unit": "kWh", "start": "1"}}
    assert refusal(post(client, engineer, address, **half), 409)["field"] == "relied_on"
    later = body | {"id": str(new_id()), "ended_at": "2026-02-03T13:00:00Z"}
    assert refusal(post(client, engineer, address, **later), 409)["field"] == "ended_at"


def test_a_fact_corrected_and_put_back(client, qualified, engineer):
    address = "facts/insulation.to-500-v"
    body = {
        "id": str(new_id()),
        "value": "2.0",
        "source": "The standard",
        "reason": "Looked up",
        "holds_from": "2026-02-03",
    }
    told = refusal(post(client, engineer, f"{address}/correct", **body), 403)
    assert told["detail"].startswith("Only a qualified person corrects a fact")
    back = {"id": str(new_id()), "reason": "Misread", "holds_from": "2026-02-04"}
    with entries() as left:
        shown = [sent(client, qualified, f"{address}/correct", 201, **body) for _ in range(2)]
        assert client.get(f"/api/v1/{address}/").json()["shown"] == "2.0 MΩ"
        sent(client, qualified, f"{address}/put-back", 201, **back)
    assert (shown[0], shown[0]["value"]) == (shown[1], "2.0")
    assert left == [("fact.corrected", body["id"]), ("fact.put-back", back["id"])]
    assert FactCorrection.objects.count() == 2
    wrong = refusal(post(client, qualified, f"{address}/correct", **body | {"id": str(new_id()), "value": "-3"}), 409)
    assert wrong["field"] == "value"
    refusal(post(client, qualified, "facts/no.such/put-back", **back), 404)
