"""The search: it places what can be placed, keeps what stands, says why, and answers the same to the same."""

import random
from dataclasses import replace

import pytest

from remedials.visits.planner.checker import faults
from remedials.visits.planner.problem import Answer, Fixed, Job, Problem, Shift
from remedials.visits.planner.search import ITERATIONS, plan
from tests.planning import FIRST, Firm, clock, firms_week, ways

# Along one straight road: 0, 10, 20 and 60 km from home, a quarter of an hour for 7.7 km.
ROAD = {"home": (0.0, 0.0), "near": (10.0, 0.0), "far": (20.0, 0.0), "off": (0.0, 60.0)}
MINUTES, KM = ways(ROAD)
WEEKDAYS = ((0, clock(5, 0)),)


def shift(day=0, engineer="ann", **more):
    more = {"start": clock(day, 8), "end": clock(day, 17), "home": "home", **more}
    return Shift(f"{engineer}-{day}", engineer, day, **more)


def job(key="job", place="near", minutes=60, windows=WEEKDAYS, **more):
    return Job(key, f"site of {place}", place, minutes, windows, **more)


ONE_DAY = (shift(),)


def week(*jobs, shifts=ONE_DAY, fixed=(), days=5):
    return Problem(days, tuple(shifts), tuple(fixed), tuple(jobs), MINUTES, KM, FIRST)


def planned(problem, **more) -> Answer:
    answer = plan(problem, **{"effort": "quick", "seed": 1, **more})
    assert faults(problem, answer) == []
    return answer


def when(answer):
    return {one.job: (one.engineers, one.start) for one in answer.planned}


def test_the_map_of_these_tests():
    assert (MINUTES["home"]["near"], MINUTES["home"]["far"], MINUTES["near"]["far"], MINUTES["home"]["off"]) == (
        20,
        39,
        20,
        117,
    )


def test_one_job_is_put_at_the_first_round_time_that_the_drive_allows():
    answer = planned(week(job()))
    (one,) = answer.planned
    assert (one.engineers, one.start, one.end, one.drive_minutes) == (("ann",), clock(0, 8, 30), clock(0, 9, 30), 20)
    assert (answer.drive_minutes, answer.unplanned, answer.cut_short) == (40, {}, False)


def test_the_reason_says_what_it_is_by_when_and_the_way_there():
    first = job("first", what="2 C2 items", danger=3, remedy_by=4, windows=((0, clock(0, 12)),))
    then = job("then", place="far", windows=((clock(0, 12), clock(0, 17)),))
    answer = planned(week(first, then))
    assert [one.reason for one in answer.planned] == [
        "2 C2 items, remedy by 4 Dec 2026; 20 minutes from home",
        "no danger; 20 minutes from the visit before",
    ]


@pytest.mark.parametrize(
    ("remedy_by", "said"),
    [
        (-1727, "remedy by 9 Mar 2022, late;"),  # the plan begins on 30 Nov 2026
        (-1, "remedy by 29 Nov 2026, late;"),
        (0, "remedy by 30 Nov 2026;"),
    ],
)
def test_what_is_late_says_so_with_the_year(remedy_by, said):
    (one,) = planned(week(job(remedy_by=remedy_by))).planned
    assert said in one.reason


def test_the_day_begins_and_ends_at_home_within_the_shift():
    long = job(minutes=501)  # with 20 minutes there and back, one more than the nine hours
    assert planned(week(long)).unplanned == {
        "job": "It takes 501 minutes, and with the driving that is more than any day's hours leave."
    }
    assert when(planned(week(replace(long, minutes=500)))) == {"job": (("ann",), clock(0, 8, 20))}


def test_the_whole_visit_lies_in_one_window():
    windows = ((clock(0, 9), clock(0, 10)), (clock(0, 10), clock(0, 11)), (clock(0, 14), clock(0, 15, 30)))
    assert when(planned(week(job(minutes=90, windows=windows)))) == {"job": (("ann",), clock(0, 14))}


def test_danger_comes_first_and_work_due_is_not_late_to_save_driving():
    shifts = [shift(day, end=clock(day, 10)) for day in range(3)]
    jobs = [job("c3", danger=1), job("c2", danger=3), job("due", place="off", minutes=5, remedy_by=0)]
    wide = [shift(0, end=clock(0, 12, 30)), *shifts[1:]]
    answer = planned(week(*jobs, shifts=wide, days=3))
    assert {key: start // 1440 for key, (_, start) in when(answer).items()} == {"due": 0, "c2": 1, "c3": 2}


def test_what_stands_is_kept_and_driven_around():
    stands = Fixed("stands", ("ann",), clock(0, 9), clock(0, 12), "far")
    answer = planned(week(job("a"), job("b", place="far"), fixed=[stands]))
    assert when(answer) == {"b": (("ann",), clock(0, 12)), "a": (("ann",), clock(0, 13, 30))}
    assert answer.drive_minutes == 79  # out to the far place and back by the near one: not a minute more


@pytest.mark.parametrize(
    "fixed",
    [
        [Fixed("a", ("ann",), clock(0, 9), clock(0, 11), "near"), Fixed("b", ("ann",), clock(0, 10), clock(0, 12), "far")],
        [Fixed("a", ("ann",), clock(0, 9), clock(0, 11), "near"), Fixed("b", ("ann",), clock(0, 11, 5), clock(0, 12), "off")],
        [Fixed("a", ("ann",), clock(0, 6), clock(0, 9), "near")],
        [Fixed("a", ("ann",), clock(0, 16), clock(0, 19), "off")],
        [Fixed("a", ("ann",), clock(0, 9), clock(0, 11), "")],
        [Fixed("a", ("ann",), clock(0, 9), clock(0, 16), "near"), Fixed("b", ("ann",), clock(0, 10), clock(0, 11), "far")],
    ],
    ids=["overlap", "no time to drive", "before the shift", "after the shift", "nobody knows where", "one in another"],
)  # fmt: skip
def test_what_stands_may_clash_and_the_rest_is_planned_all_the_same(fixed):
    answer = planned(week(job(minutes=30), shifts=[shift(0), shift(1)], fixed=fixed))
    assert list(when(answer)) == ["job"]


def test_a_visit_over_two_days_stands_on_both():
    stands = Fixed("stands", ("ann",), clock(0, 10), clock(1, 16), "near")
    answer = planned(week(job(minutes=120), shifts=[shift(0), shift(1), shift(2)], fixed=[stands], days=3))
    assert when(answer) == {"job": (("ann",), clock(2, 8, 30))}


def test_skill_of_the_day_and_a_subcontractor_s_sites_decide_who_goes():
    shifts = [
        shift(0, "ann"),
        shift(0, "ben", skills=frozenset({"fire alarms"}), sites=frozenset({"site of far"})),
        shift(1, "ben", skills=frozenset()),
    ]
    alarms = [job("a", skills=frozenset({"fire alarms"})), job("b", place="far", skills=frozenset({"fire alarms"}))]
    answer = planned(week(*alarms, shifts=shifts, days=2))
    assert when(answer) == {"b": (("ben",), clock(0, 8, 45))}
    assert answer.unplanned == {"a": "Nobody who works on these days has the skill: fire alarms."}


def test_an_apprentice_goes_only_beside_somebody():
    shifts = [shift(0, "ann"), shift(0, "app", apprentice=True)]
    answer = planned(week(job("alone"), job("both", crew=2, place="far"), shifts=shifts))
    assert when(answer)["both"] == (("ann", "app"), clock(0, 8, 39))
    assert when(answer)["alone"][0] == ("ann",)
    assert planned(week(job(), shifts=shifts[1:])).unplanned == {
        "job": "Only apprentices work on these days, and an apprentice never goes alone."
    }


@pytest.mark.parametrize(
    ("left", "shifts", "why"),
    [
        (job(place=""), [shift()], "It is not known where this is: give the site its coordinates or a postcode."),
        (job(), [], "Nobody works on these days."),
        (job(), [shift(sites=frozenset())], "Nobody who works on these days may go there."),
        (
            job(skills=frozenset({"a", "b"})),
            [shift(skills=frozenset({"a"})), shift(0, "ben", skills=frozenset({"b"}))],
            "No one person who may go alone has all its skills: a, b.",
        ),
        (job(windows=((clock(6, 9), clock(6, 17)),)), [shift()], "No access before 6 Dec 2026."),
        (job(windows=()), [shift()], "No access on these days for the 60 minutes that it takes."),
        (job(windows=((clock(0, 9), clock(0, 9, 30)),)), [shift()], "No access on these days for the 60 minutes that it takes."),
        (job(windows=((clock(1, 9), clock(1, 17)),)), [shift()], "No access while anybody works who may do it."),
        (job(crew=2), [shift()], "It takes 2 at once, and on no day are so many at work together who may do it."),
        (job(minutes=530), [shift()], "It takes 530 minutes, and with the driving that is more than any day's hours leave."),
    ],
)  # fmt: skip
def test_what_is_left_out_says_why(left, shifts, why):
    assert planned(week(left, shifts=shifts)).unplanned == {"job": why}


def test_what_one_needs_the_power_for_is_not_while_the_other_has_it_off():
    two = [shift(0, "ann", skills=frozenset({"a"})), shift(0, "ben", skills=frozenset({"b"}))]
    live = job("live", skills=frozenset({"a"}), minutes=200, windows=((0, clock(0, 14)),))
    dead = job("dead", skills=frozenset({"b"}), minutes=200, apart=frozenset({"live"}))
    times = when(planned(week(live, dead, shifts=two)))
    assert times == {"live": (("ann",), clock(0, 8, 30)), "dead": (("ben",), clock(0, 12))}
    short = replace(dead, windows=((0, clock(0, 14)),))
    assert list(planned(week(live, short, shifts=two)).unplanned.values()) == [
        "Other work here has the power off that this needs, or needs it on, in all the time that there is."
    ]


def test_no_room_is_the_last_reason():
    stands = [Fixed("f", ("ann",), clock(0, 8), clock(0, 17), "near")]
    assert planned(week(job(), fixed=stands)).unplanned == {"job": "No room in the hours of those who may do it."}
    both = [shift(), shift(0, "ben")]
    assert planned(week(job(crew=2), shifts=both, fixed=stands)).unplanned == {
        "job": "It takes 2 at once, and on no day are so many free together."
    }


def test_same_input_and_seed_same_plan_in_whatever_order_it_is_given():
    problem = firms_week(3, Firm(engineers=4, days=3, visits=30, fixed=5, crews=2))
    mixed = random.Random(1)

    def shuffled(things):
        return tuple(mixed.sample(things, len(things)))

    again = replace(
        problem, jobs=shuffled(problem.jobs), shifts=shuffled(problem.shifts), fixed=shuffled(problem.fixed)
    )
    first, second = planned(problem), planned(again)
    assert first == second
    assert (first.iterations, first.cut_short) == (ITERATIONS["quick"], False)
    assert planned(problem, seed=1) == first


def test_a_guard_of_time_that_cuts_is_reported():
    problem = firms_week(3, Firm(engineers=4, days=3, visits=30))
    cut = planned(problem, guard_seconds=0.0)
    assert (cut.cut_short, cut.iterations < ITERATIONS["quick"]) == (True, True)
    assert len(cut.planned) > 20  # it has begun from the plain rule's plan


def test_progress_is_told_from_nothing_to_all():
    told = []
    planned(firms_week(3, Firm(engineers=2, days=2, visits=8)), progress=lambda done, of: told.append((done, of)))
    assert (told[0], told[-1]) == ((0, ITERATIONS["quick"]), (ITERATIONS["quick"], ITERATIONS["quick"]))
    assert told == sorted(told)


def test_an_effort_that_there_is_not_is_refused():
    with pytest.raises(ValueError, match="quick, normal, thorough"):
        plan(week(job()), effort="very", seed=1)


def test_an_empty_week():
    answer = planned(week(shifts=()))
    assert (answer.planned, answer.unplanned, answer.drive_minutes) == ((), {}, 0)


# --- after the last plan ----------------------------------------------------------------------------------------------


def test_the_last_plan_is_kept_where_it_holds_and_what_no_longer_holds_is_placed_anew():
    jobs = [job("a"), job("b", place="far"), job("c", crew=2)]
    both = [shift(), shift(0, "ben"), shift(1), shift(1, "ben")]
    last = planned(week(*jobs, shifts=both))
    now = week(jobs[0], replace(jobs[1], windows=((clock(1, 9), clock(1, 17)),)), jobs[2], shifts=both)
    again = planned(now, last=last, seed=7)
    assert when(again)["a"] == when(last)["a"]
    assert when(again)["c"] == when(last)["c"]
    assert when(again)["b"][1] >= clock(1, 9)


def test_leave_taken_meanwhile_moves_only_whose_it_is():
    problem = firms_week(5, Firm(engineers=4, days=3, visits=30))
    last = planned(problem)
    gone = replace(problem, shifts=tuple(s for s in problem.shifts if (s.engineer, s.day) != ("e1", 0)))
    again = when(planned(gone, last=last))
    kept = {k: v for k, v in when(last).items() if not (v[0] == ("e1",) and v[1] < clock(1, 0))}
    assert sum(again.get(key) != value for key, value in kept.items()) <= len(kept) // 10


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_after_one_cancellation_at_most_a_tenth_of_the_others_changes(seed):
    problem = firms_week(seed, Firm(engineers=4, days=3, visits=40))
    last = planned(problem)
    cancelled = last.planned[len(last.planned) // 2].job
    fewer = replace(problem, jobs=tuple(job for job in problem.jobs if job.key != cancelled))
    before, after = when(last), when(planned(fewer, last=last, seed=seed + 1))
    others = [key for key in before if key != cancelled]
    assert sum(before[key] != after.get(key) for key in others) <= len(others) // 10


# --- more than there is room for --------------------------------------------------------------------------------------


def test_one_visit_gives_way_to_two_that_are_worth_more_together():
    """Room for the long one that is due, or for a C2 and another: the solver alone keeps the first for ever."""
    short = (shift(0, end=clock(0, 11)),)
    due = job("due", place="far", minutes=100, danger=0, remedy_by=0)
    others = [job("c2", place="near", minutes=60, danger=3), job("fi", place="near", minutes=60, danger=2)]
    assert set(when(planned(week(due, *others, shifts=short, days=1)))) == {"c2", "fi"}


def test_what_is_left_out_is_what_is_worth_least():
    short = [shift(day, end=clock(day, 12)) for day in range(2)]
    jobs = [job(f"danger {danger}", minutes=100, danger=danger) for danger in range(5)]
    answer = planned(week(*jobs, shifts=short, days=2))
    assert set(when(answer)) == {"danger 4", "danger 3", "danger 2", "danger 1"}
    assert {start // 1440 for key, (_, start) in when(answer).items() if key == "danger 4"} == {0}
