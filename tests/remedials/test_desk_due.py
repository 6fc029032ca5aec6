"""The first page: what is due, for whom, at what cost, and as a file."""

import csv
import io
import re
from datetime import timedelta

import pytest
import time_machine
from openpyxl import load_workbook

from jobsite.firm.models import Heartbeat
from remedials.due.queries import SWEEP
from tests.factories import (
    NOON,
    TODAY,
    grant_access,
    make_board,
    make_inspection,
    make_observation,
    make_qualified,
    make_remedial,
    make_site,
)
from tests.remedials.desk import acts_of, hold, hrefs, read, statements, text_of, wait_on

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    """The clock of the pages stands at NOON, as that of the factories; the reminders ran four minutes ago."""
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def at_desk(client, office):
    Heartbeat.objects.create(name=SWEEP, at=NOON - timedelta(minutes=4))
    client.force_login(office)
    return client


def test_the_head_says_the_day_and_when_the_reminders_ran(at_desk):
    words = read(at_desk, "/")
    assert "Due Tuesday 3 Feb 2026 · reminders last ran 4 min ago · read by who it waits on" in words
    assert "The reminders have stopped" not in words


def test_a_stopped_clockwork_is_said_above_everything(client, office):
    client.force_login(office)
    assert "The reminders have not run yet. Nothing is lost, but nobody is being told" in read(client, "/")


def test_an_empty_list_says_what_to_do_first(at_desk):
    assert "Nothing is due. Take in a report" in read(at_desk, "/")
    assert "Nothing due fits this. Show all" in read(at_desk, "/", code="C1")


def test_danger_loose_ends_and_uncoded_stand_above_in_this_order(at_desk, site, office):
    make_observation(site, "The urn trips everything", code="", by=office)
    loose = make_observation(site, "No RCD for the pillars", owner=None, by=office)
    make_observation(site, "Live parts exposed", code="C1", by=office)
    response = at_desk.get("/")
    words = text_of(response)
    order = ["C1 not made safe · 1", "Live parts exposed", "Loose ends · 1", "No RCD", "coded yet · 1", "The urn"]
    places = [words.index(part) for part in order]
    assert places == sorted(places)
    assert f"/observations/{loose.pk}/take-on/" in hrefs(response)


def test_nothing_stands_above_when_nothing_must(at_desk, site, office):
    hold(make_observation(site, code="C1", by=office), by=office)
    words = read(at_desk, "/")
    assert "C1 made safe" in words
    for heap in ("C1 not made safe ·", "Loose ends ·", "coded yet ·"):
        assert heap not in words


def test_more_than_five_of_a_heap_stand_behind_a_link(at_desk, site, office):
    for n in range(6):
        make_observation(site, f"Loose {n}", owner=None, by=office)
    response = at_desk.get("/")
    assert "Loose ends · 6" in text_of(response)
    assert "/?owner=all&only=loose" in hrefs(response)
    assert read(at_desk, "/", only="loose").count("Loose 5") == 1


def test_groups_carry_their_counts(at_desk, site, office):
    for days in (-1, 0, 0):
        make_observation(site, step_by=TODAY + timedelta(days=days), by=office)
    words = read(at_desk, "/")
    assert "Late · 1" in words
    assert "Today · 2" in words
    assert "Later" not in words


@pytest.mark.parametrize(
    ("query", "shown"),
    [
        ({}, {"Olive's", "Edwin's", "Nobody's"}),
        ({"owner": "mine"}, {"Olive's"}),
        ({"owner": "nobody"}, {"Nobody's"}),
        ({"q": "edwin"}, {"Edwin's"}),
        ({"code": "C3"}, {"Nobody's"}),
        ({"code": "nonsense"}, {"Olive's", "Edwin's", "Nobody's"}),
    ],
)
def test_the_list_is_narrowed_by_its_address(at_desk, site, office, engineer, query, shown):
    make_observation(site, "Olive's", by=office)
    make_observation(site, "Edwin's", owner=engineer, by=office)
    make_observation(site, "Nobody's", code="C3", owner=None, by=office)
    words = read(at_desk, "/", **query)
    assert {text for text in ("Olive's", "Edwin's", "Nobody's") if text in words} == shown


def test_engineers_begin_with_their_own(client, site, office, engineer):
    make_observation(site, "Olive's", by=office)
    make_observation(site, "Edwin's", owner=engineer, by=office)
    client.force_login(engineer)
    assert "Olive's" not in read(client, "/")
    assert "Edwin's" in read(client, "/")
    assert "Olive's" in read(client, "/", owner="all")


def test_a_subcontractor_sees_the_sites_of_own_visits_only(client, site, office, subcontractor):
    elsewhere = make_site("Elsewhere")
    for at in (site, elsewhere):
        make_observation(at, code="C1", owner=subcontractor, by=office)
    grant_access(site, subcontractor)
    client.force_login(subcontractor)
    words = read(client, "/", owner="all")
    assert "Sample House" in words
    assert "Elsewhere" not in words


@pytest.mark.parametrize(
    ("who", "labels"),
    [
        ("office", ["Take in a file", "Somebody rang", "New site", "Figures"]),
        ("engineer", ["Somebody rang"]),
        ("manager", ["Take in a file", "Somebody rang", "New site", "Figures"]),
    ],
)
def test_what_may_be_begun_follows_the_rights(client, request, who, labels):
    client.force_login(request.getfixturevalue(who))
    assert acts_of(client.get("/")) == labels


def test_nobody_is_sent_to_sign_in(client, db):
    response = client.get("/")
    assert (response.status_code, response["Location"]) == (302, "/accounts/login/?next=/")


def test_an_update_is_the_list_alone(at_desk, site, office):
    make_observation(site, "Cover missing", by=office)
    response = at_desk.get("/", headers={"HX-Request": "true"})
    assert "Cover missing" in text_of(response)
    assert b"<h1" not in response.content
    assert "HX-Request" in response["Vary"]


def test_a_damaged_page_address_is_refused(at_desk):
    assert at_desk.get("/", {"after": "nonsense"}).status_code == 400


def test_folded_items_open_to_each_of_them(at_desk, site, office):
    made = [make_observation(site, f"Blank missing {n}", code="C3", by=office) for n in range(6)]
    response = at_desk.get("/")
    assert "6 × Decide what it needs, Sample House" in text_of(response)
    assert {f"/observations/{row.pk}/" for row in made} <= hrefs(response)


def test_the_file_holds_what_is_shown(at_desk, site, office):
    make_observation(site, "=cmd()", board=make_board(site), by=office)
    make_observation(site, "Left out", code="C3", by=office)
    response = at_desk.get("/", {"as": "csv", "code": "C2"})
    heads, *rows = csv.reader(io.StringIO(response.content.decode("utf-8-sig")))
    assert heads[:4] == ["Code", "Made safe", "Next step", "What"]
    assert rows == [
        ["C2", "", "Decide what it needs", "'=cmd()", "", "Sample House", "Board 1", "2026-02-03", "", "Olive Deskworth", "2026-02-03", "", "", ""]
    ]  # fmt: skip
    assert response["Content-Disposition"] == 'attachment; filename="due-2026-02-03.csv"'


def test_the_spreadsheet_holds_dates(at_desk, site, office):
    make_observation(site, by=office)
    book = load_workbook(io.BytesIO(at_desk.get("/", {"as": "xlsx"}).content))
    heads, row = book.active.iter_rows(values_only=True)
    assert dict(zip(heads, row, strict=True))["By"].date() == TODAY


@pytest.mark.parametrize("size", [1, 10, 100])
def test_the_page_costs_seven_statements_at_any_size(at_desk, office, size):
    """Session, person, when the reminders ran, the people of the firm, by which day enough is due, rows, what stands above.

    Whoever may decide codes is asked two more: codes to review in reports, those given at visits.
    """
    for n in range(size):
        site = make_site(f"House {n}")
        seen = make_observation(site, board=make_board(site), code=("C1", "C2", "FI", "C3", "")[n % 5], by=office)
        if n % 4 == 0:
            wait_on(office, observation=seen)
    with statements() as sql:
        at_desk.get("/")
    assert len(sql) == 7


def test_what_is_long_overdue_says_so_beside_a_step_with_a_new_date(at_desk, site, office):
    old = {"on": TODAY - timedelta(days=1900), "step_by": TODAY + timedelta(days=2), "by": office}
    make_observation(site, "Old C2", remedy_by=TODAY - timedelta(days=1700), **old)
    make_observation(site, "Old C3", code="C3", remedy_by=TODAY - timedelta(days=1700), **old)
    make_observation(site, "In time", remedy_by=TODAY, **old)
    for address in ("/", f"/sites/{site.pk}/"):
        words = read(at_desk, address)
        assert words.count("remedy overdue") == 1
        assert "Thu 5 Feb remedy overdue 4 years 7 months" in words
    assert "C2 2 C3 1 1 past remedy by" in read(at_desk, "/sites/")


def test_what_may_be_dangerous_now_stands_first_among_what_nobody_has_coded(at_desk, site, office):
    make_observation(site, "Rattling hood", code="", on=TODAY - timedelta(days=9), by=office)
    told = make_observation(site, "Sparks at the cooker", code="", may_be_dangerous=True, by=office)
    words = read(at_desk, "/")
    assert words.index("Sparks at the cooker") < words.index("Rattling hood")
    for address in ("/", f"/sites/{site.pk}/", f"/observations/{told.pk}/"):
        assert "may be dangerous now" in read(at_desk, address)
    told.code = "C2"
    told.save()
    for address in ("/", f"/sites/{site.pk}/", f"/observations/{told.pk}/"):
        assert "may be dangerous now" not in read(at_desk, address)


def test_what_stands_above_is_seen_by_everybody_whosever_it_is(client, site, office, engineer):
    danger = make_observation(site, "Live parts", code="C1", by=office)
    make_observation(site, "Loose cover", owner=None, by=office)
    make_observation(site, "Buzzing board", code="", by=office)
    client.force_login(engineer)
    response = client.get("/", {"code": "C3"})
    words = text_of(response)
    for heap in ("C1 not made safe · 1", "Loose ends · 1", "Reports that nobody has coded yet · 1"):
        assert heap in words
    assert f"/observations/{danger.pk}/make-safe/" in hrefs(response)


def test_a_c1_is_made_safe_from_the_first_page_whatever_its_next_step_is(at_desk, site, office):
    carried = make_observation(site, "Live parts", code="C1", by=office)
    make_remedial(carried, by=office)
    assert f"/observations/{carried.pk}/make-safe/" in hrefs(at_desk.get("/"))


def test_a_step_of_a_c1_leads_to_making_it_safe_and_other_steps_to_what_they_are_about(at_desk, site, office):
    one = make_observation(site, "Live parts", code="C1", by=office)
    two = make_observation(site, "Locked off", code="C2", step_by=TODAY + timedelta(days=9), by=office)
    hold(two, by=office)
    page = at_desk.get("/", headers={"HX-Request": "true"})
    found = dict(re.findall(r'<a href="([^"]+)">([^<]+)</a><br>', page.content.decode()))
    assert found == {
        f"/observations/{one.pk}/make-safe/": "Make it safe, then decide what it needs",
        f"/observations/{two.pk}/look-again/": "Look again at what was made safe",
        f"/observations/{two.pk}/": "Decide what it needs",
        f"/sites/{site.pk}/": "Sample House",
    }


def test_a_qualified_person_sees_which_reports_codes_wait_for_a_decision(client, site, office):
    report = make_inspection(site, other_firm=True, firm_name="Invented Sparks")
    make_observation(site, inspection=report, reviewed=False, by=office)
    make_observation(site, inspection=report, reviewed=True, by=office)
    client.force_login(office)
    assert "Codes to review" not in read(client, "/")
    assert "Codes to review" in read(client, "/reviews/")
    client.force_login(make_qualified())
    response = client.get("/")
    assert "1 observation to review" in text_of(response)
    assert f"/inspections/{report.pk}/codes/" in hrefs(response)
    report.observations.update(reviewed=True)
    assert "Codes to review" not in read(client, "/")
    assert "Codes to review" not in read(client, "/reviews/")


def test_a_qualified_engineer_sees_reports_to_code_among_their_own(client, site, office):
    person = make_qualified()
    make_observation(site, "Buzzing board", code="", owner=person, by=office)
    client.force_login(person)
    assert "Reports that nobody has coded yet · 1" in read(client, "/")
