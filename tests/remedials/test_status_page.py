"""The customer's page: what it shows, what it keeps to itself, what it costs and weighs."""

import gzip
import re
from datetime import date, timedelta
from html import unescape
from io import BytesIO
from pathlib import Path

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image

from inspections.models import DangerNotice, InspectionDue, Limitation, MadeSafe, ObservationPhoto
from jobsite.firm.models import Firm
from jobsite.ledger.photographs import store_photograph
from jobsite.premises.models import PartyAtUnit
from remedials.visits.models import Attendance, Visit, VisitLine
from remedials.works.models import Approval, Proof, ProofPhoto, ProofReview, Waiting, WayOut
from tests.factories import (
    NOON,
    TODAY,
    anybody,
    make_board,
    make_circuit,
    make_inspection,
    make_link,
    make_observation,
    make_party,
    make_remedial,
    make_unit,
    unit_of,
)

pytestmark = pytest.mark.django_db
SHEET = Path(__file__).parents[2] / "jobsite" / "static" / "jobsite" / "status.css"


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture(autouse=True)
def firm(db):
    return Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")


def picture(colour: str) -> bytes:
    out = BytesIO()
    Image.new("RGB", (40, 30), colour).save(out, "JPEG")
    return out.getvalue()


def photo_before(observation, colour: str = "red"):
    file, cleaned = store_photograph(picture(colour), now=NOON)
    size = {"width": cleaned.width, "height": cleaned.height}
    return ObservationPhoto.objects.create(
        observation=observation, file=file, added_by=anybody(), added_at=NOON, **size
    )


def prove(remedial, *, state: str = "stands", accepted: bool = True):
    proof = Proof.objects.create(
        remedial=remedial, state=state, done_by=anybody("engineer"), done_at=NOON, note="secret note"
    )
    if accepted:
        ProofReview.objects.create(proof=proof, decision="accepted", by=anybody(), at=NOON)
    return proof


def photo_after(proof, observation=None, colour: str = "green"):
    file, cleaned = store_photograph(picture(colour), now=NOON)
    size = {"width": cleaned.width, "height": cleaned.height}
    return ProofPhoto.objects.create(
        remedial=proof.remedial,
        proof=proof,
        observation=observation,
        file=file,
        added_by=anybody(),
        added_at=NOON,
        **size,
    )


def opened(client, site, *, unit=None):
    """The page of a new link."""
    _, token = make_link(site, unit=unit)
    return client.get(f"/s/{token}/")


def text_of(response) -> str:
    """What a person reads, blanks run together."""
    body = response.content.decode().split("<main", 1)[1]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))).replace(" .", ".").replace(" ,", ",")


# --- what it says -----------------------------------------------------------------------------------------------------


def test_a_house_never_inspected(client, site):
    said = text_of(opened(client, site))
    assert "Sample House 1 Sample Street, Sampleton, QX1 2AB. As recorded on 3 February 2026." in said
    assert "No inspection is on record here, so this page cannot say whether the installation is safe." in said
    assert "It is neither a certificate nor a condition report" in said
    assert "Nothing is recorded open." in said
    assert "No date is recorded." in said
    assert "Ask Sample Sparks: 01632 960123, office@example.com." in said


def test_nothing_dangerous_is_tied_to_its_inspection_and_its_limits(client, site):
    inspection = make_inspection(site, outcome="satisfactory", extent="All fixed wiring")
    Limitation.objects.create(inspection=inspection, what="the loft", why="no ladder")
    InspectionDue.objects.create(
        unit=unit_of(site), due_on=date(2031, 2, 3), basis="A sample rule.", by_law=True, shows_from=TODAY
    )
    said = text_of(opened(client, site))
    assert (
        "No dangerous item is recorded open, from the inspection of 3 February 2026. It did not cover: the loft."
        in said
    )
    assert "Periodic inspection of 3 February 2026 Outcome, as it was on that day satisfactory Work since then" in said
    assert "What it was to cover All fixed wiring" in said
    assert "the loft (no ladder) left out of the inspection of 3 February 2026" in said
    assert "Due by 3 February 2031. A sample rule. A legal limit can change: check the current law." in said


def test_an_item_of_each_kind_says_what_will_happen(client, site):
    by = anybody()
    board = make_board(site, "Garage board")
    make_inspection(site)
    held = make_observation(
        site, "Bare conductor", code="C1", board=board, circuit=make_circuit(board, 5), made_safe=True,
        remedy_by=date(2026, 2, 1), remedy_basis="The firm's policy for C1.", first_recorded_on=date(2022, 5, 1),
    )  # fmt: skip
    MadeSafe.objects.create(
        observation=held, how="locked", what="padlock", agreed_with="Petra", lock="L7", key_holder="Olive Deskworth",
        at=NOON, by=by, look_again_on=TODAY,
    )  # fmt: skip
    notice = DangerNotice.objects.create(
        number=1, site=site, why="bare", advised="keep away", given_to="Petra", how="hand", given_at=NOON, given_by=by
    )
    notice.observations.add(held)
    booked = make_observation(site, "Cracked socket", code="C2")
    remedial = make_remedial(booked, stage="booked", work="Fit a new socket")
    visit = Visit.objects.create(
        number=1, site=site, start=NOON + timedelta(days=6), end=NOON + timedelta(days=6, hours=2), access="code 4711",
        booked_by=by, booked_at=NOON,
    )  # fmt: skip
    Attendance.objects.create(visit=visit, engineer=by, start=visit.start, end=visit.end)
    VisitLine.objects.create(visit=visit, remedial=remedial)
    declined = make_observation(site, "No earth found", code="FI")
    no = make_remedial(declined, stage="declined", work="Trace the earth")
    WayOut.objects.create(
        remedial=no, stage="declined", who="Petra Landlady", on=TODAY, offer_again_on=date(2026, 5, 3),
        recorded_by=by, recorded_at=NOON,
    )  # fmt: skip
    make_observation(site, "Buzzing box", code="", reported_by="Tina Tenant")
    waits = make_observation(site, "No labels", code="C3")
    Waiting.objects.create(
        site=site, observation=waits, on_whom="Network Ned", for_what="labels", asked_on=TODAY,
        promised_for=date(2026, 3, 1), chase_on=TODAY, recorded_by=by,
    )  # fmt: skip
    said = text_of(opened(client, site))
    for sentence in (
        "2 dangerous items are open: 1 made safe for now on 3 February 2026, 1 with the repair booked for 9 February 2026.",
        "Danger present, but made safe for now. Garage board, way 5L1. First recorded 1 May 2022.",
        "Made safe for now on 3 February 2026: isolated and locked. Leave it so: it still has to be put right.",
        "Written notice of the danger was given on 3 February 2026. What it needs is being decided.",
        "To be put right by 1 February 2026 2 days late. The firm's policy for C1.",
        "Fit a new socket: booked for 9 Feb 2026, 12:00–14:00.",
        "Trace the earth: offered, and declined on 3 February 2026; whether it is dangerous stays unknown; we shall ask again on 3 May 2026.",
        "Reported, but no competent person has looked at it yet.",
        "It waits on somebody outside our firm, promised for 1 March 2026. Nothing is planned for it yet.",
    ):
        assert sentence in said
    order = [said.index(text) for text in ("Bare conductor", "Buzzing", "Cracked", "No earth", "No labels")]
    assert order == sorted(order)


def test_danger_that_is_not_made_safe_comes_with_its_caution(client, site):
    held = make_observation(site, "Open joint", code="C1", made_safe=True)
    MadeSafe.objects.create(
        observation=held, how="covered", what="tape", agreed_with="P", at=NOON, by=anybody(), look_again_on=TODAY
    )
    make_observation(site, "Bare conductor", code="C1", board=make_board(site, "DB1"))
    response = opened(client, site)
    said = text_of(response)
    headline = "Danger now: Bare conductor (DB1), not recorded as made safe. Keep away from it."
    assert f'<p class="say">{headline}</p>' in response.content.decode()
    assert said.index("Open: 2") < said.index("C1 Bare conductor") < said.index("Open joint")
    assert "Do not touch or use what is described below as a danger" in said
    assert "After an electric shock, or with smoke or fire, ring 999." in said


def test_no_alarm_for_what_is_not_a_danger_now(client, site):
    make_observation(site, "Cracked socket", code="C2")
    assert "ring 999" not in text_of(opened(client, site))


def test_closed_items_with_pictures_and_how_far_the_report_is_done(client, site):
    inspection = make_inspection(site, other_firm=True, firm_name="Elsewhere Electrics", outcome_written="satisfactory")
    done = make_observation(
        site, "Cover missing", inspection=inspection, ended="remedied", ended_on=TODAY, owner=None, step_by=None
    )
    make_observation(site, "Second defect", inspection=inspection, reviewed=False)
    make_observation(site, "Third", code="", inspection=inspection, ended="no-code", ended_on=TODAY)
    before, proof = photo_before(done), prove(make_remedial(done, stage="reviewed", work="Fit a cover"))
    after = photo_after(proof)
    response = opened(client, site)
    said, body = text_of(response), response.content.decode()
    assert "Recorded as C2, potentially dangerous. First recorded 3 February 2026." in said
    assert "Put right by 3 February 2026. A qualified person has reviewed the proof. Fit a cover." in said
    assert "Third It has no code. First recorded 3 February 2026. Looked at again" in said
    assert "a qualified person found that it needs no code." in said
    assert "Periodic inspection of 3 February 2026, by Elsewhere Electrics" in said
    assert "unsatisfactory by the rule of its edition; the report itself says satisfactory" in said
    assert "1 of the 2 items of code C1, C2 or FI in it is recorded as complete." in said
    assert "1 item of another firm's report has not been looked over by us yet." in said
    assert re.findall(r'<img src="([^"]+)" loading="lazy" width="40" height="30" alt="([^"]+)">', body) == [
        (f"photos/{before.pk}/", "Before: Cover missing"),
        (f"photos/{after.pk}/", "After the work: Cover missing"),
    ]


def test_what_continues_an_item_at_another_unit_counts_but_is_not_shown(client, site):
    flat = make_unit(site, "Flat 1")
    inspection = make_inspection(site, units=[flat])
    ended = {"inspection": inspection, "unit": flat, "ended": "continued", "ended_on": TODAY}
    one, two = make_observation(site, **ended), make_observation(site, **ended)
    make_observation(site, "In the hall", continues=one, ended="remedied", ended_on=TODAY)
    make_observation(site, "In the hall too", continues=two)
    said = text_of(opened(client, site, unit=flat))
    assert "1 of the 2 items of code C1, C2 or FI in it is recorded as complete." in said
    assert "In the hall" not in said


def test_pictures_of_proof_that_does_not_stand_are_not_shown(client, site):
    observation = make_observation(site)
    photo_after(prove(make_remedial(observation, stage="approved"), state="sent-back", accepted=False))
    assert "<img" not in opened(client, site).content.decode()


def test_a_survey_counts_only_where_there_is_no_full_inspection_and_a_call_out_never(client, site):
    make_inspection(site, kind="call-out", inspected_on=date(2026, 2, 2))
    assert "No inspection is on record here" in text_of(opened(client, site))
    make_inspection(site, kind="survey", inspected_on=date(2026, 2, 1))
    assert "from the visual survey of 1 February 2026." in text_of(opened(client, site))
    make_inspection(site, kind="initial", inspected_on=date(2020, 1, 1))
    assert "from the initial verification of 1 January 2020." in text_of(opened(client, site))


def test_boards_left_out_are_said(client, site):
    boards = [make_board(site, f"Board {n}") for n in (1, 2, 3)]
    make_inspection(site).boards.set(boards[:2])
    assert "3 February 2026. It named 2 of the 3 boards on record." in text_of(opened(client, site))


def test_drafts_and_withdrawn_items_are_not_spoken_of(client, site):
    make_observation(site, "Half written", draft=True)
    make_observation(site, "Taken back", ended="withdrawn", ended_on=TODAY)
    make_inspection(site, issued=False)
    said = text_of(opened(client, site))
    assert "Half written" not in said
    assert "Taken back" not in said
    assert "No inspection is on record here" in said


# --- what it keeps to itself ------------------------------------------------------------------------------------------


def test_nothing_private_is_shown(client, site):
    site.access_notes = "alarm code 4711"
    site.save(update_fields=["access_notes"])
    observation = make_observation(site, "Cracked socket", reported_by="Tina Tenant", place="hall")
    remedial = make_remedial(observation, stage="approved", see_to_first="asbestos, ask Fred")
    Approval.objects.create(
        remedial=remedial, given_by="Petra Landlady", how="phone", given_on=TODAY, pounds=480, recorded_by=anybody(),
        recorded_at=NOON, reference="PO-99",
    )  # fmt: skip
    PartyAtUnit.objects.create(unit=unit_of(site), party=make_party("Ada Owner"), role="owner", since=TODAY)
    body = opened(client, site).content.decode()
    assert "Cracked socket" in body
    for secret in ("4711", "Tina", "Petra", "Ada", "480", "PO-99", "Fred", "Body", "secret note", "01632 960111"):
        assert secret not in body


@pytest.fixture
def flats(site):
    """A house of two flats: each with an item, a picture, a limitation and a remedial; and one remedial for both."""
    first, second = make_unit(site, "Flat 1"), make_unit(site, "Flat 2")
    site.units.filter(whole_site=True).delete()
    items = []
    for flat in (first, second):
        item = make_observation(site, f"Defect of {flat}", unit=flat)
        make_remedial(item, work=f"Work in {flat}", unit=flat)
        photo_before(item)
        inspection = make_inspection(site, units=[flat])
        Limitation.objects.create(inspection=inspection, unit=flat, what=f"the loft of {flat}")
        InspectionDue.objects.create(unit=flat, due_on=date(2031, 2, 3), basis=f"For {flat}.", shows_from=TODAY)
        items.append(item)
    shared = make_remedial(*items, stage="reviewed", work="Tidy Flat 1 and Flat 2", unit=first)
    photo_after(prove(shared))
    return first, second


def test_a_units_link_shows_nothing_of_another_unit(client, site, flats):
    first, second = flats
    board = make_board(site, "Board of Flat 2")
    board.units.add(second)
    whole = make_inspection(site, units=flats)
    Limitation.objects.create(inspection=whole, board=board, what="Flat 2's board")
    response = opened(client, site, unit=first)
    body = response.content.decode()
    assert "Defect of Flat 1" in body
    assert "Work in Flat 1" in body
    assert "the loft of Flat 1" in body
    assert "For Flat 1." in body
    assert "Flat 2" not in body
    assert body.count("<img") == 1  # the picture of both flats' work is nobody's alone


def test_a_sites_link_shows_all_units_by_name(client, site, flats):
    said = text_of(opened(client, site))
    assert "Potentially dangerous: it can become a danger, for example when something else fails. Flat 2." in said
    assert "Tidy Flat 1 and Flat 2: this part is done, and a qualified person has reviewed the proof." in said
    assert "Flat 1: due by 3 February 2031. For Flat 1." in said


def test_a_unit_without_an_inspection_is_named(client, site, flats):
    make_unit(site, "Flat 3")
    assert "No inspection is on record for Flat 3." in text_of(opened(client, site))


def test_photos_open_only_from_their_own_link(client, site, flats):
    first, second = flats
    own = ObservationPhoto.objects.get(observation__unit=first)
    others = ObservationPhoto.objects.get(observation__unit=second)
    shared = ProofPhoto.objects.get()
    link, token = make_link(site, unit=first)
    answered = client.get(f"/s/{token}/photos/{own.pk}/")
    assert (answered.status_code, answered["Content-Type"]) == (200, "image/jpeg")
    assert Image.open(BytesIO(answered.content)).size == (40, 30)
    assert [client.get(f"/s/{token}/photos/{pk}/").status_code for pk in (others.pk, shared.pk, site.pk)] == [404] * 3
    _, of_site = make_link(site)
    assert [client.get(f"/s/{of_site}/photos/{p.pk}/").status_code for p in (own, others, shared)] == [200] * 3
    link.refresh_from_db()
    assert link.uses == 0


# --- the link ---------------------------------------------------------------------------------------------------------


def test_headers_and_no_cookie(client, site):
    client.force_login(anybody())
    for response in (opened(client, site), client.get("/s/wrong/"), client.post("/s/wrong/")):
        assert response["Cache-Control"] == "no-store"
        assert response["Referrer-Policy"] == "no-referrer"
        assert response["X-Robots-Tag"] == "noindex, nofollow, noarchive"
        assert response.cookies == {}
        assert "Cookie" not in response.get("Vary", "")
        assert "<script" not in response.content.decode()


def test_a_wrong_an_expired_and_a_withdrawn_link_answer_alike(client, site):
    _, expired = make_link(site, made_at=NOON - timedelta(days=9), expires_at=NOON)
    _, withdrawn = make_link(site, withdrawn_at=NOON)
    _, of_nothing = make_link(site)
    _, elsewhere = make_link(site, unit=site)  # a unit that is not there
    answers = [client.get(f"/s/{token}/") for token in ("wrong", "é" * 400, expired, withdrawn, elsewhere)]
    assert {a.status_code for a in answers} == {404}
    assert len({a.content for a in answers}) == 1
    assert "Ask Sample Sparks: 01632 960123" in text_of(answers[0])
    assert client.get(f"/s/{of_nothing}/").status_code == 200


def test_without_a_number_to_ring_the_firm_is_named(client, firm):
    firm.phone = firm.email = ""
    firm.save(update_fields=["phone", "email"])
    assert "Ask Sample Sparks, who gave you the link." in text_of(client.get("/s/wrong/"))


def test_only_opening_the_page_counts_and_nothing_else_changes(client, site):
    link, token = make_link(site)
    with CaptureQueriesContext(connection) as captured:
        assert client.get(f"/s/{token}/").status_code == 200
    written = [q["sql"].split('"')[1] for q in captured if not q["sql"].startswith("SELECT")]
    assert written == ["people_privatelink"]
    head = client.head(f"/s/{token}/")
    assert (head.status_code, head.content) == (200, b"")
    assert client.post(f"/s/{token}/").status_code == 405
    link.refresh_from_db()
    assert (link.uses, link.last_used_at) == (1, NOON)


# --- cost and weight --------------------------------------------------------------------------------------------------


def filled(site, items: int):
    """A site with that many open and as many closed items, each with a remedial, pictures and a made-safe."""
    inspection = make_inspection(site)
    for n in range(items):
        item = make_observation(site, f"Cover missing at board {n}", place=f"room {n}", inspection=inspection)
        make_remedial(item, work=f"Fit cover {n}")
        MadeSafe.objects.create(
            observation=item, how="covered", what="tape", agreed_with="P", at=NOON, by=anybody(), look_again_on=TODAY
        )
        done = make_observation(site, f"Socket {n} cracked", inspection=inspection, ended="remedied", ended_on=TODAY)
        photo_before(done)
        photo_after(prove(make_remedial(done, stage="reviewed", work=f"Change socket {n}")))
        Limitation.objects.create(inspection=inspection, what=f"cupboard {n}")
    return site


@pytest.mark.parametrize("items", [1, 10])
def test_statements(client, site, items, django_assert_num_queries):
    _, token = make_link(filled(site, items))
    with django_assert_num_queries(11):
        assert client.get(f"/s/{token}/").status_code == 200


def test_page_and_sheet_weigh_at_most_14_kb(client, site):
    """With twenty open and twenty closed items, none of them the same; pictures apart."""
    page = opened(client, filled(site, 20)).content
    assert len(gzip.compress(page)) + len(gzip.compress(SHEET.read_bytes())) <= 14 * 1024
    assert page.count(b'<link rel="stylesheet"') == 1


def test_more_than_fits_is_counted_not_dropped_in_silence(client, site, monkeypatch):
    monkeypatch.setattr("remedials.status.queries.MOST_OPEN", 2)
    monkeypatch.setattr("remedials.status.queries.MOST_DONE", 1)
    said = text_of(opened(client, filled(site, 3)))
    assert "3 dangerous items are open" in said
    assert "1 more are not shown here: ask us for the list." in said
    assert "2 earlier ones are not shown here." in said
