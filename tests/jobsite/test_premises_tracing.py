"""Tracing feeds by switching off: cases by hand, and any site by chance against a judge that tries every arrangement."""

from dataclasses import replace
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobsite.premises.tracing import Board, Device, RuledOut, Switching, Wiring, explained, trace
from jobsite.premises.tracing.advice import Adviser
from jobsite.premises.tracing.search import Case, Group, all_candidates
from tests.jobsite.wirings import Site, arrangements, follow, make_wiring, switch_off

chances = st.integers(0, 10**6).map(Random)


def off(device: str, *, dead: str = "", alive: str = "", name: str = "", others_off: bool = False) -> Switching:
    """A test: `device` off, the boards in `dead` and `alive` by their names."""
    return Switching(name or device, device, frozenset(dead.split()), frozenset(alive.split()), others_off)


def site(*boards: Board, ways: int = 4, keep: tuple[str, ...] = ()) -> Wiring:
    """One supply "s", an intake board "main" on it that is verified, with ways main.1 …, and `boards` with their own."""
    rows = (Board("main", ("s",), verified=True), *boards)
    devices = [
        Device(f"{b.id}.{n}", b.id, keep="alarm" if f"{b.id}.{n}" in keep else "")
        for b in rows
        for n in range(1, ways + 1)
    ]
    return Wiring(rows, (Device("s"), *devices))


SHED = Board("shed", ("main.1", "main.2", "main.3"))


# --- by hand ----------------------------------------------------------------------------------------------------------


def test_nothing_tested_leaves_every_candidate() -> None:
    traced = trace(site(SHED), [])
    assert (traced.left["shed"], traced.arrangements, traced.exact) == (SHED.candidates, 3, True)
    assert (traced.open, traced.seen, traced.ruled_out, traced.clashes) == (("shed",), frozenset(), (), ())


def test_board_that_stays_alive_rules_the_device_out() -> None:
    traced = trace(site(SHED), [off("main.2", alive="shed")])
    assert traced.left["shed"] == ("main.1", "main.3")
    assert traced.ruled_out == (RuledOut("shed", "main.2", "main.2"),)


def test_board_that_goes_dead_is_fed_from_there_and_seen() -> None:
    traced = trace(site(SHED), [off("main.2", dead="shed")])
    assert (traced.left["shed"], traced.seen, traced.next, traced.confirm) == (("main.2",), {"shed"}, (), ())


def test_last_one_left_is_certain_but_not_seen() -> None:
    traced = trace(site(SHED), [off("main.1", alive="shed"), off("main.2", alive="shed")])
    assert (traced.left["shed"], traced.seen, traced.next) == (("main.3",), frozenset(), ())
    assert [(advice.device, advice.look_at) for advice in traced.confirm] == [("main.3", ("shed",))]


def test_single_believed_feed_is_not_seen_until_somebody_looked() -> None:
    wiring = site(replace(SHED, candidates=("main.1",)))
    assert [advice.device for advice in trace(wiring, []).confirm] == ["main.1"]
    assert trace(wiring, [off("main.1", dead="shed")]).seen == {"shed"}


def test_supply_off_tells_nothing_where_all_hangs_on_it() -> None:
    traced = trace(site(SHED), [off("s", dead="main shed")])
    assert (traced.left["shed"], traced.seen) == (SHED.candidates, frozenset())
    assert "s" not in [advice.device for advice in traced.next]


def test_two_supplies_are_told_apart_by_one_main_switch() -> None:
    wiring = Wiring((Board("b", ("s1", "s2")),), (Device("s1"), Device("s2")))
    assert trace(wiring, [off("s1", alive="b")]).left["b"] == ("s2",)


def test_dead_by_way_of_another_board() -> None:
    """The hut goes dead with the shed's way: it hangs behind the shed, or on that very way."""
    wiring = site(replace(SHED, candidates=("main.1",)), Board("hut", ("main.1", "main.2", "shed.1", "shed.2")))
    traced = trace(wiring, [off("main.1", dead="shed hut")])
    assert traced.left["hut"] == ("main.1", "shed.1", "shed.2")
    assert trace(wiring, [off("main.1", dead="shed hut"), off("shed.1", alive="hut shed")]).left["hut"] == (
        "main.1",
        "shed.2",
    )


def test_two_boards_that_may_feed_each_other_make_no_loop() -> None:
    wiring = site(Board("a", ("main.1", "b.1")), Board("b", ("main.1", "a.1")))
    assert trace(wiring, []).arrangements == 3
    traced = trace(wiring, [off("a.1", dead="b", alive="a")])
    assert (traced.left["a"], traced.left["b"]) == (("main.1",), ("a.1",))


def test_boards_that_would_only_feed_each_other_count_as_not_known() -> None:
    """One of them at least is fed by something that nobody named; what hangs on them is still told apart."""
    wiring = site(Board("a", ("b.1",)), Board("b", ("a.1", "a.2")), Board("hut", ("a.3", "main.1")))
    traced = trace(wiring, [])
    assert (traced.rings, traced.left["a"], traced.left["hut"]) == ({"a", "b"}, (), ("a.3", "main.1"))
    assert trace(wiring, [off("a.3", alive="hut")]).left["hut"] == ("main.1",)
    assert trace(wiring, [off("a.3", dead="hut")]).left["hut"] == ("a.3",)


def test_tests_that_rule_a_candidate_out_only_together() -> None:
    """Each board may hang on the other: neither test alone says that b is not on main.1."""
    wiring = site(Board("a", ("main.1", "main.2")), Board("b", ("main.1", "a.1")))
    traced = trace(wiring, [off("main.1", dead="b", alive="a", name="x"), off("a.1", dead="b", name="y")])
    assert traced.clashes != ()  # b behind a.1, and a alive while b is dead with main.1 off
    traced = trace(wiring, [off("main.2", dead="b", name="x"), off("main.1", alive="b", name="y")])
    assert (traced.left["a"], traced.left["b"]) == (("main.2",), ("a.1",))


def test_board_whose_feed_nobody_knows_says_nothing() -> None:
    wiring = site(Board("lost"), Board("hut", ("lost.1", "main.1")))
    traced = trace(wiring, [off("main.2", dead="lost hut")])
    assert traced.left["hut"] == ("lost.1",)  # main.1 is fed otherwise, so it was the lost board that failed
    assert trace(wiring, [off("main.1", dead="hut")]).left["hut"] == ("lost.1", "main.1")


@pytest.mark.parametrize(
    "second_way",
    [{"sources": True}, {"other_feeds": ("main.4",)}, {"sources": True, "stand_by": True}],
)
def test_second_way_in_keeps_a_board_alive_unless_it_is_off_too(second_way) -> None:
    wiring = site(replace(SHED, **second_way))
    assert trace(wiring, [off("main.2", alive="shed")]).left["shed"] == SHED.candidates
    assert trace(wiring, [off("main.2", alive="shed", others_off=True)]).left["shed"] == ("main.1", "main.3")


def test_dead_board_with_a_second_source_is_still_told() -> None:
    wiring = site(replace(SHED, sources=True))
    assert trace(wiring, [off("main.2", dead="shed")]).left["shed"] == ("main.2",)


def test_dead_board_with_an_alternative_feed_may_have_stood_on_it() -> None:
    wiring = site(replace(SHED, other_feeds=("main.4",)))
    assert trace(wiring, [off("main.4", dead="shed")]).left["shed"] == SHED.candidates


def test_alternative_feed_from_below_the_same_device_keeps_nothing_alive() -> None:
    both = replace(SHED, candidates=("main.1", "main.2"), other_feeds=("aux.1",))
    wiring = site(Board("aux", ("main.2",), verified=True), both)
    assert trace(wiring, [off("main.2", alive="shed aux")]).clashes != ()  # aux is verified to hang on main.2
    assert trace(wiring, [off("main.2", alive="shed", dead="aux")]).left["shed"] == ("main.1",)


def test_circuit_that_is_also_fed_from_another_keeps_its_board_alive() -> None:
    wiring = site(SHED)
    linked = tuple(replace(d, also_fed_from=("main.4",)) if d.id == "main.2" else d for d in wiring.devices)
    assert trace(replace(wiring, devices=linked), [off("main.2", alive="shed")]).left["shed"] == SHED.candidates


# --- what clashes -----------------------------------------------------------------------------------------------------


def test_dead_and_alive_under_the_same_device_clash() -> None:
    first, wrong = off("main.1", dead="shed", name="first"), off("main.1", alive="shed", name="second")
    bystander = off("main.3", alive="shed", name="third")
    traced = trace(site(SHED), [bystander, first, wrong])
    assert [[test.id for test in clash] for clash in traced.clashes] == [["first", "second"]]
    assert (traced.left["shed"], traced.seen) == (("main.1", "main.2"), frozenset())


def test_test_against_what_is_verified_clashes_alone() -> None:
    traced = trace(site(SHED), [off("main.1", dead="main")])
    assert [[test.id for test in clash] for clash in traced.clashes] == [["main.1"]]


def test_boards_whose_candidates_are_all_ruled_out() -> None:
    """The true feeder was not thought of: every candidate was off, and the board alive."""
    traced = trace(site(SHED), [off(device, alive="shed") for device in SHED.candidates])
    assert [len(clash) for clash in traced.clashes] == [3]


def test_clashes_at_two_ends_of_a_site_are_told_apart() -> None:
    wiring = site(SHED, replace(SHED, id="hut"))
    tests = [off("main.1", dead="shed", name="a"), off("main.2", dead="shed", name="b")]
    tests += [off("main.1", dead="hut", name="c"), off("main.3", dead="hut", name="d")]
    assert {frozenset(t.id for t in clash) for clash in trace(wiring, tests).clashes} == {
        frozenset("ab"),
        frozenset("cd"),
    }


def test_device_that_was_taken_out_sets_its_tests_aside() -> None:
    gone = off("old.1", alive="shed")
    traced = trace(site(SHED), [gone])
    assert (traced.aside, traced.left["shed"]) == ((gone,), SHED.candidates)


# --- what to do next --------------------------------------------------------------------------------------------------


def test_advice_keeps_power_on_where_it_can() -> None:
    """main.3 is in doubt for one board only, but an alarm hangs on it: the others come first, and it says so."""
    wiring = site(SHED, keep=("main.1", "main.3"))
    advice = trace(wiring, []).next
    assert [one.device for one in advice] == ["main.2", "main.1", "main.3"]
    assert [one.keep for one in advice] == [(), ("main.1",), ("main.3",)]


def test_advice_names_a_load_behind_the_board_in_question() -> None:
    wiring = site(SHED, keep=("shed.2",))
    assert {one.keep for one in trace(wiring, []).next} == {("shed.2",)}


def test_advice_prefers_what_tells_most() -> None:
    wiring = site(*(Board(name, ("main.1", f"main.{2 + n}")) for n, name in enumerate(("a", "b", "c"))), ways=5)
    best = trace(wiring, []).next[0]
    assert (best.device, best.bits, best.look_at, best.expected) == ("main.1", 3.0, ("a", "b", "c"), 1.5)


def test_advice_counts_what_goes_dark() -> None:
    wiring = site(replace(SHED, circuits=6), Board("hut", ("shed.1",), verified=True, circuits=2))
    best = trace(wiring, []).next[0]
    assert (best.boards, best.circuits, round(best.expected, 2)) == (("shed", "hut"), 8, 0.67)


def test_second_sources_are_to_be_switched_off_too_only_where_nothing_else_tells() -> None:
    """The shed may stay alive by its panels whatever is off; the hut has no other way in, and is asked about first."""
    shed, hut = Board("shed", ("main.1", "main.2"), sources=True), Board("hut", ("main.3", "main.4"))
    assert {one.others_off for one in trace(site(shed, hut), []).next} == {False}
    traced = trace(site(shed, hut), [off("main.3", dead="hut")])
    assert {(one.device, one.others_off) for one in traced.next} == {("main.1", True), ("main.2", True)}


def test_advice_goes_board_by_board_where_no_arrangement_could_be_drawn() -> None:
    """A group too large to be tried out, of which by bad luck none was found: what was looked at already is left out."""
    wiring = site(SHED, Board("hut", ("main.1", "shed.1")))
    case = Case(wiring, [off("main.2", dead="main")])
    group = Group(("shed", "hut"), ("shed", "hut"), found=[], exact=False)
    advice = Adviser(case, all_candidates(wiring), [group]).advise()
    assert [(one.device, one.look_at) for one in advice] == [
        ("main.1", ("shed", "hut")),
        ("shed.1", ("hut",)),
        ("main.2", ("shed",)),
        ("main.3", ("shed",)),
    ]
    looked = Case(wiring, [off("main.1", alive="shed hut"), off("shed.1", alive="hut")])
    left = Adviser(looked, all_candidates(wiring), [group]).advise()
    assert {one.device for one in left} == {"main.2", "main.3"}


# --- any site ---------------------------------------------------------------------------------------------------------


@given(chances, st.integers(1, 4), st.integers(0, 3), st.sampled_from([0.0, 0.4]))
@settings(max_examples=150, deadline=None)
def test_what_is_left_is_what_trying_every_arrangement_leaves(chance, unknown, known, soft) -> None:
    made = make_wiring(chance, unknown=unknown, known=known, ways=2, candidates=3, soft=soft)
    tests = some_tests(made, chance)
    every = list(arrangements(made.wiring, tests))
    traced = trace(made.wiring, tests)
    assert (traced.exact, traced.clashes, traced.arrangements) == (True, (), len(every))
    assert {b: set(left) for b, left in traced.left.items()} == {b: {f[b] for f in every} for b in made.truth}


@given(chances, st.integers(4, 12), st.sampled_from([0.0, 0.3]))
@settings(max_examples=20, deadline=None)
def test_true_arrangement_is_never_ruled_out(chance, unknown, soft) -> None:
    made = make_wiring(chance, unknown=unknown, known=2, ways=2, candidates=8, soft=soft)
    traced = trace(made.wiring, some_tests(made, chance, most=3))
    assert traced.clashes == ()
    assert {b: f for b, f in made.truth.items() if f not in traced.left[b]} == {}


@given(chances, st.integers(1, 9), st.integers(0, 3))
@settings(max_examples=25, deadline=None)
def test_following_the_advice_finds_every_feeder(chance, unknown, known) -> None:
    made = make_wiring(chance, unknown=unknown, known=known, ways=2, candidates=4)
    traced = trace(made.wiring, follow(made, chance))
    assert traced.left == {board: (feeder,) for board, feeder in made.truth.items()}


@given(chances, st.integers(1, 5))
@settings(max_examples=40, deadline=None)
def test_following_the_advice_ends_where_no_switching_tells_more(chance, unknown) -> None:
    """With second ways in. What is left by then cannot be told apart by any device, alone or together with others."""
    made = make_wiring(chance, unknown=unknown, known=2, ways=2, candidates=3, soft=0.5)
    tests = follow(made, chance)
    traced = trace(made.wiring, tests)
    assert all(made.truth[board] in left for board, left in traced.left.items())
    everything = [switch_off(made, d.id, chance, others_off=True) for d in made.wiring.devices]
    assert {b: f for b, f in trace(made.wiring, tests + everything).left.items() if len(f) > 1} == {}
    assert traced.open == ()


@given(chances, st.integers(1, 4), st.sampled_from([0.0, 0.4]))
@settings(max_examples=150, deadline=None)
def test_clashes_are_true_and_smallest(chance, unknown, soft) -> None:
    made = make_wiring(chance, unknown=unknown, known=1, ways=2, candidates=3, soft=soft)
    tests = [misseen(test, chance) for test in some_tests(made, chance)]
    found = trace(made.wiring, tests).clashes
    clashing = {test.id for clash in found for test in clash}
    assert sum(map(len, found)) == len(clashing)
    for clash in found:
        assert not any(arrangements(made.wiring, list(clash)))
        for test in clash:
            assert any(arrangements(made.wiring, [other for other in clash if other is not test]))
    assert any(arrangements(made.wiring, [test for test in tests if test.id not in clashing]))
    assert bool(found) is not explained(made.wiring, tests)


def some_tests(made: Site, chance: Random, most: int = 4) -> list[Switching]:
    devices = chance.sample([device.id for device in made.wiring.devices], min(chance.randint(0, most), 3))
    return [switch_off(made, d, chance, look_at=0.7, others_off=chance.random() < 0.3) for d in devices]


def misseen(test: Switching, chance: Random) -> Switching:
    """The test with one board noted wrongly, now and then."""
    if not test.dead | test.alive or chance.random() < 0.4:
        return test
    board = {chance.choice(sorted(test.dead | test.alive))}
    return replace(test, dead=test.dead ^ board, alive=test.alive ^ board)


# --- what leads nowhere -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("boards", "devices", "sentence"),
    [
        ((Board("a", ("x",)),), (), "No such device in this wiring: x."),
        ((), (Device("x", "a"),), "No such board in this wiring: a."),
        ((Board("a"), Board("a")), (), "An id stands for two things in this wiring."),
    ],
)
def test_wiring_that_leads_nowhere(boards, devices, sentence) -> None:
    with pytest.raises(ValueError) as raised:
        Wiring(boards, devices)
    assert str(raised.value) == sentence
