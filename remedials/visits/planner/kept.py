"""A problem and an answer as JSON, so that a search can be done again from what was kept: the same input, the same plan."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from remedials.visits.planner.problem import Answer, Fixed, Job, Planned, Problem, Shift


def problem_as_kept(problem: Problem) -> dict[str, Any]:
    """All of `problem` in values that JSON knows; the matrices as rows in the order of `places`."""
    places = sorted(problem.minutes)
    return {
        "days": problem.days,
        "first": problem.first.isoformat() if problem.first else None,
        "shifts": [
            asdict(one) | {"skills": sorted(one.skills), "sites": None if one.sites is None else sorted(one.sites)}
            for one in problem.shifts
        ],
        "fixed": [asdict(one) | {"engineers": list(one.engineers)} for one in problem.fixed],
        "jobs": [
            asdict(one)
            | {"skills": sorted(one.skills), "windows": [list(w) for w in one.windows], "apart": sorted(one.apart)}
            for one in problem.jobs
        ],
        "places": places,
        "minutes": [[problem.minutes[a][b] for b in places] for a in places],
        "km": [[problem.km[a][b] for b in places] for a in places],
    }


def problem_from(kept: Mapping[str, Any]) -> Problem:
    """The problem that `problem_as_kept` wrote; KeyError or TypeError for anything else."""
    places: list[str] = kept["places"]
    return Problem(
        days=kept["days"],
        first=date.fromisoformat(kept["first"]) if kept["first"] else None,
        shifts=tuple(
            Shift(**one | {"skills": frozenset(one["skills"]), "sites": _set(one["sites"])}) for one in kept["shifts"]
        ),
        fixed=tuple(Fixed(**one | {"engineers": tuple(one["engineers"])}) for one in kept["fixed"]),
        jobs=tuple(_job(one) for one in kept["jobs"]),
        minutes=_matrix(places, kept["minutes"]),
        km=_matrix(places, kept["km"]),
    )


def answer_as_kept(answer: Answer) -> dict[str, Any]:
    """All of `answer` in values that JSON knows."""
    planned = [asdict(one) | {"engineers": list(one.engineers)} for one in answer.planned]
    return asdict(answer) | {"planned": planned, "unplanned": dict(answer.unplanned)}


def answer_from(kept: Mapping[str, Any]) -> Answer:
    """The answer that `answer_as_kept` wrote."""
    planned = tuple(Planned(**one | {"engineers": tuple(one["engineers"])}) for one in kept["planned"])
    return Answer(**{**kept, "planned": planned})


def _job(one: Mapping[str, Any]) -> Job:
    windows = tuple((a, b) for a, b in one["windows"])
    return Job(**{**one, "skills": frozenset(one["skills"]), "windows": windows, "apart": frozenset(one["apart"])})


def _set(names: Sequence[str] | None) -> frozenset[str] | None:
    return None if names is None else frozenset(names)


def _matrix(places: Sequence[str], rows: Sequence[Sequence[Any]]) -> dict[str, dict[str, Any]]:
    return {a: dict(zip(places, row, strict=True)) for a, row in zip(places, rows, strict=True)}
