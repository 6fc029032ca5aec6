"""The page of one observation: what was written, decided and done, and what may be done with it."""

import re
from datetime import date, timedelta
from html import unescape

import pytest
import time_machine
from django.urls import reverse

from inspections.models import DangerNotice, ObservationPhoto
from jobsite.ledger.photographs import store_photograph
from remedials.works.models import Proof, ProofPhoto
from tests.factories import (
    NOON,
    TODAY,
    grant_access,
    make_board,
    make_circuit,
    make_inspection,
    make_observation,
    make_qualified,
    make_remedial,
)
from tests.remedials.desk import acts_of, decide, hold, hrefs, read, statements, text_of, wait_on
from tests.remedials.work import photo_bytes

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
    return reverse("desk:observation", args=[row.pk])


def give_notice(observation, by, *, number: int = 1, **more):
    usual = {"why": "bare ends", "advised": "keep it off", "given_to": "Petra", "how": "hand", "given_at": NOON}
    notice = DangerNotice.objects.create(site=observation.site, number=number, given_by=by, **usual | more)
    notice.observations.add(observation)
    return notice


def photo_of(observation, by, *, shade: int = 90, **more):
    file, shot = store_photograph(photo_bytes(shade), now=NOON)
    size = {"width": shot.width, "height": shot.height}
    return ObservationPhoto.objects.create(
        observation=observation, file=file, added_by=by, added_at=NOON, **size | more
    )


def after_photo(remedial, observation, by, *, shade: int = 10):
    proof = Proof.objects.create(remedial=remedial, done_by=by, done_at=NOON)
    file, shot = store_photograph(photo_bytes(shade), now=NOON)
    return ProofPhoto.objects.create(
        remedial=remedial, proof=proof, observation=observation, file=file, width=shot.width, height=shot.height,
        added_by=by, added_at=NOON,
    )  # fmt: skip


def test_what_was_found_stays_as_written(at_desk, site, office):
    board = make_board(site, "Pontoon B")
    report = make_inspection(
        site,
        inspected_on=date(2022, 2, 3),
        other_firm=True,
        firm_name="Somebody Else",
        inspector_name="I. Spector",
        by=office,
    )
    seen = make_observation(
        site, "No RCD", code_written="C3", item="7", board=board, circuit=make_circuit(board, 2), inspection=report,
        on=date(2022, 2, 3), remedy_by=date(2022, 3, 2), remedy_basis="the firm's policy: 28 days.", by=office,
    )  # fmt: skip
    words = read(at_desk, page(seen))
    assert f"C2 No RCD Observation {seen.number} · Pontoon B, way 2L1" in words
    assert "Written No RCD, coded C3 as written Code in force C2, potentially dangerous" in words
    assert "From Periodic inspection of 3 Feb 2022, Somebody Else, I. Spector , item 7" in words
    assert "First recorded 3 Feb 2022 (4 years)" in words
    assert "Remedy by 2 Mar 2022 3 years 11 months late the firm's policy: 28 days" in words


def test_a_defect_told_by_somebody(at_desk, site, office):
    seen = make_observation(site, code="", reported_by="the caretaker", by=office)
    words = read(at_desk, page(seen))
    assert "Reported without an inspection: told by the caretaker, taken in by Olive Deskworth" in words
    assert "none: a qualified person has not coded it yet" in words


def test_danger_present_is_said_until_it_is_made_safe(at_desk, site, office, engineer):
    seen = make_observation(site, code="C1", make_safe_by=TODAY, by=office)
    words = read(at_desk, page(seen))
    assert "Danger present. Make it safe at once" in words
    assert "Make safe by today danger present: at once" in words
    hold(seen, by=engineer, look_again_on=TODAY - timedelta(days=1), lock="14")
    words = read(at_desk, page(seen))
    assert "Danger present." not in words
    assert "Make safe by" not in words
    assert (
        "Isolated and locked 1 day late Done off at way 3; Edwin Wireman, 3 Feb 2026, 12:00 Agreed with Petra "
        "Lock 14 Key Dirk Look again yesterday" in words
    )
    assert "Temporary: the defect stays open until it is remedied." in words


def test_decisions_have_a_name_a_time_and_a_reason(at_desk, site, office, qualified):
    seen = make_observation(site, by=office)
    decide(seen, "C2", before="C3", by=qualified)
    words = read(at_desk, page(seen))
    assert "Quentin Prover recodes C3 → C2 used outdoors 3 Feb 2026, 12:00" in words


def test_a_danger_notice_and_its_answer(at_desk, site, office, engineer):
    seen = make_observation(site, by=office)
    notice = give_notice(seen, engineer, number=7)
    response = at_desk.get(page(seen))
    words = text_of(response)
    assert "Danger notice 7, given to Petra handed over, 3 Feb 2026, 12:00, by Edwin Wireman. No answer yet" in words
    assert "Why bare ends Advised keep it off" in words
    answer = reverse("inspections:notice_answer", args=[notice.pk])
    assert answer in hrefs(response)
    DangerNotice.objects.filter(pk=notice.pk).update(answer="refused", answered_at=NOON)
    response = at_desk.get(page(seen))
    assert "Refused, 3 Feb 2026, 12:00" in text_of(response)
    assert answer not in hrefs(response)


def test_photographs_before_and_after(at_desk, site, office, engineer):
    seen = make_observation(site, by=office)
    before = photo_of(seen, engineer, caption="the lid is off")
    after = after_photo(make_remedial(seen, stage="done", by=office), seen, engineer)
    response = at_desk.get(page(seen))
    words = text_of(response)
    assert words.index("As found") < words.index("the lid is off") < words.index("After the work")
    addresses = {reverse("inspections:photo", args=[before.pk]), reverse("works:photo", args=[after.pk])}
    assert addresses <= hrefs(response)


def test_what_continues_what(at_desk, site, office):
    first = make_observation(site, "Loose in 2022", on=date(2022, 2, 3), ended="continued", ended_on=TODAY, by=office)
    later = make_observation(site, "Still loose", continues=first, by=office)
    assert f"Continues C2 observation {first.number} of 3 Feb 2022: Loose in 2022" in read(at_desk, page(later))
    words = read(at_desk, page(first))
    assert f"Continued by C2 observation {later.number} of 3 Feb 2026: Still loose" in words
    assert "Continued by a later observation on 3 Feb 2026" in words
    assert "Nothing: it is closed." in words


def test_remedials_steps_and_waiting(at_desk, site, office):
    seen = make_observation(site, by=office)
    remedial = make_remedial(seen, stage="approved", work="Fit a cover", by=office)
    waiting = wait_on(office, observation=seen, chase_on=TODAY - timedelta(days=2))
    response = at_desk.get(page(seen))
    words = text_of(response)
    assert f"{remedial.number}: Fit a cover approved · Anymanager Body" not in words
    assert f"{remedial.number}: Fit a cover approved · Olive Deskworth, by today" in words
    assert "Next Chase it 2 days late waits on network operator · Sun 1 Feb I have it : Chase it Book the work" in words
    assert (
        "network operator : new cut-out asked 3 Feb 2026, NO-1 · Olive Deskworth chases Sun 1 Feb 2 days late" in words
    )
    assert {reverse(f"works:{act}", args=[waiting.pk]) for act in ("chase", "end_waiting")} <= hrefs(response)


@pytest.mark.parametrize(
    ("who", "leads_to"),
    [("office", "/sites/{site}/remedials/new/?observation={row}"), ("engineer", "/observations/{row}/take-on/")],
)
def test_a_step_leads_to_its_form_never_to_this_page(client, request, site, who, leads_to):
    seen = make_observation(site, "No cover")
    client.force_login(request.getfixturevalue(who))
    found = re.search(r'<a href="([^"]+)">Decide what it needs', unescape(client.get(page(seen)).content.decode()))
    assert found[1] == leads_to.format(site=site.pk, row=seen.pk)


def test_the_step_of_a_c1_is_making_it_safe_and_of_a_lock_looking_again(at_desk, site, office):
    seen = make_observation(site, "Live parts", code="C1")
    assert (
        f'<a href="/observations/{seen.pk}/make-safe/">Make it safe, then' in at_desk.get(page(seen)).content.decode()
    )
    hold(seen, by=office)
    assert f'<a href="/observations/{seen.pk}/look-again/">Look again at' in at_desk.get(page(seen)).content.decode()


def test_a_loose_end_asks_for_a_next_step(at_desk, site, office):
    assert "Loose end. Nobody has it" in read(at_desk, page(make_observation(site, owner=None, by=office)))
    assert "Loose end." not in read(at_desk, page(make_observation(site, by=office)))


def test_a_draft_says_that_it_does_not_count_yet(at_desk, site, office):
    seen = make_observation(site, draft=True, inspection=make_inspection(site, issued=False, by=office), by=office)
    assert "In a report that is still being written" in read(at_desk, page(seen))


COMMON = ["Danger notice", "Give it a next step"]

LAST = ["Add a photo", "Same as an earlier one"]


@pytest.mark.parametrize(
    ("who", "code", "acts"),
    [
        ("office", "C1", ["Make safe", "Make a remedial", *COMMON, "Waits on somebody", *LAST]),
        ("office", "C2", ["Make a remedial", "Make safe", *COMMON, "Waits on somebody", *LAST]),
        ("office", "C3", ["Make a remedial", "Give it a next step", "Waits on somebody", *LAST]),
        ("engineer", "C2", ["Make safe", *COMMON, *LAST]),
        ("qualified", "C2", ["Review the code", "Make safe", *COMMON, *LAST]),
        (
            "qualified",
            "FI",
            ["Review the code", "Record the finding", "Compare two meters", "Make safe", *COMMON, *LAST],
        ),
        ("qualified", "", ["Code it", "Compare two meters", "Make safe", *COMMON, *LAST]),
    ],
)
def test_what_may_be_done_follows_rights_competence_and_code(client, request, site, who, code, acts):
    seen = make_observation(site, code=code)
    client.force_login(request.getfixturevalue(who))
    assert acts_of(client.get(page(seen))) == acts


def test_every_act_leads_somewhere(client, site):
    seen = hold(make_observation(site, code="FI"), by=make_qualified("Quinn Also")).observation
    client.force_login(make_qualified("Quincy All", "manager"))
    for act in client.get(page(seen)).context["acts"]:
        assert client.get(act["href"]).status_code == 200, act


def test_an_ended_one_takes_a_photo_only(at_desk, site, office):
    seen = make_observation(site, ended="remedied", ended_on=TODAY, by=office)
    assert acts_of(at_desk.get(page(seen))) == ["Add a photo"]


def test_not_yours_is_not_there(client, site, office, subcontractor):
    seen = make_observation(site, by=office)
    client.force_login(subcontractor)
    assert client.get(page(seen)).status_code == 404
    grant_access(site, subcontractor)
    assert client.get(page(seen)).status_code == 200


@pytest.mark.parametrize("size", [1, 10])
def test_the_page_costs_six_statements_at_any_size(client, site, office, engineer, size):
    """Session, person, when the reminders ran, the observation, its rows of the due list, the person's competence."""
    client.force_login(make_qualified("Quinn Also", "manager"))
    seen = make_observation(site, board=make_board(site), continues=make_observation(site, by=office), by=office)
    for n in range(size):
        photo_of(seen, engineer, shade=20 * n)
        give_notice(seen, engineer, number=n + 1)
        decide(seen, "FI", before="C2", by=office)
        remedial = make_remedial(seen, stage="approved", by=office)
        after_photo(remedial, seen, engineer, shade=20 * n)
        wait_on(office, observation=seen)
        make_observation(site, continues=seen, by=office)
    with statements() as sql:
        client.get(page(seen))
    assert len(sql) == 6


def test_what_needs_no_code_says_so_wherever_it_stands(at_desk, site, office):
    seen = make_observation(site, "Old colours", code="", reviewed=True, ended="no-code", ended_on=TODAY, by=office)
    later = make_observation(site, "Old colours, again", continues=seen, by=office)
    remedial = make_remedial(seen, later, by=office)
    report = make_inspection(site, other_firm=True, by=office)
    type(seen).objects.filter(pk=seen.pk).update(inspection=report)
    for address in (
        page(seen), page(later), f"/remedials/{remedial.pk}/", f"/remedials/{remedial.pk}/approve/",
        f"/inspections/{report.pk}/", f"/inspections/{report.pk}/codes/", "/find/?q=colours",
    ):  # fmt: skip
        words = text_of(at_desk.get(address))
        assert "no code needed" in words, address
        assert "not coded" not in words, address
    assert "Code in force no code needed: a qualified person found so" in read(at_desk, page(seen))
