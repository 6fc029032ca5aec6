"""An isolation laid over the supply drawing, and told in words: hatched, red, and the same for whoever does not see it."""

import re
from dataclasses import replace
from html import escape

from defusedxml.ElementTree import fromstring
from hypothesis import given, settings

from jobsite.premises.drawing import draw, drawing_list, drawing_parts, overlay
from jobsite.premises.graph import SourceNode, SupplyGraph
from jobsite.premises.isolation import Spot, Work, isolate
from jobsite.premises.isolation.words import tell, work_words
from tests.jobsite.isolation_cases import asked
from tests.jobsite.supply_cases import boatyard
from tests.jobsite.test_premises_isolation_by_hand import HOUSE, farm, fed, graph, linked, outbuilding, way

SVG = "{http://www.w3.org/2000/svg}"


def drawn(site: SupplyGraph, *works: Work) -> str:
    return draw(site, over=overlay(site, isolate(site, *works)))


def classes(svg: str, id_: str) -> list[str]:
    """The classes of a box and of what is in it."""
    box = next(e for e in fromstring(svg).iter() if e.get("id") == f"supply-{id_}")
    return [found for e in box.iter() if (found := e.get("class"))]


def words(svg: str, id_: str) -> list[str]:
    box = next(e for e in fromstring(svg).iter() if e.get("id") == f"supply-{id_}")
    return [text.text for text in box.iter(f"{SVG}text")]


def test_what_should_go_dead_is_hatched_and_the_line_says_where_to_switch_off():
    svg = drawn(farm(fed("dairy", "house 1")), Work("inside", "dairy"))
    assert classes(svg, "dairy")[:2] == ["board-box dead", "hatched"]
    assert "hatched" not in classes(svg, "house")
    assert classes(svg, "feed-2") == ["feed", "feed dead", "on-line point"]
    assert words(svg, "feed-2") == ["switch off"]
    assert svg.count("<pattern ") == 1


def test_what_may_stay_live_is_red_with_words():
    svg = drawn(graph([HOUSE], [], [fed("house", "o")]), Work("inside", "house"))
    assert classes(svg, "house")[0] == "board-box dead"
    assert "switch off its main switch may stay live before its main switch" in " ".join(words(svg, "house"))
    assert classes(svg, "feed-1") == ["feed", "feed live", "on-line live"]
    supply_side = drawn(graph([HOUSE], [], [fed("house", "o")]), Work("supply", "house"))
    assert classes(supply_side, "house")[0] == "board-box live"


def test_a_source_is_red_and_so_is_the_other_end_of_a_shared_neutral():
    solar = SourceNode("s", "pv", "Solar", "dairy", circuit="dairy 1", supply_side="isolator")
    svg = drawn(farm(fed("dairy", "house 1"), sources=(solar,)), Work("inside", "dairy"))
    assert classes(svg, "s")[0] == "source-box live"
    assert {"switch off its isolator", "may stay live"} <= set(words(svg, "s"))
    svg = drawn(linked("neutral"), Work("circuit", "shop 3"))
    assert {"switch off way 5", "way 5: may stay live"} <= set(words(svg, "flat"))


def test_shared_stretch_of_the_lines_of_one_feeder_is_neither_hatched_nor_red():
    site = farm(fed("dairy", "house 1"), fed("plant", "house 2"))
    svg = drawn(site, Work("inside", "plant"))
    paths = re.findall(r'<path class="(feed[^"]*)" d="([^"]+)"', svg)
    states = {kind: d for kind, d in paths if "dead" in kind}
    assert len(states) == 1
    assert all("V" not in d for d in states.values())


def test_drawing_without_an_isolation_has_no_pattern_and_says_nothing_of_one():
    parts = drawing_parts(boatyard())
    assert "hatch" not in str(parts["svg"])
    assert all("hatching" not in sentence for sentence in parts["key"])
    over = overlay(boatyard(), isolate(boatyard(), Work("inside", "b3")))
    assert "Grey hatching: should go dead, by the record." in drawing_parts(boatyard(), over=over)["key"]


def test_wide_drawings_lie_across_the_paper():
    assert '<svg class="drawing"' in draw(graph([HOUSE], [], [fed("house", "o")]))
    assert '<svg class="drawing large"' in draw(boatyard())


@settings(max_examples=60)
@given(asked())
def test_list_says_of_every_board_what_the_drawing_shows(case):
    site, works = case
    over = overlay(site, isolate(site, *works))
    svg, listed = draw(site, over=over), drawing_list(site, over=over)
    fromstring(svg)
    hatched = svg.count('class="hatched"')
    assert hatched == len(over.dead) == listed.count("should go dead, by the record")
    for notes in over.notes.values():
        assert all(escape(said) in listed for _, said in notes)


@settings(max_examples=60)
@given(asked())
def test_any_answer_has_words_for_all_of_it(case):
    site, works = case
    answer = isolate(site, *works)
    told = tell(site, answer)
    assert len(told.points) == len(answer.points)
    assert all(line.what and all(line.more) for line in (*told.points, *told.live, *told.dead))
    assert len(told.works) == len(works)
    named = " ".join(line.what for line in told.dead)
    for board in site.boards:
        assert (f"{board.name} with its circuits" in named) == (Spot("bus", board.id) in answer.dead)


# --- words ------------------------------------------------------------------------------------------------------------


def test_work_in_words():
    site = farm(circuits=[replace(way("plant 1"), name="Mixer")])
    said = [work_words(site, w) for w in (Work("circuit", "plant 1"), Work("inside", "dairy"), Work("supply", "house"))]
    assert said == ["Work on Plant, way 1 (Mixer)", "Work inside Dairy", "Work on the supply side of House"]


def test_tt_outbuilding_in_words():
    told = tell(outbuilding(), isolate(outbuilding(), Work("circuit", "barn 1")))
    assert [(line.what, line.more) for line in told.points] == [
        ("Barn, way 1", ("its own device", "single-pole: it does not isolate the neutral")),
        ("Barn, its main switch", ("disconnects all live conductors, the neutral too",)),
    ]
    assert told.cautions == (
        "Barn: the earthing is TT, or not recorded as TN, so all live conductors are to be disconnected.",
    )
    assert [line.what for line in told.dead] == ["Barn with its circuits"]
    assert told.dead[0].more == ("only behind its main switch",)


def test_other_end_and_supply_side_in_words():
    told = tell(linked("neutral"), isolate(linked("neutral"), Work("circuit", "shop 3")))
    assert [(line.what, line.more) for line in told.live] == [
        ("Flat, way 5", ("the other end, live until it is switched off too: shares a neutral with Shop, way 3",)),
        ("Flat", ("the supply side of way 5",)),
        ("Shop", ("the supply side of way 3",)),
    ]


def test_second_source_in_words():
    battery = SourceNode("s", "battery", "Store", "dairy", source_side="DC switch", supply_side="AC switch")
    site = farm(fed("dairy", "house 1"), sources=(battery,))
    (own,) = [line for line in tell(site, isolate(site, Work("inside", "dairy"))).live if line.what.startswith("Store")]
    assert own.what == "Store (battery)"
    assert own.more == (
        "its own side is live at all times",
        "isolated on its own side at DC switch",
        "stored charge: how long to wait is not recorded: see its maker's instructions",
    )


def test_loads_units_and_locks_in_words():
    site = farm(fed("dairy", "house 1"))
    boards = tuple(replace(b, units=("Cottage",)) if b.id == "dairy" else b for b in site.boards)
    site = replace(site, boards=boards)
    locks = {"house 1": ["lock 14, key with Dirk"], "house 2": ["lock 3, key with Ada"]}
    told = tell(site, isolate(site, Work("circuit", "house 1")), locks)
    assert told.loads == ("milk cooling: Dairy, way 1",)
    assert told.units == ("Cottage",)
    assert [line.what for line in told.boards] == ["Dairy"]
    assert told.points[0].more[-1] == "lock 14, key with Dirk"
    assert told.locks == ("lock 3, key with Ada",)


def test_no_verified_point_in_words():
    site = farm(fed("dairy", "house 1", verified=False))
    assert tell(site, isolate(site, Work("inside", "dairy"))).sure == (
        "The first verified point upstream of Dairy is House: it lies before every candidate.",
    )
    doubtful = graph([HOUSE], [], [fed("house", "o", verified=False)])
    assert tell(doubtful, isolate(doubtful, Work("supply", "house"))).sure == (
        "Before every candidate for House lies only Supply itself: network or meter operator.",
    )
