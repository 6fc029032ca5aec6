"""The checker finds every kind of broken plan, and shares no code with what it checks."""

import ast
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from remedials.visits.planner import checker
from remedials.visits.planner.checker import faults
from remedials.visits.planner.problem import Answer, Fixed, Job, Planned, Problem, Shift
from tests.planning import clock, ways

MINUTES, KM = ways({"home": (0.0, 0.0), "near": (10.0, 0.0), "far": (20.0, 0.0)})
ALARMS = frozenset({"fire alarms"})
SHIFTS = (
    Shift("ann-0", "ann", 0, clock(0, 8), clock(0, 17), "home", ALARMS),
    Shift("ben-0", "ben", 0, clock(0, 8), clock(0, 17), "home", sites=frozenset({"b", "both"})),
    Shift("app-0", "app", 0, clock(0, 8), clock(0, 17), "home", apprentice=True),
    Shift("ben-1", "ben", 1, clock(1, 8), clock(1, 17), "home"),
)
JOBS = (
    Job("a", "a", "near", 60, ((clock(0, 9), clock(0, 17)), (clock(1, 9), clock(1, 17))), ALARMS),
    Job("b", "b", "far", 60, ((0, clock(2, 0)),), apart=frozenset({"both", "lost", "a"})),
    Job("both", "both", "near", 30, ((0, clock(2, 0)),), crew=2),
    Job("lost", "lost", "", 30, ((0, clock(2, 0)),)),
)
FIXED = (Fixed("stands", ("ann",), clock(0, 12), clock(0, 13), "far"),)
PROBLEM = Problem(2, SHIFTS, FIXED, JOBS, MINUTES, KM)


def at(job, engineers, hour, minute=0, *, minutes=60, day=0, drive=0):
    start = clock(day, hour, minute)
    return Planned(job, engineers, start, start + minutes, drive, "because")


# a and b may not be at the same time. Ann: home, a near, to the far visit that stands, home. Ben: home, b far, both near, home. The apprentice beside Ben.
GOOD = (
    at("a", ("ann",), 10, drive=20),
    at("b", ("ben",), 9, drive=39),
    at("both", ("ben", "app"), 14, minutes=30, drive=20),
)
SOUND = Answer(GOOD, {"lost": "Nobody knows where."}, 79 + 79 + 40, 1, cut_short=False)


def with_(place, **changes):
    return replace(SOUND, planned=tuple(replace(one, **changes) if one.job == place else one for one in GOOD))


def moved(place, hour, minute=0, *, day=0, minutes=60):
    return with_(place, start=clock(day, hour, minute), end=clock(day, hour, minute) + minutes)


def test_a_sound_plan_has_no_faults():
    assert faults(PROBLEM, SOUND) == []


@pytest.mark.parametrize(
    ("broken", "fault"),
    [
        (replace(SOUND, planned=(*GOOD, GOOD[0])), "a is planned 2 times."),
        (replace(SOUND, planned=(*GOOD, at("x", ("ann",), 15))), "x is planned, and nobody asked for it."),
        (replace(SOUND, planned=GOOD[1:]), "a is neither planned nor left out with a reason."),
        (replace(SOUND, unplanned={}), "lost is neither planned nor left out with a reason."),
        (replace(SOUND, unplanned={"lost": ""}), "lost is neither planned nor left out with a reason."),
        (replace(SOUND, unplanned={"lost": "So.", "a": "So."}), "a is planned, and also said to be left out."),
        (replace(SOUND, unplanned={"lost": "So.", "x": "So."}), "x is left out, and nobody asked for it."),
        (replace(SOUND, planned=(*GOOD, at("lost", ("ben",), 16, minutes=30))), "lost is planned, and it is not known where it is."),
        (with_("a", end=clock(0, 10, 50)), "a takes 60 minutes and is planned for 50."),
        (moved("a", 8, 50), "a is outside its access times."),
        (moved("b", 9, day=2), "b is outside the days of the plan."),
        (with_("both", engineers=("ben",)), "both takes 2 at once and 1 go."),
        (with_("both", engineers=("ben", "ben")), "both names an engineer twice."),
        (with_("both", engineers=("app", "app")), "both is left to an apprentice alone."),
        (with_("b", engineers=("app",)), "b is left to an apprentice alone."),
        (with_("a", engineers=("ben",)), "ben may not be sent to the site of a."),
        (with_("a", engineers=("ben",)), "a needs the skill fire alarms, which nobody who goes has on that day."),
        (moved("a", 9, day=1), "ann does not work on the day of a."),
        (with_("b", engineers=("zoe",)), "zoe does not work on the day of b."),
        (moved("a", 12, 30), "ann would be at stands and at a at once."),
        (moved("a", 11, 30), "ann would be at a and at stands at once."),
        (moved("a", 9, 59), "a and b would be done at the same time, and one needs the power that the other has off."),
        (moved("both", 9, 30, minutes=30), "b and both would be done at the same time, and one needs the power that the other has off."),
        (moved("both", 9, 30, minutes=30), "ben would be at b and at both at once."),
        (moved("a", 10, 41), "ann has 19 minutes from a to stands, a drive of 20."),
        (moved("a", 13, 19), "ann has 19 minutes from stands to a, a drive of 20."),
        (moved("both", 10, 19, minutes=30), "ben has 19 minutes from b to both, a drive of 20."),
        (moved("b", 8, 38), "ben would have to leave home for b before the day begins."),
        (moved("both", 16, 11, minutes=30), "ben would be home from both after the day ends."),
        (moved("both", 16, 11, minutes=30), "app would be home from both after the day ends."),
        (moved("b", 16, 30), "b is outside the hours of ben."),
        (moved("b", 7), "b is outside the hours of ben."),
        (with_("a", drive_minutes=21), "a is a drive of 20 minutes and is told as 21."),
        (replace(SOUND, drive_minutes=197), "The driving of all days is 198 minutes and is told as 197."),
    ],
)  # fmt: skip
def test_each_kind_of_broken_plan_is_found(broken, fault):
    assert fault in faults(PROBLEM, broken)


@pytest.mark.parametrize(
    "still_sound",
    [moved("a", 10, 40), moved("both", 10, 20, minutes=30), moved("b", 8, 39), moved("both", 16, 10, minutes=30)],
)
def test_to_the_minute_it_is_still_sound(still_sound):
    assert faults(PROBLEM, still_sound) == []


def test_what_stood_before_may_clash_with_itself_and_the_hours():
    stands = (
        Fixed("stands", ("ann",), clock(0, 12), clock(0, 13), "far"),
        Fixed("clashes", ("ann",), clock(0, 12, 30), clock(0, 13, 30), "near"),
        Fixed("early", ("ben",), clock(0, 6), clock(0, 7), "near"),
    )
    nothing = Answer((), {job.key: "So." for job in JOBS}, 79 + 40, 0, cut_short=False)
    assert faults(replace(PROBLEM, fixed=stands), nothing) == []


def test_it_shares_no_code_with_the_search():
    tree = ast.parse(Path(checker.__file__).read_text())
    imported = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    imported |= {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    ours = {name for name in imported if name.partition(".")[0] not in sys.stdlib_module_names}
    assert ours == {"remedials.visits.planner.problem"}
    problem = ast.parse(Path(sys.modules["remedials.visits.planner.problem"].__file__).read_text())
    assert not [node for node in ast.walk(problem) if isinstance(node, ast.FunctionDef)]
