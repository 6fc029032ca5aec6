"""The API's verbs beside a remedial's way: changing it, parts, offered again, others' work, photographs, waiting, recalls."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from jobsite.ids import new_id
from remedials.works.models import ProofPhoto, RecallDecision, Waiting, WayOut
from tests import factories as make
from tests.factories import NOON, TODAY, Told, make_observation, make_remedial, recorded
from tests.remedials.test_api_verbs import fresh, post, refusal
from tests.remedials.work import ask_reading, close, on_the_way, photo_bytes, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def remedial(site):
    return make_remedial(make_observation(site))


# --- what it asks for -------------------------------------------------------------------------------------------------


def test_what_is_left_out_of_a_change_stays(client, office, remedial):
    circuit = ask_reading(remedial)
    address = f"remedials/{remedial.pk}/edit"
    with recorded() as told:
        answer = post(client, office, address, work="Fit a better cover", minutes=45, version=remedial.version)
    assert (answer.status_code, answer.json()["work"], answer.json()["minutes"]) == (200, "Fit a better cover", 45)
    assert [row["circuit"] for row in answer.json()["required_readings"]] == [str(circuit.pk)]
    facts = {"changed": ["minutes", "work"], "minutes": 45}
    assert told == [Told("remedial.edited", remedial.pk, facts, {"work": "Fit a better cover"})]
    none = post(client, office, address, readings=[])
    assert (none.json()["required_readings"], none.json()["work"]) == ([], "Fit a better cover")
    wanted = [{"circuit": str(circuit.pk), "quantity": "insulation-resistance"}]
    entered = post(client, office, address, readings=wanted)
    assert [row["quantity"] for row in entered.json()["required_readings"]] == ["insulation-resistance"]


def test_a_change_is_refused_as_on_the_page(client, office, engineer, remedial, site):
    address = f"remedials/{remedial.pk}/edit"
    refusal(post(client, engineer, address, work="x"), 403)
    assert list(refusal(post(client, office, address, work=" "), 400)["errors"]) == ["work"]
    assert refusal(post(client, office, address, work="x", version=9), 412)["version"] == remedial.version
    done = make_remedial(make_observation(site), stage="reviewed")
    assert "not changed any more" in refusal(post(client, office, f"remedials/{done.pk}/edit", work="x"), 409)["detail"]
    remedial.refresh_from_db()
    assert remedial.work == "Fit a cover"


def test_when_parts_are_there(client, office, engineer, remedial):
    address = f"remedials/{remedial.pk}/parts-ready"
    refusal(post(client, engineer, address, on="2026-02-10"), 403)
    with recorded() as told:
        answers = [post(client, office, address, on="2026-02-10") for _ in range(2)]
    assert [a.json()["parts_ready_on"] for a in answers] == ["2026-02-10"] * 2
    assert told == [Told("remedial.parts-ready", remedial.pk, {"ready_on": "2026-02-10", "before": None})]
    assert post(client, office, address, on=None).json()["parts_ready_on"] is None


def test_offer_again(client, office, engineer, site):
    declined = make_remedial(make_observation(site, code="C3"), stage="declined")
    address = f"remedials/{declined.pk}/offer-again"
    refusal(post(client, engineer, address), 403)
    with recorded() as told:
        assert post(client, office, address).json()["stage"] == "to-price"
    assert [entry.verb for entry in told] == ["remedial.offered-again"]
    booked = make_remedial(make_observation(site), stage="booked")
    refusal(post(client, office, f"remedials/{booked.pk}/offer-again"), 409)


def test_cancelled_because_other_work_put_it_right(client, office, remedial):
    said = refusal(
        post(client, office, f"remedials/{remedial.pk}/cancel", reason="Done with 2", nothing_more=True), 409
    )
    remedial.refresh_from_db()
    assert (bool(said["detail"]), remedial.stage) == (True, "to-price")


# --- done by others ---------------------------------------------------------------------------------------------------


def test_done_by_others_by_reference(client, office, engineer, remedial):
    address, body = f"remedials/{remedial.pk}/by-others", {"who": "Brook Electrical", "on": "2026-02-02"}
    refusal(post(client, engineer, address, **body), 403)
    assert refusal(post(client, office, address, **body), 409)["field"] == "reference"
    with recorded() as told:
        answers = [post(client, office, address, **body, reference="MW-1771") for _ in range(2)]
    assert [a.json()["stage"] for a in answers] == ["by-others"] * 2
    assert sorted(entry.verb for entry in told) == ["observation.ended", "remedial.by-others"]
    assert WayOut.objects.get().reference == "MW-1771"


def test_done_by_others_with_their_paper(client, office, remedial):
    client.force_login(office)

    def send(data: bytes):
        paper = SimpleUploadedFile("paper.pdf", data, "application/pdf")
        body = {"who": "Brook Electrical", "on": "2026-02-02", "file": paper}
        return client.post(f"/api/v1/remedials/{remedial.pk}/by-others/", body, headers=fresh())

    assert refusal(send(b"not one"), 400)["errors"] == {"file": ["This file is not a PDF."]}
    answer = send(b"%PDF-1.7 theirs")
    assert (answer.status_code, answer.json()["stage"]) == (200, "by-others"), answer.content
    (way,) = client.get("/api/v1/ways-out/", {"stage": "by-others"}).json()["results"]
    assert (way["file"], way["who"]) == (WayOut.objects.get().file_id, "Brook Electrical")


def test_their_paper_covers_some_items(client, office, site):
    one, two = make_observation(site, "one"), make_observation(site, "two")
    remedial = make_remedial(one, two)
    body = {"who": "Brook Electrical", "on": "2026-02-02", "reference": "MW-1", "items": [str(one.pk)]}
    answer = post(client, office, f"remedials/{remedial.pk}/by-others", **body)
    one.refresh_from_db()
    two.refresh_from_db()
    assert (answer.json()["stage"], one.ended, two.ended) == ("to-price", "others", "")


# --- photographs ------------------------------------------------------------------------------------------------------


def test_take_a_photograph_away(client, office, engineer):
    from jobsite.ledger.photographs import store_photograph

    remedial = on_the_way()
    file, picture = store_photograph(photo_bytes(), now=NOON)
    size = {"width": picture.width, "height": picture.height}
    photo = ProofPhoto.objects.create(remedial=remedial, file=file, added_by=engineer, added_at=NOON, **size)
    address = f"proof-photos/{photo.pk}/remove"
    refusal(post(client, office, address), 403)
    with recorded() as told:
        answer = post(client, engineer, address)
    assert (answer.status_code, answer.json()["id"], ProofPhoto.objects.count()) == (200, str(photo.pk), 0)
    assert [entry.verb for entry in told] == ["remedial.photo-removed"]
    refusal(post(client, engineer, address), 404)


# --- waiting ----------------------------------------------------------------------------------------------------------


def waits(**more):
    usual = {
        "on_whom": "The network operator",
        "for_what": "A date",
        "asked_on": "2026-02-03",
        "chase_on": "2026-02-10",
    }
    return {"id": str(new_id())} | usual | more


def test_what_waits_is_chased_and_ends(client, office, engineer, remedial):
    body = waits(owner=str(engineer.pk))
    refusal(post(client, engineer, f"remedials/{remedial.pk}/wait", **body), 403)
    with recorded() as told:
        answers = [post(client, office, f"remedials/{remedial.pk}/wait", **body) for _ in range(2)]
        (row,) = Waiting.objects.all()
        call = {"id": str(new_id()), "chase_on": "2026-02-12", "said": "They ring back"}
        chased = [post(client, office, f"waiting/{row.pk}/chase", **call) for _ in range(2)]
        ended = [post(client, office, f"waiting/{row.pk}/end", how="It came") for _ in range(2)]
    assert [a.status_code for a in answers] == [201, 201]
    assert (answers[0].json()["remedial"], answers[0].json()["owner"]) == (str(remedial.pk), str(engineer.pk))
    assert [a.json()["chase_on"] for a in chased] == ["2026-02-12"] * 2
    assert [a.json()["ended_how"] for a in ended] == ["It came"] * 2
    assert [entry.verb for entry in told] == ["waiting.begun", "waiting.chased", "waiting.ended"]
    assert (
        "ended"
        in refusal(post(client, office, f"waiting/{row.pk}/chase", **call | {"id": str(new_id())}), 409)["detail"]
    )
    refusal(post(client, engineer, f"waiting/{row.pk}/end", how="x"), 403)


def test_an_observation_waits(client, office, site):
    observation = make_observation(site)
    answer = post(client, office, f"observations/{observation.pk}/wait", **waits())
    shown = answer.json()
    assert (answer.status_code, shown["observation"], shown["remedial"]) == (201, str(observation.pk), None)
    assert shown["owner"] == str(office.pk)
    early = waits(promised_for="2026-02-01")
    assert refusal(post(client, office, f"observations/{observation.pk}/wait", **early), 409)["field"] == "promised_for"


# --- instruments found wrong ------------------------------------------------------------------------------------------


@pytest.fixture
def doubted(engineer):
    """A closed remedial, the reading that proved it, and the finding that makes it doubtful."""
    tester = make.make_instrument("T-9")
    remedial = on_the_way()
    reading = take(ask_reading(remedial), "0.9", by=engineer, instrument=tester)
    close(remedial, by=engineer, readings=[reading])
    return remedial, reading, make.make_fault(tester)


def test_doubtful_readings_and_what_they_proved(client, qualified, doubted):
    remedial, reading, fault = doubted
    client.force_login(qualified)
    (row,) = client.get("/api/v1/recalls/", {"instrument": fault.instrument_id}).json()["results"]
    assert (row, row["id"]) == (client.get(f"/api/v1/recalls/{fault.pk}/").json(), str(fault.pk))
    where = f"/api/v1/recalls/{fault.pk}/readings/"
    (shown,) = client.get(where, {"state": "undecided"}).json()["results"]
    assert (shown["id"], shown["proved"], shown["decisions"]) == (str(reading.pk), [str(remedial.pk)], [])
    assert client.get(where, {"state": "settled"}).json()["results"] == []
    assert list(refusal(client.get(where, {"state": "lost"}), 400)["errors"]) == ["state"]


def test_read_again_opens_what_it_proved(client, engineer, qualified, doubted):
    remedial, reading, fault = doubted
    body = {"id": str(new_id()), "reading": str(reading.pk), "decision": "again", "reason": "Its leads were broken"}
    address = f"recalls/{fault.pk}/decide"
    refusal(post(client, make.make_user("Lee Looker", "engineer"), address, **body), 403)
    other = take(ask_reading(remedial), "0.5", by=engineer, instrument=make.make_instrument("T-10"))
    assert list(refusal(post(client, qualified, address, **body | {"reading": str(other.pk)}), 400)["errors"]) == [
        "reading"
    ]
    with recorded() as told:
        answers = [post(client, qualified, address, **body) for _ in range(2)]
    assert [(a.status_code, a.json()["decision"]) for a in answers] == [(201, "again")] * 2, answers[0].content
    assert sorted(entry.verb for entry in told if not entry.verb.startswith("observation")) == [
        "reading.to-read-again", "remedial.reopened",
    ]  # fmt: skip
    remedial.refresh_from_db()
    assert (remedial.stage, RecallDecision.objects.count()) == ("approved", 1)
    kept = body | {"id": str(new_id()), "decision": "kept", "reason": "Read beside a second tester: both 0.9 Ω"}
    refusal(post(client, qualified, address, **kept), 412)


def test_the_doubtful_readings_cost_the_same_at_any_number(client, qualified, engineer, doubted):
    from tests.remedials.desk import statements

    remedial, reading, fault = doubted
    client.force_login(qualified)
    counts = []
    for _ in range(2):
        with statements() as sql:
            found = client.get(f"/api/v1/recalls/{fault.pk}/readings/").json()["results"]
        counts.append((len(found), len(sql)))
        take(ask_reading(remedial, designation="Hall"), "0.7", by=engineer, instrument=reading.instrument)
    assert (counts[0][0], counts[1][0], counts[0][1] == counts[1][1]) == (1, 2, True)
    assert fault.found_on == TODAY
