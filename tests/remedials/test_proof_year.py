"""The year in summary of all units of a customer: what it says, whose it is, what it costs."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import DangerNotice, InspectionDue
from jobsite.ledger.files import read_file
from jobsite.ledger.models import Document, Entry
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.refused import Refused
from remedials.status.proof.checking import check_document
from remedials.status.proof.making import year_for
from remedials.status.proof.year import year_summary
from remedials.works.models import WayOut
from tests.factories import (
    NOON,
    anybody,
    make_attempt,
    make_inspection,
    make_observation,
    make_party,
    make_portfolio_link,
    make_remedial,
    make_site,
    make_unit,
    make_user,
    unit_of,
)
from tests.remedials.proven import text_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon", "firm")]


@pytest.fixture
def party():
    """A school trust with two sites: in 2025 one danger was found and put right, one was declined, one is open."""
    trust = make_party("Sedge Trust")
    school, hall = make_site("Sedge School", customer=trust), make_site("Reed Hall", customer=trust)
    on = date(2025, 3, 1)
    report = make_inspection(school, inspected_on=on, outcome="unsatisfactory")
    bare = make_observation(
        school, "Bare", code="C1", on=on, inspection=report, ended="remedied", ended_on=date(2025, 3, 11),
        remedy_by=date(2025, 3, 5),
    )  # fmt: skip
    notice = DangerNotice.objects.create(
        number=7, site=school, why="bare", advised="off", given_to="Petra", how="hand",
        given_at=datetime(2025, 3, 1, 10, tzinfo=UTC), given_by=anybody(),
    )  # fmt: skip
    notice.observations.add(bare)
    no = make_observation(hall, "RCD slow", code="C2", on=on)
    declined = make_remedial(no, stage="declined", work="Replace the RCD")
    WayOut.objects.create(
        remedial=declined, stage="declined", who="Petra", on=date(2025, 6, 1), recorded_by=anybody(), recorded_at=NOON
    )
    make_observation(hall, "Blank missing", code="C3", on=date(2024, 5, 5))
    make_observation(hall, "Later", code="C2", on=date(2026, 1, 5))
    make_attempt(hall, unit=unit_of(hall), how="visit", at=datetime(2025, 7, 1, 10, tzinfo=UTC), got_in=False)
    due = {"basis": "A sample rule.", "shows_from": on}
    InspectionDue.objects.create(unit=unit_of(hall), due_on=date(2025, 11, 1), **due)
    InspectionDue.objects.create(unit=unit_of(school), due_on=date(2030, 3, 1), **due)
    return trust


def test_it_tells_the_year(party):
    said = text_of(read_file(year_for(party, 2025, by=anybody(), now=NOON).file))
    assert (
        "The year 2025 in summary Sedge Trust 2 units at 2 sites as they are theirs today; 1 January 2025 to "
        "31 December 2025. Drawn up on 3 Feb 2026."
    ) in said
    assert "2 items were recorded and 1 closed. 1 item of code C1, C2 or FI was open at the end." in said
    assert "1 item of code C1, C2 or FI was closed, half of them within 10 days of being recorded." in said
    assert "0 of the 1 that had a day to be put right by were closed by that day." in said
    assert "C1 danger present 0 1 1 1 put right 0 0" in said
    assert "C2 potentially dangerous 0 1 0 1 0" in said
    assert "C3 improvement recommended 1 0 0 1 0" in said
    assert "Open at the end, by unit Unit Open Reed Hall 1 × C2 1 × C3" in said
    assert "1 Mar 2025 Sedge School periodic inspection unsatisfactory" in said
    assert "Danger notices Day Notice Unit Answer 1 Mar 2025 7 Sedge School" in said
    assert "Offered and declined Day Unit Work 1 Jun 2025 Reed Hall Replace the RCD" in said
    assert "Visits at which nobody let us in Unit Visits Reed Hall 1 visit" in said
    assert "Next inspections Unit Due by Why Reed Hall 1 Nov 2025 overdue A sample rule." in said
    assert "2030" not in said
    assert "Petra" not in said


def test_the_present_year_is_told_so_far(party):
    said = text_of(read_file(year_for(party, 2026, by=anybody(), now=NOON).file))
    assert "1 January 2026 to 3 February 2026, so far." in said
    assert "1 item was recorded and 0 closed." in said


def test_a_year_to_come_and_a_party_without_units_are_refused(party):
    with pytest.raises(Refused, match="Of this year nothing is on record here"):
        year_summary(party, 1999, now=NOON)
    with pytest.raises(Refused, match="Of this year nothing can be told yet"):
        year_for(party, 2027, by=anybody(), now=NOON)
    with pytest.raises(Refused, match="No unit is recorded as theirs now"):
        year_for(make_party("Nobody"), 2025, by=anybody(), now=NOON)


def test_a_flats_owner_hears_nothing_of_other_flats(party):
    block = make_site("Block")
    mine, other = make_unit(block, "Flat 1"), make_unit(block, "Flat 2")
    owner = make_party("Olga Owner")
    mine.parties.create(party=owner, role="owner", since=date(2020, 1, 1))
    both = [make_observation(block, "x", unit=unit, on=date(2025, 2, 2)) for unit in (mine, other)]
    shared = make_remedial(*both, stage="declined", work="Both flats at once", unit=mine)
    WayOut.objects.create(
        remedial=shared, stage="declined", who="W", on=date(2025, 6, 1), recorded_by=anybody(), recorded_at=NOON
    )
    make_inspection(block, units=[mine, other], inspected_on=date(2025, 2, 2))
    said = text_of(read_file(year_for(owner, 2025, by=anybody(), now=NOON).file))
    assert "1 unit at 1 site" in said
    assert "1 Jun 2025 Flat 1, Block" in said
    for word in ("Flat 2", "Both flats", "Sedge", "other unit"):
        assert word not in said


def test_it_is_kept_once_in_the_firms_chain_and_checked(party):
    first = year_for(party, 2025, by=anybody(), now=NOON)
    assert year_for(party, 2025, by=anybody(), now=NOON) == first
    entry = Entry.objects.get(verb="document.made")
    assert (entry.chain, entry.facts["party"]) == (FIRM_CHAIN, str(party.pk))
    checked = check_document([read_file(first.file)])
    assert (checked.ours, checked.holds, checked.title) == (True, True, "The year 2025 in summary: Sedge Trust")
    year_for(party, 2026, by=anybody(), now=NOON + timedelta(days=1))
    assert check_document([read_file(first.file)]).newer_at is None, "another year is no newer one of this"


@pytest.mark.parametrize("more", [0, 12])
def test_it_takes_the_same_statements_at_any_size(party, more):
    block = make_site("Block", customer=party)
    for at in range(more):
        unit = make_unit(block, f"Flat {at}")
        make_observation(block, "x", unit=unit, on=date(2025, 2, 2))
        make_inspection(block, units=[unit], inspected_on=date(2025, 2, 2))
    with CaptureQueriesContext(connection) as told:
        year_summary(party, 2025, now=NOON)
    assert len(told) == 9


def test_behind_the_link_and_at_the_office(client, party):
    _, token = make_portfolio_link(party)
    page = client.get(f"/p/{token}/summary/").content.decode()
    assert '<a href="../years/2026/">2026, so far</a>, <a href="../years/2025/">2025</a>' in page
    response = client.get(f"/p/{token}/years/2025/")
    assert (response.status_code, response["Content-Type"], response.cookies) == (200, "application/pdf", {})
    assert response["Content-Disposition"].startswith("attachment")
    assert Document.objects.get().actor_kind == "link"
    assert client.get(f"/p/{token}/years/2044/").status_code == 404
    assert client.head(f"/p/{token}/years/2026/").content == b""
    assert client.get(f"/p/{'A' * 43}/years/2025/").status_code == 404
    client.force_login(make_user("Olive Deskworth", "office"))
    assert client.get(f"/customers/{party.pk}/portfolio/years/2025/").content == response.content
    assert client.get(f"/customers/{party.pk}/portfolio/years/2044/").status_code == 422
