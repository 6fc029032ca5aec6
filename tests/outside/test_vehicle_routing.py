"""The planner's call of the solver on published instances with their best known values.

M. M. Solomon, Operations Research 35 (1987), 254-265; values of the 12th DIMACS Implementation Challenge and CVRPLIB:
tests/data/vrptw/SOURCES.md. How near it comes in 1, 5 and 20 seconds is measured by `make bench`.
"""

import pytest

from tests.vrptw import BEST, cost_of, instance, published_routes, solved


@pytest.mark.parametrize("name", BEST)
def test_each_published_solution_keeps_everything_at_its_published_cost(name):
    assert cost_of(instance(name), published_routes(name)) == BEST[name]


def test_the_published_vehicles_and_customers():
    assert {name: (len(published_routes(name)), len(instance(name).customers) - 1) for name in BEST} == {
        "C101": (10, 100),
        "R101": (20, 100),
        "RC208": (4, 100),
    }


@pytest.mark.parametrize(
    ("break_it", "why"),
    [
        (lambda routes: routes[1:], "not every customer once"),
        (lambda routes: [*routes, [1]], "not every customer once"),
        (lambda routes: [list(reversed(routes[0])), *routes[1:]], "late at"),
        (lambda routes: [routes[0] + routes[1], *routes[2:]], "too much|late at"),
        (lambda routes: [[stop] for route in routes for stop in route], "too many vehicles"),
    ],
)
def test_routes_that_keep_not_everything_are_found(break_it, why):
    with pytest.raises(ValueError, match=why):
        cost_of(instance("C101"), break_it(published_routes("C101")))


def test_c101_is_solved_exactly():
    assert solved("C101", iterations=200, seed=1) == BEST["C101"]


@pytest.mark.parametrize(("name", "iterations", "gap"), [("R101", 800, 0.02), ("RC208", 800, 0.03)])
def test_the_others_come_near(name, iterations, gap):
    assert BEST[name] <= solved(name, iterations=iterations, seed=1) <= BEST[name] * (1 + gap)
