"""What is recorded for isolating: what switches disconnect, and how rows become the graph that isolation reads."""

import pytest
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.premises import operations
from jobsite.premises.isolation import Spot, Work, isolate
from jobsite.premises.queries import isolation_graph, supply_graph
from jobsite.refused import Refused
from tests import factories as make
from tests.factories import NOON, Told, recorded
from tests.jobsite.premises import posted, refusal, text_of

pytestmark = pytest.mark.django_db


# --- what is recorded -------------------------------------------------------------------------------------------------


def test_main_switch_of_a_new_board_is_recorded_with_what_it_disconnects(worker, site) -> None:
    key = new_id()
    with recorded() as told:
        board = operations.add_board(
            site, id=key, designation="DB A", phases=["L1"], main_switch="100 A", main_switch_kind="all", **worker
        )
    assert board.main_switch_kind == "all"
    facts = {"phases": ["L1"], "main_switch_kind": "all"}
    assert told == [Told("board.added", key, facts, {"designation": "DB A", "main_switch": "100 A"})]


def test_what_a_main_switch_disconnects_is_changed_and_recorded(worker, site) -> None:
    board = make.make_board(site, "DB A")
    with recorded() as told:
        board = operations.edit_board(board, version=1, main_switch_kind="control", **worker)
        operations.edit_board(board, version=2, main_switch_kind="control", **worker)
    assert told == [Told("board.changed", board.pk, {"main_switch_kind": ["", "control"]})]


def test_switch_that_there_is_no_word_for_is_refused(worker, site) -> None:
    with pytest.raises(Refused) as raised:
        operations.edit_board(make.make_board(site), version=1, main_switch_kind="magic", **worker)
    assert refusal(raised) == ("Choose what the main switch disconnects.", "main_switch_kind")
    with pytest.raises(Refused) as raised:
        operations.edit_supply(make.supply_of(site), version=1, isolator_kind="magic", **worker)
    assert refusal(raised) == ("Choose what the isolator disconnects.", "isolator_kind")


def test_isolator_at_the_intake_is_recorded(worker, site) -> None:
    supply = make.supply_of(site)
    with recorded() as told:
        operations.edit_supply(supply, version=1, isolator="in the meter box", isolator_kind="all", **worker)
    said = {"isolator": "in the meter box"}
    assert told == [Told("supply.changed", supply.pk, {"isolator_kind": ["", "all"]}, said)]


def test_form_of_a_board_asks_what_its_main_switch_disconnects(on_site, site) -> None:
    board = make.make_board(site)
    address = reverse("premises:board_edit", args=[board.pk])
    sent = posted(on_site.get(address)) | {"main_switch_kind": "lines"}
    assert on_site.post(address, sent).status_code == 302
    said = text_of(on_site.get(reverse("premises:board", args=[board.pk])))
    assert "Main switch disconnects the line conductors only" in said


def test_page_of_a_board_says_when_it_is_not_recorded(on_site, site) -> None:
    board = make.make_board(site, main_switch="100 A")
    said = text_of(on_site.get(reverse("premises:board", args=[board.pk])))
    assert "Main switch 100 A; what it disconnects is not recorded" in said


def test_form_of_a_supply_asks_for_the_customers_isolator(on_site, site) -> None:
    address = reverse("premises:supply_edit", args=[make.supply_of(site).pk])
    sent = posted(on_site.get(address)) | {"isolator": "in the meter box", "isolator_kind": "all"}
    assert on_site.post(address, sent).status_code == 302
    said = text_of(on_site.get(reverse("premises:premises", args=[site.pk])))
    assert "customer's isolator: in the meter box" in said


# --- from rows to the graph -------------------------------------------------------------------------------------------


@pytest.fixture
def works():
    """An intake that feeds a shop by way 1 and, perhaps, by way 2; the shop's way 5 shares a neutral with way 3."""
    site = make.make_site("Works", phases=("L1", "L2", "L3"), earthing="TN-S", main_fuse_a=100)
    intake = make.make_board(site, "Intake board", main_switch_kind="all")
    shop = make.make_board(site, "Shop", phases=("L2",), fed=False, own_earthing="TT")
    make.make_feed(shop, make.make_circuit(intake, 1, phase="L2", poles=2))
    make.make_feed(shop, make.make_circuit(intake, 2, phase="L2"), kind="may-be", verified=False)
    make.make_link_of_circuits(make.make_circuit(intake, 3, phase="3", poles=3), make.make_circuit(shop, 5))
    make.make_circuit(shop, 6, must_not_lose_power="freezer")
    make.make_circuit(shop, 7)
    make.make_second_source(shop, circuit=make.make_circuit(shop, 8), isolate_supply_side="beside it", wait_minutes=5)
    return site


def test_graph_has_the_circuits_that_matter_beyond_their_board(works) -> None:
    ways = {c.way.partition(" · ")[0]: c for c in supply_graph(works).circuits}
    assert sorted(ways) == ["way 1L2", "way 2L2", "way 3", "way 5L2", "way 8L2"]
    assert [ways[way].all_live for way in ("way 1L2", "way 2L2", "way 3")] == [True, False, False]
    more = isolation_graph(works, [works.circuits.get(way=7).pk])
    assert {c.way.partition(" · ")[0] for c in more.circuits} - set(ways) == {"way 6L2", "way 7L2"}
    assert [c.load for c in more.circuits if c.load] == ["freezer"]


def test_rows_lead_to_the_right_points(works) -> None:
    shop = str(works.boards.get(designation="Shop").pk)
    answer = isolate(isolation_graph(works), Work("inside", shop))
    points = {(p.switch.place, p.switch.id): p.why for p in answer.points}
    circuit = {way: str(works.circuits.get(way=way).pk) for way in (1, 2, 3)}
    assert points == {
        ("device", circuit[1]): ("feed",),
        ("device", circuit[2]): ("candidate",),
        ("device", circuit[3]): ("other-end",),
        ("isolator", str(works.second_sources.get().pk)): ("source",),
        ("main", str(works.boards.get(designation="Intake board").pk)): ("neutral",),
    }
    assert Spot("bus", shop) in answer.dead


def test_an_isolator_that_is_no_place_is_none(works) -> None:
    """A list that was taken in says "no isolator": the board that the source feeds is not called dead for it."""
    works.second_sources.update(isolate_supply_side="No isolator found")
    shop = works.boards.get(designation="Shop")
    answer = isolate(isolation_graph(works), Work("inside", str(shop.pk)))
    assert "isolator" not in [point.switch.place for point in answer.points]
    source = str(works.second_sources.get().pk)
    assert ("no-isolator", source) in [(caution.kind, caution.about) for caution in answer.cautions]
    assert Spot("circuit", str(works.circuits.get(way=8).pk)) not in answer.dead


def test_what_was_taken_out_is_not_in_the_graph(works) -> None:
    works.circuits.filter(way=3).update(retired_at=NOON)
    works.circuits.filter(way=2).update(retired_at=NOON)
    works.second_sources.update(retired_at=NOON)
    graph = supply_graph(works)
    assert (len(graph.feeds), graph.links, graph.sources) == (2, (), ())


@pytest.mark.parametrize("more", [1, 7])
def test_statements_of_the_graphs_stay_the_same(works, django_assert_num_queries, more) -> None:
    intake = works.boards.get(designation="Intake board")
    for n in range(more):
        board = make.make_board(works, f"Barn {n}", phases=("L1",), fed=False)
        make.make_feed(board, make.make_circuit(intake, phase="L1"))
        make.make_link_of_circuits(make.make_circuit(board), make.make_circuit(intake, phase="L1"))
    with django_assert_num_queries(5):
        supply_graph(works)
    with django_assert_num_queries(7):
        isolation_graph(works)
