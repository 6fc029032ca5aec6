"""Reading the due list: what a page, a heap, a count and a digest are made of."""

from datetime import date, timedelta
from functools import partial

import pytest
from django.test import RequestFactory

from inspections.models import MadeSafe, Observation
from jobsite.firm.models import Heartbeat
from jobsite.firm.operations import note_first_start
from remedials.due import queries
from remedials.due.models import DueRow
from remedials.due.queries import SWEEP, finding
from tests.factories import (
    NOON,
    TODAY,
    grant_access,
    make_board,
    make_observation,
    make_remedial,
    make_site,
    make_unit,
    make_user,
)
from tests.remedials.desk import hold, statements, wait_on

pytestmark = pytest.mark.django_db


def due_to(user, **narrow):
    return queries.narrowed(queries.rows_due(user, today=TODAY), **narrow)


def subjects(user, **narrow):
    return [row["subject"] for row in queries.all_rows(due_to(user, **narrow), today=TODAY)]


# --- narrowing --------------------------------------------------------------------------------------------------------


@pytest.fixture
def three(site, office, engineer):
    """A C1 of the engineer's, a C2 of nobody's that waits, an FI of the office's."""
    other = make_site("Other House")
    make_observation(site, "Live parts", code="C1", owner=engineer, by=office)
    waiting = make_observation(other, "Old cut-out", code="C2", owner=None, by=office)
    make_observation(other, "Low insulation", code="FI", by=office)
    return waiting


def test_narrowed_by_owner(three, office, engineer):
    assert subjects(office, owner=str(engineer.pk)) == ["Live parts"]
    assert subjects(office, owner="nobody") == ["Old cut-out"]
    assert subjects(office, owner="not a key") == []


def test_narrowed_by_code(three, office):
    assert subjects(office, code="FI") == ["Low insulation"]
    assert subjects(office, code="none") == []


def test_narrowed_by_whom_it_waits_on(three, office):
    wait_on(office, observation=three)
    assert subjects(office, waits_on="anybody") == ["new cut-out"]
    assert subjects(office, waits_on="NETWORK") == ["new cut-out"]
    assert subjects(office, waits_on="scaffolder") == []


def test_what_a_report_missed_waits_for_a_remedial_like_any_other(site, office):
    from inspections.operations import add_missed
    from jobsite.ids import new_id
    from tests.factories import make_inspection, make_qualified, unit_of

    report, by = make_inspection(site, other_firm=True), make_qualified()
    add_missed(report, id=new_id(), unit=unit_of(site), text="Blank missing", code="C1", by=by, now=NOON)
    assert subjects(office, code="C1") == ["Blank missing"]


def test_every_word_must_be_found_in_the_subject_step_site_or_unit(three, office):
    assert subjects(office, words="other insulation") == ["Low insulation"]
    assert subjects(office, words="make safe") == ["Live parts"]
    assert subjects(office, words="other nowhere") == []


def test_narrowed_to_a_heap(three, office):
    assert subjects(office, heap="danger") == ["Live parts"]
    assert subjects(office, heap="loose") == ["Old cut-out"]
    assert len(subjects(office, heap="no such heap")) == 3


# --- a page -----------------------------------------------------------------------------------------------------------


def test_a_row_in_words(site, office):
    board = make_board(site, "Kitchen board")
    by = TODAY - timedelta(days=2)
    make_observation(
        site, "Cover missing", on=date(2025, 1, 1), board=board, step_by=by, remedy_basis="28 days", by=office
    )
    (row,) = queries.page_of_rows(due_to(office), today=TODAY).rows
    said = {key: row[key] for key in ("heading", "next_step", "subject", "rule", "site", "place", "who", "by", "since")}
    assert said == {
        "heading": "Late · 1",
        "next_step": "Decide what it needs",
        "subject": "Cover missing",
        "rule": "28 days",
        "site": "Sample House",
        "place": "Kitchen board",
        "who": office.name,
        "by": "Sun 1 Feb",
        "since": "1 year 1 month",
    }
    assert row["mark"] == '<span class="late">2 days late</span>'
    assert row["href"] == f"/observations/{row['about'].split('/')[2]}/"


def test_a_plain_house_shows_no_unit_and_flats_do(site, office):
    make_observation(site, "In the house", by=office)
    flats = make_site("Flats")
    make_observation(flats, "In the flat", unit=make_unit(flats, "Flat 7"), by=office)
    places = {row["subject"]: row["place"] for row in queries.page_of_rows(due_to(office), today=TODAY).rows}
    assert places == {"In the house": "", "In the flat": "Flat 7"}


def test_groups_follow_each_other_by_date(site, office):
    monday = date(2026, 2, 2)  # TODAY is the Tuesday after it
    for text, by in (
        ("sunday", date(2026, 2, 8)),
        ("monday after", date(2026, 2, 9)),
        ("yesterday", monday),
        ("today", TODAY),
        ("no date", None),
    ):
        make_observation(site, text, code="C3", step_by=by, by=office)
    rows = queries.page_of_rows(due_to(office), today=TODAY).rows
    assert [(row["heading"], row["subject"]) for row in rows] == [
        ("Late · 1", "yesterday"),
        ("Today · 1", "today"),
        ("This week · 1", "sunday"),
        ("Later · 1", "monday after"),
        ("No date · 1", "no date"),
    ]


def test_what_somebody_who_left_has_says_so(site, office):
    leaver = make_user("Lea Gone", "office", is_active=False)
    make_observation(site, owner=leaver, by=office)
    (row,) = queries.page_of_rows(due_to(office), today=TODAY).rows
    assert (row["who"], row["mark"]) == ("Lea Gone (has left)", '<span class="late">loose end</span>')


def test_six_alike_of_one_site_fold_into_one_row(site, office):
    for n in range(6):
        make_observation(site, f"Blank missing {n}", code="C3", by=office)
    for n in range(5):
        make_observation(make_site(f"House {n}"), code="C3", by=office)
    rows = queries.page_of_rows(due_to(office), today=TODAY).rows
    folded = [(row["count"], [one["subject"] for one in row["folded"]]) for row in rows if "folded" in row]
    assert folded == [(6, [f"Blank missing {n}" for n in range(6)])]
    assert len(rows) == 6
    assert [row["heading"] for row in rows] == ["Today · 11", "", "", "", "", ""]


def test_pages_hold_every_row_once(site, office):
    for n in range(7):
        make_observation(
            site if n % 2 else make_site(f"House {n}"), f"Item {n}", code="C2" if n % 3 else "C3", by=office
        )
    seen, after = [], ""
    while True:
        page = queries.page_of_rows(due_to(office), today=TODAY, after=after, size=2)
        seen += [row["subject"] for row in page.rows]
        after = page.next
        if not after:
            break
    assert sorted(seen) == [f"Item {n}" for n in range(7)]


@pytest.mark.parametrize(
    ("stage", "href"), [("", "/observations/{o}/"), ("to-price", "/remedials/{r}/"), ("done", "/remedials/{r}/review/")]
)
def test_a_row_leads_to_where_its_step_is_taken(site, office, stage, href):
    seen = make_observation(site, by=office)
    made = make_remedial(seen, stage=stage, by=office) if stage else None
    (row,) = queries.page_of_rows(due_to(office), today=TODAY).rows
    assert row["href"] == href.format(o=seen.pk, r=made and made.pk)


# --- above the list ---------------------------------------------------------------------------------------------------


def test_first_things_stand_in_order_and_once_each(site, office):
    make_observation(site, "Nobody has looked", code="", by=office)
    make_observation(site, "Nobody has it", owner=None, by=office)
    danger = make_observation(site, "Live and nobody's", code="C1", owner=None, by=office)
    wait_on(office, observation=danger)
    heaps = queries.first_things(due_to(office), today=TODAY, leavers=[])
    assert [(heap["heap"], heap["count"], [row["subject"] for row in heap["rows"]]) for heap in heaps] == [
        ("danger", "1", ["new cut-out"]),
        ("loose", "1", ["Nobody has it"]),
        ("uncoded", "1", ["Nobody has looked"]),
    ]


def test_a_danger_with_two_steps_counts_once(site, office):
    danger = make_observation(site, "Live parts", code="C1", by=office)
    remedial = make_remedial(danger, work="Replace it", by=office)
    wait_on(office, remedial=remedial, chase_on=TODAY + timedelta(days=1))
    (heap,) = queries.first_things(due_to(office), today=TODAY, leavers=[])
    assert (heap["count"], [row["subject"] for row in heap["rows"]]) == ("1", ["Replace it"])


def test_made_safe_is_no_danger_now(site, office):
    hold(make_observation(site, code="C1", by=office), by=office)
    assert queries.first_things(due_to(office), today=TODAY, leavers=[]) == []
    assert queries.danger_now(today=TODAY) == []


def test_work_on_two_dangers_is_led_by_the_one_that_nobody_made_safe(site, office):
    first, second = (make_observation(site, text, code="C1", by=office) for text in ("Live parts", "No cover"))
    remedial = make_remedial(first, second, work="Replace both", by=office)
    wait_on(office, remedial=remedial)
    for held, other in ((first, second), (second, first)):
        MadeSafe.objects.all().delete()
        Observation.objects.update(made_safe=False)
        hold(held, by=office)
        led = {(row.kind, row.observation) for row in queries.danger_now(today=TODAY)}
        assert led == {("price", other.pk), ("chase", other.pk)}
        (heap,) = queries.first_things(due_to(office), today=TODAY, leavers=[])
        assert (heap["heap"], heap["count"]) == ("danger", "1")
    hold(first, by=office)
    assert queries.danger_now(today=TODAY) == []


def test_work_must_be_done_by_the_earliest_day_of_what_it_puts_right(site, office):
    """Whichever of them leads it: parts that come later do not put it off beyond that."""
    safe = make_observation(
        site, "Live parts", code="C1", by=office, remedy_by=TODAY + timedelta(days=3), remedy_basis="policy 3"
    )
    bare = make_observation(
        site, "No cover", code="C1", by=office, remedy_by=TODAY + timedelta(days=9), remedy_basis="policy 9"
    )
    hold(safe, by=office, look_again_on=TODAY + timedelta(days=60))
    parts = {"parts_ready_on": TODAY + timedelta(days=20), "step_by": TODAY}
    remedial = make_remedial(safe, bare, stage="approved", by=office, **parts)
    (row,) = DueRow.objects.filter(ref=remedial.pk)
    assert (row.observation, row.due, row.remedy_by, row.rule) == (bare.pk, safe.remedy_by, safe.remedy_by, "policy 3")


def test_a_heap_stops_at_twenty(site, office):
    for n in range(22):
        make_observation(site, f"Loose {n:02}", owner=None, by=office)
    (heap,) = queries.first_things(due_to(office), today=TODAY, leavers=[])
    assert heap["count"] == "20+"


@pytest.mark.parametrize("work", [False, True])
def test_dangers_elsewhere_leave_no_danger_out_that_a_subcontractor_sees(site, office, monkeypatch, work):
    monkeypatch.setattr(finding, "MOST_OF_A_HEAP", 2)
    for place, days in ((make_site("Elsewhere"), 9), (site, 1)):
        for n in range(2):
            seen = make_observation(place, f"Live {n}", code="C1", step_by=TODAY - timedelta(days=days + n), by=office)
            if work:
                make_remedial(seen, step_by=TODAY - timedelta(days=days + n), by=office)
    subcontractor = make_user("Sid Subbs", "engineer", subcontractor=True)
    grant_access(site, subcontractor)
    rows = queries.rows_due(subcontractor, today=TODAY)
    (heap,) = queries.first_things(rows, today=TODAY, leavers=[], user=subcontractor)
    assert (heap["heap"], heap["count"]) == ("danger", "2")


@pytest.mark.parametrize(
    ("late", "today", "headings"), [(3, 100, ["Late · 3", "Today · 100"]), (1, 101, ["Late · 1", "Today · 100+"])]
)
def test_counts_look_beyond_the_page_and_stop_at_a_hundred(site, office, late, today, headings):
    for n in range(late + today):
        make_observation(site, step_by=TODAY - timedelta(days=1) if n < late else TODAY, by=office)
    page = queries.page_of_rows(due_to(office), today=TODAY, size=late + 1)
    assert [row["heading"] for row in page.rows if row["heading"]] == headings


def test_a_group_that_began_on_an_earlier_page_says_no_count(site, office):
    for days in (-1, -1, -1, 0, 0):
        make_observation(site, step_by=TODAY + timedelta(days=days), by=office)
    first = queries.page_of_rows(due_to(office), today=TODAY, size=2)
    second = queries.page_of_rows(due_to(office), today=TODAY, size=2, after=first.next)
    assert [row["heading"] for row in (*first.rows, *second.rows)] == ["Late · 3", "", "Late", "Today · 2"]


@pytest.mark.parametrize("size", [1, 8])
def test_a_page_is_two_statements_its_heaps_and_the_whole_list_one_each(site, office, size):
    for _ in range(size):
        make_observation(make_site(), board=make_board(make_site()), owner=None, by=office)
    rows = due_to(office)
    first_things = partial(queries.first_things, leavers=[])
    for read, cost in ((queries.page_of_rows, 2), (first_things, 1), (queries.all_rows, 1)):
        with statements() as sql:
            read(rows, today=TODAY)
        assert len(sql) == cost


# --- the clockwork ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("started", "swept", "words"),
    [
        (None, None, "The reminders have not run yet."),
        (29, None, ""),
        (31, None, "The reminders have not run yet."),
        (5, 31, "The reminders have stopped: they last ran on 3 Feb 2026, 11:29."),
        (None, 29, ""),
        (90, 31, "The reminders have stopped: they last ran on 3 Feb 2026, 11:29."),
    ],
)
def test_the_banner_waits_half_an_hour_after_the_first_start_and_no_longer(db, office, started, swept, words):
    request = RequestFactory().get("/")
    request.user, request.now = office, NOON
    for name, minutes in (("first start", started), (SWEEP, swept)):
        if minutes is not None:
            Heartbeat.objects.create(name=name, at=NOON - timedelta(minutes=minutes))
    told = " Nothing is lost, but nobody is being told: look at the worker and beat."
    assert queries.clockwork_banner(request) == (words and words + told)


def test_only_the_first_start_counts(db):
    for minutes in (0, 90):
        note_first_start(now=NOON + timedelta(minutes=minutes))
    assert Heartbeat.objects.get().at == NOON


@pytest.mark.parametrize(
    ("ago", "words"),
    [
        (None, "reminders have not run yet"),
        (timedelta(seconds=20), "reminders last ran just now"),
        (timedelta(minutes=4), "reminders last ran 4 min ago"),
        (timedelta(hours=3), "reminders last ran on 3 Feb 2026, 09:00"),
    ],
)
def test_when_the_reminders_last_ran(db, office, ago, words):
    request = RequestFactory().get("/")
    request.user, request.now = office, NOON
    if ago is not None:
        Heartbeat.objects.create(name=SWEEP, at=NOON - ago)
    with statements() as sql:
        assert queries.last_ran(request) == words
        queries.clockwork_banner(request)
    assert len(sql) == 1
