"""Tests that no arrangement explains: found, and cut down to those that clash with each other.

A clash is a smallest set: leave any one of its tests out and the others can be explained. A clash of one test stands
against what is recorded as verified, or against every candidate that was thought of.
"""

from collections.abc import Sequence

from jobsite.premises.tracing.search import Case, Search, all_candidates, groups, known_boards, narrow
from jobsite.premises.tracing.wiring import Switching, Wiring


def explained(wiring: Wiring, tests: Sequence[Switching]) -> bool:
    """Whether some arrangement agrees with all of `tests`; True too where the search for one grew too long."""
    case, domains = Case(wiring, tests), all_candidates(wiring)
    together = groups(wiring, domains)
    if not case.holds(known_boards(wiring, together)):
        return False
    for group in together:
        if not narrow(case, domains, group):
            return False
        search = Search(case, domains, group)
        if search.draw(how_many=1):
            continue
        found, all_of_them = search.explore(most=1)
        if not found and all_of_them:
            return False
    return True


def clashes(wiring: Wiring, tests: Sequence[Switching]) -> tuple[tuple[Switching, ...], ...]:
    """Smallest sets of tests that contradict each other, no test in two of them, until the rest can be explained."""
    left, found = list(tests), []
    while not explained(wiring, left):
        clash = _smallest(wiring, left)
        if not clash:  # no test at all is needed: what is recorded as verified feeds itself
            break
        found.append(clash)
        left = [test for test in left if test not in clash]
    return tuple(found)


def _smallest(wiring: Wiring, tests: Sequence[Switching]) -> tuple[Switching, ...]:
    kept = list(tests)
    for test in tests:
        without = [other for other in kept if other is not test]
        if not explained(wiring, without):
            kept = without
    return tuple(kept)
