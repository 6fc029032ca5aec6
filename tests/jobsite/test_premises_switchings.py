"""Tracing feeds by switching off: what is recorded, refused, and taken over as verified."""

from datetime import UTC, datetime, timedelta

import pytest

from jobsite.ids import new_id
from jobsite.ledger.actor import CLOCK
from jobsite.premises import operations, queries
from jobsite.premises.graph import loops
from jobsite.premises.isolation import Work, isolate
from jobsite.premises.queries.graph import isolation_graph
from jobsite.premises.queries.wiring import ground_of
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON, TODAY, Told, recorded
from tests.jobsite.premises import refusal


@pytest.fixture
def cellar(db):
    """A site with an intake board of four ways, and a shed and a hut that nobody knows the feeds of."""
    site = make.make_site("Cellar")
    intake = make.make_board(site, "Intake board")
    for way in range(1, 5):
        make.make_circuit(intake, way)
    for name in ("Hut", "Shed"):
        make.make_circuit(make.make_board(site, name, fed=False), 1)
    return site


def board(site, name):
    return site.boards.get(designation=name)


def way(site, number, name="Intake board"):
    return site.circuits.get(board__designation=name, way=number)


def feeders(board) -> list[str]:
    """What may feed the board, verified feeds marked."""
    feeds = board.feeds.select_related("from_circuit").order_by("from_circuit__way")
    return [f"{feed.from_circuit.way}{' verified' if feed.verified else ''}" for feed in feeds]


# --- candidates -------------------------------------------------------------------------------------------------------


def test_name_candidates(cellar, worker) -> None:
    shed, ways = board(cellar, "Shed"), [way(cellar, 1), way(cellar, 2)]
    with recorded() as told:
        operations.name_candidates(shed, ways, **worker)
    facts = {"candidates": [str(one.pk) for one in ways], "how_many": 2}
    assert told == [Told("board.candidates-named", shed.pk, facts)]
    assert [(feed.kind, feed.verified) for feed in shed.feeds.all()] == [("may-be", False)] * 2


def test_name_candidates_again_adds_only_what_is_new(cellar, worker) -> None:
    shed = board(cellar, "Shed")
    operations.name_candidates(shed, [way(cellar, 1)], **worker)
    with recorded() as told:
        operations.name_candidates(shed, [way(cellar, 1)], **worker)
        operations.name_candidates(shed, [way(cellar, 1), make.supply_of(cellar)], **worker)
    assert [entry.facts["how_many"] for entry in told] == [1]


def test_two_boards_may_each_feed_the_other_until_one_of_it_is_recorded(cellar, worker) -> None:
    shed, hut = board(cellar, "Shed"), board(cellar, "Hut")
    operations.name_candidates(shed, [way(cellar, 1, "Hut"), way(cellar, 1)], **worker)
    operations.name_candidates(hut, [way(cellar, 1, "Shed"), way(cellar, 2)], **worker)
    operations.set_feed(
        hut, id=hut.feeds.get(from_circuit__board=shed).pk, from_circuit=way(cellar, 1, "Shed"), **worker
    )
    feed = shed.feeds.get(from_circuit__board=hut)
    with pytest.raises(Refused) as raised:
        operations.set_feed(shed, id=feed.pk, from_circuit=feed.from_circuit, **worker)
    assert raised.value.field == "feeder"
    assert refusal(raised)[0].endswith("would feed itself.")


def test_drawing_and_isolation_see_every_candidate(cellar, worker) -> None:
    """Also where two boards may feed each other: a loop on paper, which nothing trips over."""
    from jobsite.premises.drawing import drawing_parts

    shed, hut = board(cellar, "Shed"), board(cellar, "Hut")
    operations.name_candidates(shed, [way(cellar, 1, "Hut"), way(cellar, 1)], **worker)
    operations.name_candidates(hut, [way(cellar, 1, "Shed"), way(cellar, 2)], **worker)
    graph = queries.supply_graph(cellar)
    believed = {(feed.child, feed.feeder) for feed in graph.feeds if not feed.verified}
    intake = str(board(cellar, "Intake board").pk)
    mutual = {(str(shed.pk), str(hut.pk)), (str(hut.pk), str(shed.pk))}
    assert believed == mutual | {(str(shed.pk), intake), (str(hut.pk), intake)}
    assert len(loops(graph.feeds)) == 1
    assert drawing_parts(graph, {})
    answer = isolate(isolation_graph(cellar), Work("inside", str(shed.pk)))
    # The hut may hang on the shed, and feeds it back in that case: what may feed the hut must be off too.
    points = {point.switch.id for point in answer.points if "candidate" in point.why}
    assert points == {str(way(cellar, 1).pk), str(way(cellar, 2).pk)}


@pytest.mark.parametrize(
    ("what", "sentence"),
    [
        ("own", "Shed would feed itself."),
        ("taken out", "What may feed it was taken out."),
        ("of another site", "The feed of Shed leaves the site."),
        ("verified", "The feed of Shed is verified: change that one, if it is wrong."),
    ],
)
def test_candidates_that_cannot_be(cellar, worker, what, sentence) -> None:
    shed, candidate = board(cellar, "Shed"), way(cellar, 1)
    if what == "own":
        candidate = way(cellar, 1, "Shed")
    elif what == "taken out":
        operations.retire_circuit(candidate, **worker)
    elif what == "of another site":
        candidate = make.make_circuit(make.make_board(make.make_site("Elsewhere")))
    else:
        make.make_feed(shed, way(cellar, 2))
    with recorded() as told, pytest.raises(Refused) as raised:
        operations.name_candidates(shed, [candidate], **worker)
    assert (raised.value.sentence, told) == (sentence, [])


def test_possible_feed_is_not_verified_as_such(cellar, worker) -> None:
    shed = board(cellar, "Shed")
    fields = {"id": new_id(), "from_circuit": way(cellar, 1), "kind": "may-be"}
    with pytest.raises(Refused) as raised:
        operations.set_feed(shed, **fields, verified=True, verified_how="traced", **worker)
    assert refusal(raised) == ("A possible feed is not verified: record it as the normal feed.", "kind")


def test_way_that_may_feed_a_board_is_not_taken_out_unsaid(cellar, worker) -> None:
    operations.name_candidates(board(cellar, "Shed"), [way(cellar, 1)], **worker)
    with pytest.raises(Refused, match=r"Way 1L1 may feed Shed: move that feed first\."):
        operations.retire_circuit(way(cellar, 1), **worker)


# --- noting a test ----------------------------------------------------------------------------------------------------


def note(site, off, worker, *, at=NOON, key=None, **states):
    """Note a test; `states` by the boards' names."""
    seen = {board(site, name.replace("_", " ")): state for name, state in states.items()}
    return operations.note_switching_test(off, id=key or new_id(), at=at, seen=seen, **worker)


def test_note_switching_test(cellar, worker) -> None:
    off, shed, hut = way(cellar, 1), board(cellar, "Shed"), board(cellar, "Hut")
    with recorded() as told:
        test = operations.note_switching_test(
            off,
            id=new_id(),
            at=NOON - timedelta(hours=1),
            seen={shed: "dead", hut: "alive"},
            together_with="Sam at the shed",
            note="tenant warned",
            **worker,
        )
    facts = {
        "off_circuit": str(off.pk),
        "at": "2026-02-03T11:00:00+00:00",
        "dead": [str(shed.pk)],
        "alive": [str(hut.pk)],
    }
    words = {"together_with": "Sam at the shed", "note": "tenant warned"}
    assert told == [Told("switching.noted", test.pk, facts, words)]
    assert {(row.board.designation, row.state) for row in test.seen.all()} == {("Shed", "dead"), ("Hut", "alive")}


def test_note_the_same_test_twice_is_harmless(cellar, worker) -> None:
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            note(cellar, make.supply_of(cellar), worker, key=key, Shed="dead")
    assert (len(told), cellar.switching_tests.count()) == (1, 1)


@pytest.mark.parametrize(
    ("what", "sentence", "field"),
    [
        ("nothing seen", "Say of one board at least whether it was dead or alive.", None),
        ("tomorrow", "A test is noted once it was done, not before.", "at"),
        ("device taken out", "What was switched off was taken out.", "off"),
        ("board taken out", "Hut was taken out.", None),
        ("board of another site", "Elsewhere is of another site.", None),
    ],
)
def test_tests_that_cannot_be(cellar, worker, what, sentence, field) -> None:
    off, at, seen = way(cellar, 1), NOON, {board(cellar, "Hut"): "dead"}
    if what == "nothing seen":
        seen = {}
    elif what == "tomorrow":
        at = NOON + timedelta(days=1)
    elif what == "device taken out":
        operations.retire_circuit(off, **worker)
    elif what == "board taken out":
        operations.retire_board(board(cellar, "Hut"), **worker)
    else:
        seen = {make.make_board(make.make_site("Elsewhere"), "Elsewhere"): "dead"}
    with recorded() as told, pytest.raises(Refused) as raised:
        operations.note_switching_test(off, id=new_id(), at=at, seen=seen, **worker)
    assert (refusal(raised), told) == ((sentence, field), [])


def test_what_was_seen_is_a_persons_word(cellar, now, subcontractor) -> None:
    for by in (CLOCK, subcontractor):
        with pytest.raises(NotAllowed):
            note(cellar, way(cellar, 1), {"by": by, "now": now}, Shed="dead")


def test_withdraw_a_test_with_its_reason_once(cellar, worker, engineer) -> None:
    test = note(cellar, way(cellar, 1), worker, Shed="dead")
    with pytest.raises(Refused) as raised:
        operations.withdraw_switching_test(test, why=" ", **worker)
    assert refusal(raised) == ("Say why the test does not count.", "why")
    with recorded() as told:
        operations.withdraw_switching_test(test, why="wrong way", **worker)
        operations.withdraw_switching_test(test, why="again", **worker)
    assert told == [Told("switching.withdrawn", test.pk, {}, {"why": "wrong way"})]
    test.refresh_from_db()
    assert (test.withdrawn_by, test.withdrawn_why, test.seen.count()) == (engineer, "wrong way", 1)


# --- what the tests tell ----------------------------------------------------------------------------------------------


def test_withdrawn_tests_and_boards_taken_out_say_nothing(cellar, worker) -> None:
    shed = board(cellar, "Shed")
    operations.name_candidates(shed, [way(cellar, 1), way(cellar, 2)], **worker)
    test = note(cellar, way(cellar, 1), worker, Shed="alive", Hut="alive")
    assert [len(left) for left in ground_of(cellar).traced.left.values()] == [0, 1, 1]
    operations.retire_board(board(cellar, "Hut"), **worker)
    assert [len(left) for left in ground_of(cellar).traced.left.values()] == [1, 1]
    operations.withdraw_switching_test(test, why="noted at the wrong board", **worker)
    assert [len(left) for left in ground_of(cellar).traced.left.values()] == [1, 2]


def test_second_sources_links_and_loads_are_read(cellar, worker) -> None:
    shed, hut = board(cellar, "Shed"), board(cellar, "Hut")
    make.make_second_source(shed, "Set", kind="generator")
    make.make_feed(hut, way(cellar, 4), kind="alternative", verified=False)
    make.make_link_of_circuits(way(cellar, 1), way(cellar, 3), kind="feed")
    own = way(cellar, 1, "Shed")
    operations.edit_circuit(own, version=1, must_not_lose_power="freezer", **worker)
    operations.name_candidates(shed, [way(cellar, 1), way(cellar, 2)], **worker)
    wiring = ground_of(cellar).wiring
    row = wiring.at[str(shed.pk)]
    assert (row.sources, row.stand_by, row.circuits) == (True, True, 1)
    assert wiring.at[str(hut.pk)].other_feeds == (str(way(cellar, 4).pk),)
    assert wiring.device[str(way(cellar, 1).pk)].also_fed_from == (str(way(cellar, 3).pk),)
    assert wiring.device[str(own.pk)].keep == "freezer"


# --- taking over ------------------------------------------------------------------------------------------------------


def found(cellar, worker):
    """The shed is found on way 2 by two tests; the hut is on way 3 by elimination only."""
    shed, hut = board(cellar, "Shed"), board(cellar, "Hut")
    operations.name_candidates(shed, [way(cellar, n) for n in (1, 2, 3)], **worker)
    operations.name_candidates(hut, [way(cellar, n) for n in (1, 3)], **worker)
    note(cellar, way(cellar, 1), worker, Shed="alive", Hut="alive")
    note(cellar, way(cellar, 2), worker, at=NOON - timedelta(days=2), Shed="dead")
    return shed, hut


def test_take_over_what_is_certain(cellar, worker, engineer, office, now) -> None:
    shed, _ = found(cellar, worker)
    true = way(cellar, 2)
    with recorded() as told:
        (feed,) = operations.take_over_certain(cellar, {shed.pk: true.pk}, by=office, now=now)
    test = cellar.switching_tests.get(off_circuit=true)
    facts = {
        "board": str(shed.pk),
        "from_circuit": str(true.pk),
        "test": str(test.pk),
        "ruled_out": sorted([str(way(cellar, 1).pk), str(way(cellar, 3).pk)]),
        "verified_how": "switched",
        "verified_by": str(engineer.pk),
        "verified_on": "2026-02-01",
    }
    assert told == [Told("feed.found", feed.pk, facts)]
    feed.refresh_from_db()
    assert (feed.kind, feed.verified_by, feed.verified_on) == (
        "normal",
        engineer,
        datetime(2026, 2, 1, tzinfo=UTC).date(),
    )
    assert feeders(shed) == ["2 verified"]


def test_take_over_twice_is_harmless(cellar, worker) -> None:
    shed, _ = found(cellar, worker)
    operations.take_over_certain(cellar, {shed.pk: way(cellar, 2).pk}, **worker)
    with recorded() as told:
        assert operations.take_over_certain(cellar, {shed.pk: way(cellar, 2).pk}, **worker) == []
    assert told == []


def test_what_is_left_over_but_was_not_seen_is_not_taken_over(cellar, worker) -> None:
    shed, hut = found(cellar, worker)
    with recorded() as told, pytest.raises(Refused, match="no longer certain"):
        operations.take_over_certain(cellar, {shed.pk: way(cellar, 2).pk, hut.pk: way(cellar, 3).pk}, **worker)
    assert (told, feeders(shed)) == ([], ["1", "2", "3"])


@pytest.mark.parametrize("meanwhile", ["withdrawn", "clashing", "removed", "verified otherwise"])
def test_take_over_is_refused_where_the_record_changed_meanwhile(cellar, worker, meanwhile) -> None:
    shed, _ = found(cellar, worker)
    if meanwhile == "withdrawn":
        operations.withdraw_switching_test(cellar.switching_tests.get(off_circuit__way=2), why="slip", **worker)
    elif meanwhile == "clashing":
        note(cellar, way(cellar, 2), worker, Shed="alive")
    elif meanwhile == "removed":
        operations.remove_feed(shed.feeds.get(from_circuit__way=2), **worker)
    else:
        make.make_feed(shed, way(cellar, 4))
    with recorded() as told, pytest.raises(Refused) as raised:
        operations.take_over_certain(cellar, {shed.pk: way(cellar, 2).pk}, **worker)
    assert "no longer certain" in raised.value.sentence
    assert told == []


@pytest.mark.django_db(transaction=True)
def test_two_people_taking_over_at_once_record_it_once() -> None:
    site = make.make_site()
    intake, shed = make.make_board(site, "Intake board"), make.make_board(site, "Shed", fed=False)
    ways = [make.make_circuit(intake), make.make_circuit(intake)]
    by = make.anybody("engineer")
    for one in ways:
        make.make_feed(shed, one, kind="may-be", verified=False)
    make.make_switching_test(ways[0], dead=[shed], by=by)

    def take():
        return operations.take_over_certain(site, {shed.pk: ways[0].pk}, by=by, now=NOON)

    with recorded() as told:
        results = at_once(take, take)
    assert sorted(len(result) for result in results) == [0, 1]
    assert [entry.verb for entry in told] == ["feed.found"]
    assert feeders(shed) == ["1 verified"]
    assert shed.feeds.get().verified_on == TODAY


@pytest.mark.django_db(transaction=True)
def test_test_noted_while_another_takes_over_is_never_lost() -> None:
    """Whoever comes second waits: either the new test clashes first and nothing is taken over, or it stands after it."""
    site = make.make_site()
    intake, shed = make.make_board(site, "Intake board"), make.make_board(site, "Shed", fed=False)
    ways = [make.make_circuit(intake), make.make_circuit(intake)]
    by = make.anybody("engineer")
    for one in ways:
        make.make_feed(shed, one, kind="may-be", verified=False)
    make.make_switching_test(ways[0], dead=[shed], by=by)
    taken, noted = at_once(
        lambda: operations.take_over_certain(site, {shed.pk: ways[0].pk}, by=by, now=NOON),
        lambda: operations.note_switching_test(ways[0], id=new_id(), at=NOON, seen={shed: "alive"}, by=by, now=NOON),
    )
    assert site.switching_tests.filter(pk=noted.pk).exists()
    assert isinstance(taken, list | Refused)
    assert feeders(shed) == (["1 verified"] if isinstance(taken, list) else ["1", "2"])
    assert ground_of(site).traced.clashes != ()
