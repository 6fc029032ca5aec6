"""The page of one remedial: its stage, what proves it, who said yes and who looked, and what may be done with it."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.ledger.photographs import store_photograph
from remedials.desk.queries.remedial import stage_line
from remedials.visits.models import Attendance, Visit, VisitLine
from remedials.works.models import Approval, Proof, ProofPhoto, ProofReview, WayOut
from remedials.works.operations import Material, leave_remedial, record_power
from remedials.works.states import Stage
from tests.factories import (
    NOON,
    TODAY,
    grant_access,
    make_observation,
    make_qualified,
    make_remedial,
    make_see_to,
    make_site,
    make_unit,
)
from tests.remedials.desk import acts_of, hold, hrefs, read, statements, text_of, wait_on
from tests.remedials.work import ask_reading, close, on_the_way, photo_bytes, take

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


def page(row) -> str:
    return reverse("desk:remedial", args=[row.pk])


def prove(remedial, by, **more):
    return Proof.objects.create(remedial=remedial, done_by=by, done_at=NOON, **more)


def shoot(remedial, by, *, proof=None, observation=None, shade: int = 10):
    file, shot = store_photograph(photo_bytes(shade), now=NOON)
    return ProofPhoto.objects.create(
        remedial=remedial, proof=proof, observation=observation, file=file, width=shot.width, height=shot.height,
        added_by=by, added_at=NOON,
    )  # fmt: skip


def book(remedial, engineer, by, *, number: int = 1, **more):
    start = NOON + timedelta(days=number)
    end = start + timedelta(hours=2)
    visit = Visit.objects.create(
        number=number, site=remedial.site, start=start, end=end, booked_by=by, booked_at=NOON, **more
    )
    VisitLine.objects.create(visit=visit, remedial=remedial, active=visit.state == "booked")
    Attendance.objects.create(visit=visit, engineer=engineer, start=start, end=end, cancelled=visit.state != "booked")
    return visit


# --- stage and work ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stage", "reviewed", "line"),
    [
        (Stage.TO_PRICE, True, "[to price] approved booked done reviewed"),
        (Stage.QUOTED, True, "to price [quoted] approved booked done reviewed"),
        (Stage.APPROVED, True, "to price [approved] booked done reviewed"),
        (Stage.DONE, True, "to price approved booked [done] reviewed"),
        (Stage.DONE, False, "to price approved booked [done]"),
        (Stage.REVIEWED, False, "to price approved booked done [reviewed]"),
        (Stage.DECLINED, True, "[declined]"),
        (Stage.BY_OTHERS, True, "[done by others]"),
    ],
)
def test_the_line_of_stages(stage, reviewed, line):
    way = stage_line(stage, reviewed=reviewed)
    assert " ".join(f"[{one['words']}]" if one["css"] == "here" else one["words"] for one in way) == line


def test_the_work_and_what_it_needs(at_desk, office):
    site = make_site("Flats")
    seen = make_observation(site, unit=make_unit(site, "Flat 2"), by=office)
    remedial = make_remedial(
        seen, work="Fit a cover", minutes=90, power_off=True, see_to_first="asbestos register", skill="electrician",
        certificate_kind="minor works", step_by=TODAY - timedelta(days=1), by=office,
    )  # fmt: skip
    words = read(at_desk, page(remedial))
    assert f"Flats, Flat 2 Fit a cover Remedial {remedial.number}" in words
    assert "Olive Deskworth has the next step, by yesterday 1 day late ." in words
    assert "Skill electrician Time 90 minutes Power must go off See to first asbestos register" in words
    assert "Certificate minor works" in words
    assert "prove dead with an approved tester" in words


def test_what_it_puts_right(at_desk, site, office, engineer):
    held = make_observation(
        site, "Live parts", code="C1", place="hob", remedy_by=TODAY, remedy_basis="7 days", by=office
    )
    hold(held, by=engineer, look_again_on=TODAY + timedelta(days=1))
    over = make_observation(site, "Blank missing", code="C3", ended="remedied", ended_on=TODAY, by=office)
    words = read(at_desk, page(make_remedial(over, held, by=office)))
    assert (
        "C1 made safe Live parts hob Made safe, still open: isolated and locked, key with Dirk, look again tomorrow "
        "Remedy by today · 7 days C3 closed and reviewed Blank missing remedied 3 Feb 2026" in words
    )


def test_who_said_yes(at_desk, office):
    remedial = on_the_way("C2")
    Approval.objects.create(
        remedial=remedial, given_by="Petra", how="phone", given_on=date(2026, 2, 1), pounds=Decimal("1234.50"),
        reference="PO 9", recorded_by=office, recorded_at=NOON,
    )  # fmt: skip
    words = read(at_desk, page(remedial))
    assert "Petra said yes 1 Feb 2026, by telephone £1,234.50, order number PO 9 recorded by Olive Deskworth" in words


def test_visits_booked_and_cancelled(at_desk, office, engineer):
    remedial = on_the_way("C2", stage="booked")
    booked = book(remedial, engineer, office, outage="kitchen off")
    book(remedial, engineer, office, number=2, state="cancelled", cancelled_reason="no access")
    response = at_desk.get(page(remedial))
    words = text_of(response)
    assert "4 Feb 2026, 12:00–14:00 Edwin Wireman Power off: kitchen off" in words
    assert "5 Feb 2026, 12:00–14:00 Edwin Wireman cancelled: no access" in words
    assert reverse("visits:visit", args=[booked.pk]) in hrefs(response)


def test_ways_out_and_waiting(at_desk, office):
    remedial = on_the_way("C2", stage="declined")
    out = {"recorded_by": office, "recorded_at": NOON, "stage": "declined", "on": TODAY}
    WayOut.objects.create(
        remedial=remedial, who="Petra", reason="later", offer_again_on=TODAY + timedelta(days=1), **out
    )
    waiting = wait_on(office, remedial=remedial)
    response = at_desk.get(page(remedial))
    words = text_of(response)
    assert "Declined 3 Feb 2026: Petra later offer again tomorrow, recorded by Olive Deskworth" in words
    assert "network operator : new cut-out" in words
    assert reverse("works:chase", args=[waiting.pk]) in hrefs(response)


# --- proof ------------------------------------------------------------------------------------------------------------


def test_a_closing_shows_its_readings_with_limit_and_basis(at_desk, engineer):
    remedial = on_the_way("C2")
    circuit = ask_reading(remedial)
    words = read(at_desk, page(remedial))
    assert "Readings it must pass Board 1, way 1L1 (Kitchen sockets): earth fault loop impedance" in words
    reading = take(circuit, "0.64", by=engineer)
    close(remedial, by=engineer, readings=[reading], note="cover fitted")
    words = read(at_desk, page(remedial))
    assert "Closed by Edwin Wireman, 3 Feb 2026, 12:00 Note cover fitted" in words
    assert f"Board 1, way 1L1 (Kitchen sockets) 0.64 Ω pass at most 1.09 Ω {reading.basis}" in words
    assert "Edwin Wireman, 3 Feb 2026, 12:00 Loop tester, T-1001" in words


def test_photographs_stand_before_and_after(at_desk, site, office, engineer):
    seen = make_observation(site, "Cover missing", by=office)
    remedial = make_remedial(seen, stage="done", by=office)
    photo = shoot(remedial, engineer, proof=prove(remedial, engineer), observation=seen)
    shoot(remedial, engineer, shade=200)
    response = at_desk.get(page(remedial))
    assert [shot["src"] for shot in response.context["proofs"][0]["photos"]] == [
        reverse("works:photo", args=[photo.pk])
    ]
    assert "Cover missing, 3 Feb 2026, 12:00" in text_of(response)


def test_a_review_says_what_it_is(at_desk, office, engineer, qualified):
    remedial = on_the_way("C2", stage="reviewed")
    back = prove(remedial, engineer, state="sent-back")
    ProofReview.objects.create(proof=back, decision="sent-back", reason="too dark", by=qualified, at=NOON)
    ProofReview.objects.create(
        proof=prove(remedial, engineer), decision="accepted", self_review=True, by=qualified, at=NOON
    )
    words = read(at_desk, page(remedial))
    assert (
        "Proof reviewed by Quentin Prover, 3 Feb 2026, 12:00 (their own work, looked at again on a later day): accepted"
        in words
    )
    assert "The proof was reviewed; nobody claims to have reinspected." in words
    assert "sent back Proof reviewed by Quentin Prover, 3 Feb 2026, 12:00: sent back too dark" in words


# --- what may be done -------------------------------------------------------------------------------------------------

PARTS = "When its parts are there"
PLANS = [PARTS, "Edit", "Declined", "Done by others", "Cancel", "Waits on somebody", "Give it a next step"]


@pytest.mark.parametrize(
    ("who", "stage", "acts"),
    [
        ("office", "to-price", ["Price", "Quote", "Record the approval", *PLANS]),
        ("office", "approved", ["Book a visit", *PLANS]),
        (
            "office",
            "booked",
            ["Book another visit", PARTS, "Edit", "Cancel", "Waits on somebody", "Give it a next step"],
        ),
        ("office", "done", ["Reopen", "Waits on somebody", "Give it a next step"]),
        ("office", "declined", ["Offer again", "Done by others"]),
        ("office", "cancelled", ["Reopen"]),
        ("engineer", "to-price", []),
        ("engineer", "approved", ["Close with proof"]),
        ("engineer", "booked", ["Close with proof"]),
        ("engineer", "done", []),
        ("qualified", "done", ["Review the proof", "Reopen"]),
        ("qualified", "reviewed", ["Reopen"]),
    ],
)
def test_what_may_be_done_follows_stage_rights_and_competence(client, request, other_engineer, who, stage, acts):
    remedial = on_the_way("C2", stage=stage)
    if stage in {"done", "reviewed"}:
        prove(remedial, other_engineer)
    client.force_login(request.getfixturevalue(who))
    assert acts_of(client.get(page(remedial))) == acts


def test_a_finished_remedial_asks_for_no_step(client, office, engineer):
    remedial = close(on_the_way("C3"), by=engineer).remedial
    client.force_login(office)
    assert acts_of(client.get(page(remedial))) == ["Reopen"]


def test_why_somebody_may_not_review_is_said(client, office, qualified):
    remedial = on_the_way("C2", stage="done")
    prove(remedial, qualified)
    make_qualified("Quinn Also")
    client.force_login(qualified)
    assert "This is your own work: another qualified person must review it." in read(client, page(remedial))
    client.force_login(office)
    assert "Only a person whom the firm records as qualified may review proof." in read(client, page(remedial))


@pytest.mark.parametrize("stage", ["to-price", "approved", "booked", "done", "declined", "cancelled"])
def test_every_act_leads_somewhere(client, engineer, stage):
    remedial = on_the_way("C2", stage=stage)
    if stage == "done":
        prove(remedial, engineer)
    client.force_login(make_qualified("Quincy All", "manager", "engineer"))
    for act in client.get(page(remedial)).context["acts"]:
        assert client.get(act["href"]).status_code == 200, act


def test_not_yours_is_not_there(client, subcontractor):
    remedial = on_the_way("C2")
    client.force_login(subcontractor)
    assert client.get(page(remedial)).status_code == 404
    grant_access(remedial.site, subcontractor)
    assert client.get(page(remedial)).status_code == 200


def test_what_must_be_seen_to_first_stands_there_and_is_noted_of_this_remedial(client, engineer):
    """What is noted of another remedial of the site is not said; what is noted from here is of this one."""
    remedial = on_the_way("C2")
    other = make_remedial(make_observation(remedial.site), stage="approved")
    make_see_to(remedial.site, what="Ask the harbour master", remedial=remedial)
    make_see_to(remedial.site, what="Ask for the register")
    make_see_to(remedial.site, what="Scaffold for the tower", remedial=other)
    client.force_login(engineer)
    said = text_of(shown := client.get(page(remedial)))
    assert "Ask the harbour master" in said
    assert "Ask for the register" in said
    assert "Scaffold" not in said
    new = f"/sites/{remedial.site_id}/to-see-to/new/?remedial={remedial.pk}"
    assert new in hrefs(shown)
    assert f'<option value="{remedial.pk}" selected>' in client.get(new).content.decode()
    assert client.get(f"{new}x").status_code == 200


@pytest.mark.parametrize("size", [1, 10])
def test_the_page_costs_twenty_five_statements_at_any_size(client, office, engineer, size):
    """Session, person, when the reminders ran, the remedial, its observations, proofs, their photos and readings, the
    required readings, what it takes besides time, what must be seen to first, the boards it is about, the
    person's competence twice, what stints came to and what was used, power steps."""
    client.force_login(make_qualified("Quinn Also", "manager"))
    site = make_site(earthing="TN-C-S")
    remedial = make_remedial(*[make_observation(site, by=office) for _ in range(size)], stage="done", by=office)
    for n in range(size):
        circuit = ask_reading(remedial, designation=f"Circuit {n}")
        proof = prove(remedial, engineer, state="beside" if n else "stands")
        proof.readings.add(take(circuit, "0.64", by=engineer))
        shoot(remedial, engineer, proof=proof, shade=20 * n)
        book(remedial, engineer, office, number=n + 1, state="cancelled", cancelled_reason="rain")
        wait_on(office, remedial=remedial)
        leave(remedial, engineer)
    with statements() as sql:
        client.get(page(remedial))
    assert len(sql) == 25


def leave(remedial, engineer):
    used = [Material("Cable 2.5 mm²", Decimal(2), "m"), Material("Clip", Decimal(3))]
    return leave_remedial(
        remedial, id=new_id(), came="could-not", because="No key", minutes=15, used=used, by=engineer, now=NOON
    )


def test_what_came_of_it_on_site_is_told_to_the_office(client, office, engineer):
    remedial = on_the_way("C2", stage="booked")
    record_power(remedial, id=new_id(), kind="off", where="Way 5, lock 14", by=engineer, now=NOON)
    leave(remedial, engineer)
    client.force_login(office)
    shown = text_of(client.get(page(remedial)))
    assert "Could not be done , 15 minutes: No key Used: 2 m Cable 2.5 mm², 3 × Clip" in shown
    assert "Isolated, locked off and proved dead: Way 5, lock 14" in shown


def test_what_is_to_be_priced_leads_to_recording_the_answer(client, office, engineer):
    """Where the price is not given by a quote, the page and the due list lead to recording the answer."""
    remedial = make_remedial(make_observation(make_site()))
    client.force_login(office)
    shown = client.get(page(remedial))
    words = "Price it and send a quote; or give the customer the price in your usual way, and record the answer here: yes or no ."
    assert words in text_of(shown)
    assert {f"/remedials/{remedial.pk}/approve/", f"/remedials/{remedial.pk}/decline/"} <= hrefs(shown)
    assert "Price the work and get an answer" in read(client, "/", owner="all")
    client.force_login(engineer)
    assert "record the answer" not in text_of(client.get(page(remedial)))
