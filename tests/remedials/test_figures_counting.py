"""Figures for managers: how each kind of item is counted, by hand in small cases."""

from datetime import UTC, date, datetime, time, timedelta

import pytest

from inspections.models import InspectionDue, Observation
from jobsite import clock
from remedials.desk.figures.queries.access import without_access
from remedials.desk.figures.queries.ages import ages
from remedials.desk.figures.queries.coming import inspections_due
from remedials.desk.figures.queries.engineers import by_engineer
from remedials.desk.figures.queries.narrowing import Narrowed
from remedials.desk.figures.queries.on_time import on_time
from remedials.desk.figures.queries.quoting import acceptance
from remedials.desk.figures.queries.remedy import remedy_times
from remedials.works.models import Proof, WayOut
from tests.factories import (
    NOON,
    TODAY,
    anybody,
    make_attempt,
    make_inspection,
    make_observation,
    make_party,
    make_remedial,
    make_site,
    make_unit,
    make_user,
    make_visit,
    unit_of,
)
from tests.remedials.quoted import answered, remedial_at, sent

DAY = timedelta(days=1)
A_YEAR_AGO = TODAY - 364 * DAY
EVERY = Narrowed()


@pytest.fixture
def manager(db):
    return make_user("Della", "manager")


@pytest.fixture
def house(db):
    return make_site("Mill Cottage", customer=make_party("Petra Landlady"))


def item(site, days_ago: int, *, ended: str = "", after: int | None = None, code: str = "C2", **fields) -> Observation:
    """An item recorded so many days ago, which ended in that way after so many days."""
    on = TODAY - days_ago * DAY
    settled = {"ended": ended, "ended_on": on + (after or 0) * DAY} if ended else {}
    recorded_at = datetime.combine(on, time(9), tzinfo=clock.LONDON)
    return make_observation(site, code=code, on=on, **{"recorded_at": recorded_at} | settled | fields)


def declined(observation, days_ago: int, *, taken_back: bool = False, by=None):
    """That the work on it was declined so many days ago, and stands so."""
    remedial = make_remedial(observation, stage="declined")
    WayOut.objects.create(
        remedial=remedial, stage="declined", who="Petra", on=TODAY - days_ago * DAY, recorded_at=NOON,
        recorded_by=anybody(), taken_back_at=NOON if taken_back else None,
    )  # fmt: skip
    return remedial


def whole(user, *, narrowed=EVERY, first=A_YEAR_AGO, last=TODAY) -> dict[str, tuple]:
    """Items, remedied, ended otherwise, open; half after, from, to: by code."""
    return {row[0]: row[1:] for row in remedy_times(user, narrowed, first, last, today=TODAY)[0].rows}


# --- what came of items -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ended", "counted"),
    [
        ("remedied", (1, 1, 0, 0)),
        ("finding", (1, 1, 0, 0)),
        ("others", (1, 0, 1, 0)),
        ("gone", (1, 0, 1, 0)),
        ("", (1, 0, 0, 1)),
        ("continued", None),
        ("withdrawn", None),
        ("no-code", None),
    ],
)
def test_only_our_work_is_a_remedy_and_what_was_no_item_counts_nowhere(house, manager, ended, counted):
    item(house, 30, ended=ended, after=10)
    found = whole(manager).get("C2")
    assert (found[:4] if found else None) == counted


def test_a_declined_item_leaves_the_count_on_the_day_of_the_no(house, manager):
    declined(item(house, 30), 20)
    item(house, 30, ended="remedied", after=15)
    assert whole(manager)["C2"][:5] == (2, 1, 1, 0, 15)
    days = remedy_times(manager, EVERY, A_YEAR_AGO, TODAY, today=TODAY)[1].rows
    # After ten days the declined one is gone: the other alone makes the curve.
    assert [(row[1], row[2], row[3]) for row in days] == [(7, 2, 100)]


def test_offered_again_counts_as_if_nobody_had_said_no(house, manager):
    seen = item(house, 30)
    declined(seen, 20)
    make_remedial(seen, stage="approved")
    assert whole(manager)["C2"][:4] == (1, 0, 0, 1)


def test_cancelled_work_changes_nothing(house, manager):
    make_remedial(item(house, 30), stage="cancelled")
    assert whole(manager)["C2"][:4] == (1, 0, 0, 1)


def test_an_archived_site_takes_its_open_items_out_of_the_count(house, manager):
    item(house, 30)
    house.archived_at = NOON - 10 * DAY
    house.save()
    assert whole(manager)["C2"][:4] == (1, 0, 1, 0)
    assert ages(manager, EVERY, today=TODAY)[0].rows == ()


def test_a_recoded_item_stands_under_its_code_in_force(house, manager):
    item(house, 30, code="C1", code_written="C3")
    assert list(whole(manager)) == ["C1"]


def test_the_day_of_the_work_counts_not_that_of_its_review(house, manager):
    item(house, 30, ended="remedied", after=20, done_on=TODAY - 25 * DAY)
    assert whole(manager)["C2"][4] == 5


# the second in summer: a quarter past midnight in London is the day before in UTC
@pytest.mark.parametrize(
    ("taken_in", "days"),
    [(NOON - 40 * DAY, 30), (datetime(2025, 6, 30, 23, 15, tzinfo=UTC), (TODAY - 10 * DAY - date(2025, 7, 1)).days)],
)
def test_another_firms_items_count_from_the_day_we_took_them_in(house, manager, taken_in, days):
    report = make_inspection(house, other_firm=True, inspected_on=TODAY - 900 * DAY)
    fields = {"inspection": report, "recorded_at": taken_in, "ended": "remedied", "ended_on": TODAY - 10 * DAY}
    make_observation(house, on=TODAY - 900 * DAY, **fields)
    assert whole(manager)["C2"][:5] == (1, 1, 0, 0, days)


def test_a_defect_seen_again_counts_once_from_its_first_record_with_us(house, manager):
    first = item(house, 300, ended="continued", after=100)
    second = item(house, 200, ended="continued", after=100, continues=first, first_recorded_on=TODAY - 300 * DAY)
    item(house, 100, continues=second, first_recorded_on=TODAY - 300 * DAY, ended="remedied", after=50)
    assert whole(manager)["C2"][:5] == (1, 1, 0, 0, 250)
    assert whole(manager, first=TODAY - 150 * DAY) == {}


def test_a_finding_begins_anew_and_its_investigation_ends(house, manager):
    asked = item(house, 100, ended="finding", after=30, code="FI")
    item(house, 70, code="C2", continues=asked, first_recorded_on=TODAY - 100 * DAY)
    found = whole(manager)
    assert found["FI"][:5] == (1, 1, 0, 0, 30)
    assert found["C2"][:4] == (1, 0, 0, 1)
    assert whole(manager, first=TODAY - 80 * DAY).keys() == {"C2"}


def test_all_still_open_says_so_and_draws_a_level_curve(house, manager):
    for days in (3, 40):
        item(house, days)
    tables = remedy_times(manager, EVERY, A_YEAR_AGO, TODAY, today=TODAY)
    assert tables[0].rows == (("C2", 2, 0, 0, 2, None, None, None, 0),)
    assert [row[1:] for row in tables[1].rows] == [
        (7, 1, 100, None, None, 0, 0, 100),
        (28, 1, 100, None, None, 0, 0, 100),
    ]
    assert tables[2].rows == ()
    assert "nothing was remedied yet" in tables[0].drawings[0]


def test_one_item_remedied(house, manager):
    item(house, 40, ended="remedied", after=5)
    assert whole(manager)["C2"] == (1, 1, 0, 0, 5, 5, None, 0)


def test_a_day_before_the_record_counts_as_none(house, manager):
    item(house, 10, ended="remedied", after=0, done_on=TODAY - 12 * DAY)
    assert whole(manager)["C2"][4] == 0


# --- ages -------------------------------------------------------------------------------------------------------------


def test_ages_by_code_with_what_is_late_held_and_declined(house, manager):
    item(house, 27, remedy_by=TODAY - DAY)
    item(house, 5, remedy_by=TODAY)
    declined(item(house, 28, made_safe=True), 3)
    item(house, 400, code="C1")
    item(house, 10, code="")
    item(house, 50, ended="remedied", after=1)
    assert ages(manager, EVERY, today=TODAY)[0].rows == (
        ("C1", "1 to 3 years", "30 Dec 2024", 1, 0, 0, 0),
        ("C2", "under 4 weeks", "7 Jan 2026", 2, 1, 0, 0),
        ("C2", "4 weeks to 3 months", "6 Jan 2026", 1, 0, 1, 1),
        ("Not coded", "under 4 weeks", "24 Jan 2026", 1, 0, 0, 0),
        ("Together", "", "30 Dec 2024", 5, 1, 1, 1),
    )


def test_the_age_runs_from_the_first_record(house, manager):
    item(house, 5, first_recorded_on=TODAY - 1200 * DAY)
    assert ages(manager, EVERY, today=TODAY)[0].rows[0][:4] == ("C2", "over 3 years", "22 Oct 2022", 1)


# --- in time ----------------------------------------------------------------------------------------------------------


def in_time(user, table: int = 0, *, narrowed=EVERY, first=A_YEAR_AGO, last=TODAY) -> dict[str, tuple]:
    """In time, late, open late, ended otherwise: by the head of the row."""
    rows = on_time(user, narrowed, first, last, today=TODAY)[table].rows
    return {row[0]: (*row[1:4], row[7]) for row in rows}


def due(site, days_ago: int, **fields) -> Observation:
    """An item whose day to remedy it was so many days ago, recorded 28 days before that."""
    return item(site, days_ago + 28, remedy_by=TODAY - days_ago * DAY, **fields)


@pytest.mark.parametrize(
    ("fields", "counted"),
    [
        ({"ended": "remedied", "after": 28}, (1, 0, 0, 0)),
        ({"ended": "remedied", "after": 29}, (0, 1, 0, 0)),
        ({}, (0, 0, 1, 0)),
        ({"ended": "others", "after": 28}, (0, 0, 0, 1)),
        ({"ended": "others", "after": 29}, (0, 1, 0, 0)),
        ({"ended": "withdrawn", "after": 5}, None),
        ({"ended": "continued", "after": 5}, None),
    ],
)
def test_in_time_late_and_otherwise(house, manager, fields, counted):
    due(house, 10, **fields)
    assert in_time(manager).get("The firm's policy") == counted


@pytest.mark.parametrize(("no", "counted"), [(10, (0, 0, 0, 1)), (9, (0, 1, 0, 0))])
def test_declined_by_its_day_is_no_lateness_but_after_it_is(house, manager, no, counted):
    declined(due(house, 10), no)
    assert in_time(manager)["The firm's policy"] == counted


def test_a_day_to_come_counts_nothing_not_even_what_is_done(house, manager):
    due(house, 0)
    due(house, -3, ended="remedied", after=1)
    assert in_time(manager) == {}


def test_by_what_set_the_day_and_by_code(house, manager):
    due(house, 10, remedy_by_law=True, ended="remedied", after=1)
    due(house, 10, remedy_basis="The report's limit: 14 days starting with 1 January 2026.")
    due(house, 10, code="C3", remedy_basis="C3: by the next inspection.")
    due(house, 10, code="C1")
    assert in_time(manager) == {
        "The law": (1, 0, 0, 0), "A limit in the report": (0, 0, 1, 0), "The firm's policy": (0, 0, 1, 0),
        "The next inspection (C3)": (0, 0, 1, 0), "Together": (1, 0, 3, 0),
    }  # fmt: skip
    assert in_time(manager, 1) == {"C1": (0, 0, 1, 0), "C2": (1, 0, 1, 0), "C3": (0, 0, 1, 0), "Together": (1, 0, 3, 0)}


def test_what_missed_the_policy_may_have_kept_the_law(house, manager):
    unit = unit_of(house)
    unit.tenure = "private-rented"
    unit.save()
    report = make_inspection(house, inspected_on=TODAY - 60 * DAY)
    week = TODAY - 60 * DAY + 6 * DAY
    for after in (5, 27, 28):  # 28 days starting with the inspection end after 27 more
        item(house, 60, code="C1", inspection=report, remedy_by=week, ended="remedied", after=after)
    item(house, 60, code="C1", remedy_by=week)  # not from an inspection: no clock of law
    assert in_time(manager)["The firm's policy"] == (1, 2, 1, 0)
    assert in_time(manager, 2) == {"C1": (2, 1, 0, 0), "Together": (2, 1, 0, 0)}


def test_no_share_of_few(house, manager):
    for _ in range(9):
        due(house, 10, ended="remedied", after=1)
    assert on_time(manager, EVERY, A_YEAR_AGO, TODAY, today=TODAY)[0].rows[0][4:] == (
        None,
        None,
        None,
        0,
        "too few to say",
    )
    due(house, 10)
    assert on_time(manager, EVERY, A_YEAR_AGO, TODAY, today=TODAY)[0].rows[0][4:] == (90, 60, 98, 0, "")


# --- by engineer ------------------------------------------------------------------------------------------------------


def closed(observation, who, days_ago: int, state: str = "stands"):
    remedial = make_remedial(observation, stage="reviewed")
    return Proof.objects.create(remedial=remedial, done_by=who, done_at=NOON - days_ago * DAY, state=state)


def test_by_engineer_in_the_order_of_names_with_items_that_have_a_day(house, manager):
    mina, dirk = make_user("Mina", "engineer"), make_user("Dirk", "engineer")
    closed(due(house, 10), mina, 10)
    closed(due(house, 10), mina, 9)
    closed(item(house, 10), dirk, 2)
    closed(due(house, 10), dirk, 12, "sent-back")
    (table,) = by_engineer(manager, EVERY, A_YEAR_AGO, TODAY)
    assert table.rows == (
        ("Dirk", 1, 0, 0, None, None, None, "none"),
        ("Mina", 2, 2, 1, None, None, None, "too few to say"),
    )
    assert by_engineer(manager, EVERY, TODAY, TODAY)[0].rows == ()


# --- quotes, access, inspections --------------------------------------------------------------------------------------


def test_quotes_are_counted_as_on_their_own_page_narrowed_to_sites(house, manager):
    offer = sent(remedial_at(house))
    answered(offer, yes=offer.lines.all())
    sent(remedial_at(make_site("Elsewhere")))
    both = acceptance(manager, EVERY, A_YEAR_AGO, TODAY, today=TODAY)[0].rows
    assert [row[:4] for row in both] == [("C2", 2, 200, 1), ("Together", 2, 200, 1)]
    mine = acceptance(manager, Narrowed(site="mill"), A_YEAR_AGO, TODAY, today=TODAY)[0].rows
    assert [row[:4] for row in mine] == [("C2", 1, 100, 1), ("Together", 1, 100, 1)]


def test_visits_in_vain_by_month(house, manager):
    for days in (40, 10, 9):
        visit = make_visit(house, start=NOON - days * DAY)
        if days == 10:
            make_attempt(house, visit=visit)
        if days == 9:
            make_attempt(house, visit=visit, how="phone")
            make_attempt(house, visit=visit, got_in=True)
    make_visit(house, start=NOON - 8 * DAY, state="cancelled", cancelled_reason="Ill")
    make_visit(house, start=NOON + DAY)
    assert without_access(manager, EVERY, A_YEAR_AGO, TODAY, now=NOON)[0].rows == (
        ("Dec 2025", 1, 0, None, None, None, "too few to say"),
        ("Jan 2026", 2, 1, None, None, None, "too few to say"),
        ("Together", 3, 1, None, None, None, "too few to say"),
    )


def test_inspections_by_month_for_two_years(house, manager):
    days = [TODAY - DAY, TODAY, date(2026, 2, 28), date(2026, 3, 1), date(2028, 2, 29), date(2028, 3, 1)]
    for at, on in enumerate(days):
        fields = {"due_on": on, "basis": "so", "shows_from": on, "by_law": at == 1}
        InspectionDue.objects.create(unit=make_unit(house, f"Flat {at}"), **fields)
    retired = make_unit(house, "Shed", retired_at=NOON)
    InspectionDue.objects.create(unit=retired, due_on=TODAY, basis="so", shows_from=TODAY)
    rows = inspections_due(manager, EVERY, today=TODAY)[0].rows
    assert len(rows) == 27
    assert [row for row in rows if row[1]] == [
        ("Overdue", 1, 0, 1, 1), ("Feb 2026", 2, 1, 1, 1), ("Mar 2026", 1, 0, 1, 1), ("Feb 2028", 1, 0, 1, 1),
        ("Later", 1, 0, 1, 1),
    ]  # fmt: skip


# --- narrowing --------------------------------------------------------------------------------------------------------


def test_narrowed_to_nation_site_and_customer(house, manager):
    other = make_site("Glen House", nation="scotland", customer=make_party("Gordon Owner"))
    item(house, 5)
    item(other, 5, code="C1")
    for narrowed, codes in (
        (Narrowed(nation="scotland"), ["C1"]),
        (Narrowed(site="mill cot"), ["C2"]),
        (Narrowed(site=str(other.number)), ["C1"]),
        (Narrowed(customer="petra"), ["C2"]),
        (Narrowed(nation="wales"), []),
    ):
        assert list(whole(manager, narrowed=narrowed)) == codes
        assert len(ages(manager, narrowed, today=TODAY)[0].rows) == 2 * len(codes)
    assert Narrowed(nation="scotland").in_words(manager) == "1 site: Glen House, in Scotland."
    assert Narrowed(nation="wales").in_words(manager) == "No site fits this: all figures are of nothing."


def test_a_subcontractor_counts_nothing_of_what_they_do_not_see(house):
    item(house, 5)
    assert whole(make_user("Sam", "engineer", subcontractor=True)) == {}
