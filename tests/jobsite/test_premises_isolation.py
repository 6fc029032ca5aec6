"""What should go dead, on any supply graph: against what is live found by force, apart from the rules' own walk."""

import pytest
from hypothesis import given, settings

from jobsite.premises.graph import SupplyGraph
from jobsite.premises.isolation import Isolation, Spot, Work, isolate
from tests.jobsite.isolation_cases import asked, conducting, live_by_force

BY_NEUTRAL = {"neutral", "link", "joined-neutral"}


def switched_off(answer: Isolation) -> set[tuple[str, str]]:
    return {(point.switch.place, point.switch.id) for point in answer.points}


def said(spot: Spot) -> str:
    return f"{spot.kind} {spot.id}"


def answered(case: tuple[SupplyGraph, list[Work]]) -> tuple[SupplyGraph, Isolation, dict[str, set[str]]]:
    graph, works = case
    answer = isolate(graph, *works)
    return graph, answer, live_by_force(graph, switched_off(answer))


@settings(max_examples=150)
@given(asked())
def test_nothing_should_go_dead_that_anything_reaches_past_the_points(case):
    _, answer, live = answered(case)
    assert {said(spot) for spot in answer.dead} & set(live) == set()


@settings(max_examples=80)
@given(asked())
def test_all_that_nothing_reaches_should_go_dead(case):
    graph, answer, live = answered(case)
    spots = {f"circuit {c.id}" for c in graph.circuits} | {f"{k} {b.id}" for b in graph.boards for k in ("in", "bus")}
    assert {said(spot) for spot in answer.dead} == spots - set(live)


@settings(max_examples=150)
@given(asked())
def test_whatever_reaches_the_work_is_listed_under_may_stay_live(case):
    _, answer, live = answered(case)
    listed = {(said(item.power), said(spot)) for item in answer.live for spot in item.reaches}
    by_neutral = {said(spot) for item in answer.live if item.reason in BY_NEUTRAL for spot in item.reaches}
    for spot in map(said, answer.around):
        for power in live.get(spot, ()):
            assert spot in by_neutral if power == "neutral" else (power, spot) in listed


@settings(max_examples=80)
@given(asked())
def test_every_path_to_what_stays_live_is_one_that_conducts(case):
    graph, answer, _ = answered(case)
    pairs = conducting(graph, switched_off(answer))
    for item in answer.live:
        if not item.reaches:
            continue
        conductor = "neutral" if item.reason in BY_NEUTRAL else "line"
        assert item.path[-1] in item.reaches
        for one, other in zip(item.path, item.path[1:], strict=False):
            ends = f"{conductor} {said(one)}", f"{conductor} {said(other)}"
            assert ends in pairs or ends[::-1] in pairs


@settings(max_examples=80)
@given(asked())
def test_around_the_work_is_all_that_is_below_it(case):
    """By every feed, candidates and alternative ones too, and by links at either end."""
    graph, answer, _ = answered(case)
    around = answer.around
    for feed in graph.feeds:
        if Spot("circuit", feed.circuit or "") in around:
            assert Spot("in", feed.child) in around
        if Spot("in", feed.child) in around and feed.circuit:
            assert Spot("circuit", feed.circuit) in around
    for circuit in graph.circuits:
        assert Spot("bus", circuit.board) not in around or Spot("circuit", circuit.id) in around
    for link in graph.links:
        assert (Spot("circuit", link.circuit_a) in around) == (Spot("circuit", link.circuit_b) in around)


@settings(max_examples=80)
@given(asked())
def test_every_feed_and_source_of_what_must_go_dead_is_a_point_or_has_none(case):
    graph, answer, _ = answered(case)
    off, around = switched_off(answer), answer.around
    for feed in graph.feeds:
        if Spot("in", feed.child) in around and feed.circuit:
            feeder = next(circuit for circuit in graph.circuits if circuit.id == feed.circuit)
            assert ("device", feed.circuit) in off or Spot("bus", feeder.board) in around
        if Spot("in", feed.child) in around and feed.from_origin:
            assert ("intake", feed.from_origin) in off or feed.from_origin in answer.no_point
    for source in graph.sources:
        at = Spot("circuit", source.circuit) if source.circuit else Spot("bus", source.on_board)
        if at in around:
            assert ("isolator", source.id) in off or not source.supply_side
            assert [item.path for item in answer.live if item.reason == "own-side"].count(
                (Spot("source", source.id),)
            ) == 1


@pytest.mark.parametrize("work", [Work("circuit", "x"), Work("inside", "x"), Work("supply", "x")])
def test_work_at_what_is_not_there_is_refused(work):
    with pytest.raises(ValueError, match=r"^No such (circuit|board) in this supply graph: x\.$"):
        isolate(SupplyGraph(), work)
