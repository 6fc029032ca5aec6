"""What the planner is given, gathered from a database."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import pytest

from inspections.models import MadeSafe
from jobsite.ids import new_id
from remedials.visits.models import DiaryTerms, DrivingTime
from remedials.visits.operations import book_visit, no_access
from remedials.visits.queries.gone import why_gone
from remedials.visits.queries.problem import gathered, missing_places, problem_of
from remedials.visits.queries.problem_work import NO_MINUTES
from remedials.works.operations import leave_remedial
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.remedials.desk import statements
from tests.remedials.planned import engineer_at_home, site_at, work_at
from tests.remedials.test_plan_routing import server  # noqa: F401 - a fixture
from tests.remedials.work import ask_reading

pytestmark = pytest.mark.django_db
FIRST = date(2026, 2, 9)  # a Monday
DAY = 1440


def terms(**fields):
    return DiaryTerms.objects.create(holds_from=date(2026, 1, 1), **fields)


def get(users, *, first=FIRST, days=5, now=NOON):
    return gathered(first, days, users, now)


def why(found) -> set[str]:
    return set(found.held_back.values())


def test_a_small_week(db) -> None:
    edwin = engineer_at_home("Edwin Wireman")
    mill, barn = site_at("Mill", 10), site_at("Barn", 20)
    first, second = work_at(mill, "C1", minutes=90, crew=2), work_at(mill, "C3", "C2", minutes=50)
    work_at(barn, "C2", minutes=10, remedy_by=FIRST + timedelta(days=2))
    found = get([edwin])
    problem = found.problem
    assert [(s.day, s.start, s.end) for s in problem.shifts] == [(n, n * DAY + 480, n * DAY + 990) for n in range(5)]
    assert {(s.engineer, s.home, s.apprentice) for s in problem.shifts} == {(str(edwin.pk), f"home:{edwin.pk}", False)}
    jobs = [(job.place, job.minutes, job.crew, job.danger, job.remedy_by, job.what) for job in problem.jobs]
    # 90 minutes of two people are 45 on site, and 50 of one; no visit is shorter than 30.
    assert jobs == [
        (f"site:{mill.pk}", 95, 2, 4, None, "1 C1 item, 1 C2 item, 1 C3 item"),
        (f"site:{barn.pk}", 30, 1, 3, 2, "1 C2 item"),
    ]
    assert [windows for job in problem.jobs for windows in job.windows] == [(0, 5 * DAY)] * 2
    assert found.work[problem.jobs[0].key] == [first.pk, second.pk]
    assert (found.missing, found.held_back, found.notes, problem.first) == ([], {}, [], FIRST)


def test_what_is_held_back_says_why(db) -> None:
    edwin = engineer_at_home()
    mill = site_at("Mill", 10)
    work_at(mill, minutes=None)
    work_at(mill, parts_ready_on=FIRST + timedelta(days=5))
    waits = work_at(mill)
    waits.site.waitings.create(
        remedial=waits, on_whom="the landlord", for_what="a lift key", asked_on=TODAY, chase_on=TODAY, recorded_by=edwin
    )
    looked_for = work_at(mill, "C2")
    mill.waitings.create(
        observation=looked_for.observations.get(), on_whom="the network", for_what="a date", asked_on=TODAY,
        chase_on=TODAY, recorded_by=edwin,
    )  # fmt: skip
    work_at(make.make_site("Nowhere Lodge"))
    found = get([edwin])
    assert why(found) == {
        NO_MINUTES,
        "Its parts are there from 14 Feb 2026, after these days.",
        "It waits on the landlord for a lift key.",
        "It waits on the network for a date.",
        "It is not known where this site is: write its coordinates on its page.",
    }
    assert [name for _, _, name in found.missing] == ["Nowhere Lodge"]
    assert (found.problem.jobs, found.work) == ((), {})


def test_what_was_part_done_or_where_nobody_let_us_in_is_planned_again(engineer, office) -> None:
    edwin, mill = engineer_at_home("Ida Switchwell"), site_at("Mill", 10)
    begun, shut = work_at(mill, "C1"), work_at(site_at("Tower", 12), "C2")
    when = {"engineers": [edwin], "now": NOON, "by": office, "despite": "agreed so"}
    for hours, remedial in ((0, begun), (2, shut)):
        start = NOON + timedelta(hours=hours)
        end = start + timedelta(hours=1)
        book_visit(remedial.site, id=new_id(), remedials=[remedial], start=start, end=end, **when)
    leave_remedial(begun, id=new_id(), because="the second board", by=edwin, now=NOON)
    no_access(shut.lines.get().visit, id=new_id(), note="Rang twice", by=office, now=NOON)
    found = get([edwin])
    assert found.held_back == {}
    assert sorted(key for keys in found.work.values() for key in keys) == sorted([begun.pk, shut.pk])
    proposal = make.make_proposal(make.make_plan(engineers=[edwin]), begun, engineers=[edwin])
    assert why_gone([proposal], now=NOON) == {}


def test_what_is_not_to_be_planned_at_all(engineer, office) -> None:
    mill = site_at("Mill")
    work_at(mill, stage="to-price")
    booked = work_at(mill, stage="booked")
    make.make_visit(mill, booked, engineers=[engineer])
    gone = site_at("Gone")
    work_at(gone)
    gone.archived_at = NOON
    gone.save()
    found = get([engineer])
    assert (found.problem.jobs, found.held_back) == ((), {})


def test_parts_that_come_in_the_week_open_its_window(db) -> None:
    mill = site_at("Mill")
    work_at(mill)
    work_at(mill, parts_ready_on=FIRST + timedelta(days=3))
    problem = get([engineer_at_home()]).problem
    assert sorted(job.windows for job in problem.jobs) == [((0, 5 * DAY),), ((3 * DAY, 5 * DAY),)]


def test_nobody_is_planned_who_is_away_or_whose_home_is_unknown(db) -> None:
    edwin, nomad = engineer_at_home("Edwin Wireman"), make.make_user("Nora Nomad", "engineer")
    make_leave(edwin, FIRST + timedelta(days=1), FIRST + timedelta(days=3))
    found = get([edwin, nomad])
    assert [shift.day for shift in found.problem.shifts] == [0, 4]
    assert found.missing == [("home", str(nomad.pk), "Nora Nomad")]


def make_leave(user, first, last):
    from jobsite.people.models import Leave

    return Leave.objects.create(user=user, first=first, last=last, recorded_by=user)


def test_a_subcontractor_goes_while_insured(db) -> None:
    sub = engineer_at_home("Sue Sub", subcontractor=True, insured_until=FIRST + timedelta(days=1))
    assert [shift.day for shift in get([sub]).problem.shifts] == [0, 1]
    terms(severities={"insurance": "silent"})
    assert [shift.day for shift in get([sub]).problem.shifts] == [0, 1, 2, 3, 4]


def test_skills_by_day_and_by_what_the_work_needs(db) -> None:
    edwin = engineer_at_home("Edwin Wireman", (Decimal("52.2"), Decimal("0.1")), "Fire alarms")
    edwin.skills.update(until=FIRST)
    work_at(site_at("Mill"), skill="FIRE  alarms")
    problem = get([edwin]).problem
    assert [len(shift.skills) for shift in problem.shifts] == [1, 0, 0, 0, 0]
    assert problem.jobs[0].skills == problem.shifts[0].skills


def test_visits_that_stand_are_fixed(engineer, other_engineer, office) -> None:
    engineer.home_latitude, engineer.home_longitude = Decimal("52.2"), Decimal("0.1")
    engineer.save()
    mill = site_at("Mill")
    at = datetime(2026, 2, 10, 9, 0, tzinfo=UTC)
    one = make.make_visit(mill, engineers=[engineer, other_engineer], start=at)
    make.make_visit(mill, engineers=[other_engineer], start=at + timedelta(days=1))
    make.make_visit(mill, engineers=[engineer], start=at + timedelta(days=2), state="cancelled", cancelled_reason="No")
    unknown = make.make_visit(make.make_site("Nowhere"), engineers=[engineer], start=at + timedelta(hours=3))
    fixed = get([engineer]).problem.fixed
    assert [(f.key, f.engineers, f.start, f.end, f.place) for f in fixed] == [
        (str(one.pk), (str(engineer.pk),), DAY + 540, DAY + 660, f"site:{mill.pk}"),
        (str(unknown.pk), (str(engineer.pk),), DAY + 720, DAY + 840, ""),
    ]


def test_a_visit_of_several_days_is_fixed_in_each_shift(office) -> None:
    edwin = engineer_at_home()
    make.make_visit(site_at("Mill"), engineers=[edwin], start=datetime(2026, 2, 9, 12, 0, tzinfo=UTC), hours=45)
    fixed = get([edwin]).problem.fixed
    assert [(f.start, f.end) for f in fixed] == [(720, 990), (DAY + 480, DAY + 990), (2 * DAY + 480, 2 * DAY + 540)]


def test_visits_that_take_or_need_the_same_power_are_kept_clear_of(engineer, office) -> None:
    mill = site_at("Mill")
    board = make.make_board(mill)
    tested, dark, tests_there, cuts_there = (
        work_on(board, power_off=off, stage=stage)
        for off, stage in ((False, "approved"), (True, "approved"), (False, "booked"), (True, "booked"))
    )
    for remedial in (tested, tests_there):
        ask_reading(remedial)
    at = datetime(2026, 2, 9, 9, 0, tzinfo=UTC)
    make.make_visit(mill, cuts_there, engineers=[engineer], start=at)
    make.make_visit(mill, tests_there, engineers=[engineer], start=at + timedelta(hours=4))
    found = get([engineer])
    windows = {tuple(found.work[job.key]): job.windows for job in found.problem.jobs}
    # What is tested live keeps clear of the visit that cuts the power; what cuts it keeps clear of the live test.
    assert windows == {(tested.pk,): ((0, 540), (660, 5 * DAY)), (dark.pk,): ((0, 780), (900, 5 * DAY))}
    # And of each other, whichever day they are proposed for.
    apart = {job.key: job.apart for job in found.problem.jobs}
    first, second = apart
    assert apart == {first: {second}, second: {first}}
    DiaryTerms.objects.create(holds_from=date(2026, 1, 1), severities={"outage": "silent"})
    assert {job.key: job.apart for job in get([engineer]).problem.jobs} == apart  # never silent: somebody can be hurt


def work_on(board, **fields):
    """A remedial for an observation at `board`, of an hour."""
    observation = make.make_observation(board.site, board=board)
    return make.make_remedial(observation, **{"minutes": 60, "stage": "approved"} | fields)


def test_live_tests_below_a_lock_off_are_held_back(engineer, office) -> None:
    board = make.make_board(site_at("Mill"), "Intake board")
    tested = work_on(board, power_off=False)
    ask_reading(tested)
    locked = make.make_observation(board.site, board=board, made_safe=True)
    make_safe = {"how": "locked", "what": "main switch locked off", "key_holder": "the foreman", "agreed_with": "P"}
    MadeSafe.objects.create(observation=locked, at=NOON, by=office, look_again_on=TODAY, **make_safe)
    lock = "main switch locked off at Intake board, key with the foreman"
    sentence = f"Its live tests lie below a lock-off: {lock}. Book it for whoever put that on, or later."
    assert why(get([engineer])) == {sentence}


def test_nothing_is_planned_before_the_next_quarter_of_an_hour(db) -> None:
    work_at(site_at("Mill"))
    now = datetime(2026, 2, 9, 10, 7, 30, tzinfo=UTC)
    (job,) = get([engineer_at_home()], now=now).problem.jobs
    assert job.windows == ((615, 5 * DAY),)


@pytest.mark.parametrize("first", [date(2026, 3, 23), date(2026, 10, 19)])
def test_weeks_in_which_the_clocks_change(office, first) -> None:
    edwin = engineer_at_home()
    work_at(site_at("Mill"))
    monday = first + timedelta(days=7)
    start = datetime.combine(monday, time(9), tzinfo=UTC) - (timedelta(hours=1) if first.month == 3 else timedelta(0))
    make.make_visit(site_at("Barn"), engineers=[edwin], start=start)
    problem = get([edwin], first=first, days=8, now=datetime(2026, 2, 1, tzinfo=UTC)).problem
    assert {(s.start % DAY, s.end % DAY) for s in problem.shifts} == {(480, 990)}
    assert [(f.start, f.end) for f in problem.fixed] == [(7 * DAY + 540, 7 * DAY + 660)]
    odd = 6 * DAY + 60
    assert problem.jobs[0].windows == ((0, odd), (odd + 60, 8 * DAY))


# --- driving ----------------------------------------------------------------------------------------------------------


def test_driving_by_the_terms_or_by_the_table(db) -> None:
    edwin = engineer_at_home(home_postcode="QX1 1AA")
    mill = site_at("Mill", north=10, postcode="QX2 1AA")
    work_at(mill)
    terms(winding_factor=Decimal("1.20"), speed_kmh=60)
    here, there = f"home:{edwin.pk}", f"site:{mill.pk}"
    problem = get([edwin]).problem
    # A tenth of a degree of a meridian is 11.12 km on a sphere of 6371 km; 1.2 times that at 60 km/h are 13.3 minutes.
    assert (problem.minutes[here][there], problem.km[here][there]) == (14, 13.3)
    DrivingTime.objects.create(from_district="QX1", to_district="QX2", minutes=31, km=Decimal("20.5"))
    problem = get([edwin]).problem
    assert (problem.minutes[here][there], problem.km[here][there]) == (31, 20.5)


def test_a_routing_server_goes_before(server) -> None:  # noqa: F811
    edwin, mill = engineer_at_home(), site_at("Mill", east=10)
    work_at(mill)
    terms(matrix_address=server.address)
    found = get([edwin])
    here, there = f"home:{edwin.pk}", f"site:{mill.pk}"
    # The test's server: 0.1 degrees are 360 s, and 61 s more eastward.
    assert (found.problem.minutes[here][there], found.problem.minutes[there][here], found.notes) == (8, 6, [])


def test_a_routing_server_that_fails_is_said_and_driving_reckoned(server) -> None:  # noqa: F811
    edwin, mill = engineer_at_home(), site_at("Mill", east=10)
    work_at(mill)
    without = get([edwin]).problem
    terms(matrix_address=server.address)
    server.status = 503
    found = get([edwin])
    assert found.notes == [
        "The routing server answered with 503. Driving is reckoned by the firm's own figures instead."
    ]
    assert found.problem.minutes == without.minutes


# --- both sizes -------------------------------------------------------------------------------------------------------


def test_missing_places_are_named(db) -> None:
    lodge, nomad = make.make_site("Nowhere Lodge"), make.make_user("Nora Nomad", "engineer")
    work_at(lodge)
    work_at(site_at("Mill"))
    named = [("home", str(nomad.pk), "Nora Nomad"), ("site", str(lodge.pk), "Nowhere Lodge")]
    assert missing_places() == named
    assert problem_of(FIRST, 5, [nomad], NOON)[1] == ["Nora Nomad", "Nowhere Lodge"]


@pytest.mark.parametrize("size", [2, 9])
def test_statements(office, size) -> None:
    users = [engineer_at_home(f"Engineer{n} Body") for n in range(size)]
    for n in range(size):
        site = site_at(f"Site {n}", n)
        work_at(site, "C2")
        work_at(site, "C1", power_off=True)
        make.make_visit(site, engineers=[users[n]], start=datetime(2026, 2, 9, 9, 0, tzinfo=UTC))
    with statements() as sql:
        found = get(users)
    assert (len(found.problem.jobs), len(found.problem.fixed)) == (2 * size, size)
    assert len(sql) == 25
