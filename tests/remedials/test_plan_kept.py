"""A problem and an answer kept as JSON and read back; what a plan comes to in figures."""

import json
from datetime import date

from remedials.visits.planner.figures import figures
from remedials.visits.planner.kept import answer_as_kept, answer_from, problem_as_kept, problem_from
from remedials.visits.planner.problem import Answer, Fixed, Job, Planned, Problem, Shift

PLACES = ("home", "mill", "barn")
MINUTES = {"home": {"home": 0, "mill": 20, "barn": 30}, "mill": {"home": 25, "mill": 0, "barn": 10}, "barn": {"home": 30, "mill": 15, "barn": 0}}  # fmt: skip
KM = {a: {b: minutes / 2 for b, minutes in row.items()} for a, row in MINUTES.items()}
PROBLEM = Problem(
    days=2,
    shifts=(
        Shift("e:0", "e", 0, 480, 960, "home", frozenset({"alarms"}), sites=frozenset({"mill"})),
        Shift("e:1", "e", 1, 1920, 2400, "home", apprentice=True),
    ),
    fixed=(Fixed("v", ("e",), 600, 660, "barn"), Fixed("w", ("e",), 700, 710, "")),
    jobs=(
        Job("a", "s1", "mill", 60, ((480, 960), (1920, 2400)), frozenset({"alarms"}), 2, 4, 0),
        Job("b", "s2", "barn", 60, ((480, 960),), remedy_by=-3, what="2 C2 items"),
        Job("c", "s2", "barn", 60, ((480, 960),), remedy_by=9),
    ),
    minutes=MINUTES,
    km=KM,
    first=date(2026, 2, 2),
)
ANSWER = Answer((Planned("a", ("e",), 500, 560, 20, "first"),), {"b": "no room", "c": "no room"}, 60, 100, False)


def test_there_and_back_by_json() -> None:
    assert problem_from(json.loads(json.dumps(problem_as_kept(PROBLEM)))) == PROBLEM
    assert answer_from(json.loads(json.dumps(answer_as_kept(ANSWER)))) == ANSWER


def test_figures() -> None:
    # home to mill 20, to barn 10, home 30; the visit at an unknown place is on no way. Job b is late however it is placed.
    assert figures(PROBLEM, ANSWER) == (1, 60, 30.0, 1)
    late = Answer((Planned("a", ("e",), 1950, 2010, 20, ""),), {}, 0, 0, False)
    # The barn on the first day, there and back; the mill on the second, after its last day.
    assert figures(PROBLEM, late) == (1, 105, 52.5, 2)
