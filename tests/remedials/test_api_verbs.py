"""The API's verbs: each does what the pages' operation does, for the same people, and says in a problem why not."""

from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from inspections.models import Observation
from jobsite.ids import new_id
from remedials.works.models import Approval, Proof, ProofPhoto, ProofReview, Remedial, Stint, Used
from tests.factories import (
    NOON,
    Told,
    grant_access,
    make_board,
    make_circuit,
    make_observation,
    make_remedial,
    make_site,
    recorded,
    unit_of,
)
from tests.remedials.work import ask_reading, on_the_way, photo_bytes, take

pytestmark = pytest.mark.django_db
PROBLEM = "application/problem+json"


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


def fresh(version: object = "*") -> dict[str, str]:
    """The headers of a change that was never sent before, to a row as it is, or as it was seen in `version`."""
    return {"Idempotency-Key": f'"{new_id()}"', "If-Match": "*" if version == "*" else f'"{version}"'}


def post(client, user, address: str, /, version: object = "*", **body):
    client.force_login(user)
    return client.post(f"/api/v1/{address}/", body, content_type="application/json", headers=fresh(version))


def refusal(answer, status: int) -> dict:
    """The problem document of a refusal."""
    assert (answer.status_code, answer["Content-Type"]) == (status, PROBLEM), answer.content
    assert answer.json()["status"] == status
    return answer.json()


# --- observations -----------------------------------------------------------------------------------------------------


def test_report_a_defect(client, office, engineer, site):
    circuit = make_circuit(make_board(site))
    body = {"id": str(new_id()), "unit": str(unit_of(site).pk), "text": "It hums", "reported_by": "Tina Tenant"}
    body |= {"circuit": str(circuit.pk), "owner": str(engineer.pk), "step_by": "2026-02-05"}
    answers = [post(client, office, f"sites/{site.pk}/report-defect", **body) for _ in range(2)]
    assert [a.status_code for a in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    assert Observation.objects.count() == 1
    shown = answers[0].json()
    assert (shown["text"], shown["code"], shown["owner"]) == ("It hums", "", str(engineer.pk))
    assert (shown["board"], shown["circuit"], shown["step_by"]) == (
        str(circuit.board_id), str(circuit.pk), "2026-02-05",
    )  # fmt: skip


def test_report_a_defect_names_only_what_one_sees(client, subcontractor, site):
    elsewhere = make_site("Elsewhere")
    grant_access(site, subcontractor)
    body = {"id": str(new_id()), "text": "x", "reported_by": "y"}
    told = post(client, subcontractor, f"sites/{site.pk}/report-defect", unit=str(unit_of(elsewhere).pk), **body)
    assert refusal(told, 400)["errors"] == {"unit": ["There is no such row."]}
    nothing = post(client, subcontractor, f"sites/{site.pk}/report-defect", unit=str(new_id()), **body)
    assert nothing.json() == told.json()
    refusal(post(client, subcontractor, f"sites/{elsewhere.pk}/report-defect", **body), 404)


def test_decide_a_code(client, qualified, site):
    observation = make_observation(site, code="C2")
    with recorded() as told:
        answer = post(
            client, qualified, f"observations/{observation.pk}/review", decision="recode", code="C3", reason="dry"
        )
    assert (answer.status_code, answer.json()["code"], answer.json()["code_written"]) == (200, "C3", "C2")
    assert [entry.verb for entry in told] == ["observation.reviewed"]


def test_decide_a_code_refused(client, engineer, qualified, site):
    observation = make_observation(site, code="C2")
    address = f"observations/{observation.pk}/review"
    recode = {"decision": "recode", "code": "C3"}
    assert "Only a qualified person decides codes" in refusal(post(client, engineer, address, **recode), 403)["detail"]
    said = refusal(post(client, qualified, address, **recode), 409)
    assert (said["detail"], said["field"]) == ("Say why: a changed code needs its reason.", "reason")
    meanwhile = refusal(post(client, qualified, address, **recode, reason="dry", version=7), 412)
    assert meanwhile["version"] == 1
    assert list(refusal(post(client, qualified, address, decision="guess"), 400)["errors"]) == ["decision"]
    observation.refresh_from_db()
    assert observation.code == "C2"


def test_give_the_next_step_to_somebody(client, office, engineer, site):
    observation = make_observation(site)
    address = f"observations/{observation.pk}/take-on"
    answer = post(client, office, address, owner=str(engineer.pk), step_by="2026-02-09")
    assert (answer.json()["owner"], answer.json()["step_by"]) == (str(engineer.pk), "2026-02-09")
    unknown = post(client, office, address, owner=str(site.pk), step_by="2026-02-09")
    assert refusal(unknown, 400)["errors"] == {"owner": ["There is no such person."]}


# --- remedials --------------------------------------------------------------------------------------------------------


def test_make_a_remedial_once(client, office, site):
    observations = [make_observation(site, "one"), make_observation(site, "two")]
    body = {"id": str(new_id()), "work": "Fit covers", "minutes": 90, "power_off": True}
    body["observations"] = [str(o.pk) for o in observations]
    with recorded() as told:
        answers = [post(client, office, "remedials/make", **body) for _ in range(2)]
    assert [a.status_code for a in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    shown = answers[0].json()
    assert (shown["stage"], shown["minutes"], shown["power_off"]) == ("to-price", 90, True)
    assert sorted(shown["observations"]) == sorted(body["observations"])
    assert [entry.verb for entry in told] == ["remedial.made"]


def test_make_a_remedial_refused(client, office, engineer, site):
    observation = make_observation(site)
    body = {"id": str(new_id()), "work": "Fit covers", "observations": [str(observation.pk)]}
    assert refusal(post(client, engineer, "remedials/make", **body), 403)["title"] == "Not allowed"
    assert refusal(post(client, office, "remedials/make", **body | {"observations": [str(site.pk)]}), 400)[
        "errors"
    ] == {"observations": ["There is no such row."]}
    elsewhere = make_observation(make_site("Elsewhere"))
    both = body | {"observations": [str(observation.pk), str(elsewhere.pk)]}
    assert "one site" in refusal(post(client, office, "remedials/make", **both), 409)["detail"]
    assert Remedial.objects.count() == 0


def test_approve(client, office, site):
    remedial = make_remedial(make_observation(site))
    body = {"given_by": "Petra Landlady", "how": "phone", "given_on": "2026-02-03", "pounds": "480.50"}
    answer = post(client, office, f"remedials/{remedial.pk}/approve", **body)
    assert (answer.status_code, answer.json()["stage"]) == (200, "approved")
    assert post(client, office, f"remedials/{remedial.pk}/approve", **body).json() == answer.json()
    assert str(Approval.objects.get().pounds) == "480.50"


@pytest.mark.parametrize(
    ("pounds", "sentence"),
    [
        ("NaN", "Send this number"),
        ("Infinity", "Send this number"),
        (480.5, "Send this number"),
        ("-1", "greater than or equal to 0"),
        ("1.234", "2 decimal"),
    ],
)
def test_a_sum_that_is_none(client, office, site, pounds, sentence):
    remedial = make_remedial(make_observation(site))
    body = {"given_by": "P", "how": "phone", "given_on": "2026-02-03", "pounds": pounds}
    told = refusal(post(client, office, f"remedials/{remedial.pk}/approve", **body), 400)
    assert sentence in told["errors"]["pounds"][0]


def test_decline_asks_for_what_the_page_asks(client, office, site):
    remedial = make_remedial(make_observation(site, code="C2"))
    told = refusal(post(client, office, f"remedials/{remedial.pk}/decline", who="Petra"), 409)
    assert "Give a danger notice first" in told["detail"]
    improvement = make_remedial(make_observation(site, code="C3"))
    answer = post(client, office, f"remedials/{improvement.pk}/decline", who="Petra", reason="not now")
    assert answer.json()["stage"] == "declined"


def test_cancel_reopen_and_give_to_somebody(client, office, engineer, site):
    remedial = make_remedial(make_observation(site))
    assert (
        post(client, office, f"remedials/{remedial.pk}/cancel", reason="it was made twice").json()["stage"]
        == "cancelled"
    )
    assert refusal(post(client, engineer, f"remedials/{remedial.pk}/reopen", reason="x"), 403)["title"] == "Refused"
    assert post(client, office, f"remedials/{remedial.pk}/reopen", reason="was not").json()["stage"] == "to-price"
    answer = post(client, office, f"remedials/{remedial.pk}/take-on", owner=str(engineer.pk), step_by="2026-02-06")
    assert (answer.json()["owner"], answer.json()["step_by"]) == (str(engineer.pk), "2026-02-06")


def upload(client, user, remedial, data: bytes, **more):
    client.force_login(user)
    photo = SimpleUploadedFile("../../a\0b.jpg", data, "image/jpeg")
    return client.post(f"/api/v1/remedials/{remedial.pk}/photos/", {"photo": photo} | more, headers=fresh())


def test_close_with_photo_and_reading_then_review(client, engineer, qualified, office):
    remedial = on_the_way("C2", photo_required=True)
    observation = remedial.observations.get()
    circuit = ask_reading(remedial)
    reading = take(circuit, "0.50", by=engineer)
    address, body = f"remedials/{remedial.pk}/close", {"id": str(new_id()), "readings": [str(reading.pk)]}
    assert "A photo after the work: " in refusal(post(client, engineer, address, **body), 409)["detail"]
    shown = upload(client, engineer, remedial, photo_bytes(), observation=str(observation.pk))
    assert (shown.status_code, shown.json()["width"]) == (201, 40)
    assert shown.json()["id"] == str(ProofPhoto.objects.get().pk)
    refusal(post(client, office, address, **body), 403)
    assert post(client, engineer, address, **body).json()["stage"] == "done"
    assert post(client, engineer, address, **body).json()["stage"] == "done"
    assert Proof.objects.count() == 1
    assert (
        "qualified"
        in refusal(post(client, engineer, f"remedials/{remedial.pk}/review", decision="accepted"), 403)["detail"]
    )
    address = f"remedials/{remedial.pk}/review"
    assert refusal(post(client, qualified, address, decision="accepted", version=1), 412)["version"] == 2
    assert post(client, qualified, address, decision="accepted", version=2).json()["stage"] == "reviewed"
    observation.refresh_from_db()
    assert (observation.ended, ProofReview.objects.get().decision) == ("remedied", "accepted")


def test_time_materials_and_power_by_the_engineers_word(client, engineer, office):
    remedial = on_the_way("C2", stage="booked")
    address = f"remedials/{remedial.pk}"
    off = {"id": str(new_id()), "kind": "off", "where": "Way 5, lock 14"}
    refusal(post(client, office, f"{address}/power", **off), 403)
    assert refusal(post(client, engineer, f"{address}/power", **off | {"where": " "}), 409)["field"] == "where"
    shown = [post(client, engineer, f"{address}/power", **off) for _ in range(2)]
    assert [(one.status_code, one.json()["kind"]) for one in shown] == [(201, "off"), (201, "off")]
    left = {"id": str(new_id()), "came": "could-not", "because": "No key", "minutes": 15}
    left["used"] = [{"what": "Cable", "quantity": "2.5", "unit": "m"}, {"what": "Clip"}]
    refusal(post(client, engineer, f"{address}/leave", **left | {"came": "finished"}), 400)
    assert post(client, engineer, f"{address}/leave", **left).json()["stage"] == "approved"
    post(client, engineer, f"{address}/close", id=str(new_id()), minutes=40, used=[{"what": "Sealant"}])
    assert list(Stint.objects.order_by("at", "pk").values_list("came", "minutes")) == [
        ("could-not", 15),
        ("finished", 40),
    ]
    assert sorted(Used.objects.values_list("what", "quantity", "unit")) == [
        ("Cable", Decimal("2.5"), "m"),
        ("Clip", Decimal(1), ""),
        ("Sealant", Decimal(1), ""),
    ]


def test_review_without_proof_and_of_an_investigation(client, qualified, engineer):
    remedial = on_the_way("FI")
    address = f"remedials/{remedial.pk}/review"
    assert "no proof of it stands" in refusal(post(client, qualified, address, decision="accepted"), 409)["detail"]
    post(client, engineer, f"remedials/{remedial.pk}/close", id=str(new_id()))
    assert "is an FI" in refusal(post(client, qualified, address, decision="accepted"), 409)["detail"]
    found = {"finding_code": "C2", "finding_text": "No earth at all"}
    assert post(client, qualified, address, decision="accepted", **found).json()["stage"] == "reviewed"
    assert Observation.objects.get(ended="").text == "No earth at all"


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"\xff\xd8\xff not a photo"])
def test_what_is_no_photo_is_refused(client, engineer, data):
    answer = upload(client, engineer, on_the_way(), data)
    assert answer.status_code == (409 if data else 400)
    assert answer["Content-Type"] == PROBLEM


# --- the door ---------------------------------------------------------------------------------------------------------


def test_a_post_without_the_csrf_token_is_refused(office, site):
    client = Client(enforce_csrf_checks=True)
    answer = post(client, office, f"remedials/{make_remedial(make_observation(site)).pk}/cancel", reason="x")
    assert "CSRF" in refusal(answer, 403)["detail"]


def test_nobody_may_act_unsigned(client, site):
    remedial = make_remedial(make_observation(site))
    answer = client.post(f"/api/v1/remedials/{remedial.pk}/cancel/", {"reason": "x"}, content_type="application/json")
    refusal(answer, 401)
    remedial.refresh_from_db()
    assert remedial.stage == "to-price"


def test_somebody_who_left_may_nothing(client, office, site):
    office.is_active = False
    office.save(update_fields=["is_active"])
    refusal(post(client, office, "remedials/make"), 401)


def test_only_json_is_read(client, office, site):
    client.force_login(office)
    remedial = make_remedial(make_observation(site))
    address = f"/api/v1/remedials/{remedial.pk}/cancel/"
    form = client.post(address, "reason=x", content_type="application/x-www-form-urlencoded", headers=fresh())
    assert refusal(form, 415)["detail"].startswith("Unsupported media type")
    broken = client.post(address, "{", content_type="application/json", headers=fresh())
    assert refusal(broken, 400)["detail"].startswith("JSON parse error")


def test_the_same_thing_as_on_the_page_in_the_ledger(client, office, site):
    remedial = make_remedial(make_observation(site, code="C3"), step_by=NOON.date() + timedelta(days=1))
    with recorded() as told:
        post(client, office, f"remedials/{remedial.pk}/decline", who="Petra", reason="not now")
    facts = {"offer_again_on": None}
    assert told == [Told("remedial.declined", remedial.pk, facts, {"who": "Petra", "reason": "not now"})]
