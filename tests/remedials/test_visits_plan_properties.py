"""Of any small problem: every plan passes the checker, every job is accounted for; of tiny ones, no better plan is."""

from itertools import permutations, product

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from remedials.visits.planner.checker import faults
from remedials.visits.planner.plain import by_rule
from remedials.visits.planner.problem import Fixed, Job, Problem, Shift
from remedials.visits.planner.search import plan
from remedials.visits.planner.worth import worth
from tests.planning import clock, ways

SKILLS = st.frozensets(st.sampled_from(["wiring", "alarms"]), max_size=2)
PLACES = st.tuples(st.integers(0, 40), st.integers(0, 40))
SLOW = settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)


@st.composite
def windows(draw, days):
    found = []
    for _ in range(draw(st.integers(0, 3))):
        day = draw(st.integers(-1, days))
        start = clock(day, draw(st.integers(7, 15)), draw(st.sampled_from([0, 7, 30])))
        found.append((start, start + draw(st.integers(20, 2000))))
    return tuple(found)


@st.composite
def problems(draw):
    days, engineers = draw(st.integers(1, 3)), draw(st.integers(0, 3))
    points = {f"p{at}": draw(PLACES) for at in range(8)}
    somewhere = st.sampled_from(sorted(points))
    shifts = []
    for engineer, day in product(range(engineers), range(days)):
        if draw(st.integers(0, 3)):
            start = clock(day, draw(st.integers(6, 10)))
            sites = draw(st.sampled_from([None, None, frozenset({"s0", "s1"})]))
            shifts.append(
                Shift(
                    f"e{engineer}-{day}", f"e{engineer}", day, start, start + draw(st.integers(60, 560)),
                    f"p{engineer}", draw(SKILLS), draw(st.sampled_from([False, False, True])), sites,
                )
            )  # fmt: skip
    jobs = [
        Job(
            f"j{at}", f"s{at % 3}", draw(st.one_of(somewhere, somewhere, st.just(""))), draw(st.integers(5, 200)),
            draw(st.one_of(windows(days), st.just(((0, clock(days, 0)),)))), draw(SKILLS),
            draw(st.sampled_from([1, 1, 1, 2])), draw(st.integers(0, 4)),
            draw(st.one_of(st.none(), st.integers(-3, 5))),
            apart=draw(st.frozensets(st.sampled_from([f"j{other}" for other in range(8) if other != at]), max_size=2)),
        )
        for at in range(draw(st.integers(0, 7)))
    ]  # fmt: skip
    fixed = []
    for at in range(draw(st.integers(0, 4)) if engineers else 0):
        start = clock(draw(st.integers(-1, days)), draw(st.integers(5, 18)))
        who = draw(st.lists(st.sampled_from([f"e{e}" for e in range(engineers)]), min_size=1, unique=True))
        where = draw(st.one_of(somewhere, st.just("")))
        fixed.append(Fixed(f"f{at}", tuple(who), start, start + draw(st.integers(10, 1500)), where))
    return Problem(days, tuple(shifts), tuple(fixed), tuple(jobs), *ways(points))


def sound(problem, answer):
    assert faults(problem, answer) == []
    assert sorted([one.job for one in answer.planned] + list(answer.unplanned)) == sorted(
        job.key for job in problem.jobs
    )


@SLOW
@given(problems())
def test_the_plain_rule_s_plan_is_sound(problem):
    sound(problem, by_rule(problem))


@SLOW
@given(problems(), st.integers(1, 5))
def test_every_plan_is_sound_and_so_is_the_one_after_it(problem, seed):
    answer = plan(problem, effort="quick", seed=seed)
    sound(problem, answer)
    sound(problem, plan(problem, effort="quick", seed=seed + 1, last=answer))


@st.composite
def tiny(draw):
    """One place each, one or two engineers, one or two days, up to four jobs of one person, any window."""
    points = {f"p{at}": draw(PLACES) for at in range(6)}
    days = draw(st.integers(1, 2))
    shifts = [
        Shift(f"e{e}-{day}", f"e{e}", day, clock(day, 8), clock(day, draw(st.integers(10, 14))), f"p{4 + e}")
        for e in range(draw(st.integers(1, 2)))
        for day in range(days)
    ]
    jobs = [
        Job(
            f"j{at}", f"p{at}", f"p{at}", draw(st.sampled_from([20, 45, 60])), ((0, clock(days, 0)),),
            danger=draw(st.integers(0, 4)), remedy_by=draw(st.one_of(st.none(), st.integers(0, 2))),
        )
        for at in range(draw(st.integers(1, 4)))
    ]  # fmt: skip
    return Problem(days, tuple(shifts), (), tuple(jobs), *ways(points))


def best_of_all(problem):
    """The most that any plan is worth less its driving, by trying them all."""
    shifts = [*problem.shifts, None]
    return max(_value(problem, whose) for whose in product(range(len(shifts)), repeat=len(problem.jobs)))


def _value(problem, whose):
    total = 0
    for at, shift in enumerate(problem.shifts):
        mine = [job for job, where in zip(problem.jobs, whose, strict=True) if where == at]
        ways_home = [way for order in permutations(mine) if (way := _way(problem, shift, order)) is not None]
        if not ways_home:
            return -(10**9)
        total += sum(worth(job, shift.day, problem.days) for job in mine) - min(ways_home)
    return total


def _way(problem, shift, order):
    place, now, driven = shift.home, shift.start, 0
    for job in order:
        driven += problem.minutes[place][job.place]
        now += problem.minutes[place][job.place] + job.minutes
        place = job.place
    back = problem.minutes[place][shift.home]
    return driven + back if now + back <= shift.end else None


@SLOW
@given(tiny())
def test_of_a_tiny_problem_no_plan_is_better(problem):
    answer = plan(problem, effort="quick", seed=1)
    jobs = {job.key: job for job in problem.jobs}
    reached = sum(worth(jobs[one.job], one.start // 1440, problem.days) for one in answer.planned)
    assert reached - answer.drive_minutes == best_of_all(problem)
