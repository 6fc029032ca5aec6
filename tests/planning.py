"""Weeks of an invented firm for the planner's tests and benchmark: the same for the same seed, on an invented map."""

import math
import random
from dataclasses import dataclass
from datetime import date

from remedials.visits.planner.problem import MINUTES_A_DAY, Fixed, Job, Problem, Shift

SPEED = 40 / 60  # km a minute
WINDING = 1.3
CODES = ("", "C3", "FI", "C2", "C1")
FIRST = date(2026, 11, 30)


def clock(day: int, hour: int, minute: int = 0) -> int:
    """Minutes from the first midnight."""
    return day * MINUTES_A_DAY + hour * 60 + minute


def ways(points: dict[str, tuple[float, float]]) -> tuple[dict[str, dict[str, int]], dict[str, dict[str, float]]]:
    """Minutes and km between points on a flat map in km."""
    km = {a: {b: round(math.dist(p, q) * WINDING, 1) for b, q in points.items()} for a, p in points.items()}
    return {a: {b: math.ceil(way / SPEED) for b, way in row.items()} for a, row in km.items()}, km


@dataclass
class Firm:
    """How large the week is."""

    engineers: int = 8
    days: int = 5
    visits: int = 120
    fixed: int = 0
    crews: int = 0
    across_km: float = 30.0


def firms_week(seed: int, size: Firm | None = None) -> Problem:
    """A week: engineers who live about the district, visits of half an hour to two and a half hours, four skills."""
    size = size or Firm()
    made = random.Random(seed)
    points = {f"home-{e}": _point(made, size) for e in range(size.engineers)}
    points |= {f"site-{v}": _point(made, size) for v in range(size.visits)}
    points |= {f"booked-{f}": _point(made, size) for f in range(size.fixed)}
    minutes, km = ways(points)
    shifts = [
        Shift(
            key=f"e{e}-{day}",
            engineer=f"e{e}",
            day=day,
            start=clock(day, 8),
            end=clock(day, 17),
            home=f"home-{e}",
            skills=frozenset(_skills(e)),
            apprentice=size.crews > 0 and e == size.engineers - 1,
        )
        for e in range(size.engineers)
        for day in range(size.days)
    ]
    jobs = [_job(made, v, size) for v in range(size.visits)]
    fixed = [_fixed(made, f, size) for f in range(size.fixed)]
    return Problem(size.days, tuple(shifts), tuple(fixed), tuple(jobs), minutes, km, FIRST)


def _point(made: random.Random, size: Firm) -> tuple[float, float]:
    return (made.uniform(0, size.across_km), made.uniform(0, size.across_km))


def _skills(engineer: int) -> list[str]:
    return ["wiring", *(["fire alarms"] if engineer % 2 else []), *(["testing"] if engineer % 3 else [])]


def _job(made: random.Random, number: int, size: Firm) -> Job:
    danger = made.choices([0, 1, 2, 3, 4], [20, 30, 20, 27, 3])[0]
    by = {0: None, 1: None, 2: made.randint(4, 20), 3: made.randint(2, 12), 4: made.randint(0, 2)}[danger]
    skill = made.choices(["wiring", "fire alarms", "testing"], [70, 12, 18])[0]
    return Job(
        key=f"job-{number:03}",
        site=f"site-{number}",
        place=f"site-{number}",
        minutes=made.choice([30, 45, 60, 60, 90, 90, 120, 150]),
        windows=tuple(_windows(made, size, urgent=by is not None and by < size.days)),
        skills=frozenset([skill]),
        crew=2 if number < size.crews else 1,
        danger=danger,
        remedy_by=by,
        what=f"{CODES[danger]} item" if danger else "",
    )


def _windows(made: random.Random, size: Firm, *, urgent: bool) -> list[tuple[int, int]]:
    kind = made.random()
    if kind < 0.5 or urgent:
        return [(0, clock(size.days, 0))]
    if kind < 0.8:
        return [(clock(day, 8), clock(day, 13)) for day in range(size.days)]
    days = sorted(made.sample(range(size.days), min(2, size.days)))
    return [(clock(day, 9), clock(day, 16)) for day in days]


def _fixed(made: random.Random, number: int, size: Firm) -> Fixed:
    engineer, day = number % size.engineers, (number // size.engineers) % size.days
    start = clock(day, made.randint(9, 14), made.choice([0, 30]))
    return Fixed(f"visit-{number}", (f"e{engineer}",), start, start + made.choice([60, 90, 120]), f"booked-{number}")
