"""The plain rule: the soonest due first, on the first day with room, with whoever has least far to drive."""

from remedials.visits.planner.checker import faults
from remedials.visits.planner.plain import by_rule
from remedials.visits.planner.problem import Fixed, Job, Problem, Shift
from tests.planning import clock, ways

# Ann lives at 0 km, Ben at 20 km along one road; 10 km are 20 minutes, 20 km 39.
MINUTES, KM = ways({"ann's": (0.0, 0.0), "near ann": (5.0, 0.0), "near ben": (15.0, 0.0), "ben's": (20.0, 0.0)})
WEEK = ((0, clock(2, 0)),)
SHIFTS = tuple(
    Shift(f"{name}-{day}", name, day, clock(day, 8), clock(day, 12), f"{name}'s")
    for name in ("ann", "ben")
    for day in (0, 1)
)


def ruled(*jobs, fixed=()):
    problem = Problem(2, SHIFTS, tuple(fixed), jobs, MINUTES, KM)
    answer = by_rule(problem)
    assert faults(problem, answer) == []
    return answer


def when(answer):
    return {one.job: (one.engineers, one.start) for one in answer.planned}


def test_each_goes_to_the_nearest_and_the_soonest_due_is_first():
    later = Job("later", "s", "near ann", 60, WEEK, remedy_by=9)
    sooner = Job("sooner", "s", "near ann", 60, WEEK, remedy_by=1)
    other = Job("other", "s", "near ben", 60, WEEK)
    answer = ruled(later, sooner, other)
    assert when(answer) == {
        "sooner": (("ann",), clock(0, 8, 10)),
        "later": (("ann",), clock(0, 9, 10)),
        "other": (("ben",), clock(0, 8, 10)),
    }
    assert (answer.drive_minutes, answer.iterations) == (40, 0)


def test_the_first_day_goes_before_the_shorter_way_and_what_stands_is_kept():
    stands = Fixed("stands", ("ann",), clock(0, 8), clock(0, 12), "near ann")
    answer = ruled(Job("job", "s", "near ann", 60, WEEK), fixed=[stands])
    assert when(answer) == {"job": (("ben",), clock(0, 8, 30))}


def test_of_the_same_date_the_most_dangerous_is_first_and_what_has_no_room_says_so():
    jobs = [Job(f"c{danger}", "s", "near ann", 200, WEEK, danger=danger, remedy_by=1) for danger in range(5)]
    answer = ruled(*jobs)
    assert when(answer) == {"c4": (("ann",), clock(0, 8, 10)), "c3": (("ann",), clock(1, 8, 10))}
    assert answer.unplanned == dict.fromkeys(["c0", "c1", "c2"], "No room in the hours of those who may do it.")


def test_a_job_of_two_is_put_where_both_are_free():
    answer = ruled(Job("both", "s", "near ann", 60, WEEK, crew=2))
    assert when(answer) == {"both": (("ann", "ben"), clock(0, 8, 30))}
