"""The customer's page: what it shows, what it keeps to itself, what it costs and weighs."""

import re
from datetime import date, timedelta
from html import unescape
from io import BytesIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image

from inspections.models import DangerNotice, InspectionDue, Limitation, MadeSafe, ObservationPhoto
from inspections.standards.assessment import Code, overall_assessment
from inspections.standards.editions import Edition
from jobsite.ledger.photographs import store_photograph
from jobsite.premises.models import PartyAtUnit
from remedials.status.facts import scope_at
from remedials.status.proof.standing import status
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
    make_visit,
    unit_of,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon", "firm")]


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
    assert "No inspection is on record here, so it is not known whether the installation is safe." in said
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
    make_observation(site, "Tina says that the box buzzes", code="", reported_by="Tina Tenant", inspection=None)
    waits = make_observation(site, "No labels", code="C3")
    Waiting.objects.create(
        site=site, observation=waits, on_whom="Network Ned", for_what="labels", asked_on=TODAY,
        promised_for=date(2026, 3, 1), chase_on=TODAY, recorded_by=by,
    )  # fmt: skip
    said = text_of(opened(client, site))
    for sentence in (
        "2 dangerous items are open: 1 made safe for now on 3 February 2026, 1 not made safe.",
        "Their repairs: 1 booked for 9 February 2026; 1 not booked yet.",
        "We are to be there next on 9 Feb 2026, 12:00–14:00.",
        "Danger present, but made safe for now. Garage board, way 5L1. First recorded 1 May 2022.",
        "Made safe for now on 3 February 2026: isolated and locked. Leave it so: it still has to be put right.",
        "Written notice of the danger was given on 3 February 2026. What it needs is being decided.",
        "To be put right by 1 February 2026 2 days late. The firm's policy for C1.",
        "Fit a new socket: booked for 9 Feb 2026, 12:00–14:00.",
        "Trace the earth: offered, and declined on 3 February 2026; the investigation is unresolved: whether it is dangerous stays unknown; we shall ask again on 3 May 2026.",
        "Reported, but no competent person has looked at it yet.",
        "It waits on somebody outside our firm, promised for 1 March 2026. Nothing is planned for it yet.",
    ):
        assert sentence in said
    order = [
        said.index(text) for text in ("Bare conductor", "A defect was reported", "Cracked", "No earth", "No labels")
    ]
    assert "Tina" not in said  # the caller's words are no landlord's to read before somebody competent looked at it
    assert order == sorted(order)


@pytest.mark.parametrize(
    ("stages", "words"),
    [
        (["booked"], "repair booked for 5 February 2026."),
        (["booked", "reviewed", "cancelled", "by-others"], "repair booked for 5 February 2026."),
        (["booked", "to-price"], "repair not booked yet."),
        (["booked", "quoted"], "repair waiting for an answer to our quote."),
        (["booked", "approved"], "repair agreed, the day still to be fixed."),
        (["booked", "declined"], "repair offered, and declined."),
        (["done", "by-others"], "repair done, the proof still to be reviewed by a qualified person."),
        (["by-others"], "repair not booked yet."),
        (["cancelled"], "repair not booked yet."),
        ([], "repair not booked yet."),
    ],
)
def test_a_repair_is_booked_or_done_only_where_all_of_it_is(client, site, stages, words):
    item = make_observation(site)
    for stage in stages:
        remedial = make_remedial(item, stage=stage)
        if stage == "booked":
            make_visit(site, remedial, start=NOON + timedelta(days=2))
    safe = "" if words.startswith("repair done") else "not made safe, "
    assert f"1 dangerous item is open: {safe}{words}" in text_of(opened(client, site))


def test_a_board_that_nobody_verified_is_named_in_quotes(client, site):
    board = make_board(site, "Barn", designation_verified=False)
    make_observation(site, "Cracked", board=board, place="by the door")
    said = text_of(opened(client, site))
    assert "when something else fails. “Barn”, by the door. First recorded" in said


def test_a_visit_that_is_over_is_no_promise(client, site):
    remedial = make_remedial(make_observation(site), stage="booked", work="Fit a cover")
    make_visit(site, remedial, start=NOON - timedelta(days=2))
    said = text_of(opened(client, site))
    assert "repair booked for 1 February 2026, with no outcome recorded yet." in said
    assert "Fit a cover: was booked for 1 Feb 2026, 12:00–14:00; what came of it is not recorded yet." in said
    assert "We are to be there next" not in said


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
    assert said.index("Open: 2 C1 Item") < said.index("Bare conductor Danger present") < said.index("Open joint")
    assert "Do not touch or use what is described here as a danger" in said
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
    assert "Put right on 3 February 2026. A qualified person has reviewed the proof. Fit a cover." in said
    assert "Third It has no code. First recorded 3 February 2026. Looked at again" in said
    assert "a qualified person found that it needs no code." in said
    assert "Periodic inspection of 3 February 2026, by Elsewhere Electrics" in said
    assert "unsatisfactory by the rule of its edition; the report itself says satisfactory" in said
    assert "1 of the 2 items of code C1, C2 or FI in it is recorded as complete." in said
    assert "1 item of another firm's report has not been looked over by us yet." in said
    picture = r'<a href="([^"]+)"><img src="([^"]+)" loading="lazy" width="40" height="30" alt="([^"]+)"></a>'
    assert re.findall(picture, body) == [
        (f"photos/{before.pk}/", f"photos/{before.pk}/?small", "Before: Cover missing"),
        (f"photos/{after.pk}/", f"photos/{after.pk}/?small", "After the work: Cover missing"),
    ]


def test_what_continues_an_item_at_another_unit_counts_but_is_not_shown(client, site):
    flat = make_unit(site, "Flat 1")
    inspection = make_inspection(site, units=[flat])
    ended = {"inspection": inspection, "unit": flat, "ended": "continued", "ended_on": TODAY}
    one, two = make_observation(site, **ended), make_observation(site, **ended)
    make_observation(site, "In the hall", continues=one, ended="remedied", ended_on=TODAY)
    make_observation(site, "In the hall too", continues=two)
    said = text_of(opened(client, site, unit=flat))
    assert "1 of the 2 items of code C1, C2 or FI in it for Flat 1 is recorded as complete." in said
    assert "In the hall" not in said


def test_of_a_report_on_several_homes_a_units_page_counts_only_its_own_items(client, site):
    site.units.filter(whole_site=True).delete()
    one, two, three = (make_unit(site, f"Flat {n}") for n in (1, 2, 3))
    inspection = make_inspection(site, units=[one, two, three])
    make_observation(site, inspection=inspection, unit=one)
    make_observation(site, inspection=inspection, unit=two, ended="remedied", ended_on=TODAY)
    coded = "of code C1, C2 or FI"
    said = text_of(opened(client, site, unit=one))
    assert f"The one item {coded} in it for Flat 1 is not recorded as complete." in said
    said = text_of(opened(client, site, unit=two))
    assert f"The one item {coded} in it for Flat 2 is recorded as complete." in said
    assert f"It lists no item {coded} for Flat 3." in text_of(opened(client, site, unit=three))
    assert f"1 of the 2 items {coded} in it is recorded as complete." in text_of(opened(client, site))


def test_pictures_of_proof_that_does_not_stand_are_not_shown(client, site):
    observation = make_observation(site)
    photo_after(prove(make_remedial(observation, stage="approved"), state="sent-back", accepted=False))
    assert "<img" not in opened(client, site).content.decode()


def test_a_survey_stands_beside_the_full_inspection_before_it_and_a_call_out_never(client, site):
    make_inspection(site, kind="call-out", inspected_on=date(2026, 2, 2))
    assert "No inspection is on record here" in text_of(opened(client, site))
    make_inspection(site, kind="survey", inspected_on=date(2026, 2, 1))
    assert "from the visual survey of 1 February 2026." in text_of(opened(client, site))
    make_inspection(site, kind="initial", inspected_on=date(2020, 1, 1))
    assert "from the initial verification of 1 January 2020 and the visual survey of 1 February 2026." in text_of(
        opened(client, site)
    )


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
        board = make_board(site, f"Board {n}")
        item = make_observation(
            site, f"Cover missing at board {n}", place=f"room {n}", inspection=inspection, board=board
        )
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
    number = filled(site, items).observations.order_by("number")[0].number
    _, token = make_link(site)
    for more, statements in (("", 23), ("?open=1", 13), (f"?item={number}", 13), ("?reports", 11), ("?drawing", 17)):
        with django_assert_num_queries(statements):
            assert client.get(f"/s/{token}/{more}").status_code == 200


def test_what_does_not_fit_stands_on_further_pages(client, site, monkeypatch):
    monkeypatch.setattr("remedials.status.queries.MOST_OPEN", 2)
    monkeypatch.setattr("remedials.status.queries.MOST_DONE", 1)
    monkeypatch.setattr("remedials.status.queries.MOST_FURTHER", 2)
    _, token = make_link(filled(site, 4))
    body = client.get(f"/s/{token}/").content.decode()
    assert "4 dangerous items are open" in body
    assert 'Open items that are not on this page: 2. <a class="button" href="?open=3">The other open items</a>' in body
    assert (
        'Closed items that are not on this page: 3. <a class="button" href="?closed=2">Earlier closed items</a>' in body
    )
    shown = [re.findall(r"Cover missing at board (\d)", body)]
    further = client.get(f"/s/{token}/?open=3").content.decode()
    assert "Open items: 3 to 4 of 4" in further
    assert '<a href="?open=1">Before</a>' in further
    assert "Next</a>" not in further
    shown.append(re.findall(r"Cover missing at board (\d)", further))
    assert [sorted(set(some)) for some in shown] == [["0", "1"], ["2", "3"]]
    closed = client.get(f"/s/{token}/?closed=2").content.decode()
    assert "Closed items: 2 to 3 of 4" in closed
    assert '<a href="?closed=4">Next</a>' in closed


# --- reports ----------------------------------------------------------------------------------------------------------


def test_a_newer_survey_is_named_beside_an_older_and_better_report(client, site):
    boards = [make_board(site, f"Board {n}") for n in (1, 2, 3)]
    old = make_inspection(site, inspected_on=date(2022, 2, 10), outcome="satisfactory")
    old.boards.set(boards[:2])
    survey = make_inspection(site, kind="survey", outcome="unsatisfactory")
    Limitation.objects.create(inspection=survey, what="the pump house")
    make_observation(site, "Cover still missing", inspection=survey)
    said = text_of(opened(client, site))
    assert (
        "What is known here is from the inspection of 10 February 2022 and the visual survey of 3 February 2026. "
        "They did not cover: the pump house. The inspection named 2 of the 3 boards on record."
    ) in said
    reports = said.split(" Work since then ")
    assert reports[0].endswith("Visual survey of 3 February 2026 Outcome, as it was on that day unsatisfactory")
    assert "Periodic inspection of 10 February 2022 Outcome, as it was on that day satisfactory" in reports[1]


@pytest.mark.parametrize(
    ("codes", "edition", "reason"),
    [
        (["FI"], "2018+A4:2026", True),
        (["FI"], "2018+A2:2022", False),
        (["C3"], "2018+A4:2026", False),
    ],
)
def test_a_satisfactory_report_with_an_item_for_investigation_says_why(client, site, codes, edition, reason):
    """FACTS 1.2: under A4:2026 (guidance of Appendix 6, read in secondary pages; verify) an FI alone does not count."""
    assessed = overall_assessment([Code(code) for code in codes], Edition(edition))
    report = make_inspection(site, edition=edition, outcome=assessed.assessment, outcome_basis=assessed.basis)
    for code in codes:
        make_observation(site, code=code, inspection=report)
    flat = make_unit(site, "Flat 9")
    report.units.add(flat)
    why = (
        ": by its edition, BS 7671:2018+A4:2026, an FI alone does not make it unsatisfactory, but must be investigated"
    )
    assert (f"satisfactory{why} Work since then" in text_of(opened(client, site))) is reason
    assert why not in text_of(opened(client, site, unit=flat))  # the item is nobody else's business
    outcome = status(scope_at(site.pk), now=NOON).facts["reports"][0]["outcome_why"]
    assert bool(outcome) is reason


# --- what to do until then --------------------------------------------------------------------------------------------


def test_what_a_notice_advises_stands_at_its_item_also_as_it_is_carried_on(client, site):
    before = make_observation(site, "No earth at the light", ended="continued", ended_on=TODAY)
    item = make_observation(site, "Still no earth", continues=before)
    notice = DangerNotice.objects.create(
        number=31, site=site, why="bare", advised="Do not use the light until it is earthed.", given_to="Petra",
        how="hand", given_at=NOON, given_by=anybody(),
    )  # fmt: skip
    notice.observations.add(before)
    response = opened(client, site)
    said = text_of(response)
    assert "What to do until then stands at the items below: ask us where it does not." in said
    assert "Until it is put right: Do not use the light until it is earthed." in said
    assert f"Written notice of the danger was given on 3 February 2026, when this was item {before.number}." in said
    (address,) = re.findall(r'href="([^"]+)">Danger notice 31</a> \(PDF\)</p>', response.content.decode())
    assert client.get(f"{response.request['PATH_INFO']}{address}").status_code == 200
    (row,) = status(scope_at(site.pk), now=NOON).facts["open"]
    assert row["advised"] == "Until it is put right: Do not use the light until it is earthed."
    assert row["notice"] == f"danger notice 31 given on 3 Feb 2026, when this was item {before.number}"
    assert item.number != before.number


def test_of_a_notice_that_is_also_about_another_unit_only_that_it_was_given(client, site, flats):
    one, two = flats[:2]
    notice = DangerNotice.objects.create(
        number=31, site=site, why="bare", advised="Flat 2 keeps out", given_to="P", how="hand", given_at=NOON,
        given_by=anybody(),
    )  # fmt: skip
    notice.observations.set([make_observation(site, unit=one), make_observation(site, unit=two)])
    said = text_of(opened(client, site, unit=one))
    assert "Written notice of the danger was given on 3 February 2026." in said
    assert "Flat 2" not in said
    assert "Danger notice" not in said


def test_a_promise_of_others_that_is_past_is_late(client, site):
    item = make_observation(site, code="FI")
    Waiting.objects.create(
        site=site, observation=item, on_whom="N", for_what="l", asked_on=TODAY - timedelta(days=40),
        promised_for=TODAY - timedelta(days=24), chase_on=TODAY, recorded_by=anybody(),
    )  # fmt: skip
    waits = "waits on somebody outside our firm, promised for 10 January 2026, 24 days late"
    assert f"It {waits}." in text_of(opened(client, site))
    assert status(scope_at(site.pk), now=NOON).facts["open"][0]["waits"] == waits


def test_a_day_that_another_firms_report_set_says_whose_it_is_and_since_when_it_is_known(client, site):
    report = make_inspection(
        site, other_firm=True, firm_name="Elsewhere Electrics", inspected_on=date(2022, 2, 10), issued_at=NOON
    )
    first = make_observation(site, inspection=report, ended="continued", ended_on=TODAY)
    make_observation(
        site, continues=first, inspection=make_inspection(site, kind="survey"), remedy_by=date(2022, 3, 9),
        remedy_basis=f"As observation {first.number}, which this continues. The firm's policy for C2: 28 days.",
    )  # fmt: skip
    whose = "Counted from the report by Elsewhere Electrics of 10 February 2022, with us since 3 February 2026."
    assert f"late. The firm's policy for C2: 28 days. {whose}" in text_of(opened(client, site))
    assert status(scope_at(site.pk), now=NOON).facts["open"][0]["basis"].endswith(whose)


def test_page_and_documents_call_a_place_alike(client, site):
    board = make_board(site, "Slip hoist")
    make_observation(site, board=board, circuit=make_circuit(board, 3), place="by the gate")
    facts = status(scope_at(site.pk), now=NOON).facts
    assert f"{facts['open'][0]['where']}. First recorded" in text_of(opened(client, site))
