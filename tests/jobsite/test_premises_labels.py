"""Labels against facts: the rule, by cases and by properties."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobsite.premises.labels import Disagreement, Kind, LabelledBoard, LabelledWay, bare, disagreements


@pytest.mark.parametrize(
    ("label", "words"),
    [
        ("DB 3", ("3",)),
        ("DB3", ("3",)),
        ("db-03", ("3",)),
        ("Feed to Dist. Board 3", ("3",)),
        ("Sub-main: Café", ("cafe",)),
        ("Pontoon A", ("pontoon", "a")),
        ("Consumer unit 2", ("2",)),
        ("Unit 2", ("unit", "2")),
        ("Water heater", ("water", "heater")),
        ("WATER  HEATER.", ("water", "heater")),
        ("Main", ("main",)),
        ("Distribution board", ("distribution", "board")),
        ("0", ("0",)),
        ("", ()),
        ("—", ()),
    ],
)
def test_bare(label, words) -> None:
    assert bare(label) == words


OPEN_WAY = "Recorded as spare and not blanked: live parts may be within reach. Blank it, or put the record right."
HALL = LabelledBoard("hall", "Hall", verified=True)
SHED = LabelledBoard("shed", "Shed", verified=True)


def told(boards, *ways) -> list[tuple[str, str, str]]:
    return [(str(one.kind), one.way or one.board, one.sentence) for one in disagreements(boards, ways)]


@pytest.mark.parametrize(
    ("boards", "ways", "expected"),
    [
        ((), (), []),
        ((HALL, SHED), (LabelledWay("w", "hall", "1", "Shed", feeds=("shed",)),), []),
        ((HALL, SHED), (LabelledWay("w", "hall", "1", spare=True),), [("open-way", "w", OPEN_WAY)]),
        ((HALL,), (LabelledWay("w", "hall", "1", spare=True, blanked=True),), []),
        # What a label names against what a verified feed leads to.
        (
            (HALL, SHED, LabelledBoard("barn", "Barn")),
            (LabelledWay("w", "hall", "2", "Feed to shed", feeds=("barn",)),),
            [("feeder", "w", "It feeds Barn, which was verified.")],
        ),
        (
            (HALL, SHED),
            (LabelledWay("w", "hall", "2", "DB Shed"), LabelledWay("v", "hall", "3", feeds=("shed",))),
            [("feeder", "w", "Shed is fed from elsewhere, which was verified.")],
        ),
        # Nothing verified about the shed's feed: the label may be right.
        ((HALL, SHED), (LabelledWay("w", "hall", "2", "DB Shed"),), []),
        (
            (HALL, LabelledBoard("shed", "Shed", label="Hall")),
            (),
            [("other-board", "shed", "Hall is the name of another board.")],
        ),
        (
            (LabelledBoard("one", "DB 1", label="Upstairs"), LabelledBoard("two", "DB 2", label="UPSTAIRS board")),
            (),
            [("twice", "one", "DB 2 has the same label."), ("twice", "two", "DB 1 has the same label.")],
        ),
        (
            (HALL,),
            (LabelledWay("w", "hall", "1", "Sockets"), LabelledWay("v", "hall", "4L2", "sockets")),
            [("twice", "w", "Way 4L2 of this board has the same."), ("twice", "v", "Way 1 of this board has the same.")],
        ),
        # The three phases of one way carry one label.
        ((HALL,), tuple(LabelledWay(f"w{n}", "hall", f"5L{n}", "Hoist") for n in (1, 2, 3)), []),
        # The same label at two boards is no trouble, nor are spare ways.
        ((HALL, SHED), (LabelledWay("w", "hall", "1", "Lights"), LabelledWay("v", "shed", "1", "Lights")), []),
        ((HALL,), tuple(LabelledWay(n, "hall", n, "Spare", spare=True, blanked=True) for n in "12"), []),
        # Against what was verified, never against what is believed only.
        (
            (HALL,),
            (LabelledWay("w", "hall", "1", "Cooker", "Shower", verified=True),),
            [("differs", "w", "It was verified to be Shower.")],
        ),
        ((HALL,), (LabelledWay("w", "hall", "1", "Cooker", "Shower"),), []),
        (
            (LabelledBoard("hall", "Hall", verified=True, label="Old kitchen"),),
            (),
            [("differs", "hall", "It was verified to be Hall.")],
        ),
    ],
)  # fmt: skip
def test_disagreements(boards, ways, expected) -> None:
    assert told(boards, *ways) == expected


NAMES = st.sampled_from(["DB 1", "db1", "Shed", "Feed to shed", "Lights", "", "Sub board 2", "DB 2", "Spare"])


@st.composite
def sites(draw):
    count = draw(st.integers(1, 4))
    boards = [LabelledBoard(f"b{n}", draw(NAMES) or "Board", draw(st.booleans()), draw(NAMES)) for n in range(count)]
    ids = [board.id for board in boards]
    ways = [
        LabelledWay(
            f"w{n}", draw(st.sampled_from(ids)), str(n + 1), draw(NAMES), draw(NAMES), draw(st.booleans()),
            draw(st.booleans()), draw(st.booleans()), tuple(draw(st.sets(st.sampled_from(ids), max_size=2))),
        )
        for n in range(draw(st.integers(0, 6)))
    ]  # fmt: skip
    return boards, ways


@given(sites())
def test_each_thing_is_said_once_and_about_something_there(site) -> None:
    boards, ways = site
    found = disagreements(boards, ways)
    assert len(found) == len({(one.kind, one.board, one.way) for one in found})
    there = {board.id for board in boards} | {way.id for way in ways}
    assert {one.way or one.board for one in found} <= there
    assert all(isinstance(one, Disagreement) and one.sentence.endswith(".") for one in found)
    assert {one.way for one in found if one.kind is Kind.OPEN_WAY} == {
        way.id for way in ways if way.spare and not way.blanked
    }


@given(sites())
def test_labels_as_the_verified_names_never_differ(site) -> None:
    """Where every label is what the thing is called, none differs from it."""
    boards, ways = site
    boards = [LabelledBoard(b.id, b.name, b.verified, b.name) for b in boards]
    ways = [LabelledWay(w.id, w.board, w.way, w.what, w.what, w.verified) for w in ways]
    assert not [one for one in disagreements(boards, ways) if one.kind is Kind.DIFFERS]
