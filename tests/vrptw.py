"""Solomon's instances for the planner's solver: read, put in its terms, and their routes checked without it.

Everything is in tenths: distances are truncated to one decimal (see tests/data/vrptw/SOURCES.md), and the solver knows
whole numbers only.
"""

import math
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from pyvrp import Client, Depot, Location, ProblemData, VehicleType

from remedials.visits.planner.core import Limit, search

HERE = Path(__file__).parent / "data" / "vrptw"
BEST = {"C101": 8273, "R101": 16377, "RC208": 7761}  # tenths; tests/data/vrptw/SOURCES.md


@dataclass(frozen=True)
class Customer:
    """One row of an instance, times and distances in tenths; the first is the depot."""

    x: int
    y: int
    demand: int
    ready: int
    due: int
    service: int


@dataclass(frozen=True)
class Instance:
    """Vehicles, what each carries, the rows."""

    vehicles: int
    capacity: int
    customers: tuple[Customer, ...]

    def way(self, a: int, b: int) -> int:
        """Tenths from row to row, truncated."""
        here, there = self.customers[a], self.customers[b]
        return math.isqrt(100 * ((here.x - there.x) ** 2 + (here.y - there.y) ** 2))


def instance(name: str) -> Instance:
    """An instance from its file."""
    rows = [
        [int(word) for word in line.split()]
        for line in (HERE / f"{name}.txt").read_text().splitlines()
        if re.fullmatch(r"\s*\d+(\s+\d+)+\s*", line)
    ]
    (vehicles, capacity), *customers = rows
    return Instance(
        vehicles, capacity, tuple(Customer(x, y, q, a * 10, b * 10, s * 10) for _, x, y, q, a, b, s in customers)
    )


def published_routes(name: str) -> list[list[int]]:
    """The routes of the best known solution."""
    lines = (HERE / f"{name}.sol").read_text().splitlines()
    return [[int(word) for word in line.partition(":")[2].split()] for line in lines if line.startswith("Route")]


def cost_of(given: Instance, routes: list[list[int]]) -> int:
    """The cost in tenths of routes that keep everything; raises ValueError with the first thing that they don't."""
    if sorted(stop for route in routes for stop in route) != list(range(1, len(given.customers))):
        raise ValueError("not every customer once")
    if len(routes) > given.vehicles:
        raise ValueError("too many vehicles")
    return sum(_cost_of_one(given, route) for route in routes)


def _cost_of_one(given: Instance, route: list[int]) -> int:
    if sum(given.customers[stop].demand for stop in route) > given.capacity:
        raise ValueError(f"too much on {route}")
    cost, now, here = 0, 0, 0
    for stop in [*route, 0]:
        cost += given.way(here, stop)
        now = max(now + given.way(here, stop), given.customers[stop].ready)
        if now > given.customers[stop].due:
            raise ValueError(f"late at {stop} in {route}")
        now, here = now + given.customers[stop].service, stop
    return cost


def in_solver_terms(given: Instance) -> ProblemData:
    """The instance as the solver takes it."""
    rows = range(len(given.customers))
    ways = np.array([[given.way(a, b) for b in rows] for a in rows], dtype=np.int64)
    depot = given.customers[0]
    return ProblemData(
        [Location(one.x, one.y) for one in given.customers],
        [
            Client(at, delivery=[one.demand], service_duration=one.service, tw_early=one.ready, tw_late=one.due)
            for at, one in enumerate(given.customers)
            if at
        ],
        [Depot(0)],
        [VehicleType(given.vehicles, capacity=[given.capacity], tw_early=depot.ready, tw_late=depot.due)],
        [ways],
        [ways],
    )


def solved(name: str, *, iterations: int, seed: int, seconds: float = 600.0) -> int:
    """The cost in tenths that the planner's own call of the solver reaches; its routes are checked here."""
    given = instance(name)
    found = search(in_solver_terms(given), Limit(iterations, seconds), seed=seed)
    routes = [[stop.idx + 1 for stop in route if stop.is_client()] for route in found.best.routes()]
    return cost_of(given, routes)
