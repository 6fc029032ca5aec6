"""Where boards are fed from: no loops, one site, no phase that the feeder lacks; also when two people act at once."""

import re
from pathlib import Path

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from jobsite.ids import new_id
from jobsite.premises import operations, queries
from jobsite.premises.graph import loops, phases_lacking
from jobsite.premises.migrations import __path__ as migrations
from jobsite.premises.models import Feed
from jobsite.premises.operations.common import REFUSALS
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON, TODAY, Told, recorded


@pytest.fixture
def who(engineer, now):
    return {"by": engineer, "now": now}


@pytest.fixture
def yard(db):
    """A three-phase site with an intake board that feeds a shed by way 1 (three-phase)."""
    site = make.make_site("Yard", phases=("L1", "L2", "L3"))
    intake = make.make_board(site, "Intake board")
    shed = make.make_board(site, "Shed", fed=False)
    make.make_feed(shed, make.make_circuit(intake, 1, phase="3"))
    return site


def board(site, designation):
    return site.boards.get(designation=designation)


# --- every promise of the database has its sentence -------------------------------------------------------------------


def test_every_constraint_of_premises_has_a_sentence() -> None:
    promised = {c.name for model in apps.get_app_config("premises").get_models() for c in model._meta.constraints}
    sql = Path(next(iter(migrations)), "0002_hold_supply.py").read_text()
    promised |= set(re.findall(r"CONSTRAINT = '(\w+)'", sql))
    # Granting access twice writes nothing, and is no refusal.
    assert promised - {"site_access_once"} == set(REFUSALS)


# --- one feed ---------------------------------------------------------------------------------------------------------


def test_set_feed_from_a_circuit(yard, who, engineer) -> None:
    hut, key = make.make_board(yard, "Hut", phases=("L2",), fed=False), new_id()
    way = make.make_circuit(board(yard, "Shed"), 4, phase="L2")
    with recorded() as told:
        feed = operations.set_feed(hut, id=key, from_circuit=way, verified=True, verified_how="traced", **who)
    assert (feed.site, feed.verified_by, feed.verified_on) == (yard, engineer, TODAY)
    facts = {"board": str(hut.pk), "from_circuit": str(way.pk), "kind": "normal"}
    assert told == [Told("feed.set", key, facts | {"verified": True, "verified_how": "traced"})]


def test_set_feed_looks_again_at_what_the_page_fetched_earlier(yard, who) -> None:
    hut = make.make_board(yard, "Hut", phases=("L2",), fed=False)
    way = make.make_circuit(board(yard, "Shed"), 4, phase="L2")  # as one page has it
    operations.retire_circuit(way, **who)  # another person, meanwhile
    with recorded() as told, pytest.raises(Refused, match=r"What feeds it was taken out\."):
        operations.set_feed(hut, id=new_id(), from_circuit=way, **who)
    operations.retire_board(hut, **who)
    with pytest.raises(Refused, match=r"Hut was taken out\."):
        operations.set_feed(hut, id=new_id(), from_supply=make.supply_of(yard), **who)
    assert told == []


def test_set_feed_again_is_harmless(yard, who) -> None:
    hut, key, supply = make.make_board(yard, "Hut", fed=False), new_id(), make.supply_of(yard)
    operations.set_feed(hut, id=key, from_supply=supply, **who)
    with recorded() as told:
        operations.set_feed(hut, id=key, from_supply=supply, **who)
    assert (told, hut.feeds.count()) == ([], 1)


def test_move_a_feed_and_verify_it(yard, who) -> None:
    shed = board(yard, "Shed")
    feed = shed.feeds.get()
    supply = make.supply_of(yard)
    with recorded() as told:
        operations.set_feed(
            shed, id=feed.pk, from_supply=supply, verified=True, verified_how="switched", version=1, **who
        )
    way = yard.circuits.get()
    assert told[0].facts == {
        "from_circuit": [str(way.pk), None],
        "from_supply": [None, str(supply.pk)],
        "verified_how": ["traced", "switched"],
        "verified_by": [None, str(who["by"].pk)],
    }


def test_move_a_feed_that_somebody_else_moved(yard, who) -> None:
    shed = board(yard, "Shed")
    feed, supply = shed.feeds.get(), make.supply_of(yard)
    operations.set_feed(shed, id=feed.pk, from_supply=supply, version=1, **who)
    with pytest.raises(ChangedMeanwhile) as raised:
        operations.set_feed(shed, id=feed.pk, from_circuit=yard.circuits.get(), version=1, **who)
    assert raised.value.theirs.from_supply == supply


@pytest.mark.parametrize("verified", [True, False])
def test_board_does_not_feed_itself(yard, who, verified) -> None:
    shed = board(yard, "Shed")
    own = make.make_circuit(shed, 2, phase="3")
    how = "traced" if verified else ""
    with pytest.raises(Refused) as raised:
        operations.set_feed(shed, id=new_id(), from_circuit=own, verified=verified, verified_how=how, **who)
    assert (raised.value.sentence, raised.value.field) == ("Shed would feed itself.", "feeder")


def test_feed_that_closes_a_long_loop_is_refused(yard, who) -> None:
    intake, feeder = board(yard, "Intake board"), board(yard, "Shed")
    for number in range(2, 6):
        way = make.make_circuit(feeder, phase="3")
        feeder = make.make_board(yard, f"Board {number}", fed=False)
        make.make_feed(feeder, way)
    back = make.make_circuit(feeder, phase="3")
    with pytest.raises(Refused) as raised:
        operations.set_feed(intake, id=new_id(), from_circuit=back, kind="alternative", **who)
    assert raised.value.field == "feeder"
    assert re.fullmatch(r".+ would feed itself\.", raised.value.sentence)
    assert intake.feeds.count() == 1


def test_feed_never_leaves_the_site(yard, who) -> None:
    elsewhere = make.make_circuit(make.make_board(make.make_site("Elsewhere", phases=("L1", "L2", "L3"))), phase="3")
    with pytest.raises(Refused) as raised:
        operations.set_feed(board(yard, "Shed"), id=new_id(), from_circuit=elsewhere, kind="alternative", **who)
    assert (raised.value.sentence, raised.value.field) == ("The feed of Shed leaves the site.", "feeder")


def test_feed_lacks_no_phase(yard, who) -> None:
    single = make.make_circuit(board(yard, "Intake board"), 7, phase="L3")
    with pytest.raises(Refused) as raised:
        operations.set_feed(board(yard, "Shed"), id=new_id(), from_circuit=single, kind="alternative", **who)
    assert (raised.value.sentence, raised.value.field) == ("Shed has a phase that its feed lacks.", "phases")


def test_second_verified_normal_feed_is_refused(yard, who) -> None:
    with pytest.raises(Refused) as raised:
        operations.set_feed(
            board(yard, "Shed"),
            id=new_id(),
            from_supply=make.supply_of(yard),
            verified=True,
            verified_how="traced",
            **who,
        )
    assert raised.value.field == "kind"
    assert raised.value.sentence.startswith("This board already has a verified normal feed.")


def test_several_believed_feeds_may_stand_side_by_side(yard, who) -> None:
    shed = board(yard, "Shed")
    other = make.make_circuit(board(yard, "Intake board"), 2, phase="3")
    operations.set_feed(shed, id=new_id(), from_circuit=other, **who)
    operations.set_feed(shed, id=new_id(), from_supply=make.supply_of(yard), kind="alternative", **who)
    assert shed.feeds.count() == 3


def test_same_feed_twice_is_refused(yard, who) -> None:
    with pytest.raises(Refused) as raised:
        operations.set_feed(board(yard, "Shed"), id=new_id(), from_circuit=yard.circuits.get(), **who)
    assert (raised.value.sentence, raised.value.field) == ("This feed is already recorded.", "feeder")


@pytest.mark.parametrize("how_many", [0, 2])
def test_feed_comes_from_one_thing(yard, who, how_many) -> None:
    both = {"from_supply": make.supply_of(yard), "from_circuit": yard.circuits.get()}
    with pytest.raises(Refused) as raised:
        operations.set_feed(board(yard, "Shed"), id=new_id(), **(both if how_many else {}), **who)
    assert raised.value.field == "feeder"


def test_verified_feed_says_how(yard, who) -> None:
    with pytest.raises(Refused) as raised:
        operations.set_feed(board(yard, "Shed"), id=new_id(), from_supply=make.supply_of(yard), verified=True, **who)
    assert (raised.value.sentence, raised.value.field) == ("Say how the feed was verified.", "verified_how")


def test_what_was_taken_out_feeds_nothing(yard, who) -> None:
    way = make.make_circuit(board(yard, "Intake board"), 9, phase="3", retired_at=NOON)
    with pytest.raises(Refused, match="was taken out"):
        operations.set_feed(board(yard, "Shed"), id=new_id(), from_circuit=way, **who)


def test_set_feed_needs_the_right(yard, subcontractor, now) -> None:
    with pytest.raises(NotAllowed):
        operations.set_feed(
            board(yard, "Shed"), id=new_id(), from_supply=make.supply_of(yard), by=subcontractor, now=now
        )


def test_remove_feed_twice_is_recorded_once(yard, who) -> None:
    feed = board(yard, "Shed").feeds.get()
    key = feed.pk
    with recorded() as told:
        operations.remove_feed(feed, reason="moved", **who)
        operations.remove_feed(feed, reason="moved", **who)
    assert [(t.verb, t.subject, t.words) for t in told] == [("feed.removed", key, {"reason": "moved"})]


def test_refused_feed_leaves_the_transaction_usable(yard, who) -> None:
    """An intake goes on after a refused row: the refusal undoes its own writing only."""
    shed = board(yard, "Shed")
    own = make.make_circuit(shed, 2, phase="3")
    with transaction.atomic():
        for feeder in (own, make.make_circuit(board(yard, "Intake board"), 3, phase="3")):
            try:
                operations.set_feed(shed, id=new_id(), from_circuit=feeder, **who)
            except Refused:
                continue
    assert shed.feeds.count() == 2


# --- two people at once -----------------------------------------------------------------------------------------------


def two_islands():
    """Two boards without a feed, each with a way that could feed the other."""
    site = make.make_site("Yard", phases=("L1", "L2", "L3"))
    one, other = (make.make_board(site, name, fed=False) for name in ("One", "Other"))
    ways = {b.pk: make.make_circuit(b, 1, phase="3") for b in (one, other)}
    return site, one, other, ways


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("attempt", range(3))
def test_two_people_moving_boards_at_once_make_no_loop(attempt) -> None:
    site, one, other, ways = two_islands()
    by = make.anybody("engineer")
    results = at_once(
        lambda: operations.set_feed(one, id=new_id(), from_circuit=ways[other.pk], by=by, now=NOON),
        lambda: operations.set_feed(other, id=new_id(), from_circuit=ways[one.pk], by=by, now=NOON),
    )
    assert sorted(type(result).__name__ for result in results) == ["Feed", "Refused"]
    refused = next(result for result in results if isinstance(result, Refused))
    assert refused.sentence.endswith("would feed itself.")
    assert loops(queries.supply_graph(site).feeds) == ()


@pytest.mark.django_db(transaction=True)
def test_two_connections_that_bypass_operations_make_no_loop_either() -> None:
    """The promise is the database's: rows written directly by two connections at once are held by the trigger."""
    site, one, other, ways = two_islands()

    def write(board, feeder) -> Feed:
        with transaction.atomic():
            return Feed.objects.create(site=site, board=board, from_circuit=feeder)

    results = at_once(lambda: write(one, ways[other.pk]), lambda: write(other, ways[one.pk]))
    assert sorted(type(result).__name__ for result in results) == ["Feed", "IntegrityError"]
    assert Feed.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_supply_loses_no_phase_while_a_board_is_moved_onto_it() -> None:
    site = make.make_site("Yard", phases=("L1", "L2", "L3"))
    supply, hut = make.supply_of(site), make.make_board(site, "Hut", phases=("L3",), fed=False)
    by = make.anybody("engineer")
    results = at_once(
        lambda: operations.edit_supply(supply, version=1, phases=["L1"], by=by, now=NOON),
        lambda: operations.set_feed(hut, id=new_id(), from_supply=supply, by=by, now=NOON),
    )
    assert [type(result) for result in results].count(Refused) == 1
    assert phases_lacking(queries.supply_graph(site)) == ()


@pytest.mark.django_db(transaction=True)
def test_same_form_sent_twice_at_once_makes_one_board() -> None:
    site, key, by = make.make_site(), new_id(), make.anybody("engineer")

    def add():
        return operations.add_board(site, id=key, designation="DB A", phases=["L1"], by=by, now=NOON)

    first, second = at_once(add, add)
    assert first == second
    assert site.boards.count() == 1


@pytest.mark.django_db(transaction=True)
def test_same_customer_sent_twice_at_once_makes_one() -> None:
    from jobsite.premises.models import Party

    key, by = new_id(), make.anybody("office")

    def add():
        return operations.add_party(id=key, name="Ada Invented", by=by, now=NOON)

    first, second = at_once(add, add)
    assert first == second
    assert Party.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_edits_at_once_keep_one_and_give_the_other_both() -> None:
    board, by = make.make_board(make.make_site()), make.anybody("engineer")
    results = at_once(
        lambda: operations.edit_board(board, version=1, place="Hall", by=by, now=NOON),
        lambda: operations.edit_board(board, version=1, place="Cellar", by=by, now=NOON),
    )
    lost = [result for result in results if isinstance(result, ChangedMeanwhile)]
    board.refresh_from_db()
    assert (len(lost), board.version, lost[0].theirs.place) == (1, 2, board.place)


# --- any history of feeds ---------------------------------------------------------------------------------------------

moves = st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3), st.sampled_from(["L1", "3"])), max_size=8)


class AnyHistory(TestCase):
    """Whatever is tried, what stands is sound, and what was refused left nothing behind."""

    @given(moves)
    @settings(max_examples=25, deadline=None)
    def test_what_stands_is_sound(self, tried) -> None:
        site = make.make_site(phases=("L1", "L2", "L3"))
        by = make.anybody("engineer")
        boards = [
            make.make_board(site, f"Board {n}", phases=("L1",) if n % 2 else ("L1", "L2", "L3"), fed=False)
            for n in range(4)
        ]
        stood, said = 0, set()
        for child, feeder, phase in tried:
            fits = phase != "3" or len(boards[feeder].phases) == 3
            way = make.make_circuit(boards[feeder], phase=phase if fits else "L1")
            try:
                operations.set_feed(boards[child], id=new_id(), from_circuit=way, by=by, now=NOON)
                stood += 1
            except Refused as refused:
                said.add(refused.field)
        graph = queries.supply_graph(site)
        assert len(graph.feeds) == stood
        assert said <= {"feeder", "phases"}
        assert loops(graph.feeds) == ()
        assert phases_lacking(graph) == ()


# --- the graph --------------------------------------------------------------------------------------------------------


def full_site(boards: int):
    site = make.make_site("Yard", phases=("L1", "L2", "L3"), main_fuse_a=100, earthing="TN-C-S", ze_ohm="0.35")
    feeder = make.make_board(site, "Intake board", label_found="Main")
    for number in range(boards):
        way = make.make_circuit(feeder, phase="3", arrangement="distribution")
        shed = make.make_board(site, f"Shed {number}", fed=False, designation_verified=False)
        make.make_feed(shed, way, verified=False)
        make.make_link_of_circuits(make.make_circuit(shed), way)
        make.make_second_source(shed, f"Panels {number}", isolate_supply_side="way 1", wait_minutes=5)
    return site


@pytest.mark.django_db
@pytest.mark.parametrize("boards", [1, 6])
def test_supply_graph_takes_five_statements_whatever_the_size(django_assert_num_queries, boards) -> None:
    site = full_site(boards)
    with django_assert_num_queries(5):
        graph = queries.supply_graph(site)
    assert (len(graph.boards), len(graph.feeds), len(graph.sources), len(graph.links)) == (
        boards + 1,
        boards + 1,
        boards,
        boards,
    )


@pytest.mark.django_db
def test_supply_graph_says_what_the_rows_say() -> None:
    graph = queries.supply_graph(full_site(1))
    origin, (intake, shed), source = graph.origins[0], graph.boards, graph.sources[0]
    assert (origin.name, origin.fuse_a, origin.earthing, origin.detail) == ("Intake", 100, "TN-C-S", "Ze 0.350\u202fΩ")
    assert origin.phases == intake.phases == frozenset({"L1", "L2", "L3"})
    assert (intake.name_verified, intake.label_found, shed.name_verified) == (True, "Main", False)
    onward = next(feed for feed in graph.feeds if feed.child == shed.id)
    assert (onward.from_board, onward.way, onward.kind, onward.verified) == (intake.id, "way 1 · B32", "normal", False)
    assert (source.rating, source.isolate, source.wait_minutes) == ("3.68\u202fkW", "way 1", 5)


@pytest.mark.django_db
def test_supply_graph_leaves_out_what_was_taken_out(who) -> None:
    site = full_site(2)
    shed = site.boards.get(designation="Shed 0")
    source = shed.second_sources.get()
    operations.retire_second_source(source, **who)
    operations.retire_board(shed, **who)
    graph = queries.supply_graph(site)
    assert [b.name for b in graph.boards] == ["Intake board", "Shed 1"]
    assert (len(graph.feeds), len(graph.sources), len(graph.links)) == (2, 1, 1)


@pytest.mark.django_db
def test_error_that_no_sentence_is_known_for_is_not_hidden(site) -> None:
    from jobsite.premises.operations.common import plainly

    make.make_user("Olga One", "office")
    with pytest.raises(IntegrityError), plainly():
        make.make_user("OLGA Two", "office")


@pytest.mark.django_db(transaction=True)
def test_the_database_refuses_a_circuit_on_a_phase_that_its_board_lacks() -> None:
    board = make.make_board(make.make_site("Single-phase house"))
    with pytest.raises(IntegrityError, match="on a phase that its board lacks"), transaction.atomic():
        make.make_circuit(board, 1, phase="L3")
