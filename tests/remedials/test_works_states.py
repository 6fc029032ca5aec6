"""The stages of a remedial: the whole product of stages and moves, and the diagram printed from the table."""

from io import StringIO
from itertools import product

import pytest
from django.core.management import call_command

from remedials.works.states import CARRYING, MOVES, PASSIVE, WORDS, Move, Stage, after, moves_from, starts_of

# Written down a second time, by stage, from the trade's description of the work; the product finds any other entry.
ALLOWED = {
    "to-price": {"quote": "quoted", "approve": "approved", "decline": "declined", "cancel": "cancelled", "done by others": "by-others"},
    "quoted": {
        "revise quote": "to-price",
        "approve": "approved",
        "decline": "declined",
        "cancel": "cancelled",
        "done by others": "by-others",
    },
    "approved": {
        "book": "booked",
        "close with proof": "done",
        "decline": "declined",
        "cancel": "cancelled",
        "done by others": "by-others",
        "take an answer back": "quoted",
    },
    "booked": {
        "book": "booked",
        "cancel visit": "approved",
        "part done": "approved",
        "close with proof": "done",
        "cancel": "cancelled",
    },
    "done": {"review": "reviewed", "send back": "approved", "reopen": "approved"},
    "reviewed": {"reopen": "approved"},
    "declined": {"offer again": "to-price", "done by others": "by-others", "take an answer back": "quoted"},
    "cancelled": {"reopen": "to-price"},
    "by-others": {"reopen": "to-price"},
}  # fmt: skip


@pytest.mark.parametrize(("stage", "move"), list(product(Stage, Move)))
def test_every_stage_and_move(stage: Stage, move: Move) -> None:
    assert after(stage, move) == ALLOWED[stage].get(move)


@pytest.mark.parametrize("stage", list(Stage))
def test_moves_from_a_stage(stage: Stage) -> None:
    assert set(moves_from(stage)) == set(ALLOWED[stage])


@pytest.mark.parametrize("move", list(Move))
def test_starts_of_a_move(move: Move) -> None:
    assert {s.value for s in starts_of(move)} == {stage for stage, moves in ALLOWED.items() if move in moves}


def test_every_stage_is_reached_and_none_is_a_dead_end() -> None:
    reached = {Stage.TO_PRICE}
    while more := {end for (start, _), end in MOVES.items() if start in reached} - reached:
        reached |= more
    assert reached == set(Stage)
    assert {stage for stage in Stage if not moves_from(stage)} == set()


def test_a_stage_with_a_step_to_come_carries_its_observations() -> None:
    assert {s.value for s in CARRYING} == {"to-price", "quoted", "approved", "booked", "done"}


def test_every_stage_and_every_move_has_words() -> None:
    assert set(WORDS) == set(Stage)
    assert set(PASSIVE) == set(Move)


def test_the_diagram_shows_each_move_once() -> None:
    out = StringIO()
    call_command("stages", stdout=out)
    lines = out.getvalue().splitlines()
    arrows = {line.strip() for line in lines if "-->" in line} - {"[*] --> to_price"}
    expected = {
        f"{start} --> {end}: {move}".replace("to-price", "to_price").replace("by-others", "by_others")
        for start, moves in ALLOWED.items()
        for move, end in moves.items()
    }
    assert lines[0] == "stateDiagram-v2"
    assert arrows == expected
