"""Sheets of boards and circuits: what is taken for what, and what is refused."""

import itertools
from datetime import date
from decimal import Decimal

import pytest

from inspections.intake.boards import check_boards
from inspections.intake.circuits import CircuitRow, SourceRow
from inspections.intake.devices import Device, Rcd
from inspections.intake.known import KnownBoard, KnownSite, KnownSupply
from inspections.intake.plan import BoardRow, FeedRow
from inspections.intake.table import CellError, Formula, Merged, Sheet
from inspections.intake.trouble import Checked
from inspections.intake.ways import LINES, THREE, Way
from jobsite.refused import Refused
from tests.inspections.intake.books import BOARD_HEADS, CIRCUIT_HEADS, SITE, sheet

EMPTY = KnownSite()


def boards(*rows: tuple[object, ...], heads: tuple[str, ...] = BOARD_HEADS) -> Sheet:
    return sheet(heads, *rows, name="Boards")


def circuits(*rows: tuple[object, ...], heads: tuple[str, ...] = CIRCUIT_HEADS) -> Sheet:
    return sheet(heads, *rows, name="Circuits")


def troubles(checked: Checked) -> list[str]:
    return [trouble.sentence for row in checked.refused for trouble in row.troubles]


def board(checked: Checked, name: str) -> BoardRow:
    return next(row for row in checked.accepted if isinstance(row, BoardRow) and row.designation == name)


def circuit(*cells: object, heads: tuple[str, ...]) -> Checked[BoardRow | CircuitRow]:
    return check_boards([circuits(("Café", *cells), heads=("Board", *heads))], SITE)


def only(checked: Checked) -> CircuitRow:
    assert troubles(checked) == []
    (row,) = checked.accepted
    return row


def test_boards_and_circuits_are_put_together() -> None:
    checked = check_boards(
        [
            boards(("Main intake", "TPN", "supply", None), ("Chandlery", "1", "main intake", 4)),
            circuits(("Main intake", "4L2", "Chandlery board", "B40"), ("chandlery", 1, "Sockets", "B32")),
        ],
        EMPTY,
    )
    assert troubles(checked) == []
    assert board(checked, "Main intake").feeds == [FeedRow("Supply", "", None, False, "", None)]
    chandlery = board(checked, "Chandlery")
    assert (chandlery.phases, chandlery.feeds) == (("L2",), [FeedRow("", "Main intake", Way(4, "L2"), False, "", None)])
    sockets = checked.accepted[-1]
    assert (sockets.board, sockets.way, sockets.device) == (
        "Chandlery",
        Way(1, "L2"),
        Device("BS EN 60898", "B", Decimal(32)),
    )


def test_all_particulars_of_a_board_are_read() -> None:
    heads = ("Board", "Label found", "Place", "Phases", "Main switch", "Fed from", "Feed verified how", "Feed verified on", "Main switch disconnects", "Zdb (Ω)",
             "Fault current (kA)", "Notes")  # fmt: skip
    row = (
        "Slip hoist",
        "old crane",
        "lean-to",
        "three phase",
        "80 A",
        "supply",
        "Traced",
        "3 Feb 2025",
        "All live conductors",
        "0.31 Ω",
        "2.1 kA",
        "wet",
    )
    assert check_boards([boards(row, heads=heads)], EMPTY).accepted == [
        BoardRow(
            "Boards", 2, "Slip hoist", "old crane", "lean-to", LINES, "80 A", "all", Decimal("0.31"), Decimal("2.1"), "wet",
            [FeedRow("Supply", "", None, False, "traced", date(2025, 2, 3))],
        )
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ("lines only", "lines"),
        ("Contactor", "control"),
        ("No main switch", "none"),
        ("none", ""),
        ("", ""),
        ("all", "all"),
    ],
)
def test_what_a_main_switch_disconnects_is_read_as_it_is_said(said, kind) -> None:
    heads = ("Board", "Phases", "Main switch", "Main switch disconnects")
    assert (
        check_boards([boards(("A", "L1", "100 A four-pole", said), heads=heads)], EMPTY).accepted[0].main_switch_kind
        == kind
    )


def test_what_a_main_switch_disconnects_is_not_guessed() -> None:
    heads = ("Board", "Phases", "Main switch disconnects")
    checked = check_boards([boards(("A", "L1", "four-pole"), heads=heads)], EMPTY)
    assert [trouble.wrong for row in checked.refused for trouble in row.troubles] == [
        "“four-pole” doesn't say what it disconnects."
    ]


def test_all_particulars_of_a_circuit_are_read() -> None:
    heads = ("Way", "Label found", "Designation", "Device standard", "Device type", "Rating (A)", "Poles", "RCD (mA)", "RCD type",
             "Arrangement", "Line (mm²)", "cpc (mm²)", "Length (m)", "Breaking capacity (kA)", "Points", "Must not lose power",
             "Second source", "Source (kW)", "Isolated on the supply side at", "Isolated on the source side at", "Wait (minutes)")  # fmt: skip
    row = only(
        circuit("9", "solar", "Inverter", "61009", "C", "32 A", 2, "30 mA", "type A", "Radial", "6 mm²", "6", "18.5 m", "4.5 kA", 1, "freezer", "Solar", 8,
                "by the board", "by the roof", 15, heads=heads)
    )  # fmt: skip
    assert row == CircuitRow(
        "Circuits", 2, "Café", Way(9, "L3"), "solar", "Inverter", Device("BS EN 61009", "C", Decimal(32), 2), Rcd(30, "A"), "radial",
        Decimal(6), Decimal(6), Decimal("18.5"), Decimal("4.5"), 1, "freezer", False, False, SourceRow("pv", Decimal(8), "by the board", "by the roof", 15),
    )  # fmt: skip


def test_one_sheet_may_hold_both() -> None:
    heads = ("Board", "Board place", "Fed from", "From way", "Way", "Designation", "Device", "Phases")
    checked = check_boards(
        [
            circuits(
                ("Main intake", "store", "supply", None, "1L3", "Café board", "C50", 3),
                ("Main intake", None, None, None, "2", "Gate", "C10", None),
                ("Café", "kitchen", "Main intake", "1", 1, "Range", "B40", "single phase"),
                ("Café", "KITCHEN", None, None, 2, "Lights", "B6", None),
                heads=heads,
            )
        ],
        EMPTY,
    )
    assert troubles(checked) == [
        "Circuits, row 3, Way: says no phase, and “Main intake” has L1, L2, L3. Expected: 2L1, 2L2, 2L3 or 2TPN"
    ]
    assert [(row.designation, row.row) for row in checked.accepted] == [
        ("Main intake", 2), ("Café board", 2), ("Café", 4), ("Range", 4), ("Lights", 5),
    ]  # fmt: skip
    assert (board(checked, "Café").place, board(checked, "Café").phases) == ("kitchen", ("L3",))


def test_rows_of_one_sheet_may_not_contradict_each_other_about_a_board() -> None:
    heads = ("Board", "Place", "Way", "Device")
    checked = check_boards([circuits(("Café", "kitchen", 1, "B6"), ("Café", "loft", 2, "B6"), heads=heads)], EMPTY)
    assert troubles(checked) == [
        "Circuits, row 3, Place: “loft” contradicts row 2, which says “kitchen”. Expected: the same in all rows of a board"
    ]


def test_phases_that_are_not_said_follow_from_the_circuits() -> None:
    heads = ("Board", "Place", "Way", "Device")
    rows = (("A", "x", "1L1", "B6"), ("A", "x", "1L2", "B6"), ("B", "x", "1L3", "B6"), ("C", "x", 1, "B6"))
    checked = check_boards([circuits(*rows, heads=heads)], EMPTY)
    assert [board(checked, name).phases for name in "ABC"] == [LINES, ("L3",), ("L1",)]


def test_circuits_can_be_added_to_boards_on_record() -> None:
    assert only(circuit("2", "Range", "B40", heads=CIRCUIT_HEADS[1:])).way == Way(2, "L3")


def test_a_board_on_record_is_refused_but_its_new_circuits_are_not() -> None:
    checked = check_boards([boards(("CAFE", "L3", "supply", None)), circuits(("Café", 2, "Range", "B40"))], SITE)
    assert troubles(checked) == [
        (
            "Boards, row 2, Board: “Café” is already on record at this site. "
            "Expected: leave this row out; its circuits can still be taken in"
        )
    ]
    assert [row.row for row in checked.accepted] == [2]


def test_the_same_board_twice_is_refused() -> None:
    checked = check_boards([boards(("DB 1", "L1", "supply", None), ("DB-01", "L1", "supply", None))], EMPTY)
    assert troubles(checked) == [
        "Boards, row 3, Board: “DB-01” is there twice: it is also in Boards, row 2. Expected: each board once"
    ]


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ("5L1", "5/L1", "way 5L1 of “Main intake” is also in Circuits, row 2."),
        ("5L1", "5TPN", "way 5 three-phase of “Main intake” is also in Circuits, row 2."),
        ("5TPN", "5L2", "way 5L2 of “Main intake” is also in Circuits, row 2."),
        ("6L1", "2L1", "way 2L1 of “Main intake” is already on record."),
        ("6L1", "1L1", "way 1L1 of “Main intake” is already on record."),
    ],
)
def test_the_same_way_twice_is_refused(first: str, second: str, said: str) -> None:
    checked = check_boards([circuits(("Main intake", first, "a", "B6"), ("Main intake", second, "b", "B6"))], SITE)
    assert troubles(checked) == [f"Circuits, row 3, Way: {said} Expected: each way once"]


def test_a_circuit_on_an_unknown_board_is_refused_with_near_names() -> None:
    checked = check_boards([circuits(("Main intak", "7L1", "a", "B6"), ("Boiler", "7L1", "a", "B6"))], SITE)
    assert troubles(checked) == [
        "Circuits, row 2, Board: “Main intak” isn't a board of this file or site. Expected: did you mean “Main intake”?",
        "Circuits, row 3, Board: “Boiler” isn't a board of this file or site. Expected: one of “Main intake”, “Café”",
    ]


def test_circuits_of_a_refused_board_are_refused_with_it_and_so_is_what_they_feed() -> None:
    checked = check_boards(
        [
            boards(("Main intake", "nine", "supply", None), ("Café", "L3", "Main intake", "1L3")),
            circuits(("Main intake", "1L3", "Café", "C50"), ("Café", 1, "Range", "B40")),
        ],
        EMPTY,
    )
    assert checked.accepted == []
    assert troubles(checked)[1:] == [
        "Boards, row 3: needs Boards, row 2, which can't be taken in. Expected: put that row right first",
        "Circuits, row 2: needs Boards, row 2, which can't be taken in. Expected: put that row right first",
        "Circuits, row 3: needs Boards, row 3, which can't be taken in. Expected: put that row right first",
    ]


@pytest.mark.parametrize(
    ("fed_from", "from_way", "said"),
    [
        ("Main intake", None, "names “Main intake”, but not the way."),
        ("Main intake", "9", "“Main intake” has no way 9."),
        ("Main intake", "2", "“Main intake” has no way 2."),
        ("Main intake", "1L1", "way 1L1 of “Main intake” is a three-phase circuit."),
        ("Main intake", "3L3", "brings L3; the board has L1."),
        ("Mian intake", "3L3", "“Mian intake” isn't a board of this file or site."),
        ("Shed", "1", "goes round in a circle: the board would feed itself."),
        (None, "1", "is empty, though a feeding way is given."),
    ],
)
def test_a_feed_that_cannot_be_is_refused(fed_from: str | None, from_way: str | None, said: str) -> None:
    checked = check_boards([boards(("Shed", "L1", fed_from, from_way)), circuits(("Shed", 1, "Lights", "B6"))], SITE)
    assert [row.row for row in checked.refused if row.sheet == "Boards"] == [2]
    assert said in troubles(checked)[0]


@pytest.mark.parametrize("said", ["Main intake 2L1", "Main intake, way 2L1", "Main intake / 2L1"])
def test_the_feeding_way_may_follow_the_boards_name(said: str) -> None:
    checked = check_boards([boards(("Shed", "L1", said, None))], SITE)
    assert board(checked, "Shed").feeds == [FeedRow("", "Main intake", Way(2, "L1"), False, "", None)]


def test_boards_that_feed_each_other_are_refused_but_not_for_a_circle_what_hangs_below() -> None:
    checked = check_boards(
        [
            boards(("A", "L1", "B", 1), ("B", "L1", "A", 1), ("C", "L1", "B", 2), ("D", "L1", "supply", None)),
            circuits(("A", 1, "B", "B40"), ("B", 1, "A", "B40"), ("B", 2, "C", "B40"), ("D", 1, "x", "B6")),
        ],
        EMPTY,
    )
    assert [line for line in troubles(checked) if "circle" in line] == [
        "Boards, row 2, Fed from: goes round in a circle: the board would feed itself. Expected: the board that really feeds it",
        "Boards, row 3, Fed from: goes round in a circle: the board would feed itself. Expected: the board that really feeds it",
    ]
    assert [(row.sheet, row.row) for row in checked.accepted] == [("Boards", 5), ("Circuits", 5)]


def test_a_long_chain_of_boards_in_any_order_is_put_together() -> None:
    names = [f"Board {number}" for number in range(400)]
    rows = [(name, "L1", before, 1) for before, name in itertools.pairwise(names)] + [(names[0], "L1", "supply", None)]
    checked = check_boards([boards(*reversed(rows)), circuits(*((name, 1, "next", "B40") for name in names))], EMPTY)
    assert (len(checked.accepted), troubles(checked)) == (800, [])


def test_an_alternative_feed_is_read_beside_the_normal_one() -> None:
    heads = (*BOARD_HEADS, "Other feed", "Other feed way")
    checked = check_boards([boards(("Shed", "L1", "Main intake", "2L1", "supply", None), heads=heads)], SITE)
    assert board(checked, "Shed").feeds == [
        FeedRow("", "Main intake", Way(2, "L1"), False, "", None),
        FeedRow("Supply", "", None, True, "", None),
    ]
    twice = check_boards([boards(("Shed", "L1", "supply", None, "Supply", None), heads=heads)], SITE)
    assert troubles(twice) == [
        "Boards, row 2, Other feed: is the same as the board's other feed. Expected: another feed, or nothing"
    ]


@pytest.mark.parametrize(
    ("supplies", "said"),
    [
        ((), "says “supply”, but the site has none on record yet."),
        ((KnownSupply("North"), KnownSupply("South")), "says “supply”, but the site has several."),
    ],
)
def test_supply_must_mean_one_supply(supplies: tuple[KnownSupply, ...], said: str) -> None:
    checked = check_boards([boards(("Shed", "L1", "supply", None))], KnownSite(supplies=supplies))
    assert said in troubles(checked)[0]


def test_one_of_several_supplies_is_named() -> None:
    site = KnownSite(supplies=(KnownSupply("North"), KnownSupply("South", ("L1",))))
    assert board(check_boards([boards(("Shed", "L1", "south", None))], site), "Shed").feeds[0].supply == "South"
    assert "brings L1" in troubles(check_boards([boards(("Shed", "3", "south", None))], site))[0]


def test_a_board_called_intake_is_a_board_and_not_the_supply() -> None:
    site = KnownSite((KnownBoard("Intake", ways=frozenset({Way(1, THREE)})),))
    assert board(check_boards([boards(("Shed", "3", "intake", 1))], site), "Shed").feeds[0].board == "Intake"


def test_a_verified_feed_needs_its_day() -> None:
    heads = (*BOARD_HEADS, "Verified", "Verified on")
    checked = check_boards(
        [
            boards(
                ("A", "L1", "supply", None, "traced", None),
                ("B", "L1", "supply", None, "surely", "3/2/25"),
                heads=heads,
            )
        ],
        EMPTY,
    )
    assert troubles(checked) == [
        "Boards, row 2, Verified on: is empty, though the feed is said to be verified. Expected: the day on which it was verified",
        (
            "Boards, row 3, Verified: “surely” doesn't say how it was verified. "
            "Expected: traced, switched, read or told; nothing where it is only believed"
        ),
    ]


@pytest.mark.parametrize(
    ("way", "phase", "said"),
    [
        ("5L1", None, "way 5L1 needs L1, but “Café” has L3."),
        ("5TPN", None, "way 5 three-phase needs L1, L2, L3, but “Café” has L3."),
        ("5L3", "L1", "“L1” isn't the phase that way 5L3 says."),
        (None, None, "is empty."),
        ("-", None, "“-” says nothing."),
        (Formula(None), None, "is a formula without a stored value."),
        (Merged("B2"), None, "belongs to the merged cell B2, whose value counts for its first row only."),
        (CellError("#REF!"), None, "shows the error #REF!."),
    ],
)
def test_a_way_that_cannot_be_is_refused(way: object, phase: object, said: str) -> None:
    assert said in troubles(circuit(way, phase, heads=("Way", "Phase")))[0]


def test_formulas_and_merged_cells_that_do_no_harm_are_noted() -> None:
    checked = circuit(Formula(5), Merged("C2"), heads=("Way", "Designation"))
    assert only(checked).designation == ""
    assert checked.notes == [
        "Sheet “Circuits”, row 2: “Designation” belongs to a merged cell and counts as empty here.",
        "Sheet “Circuits”, row 2: “Way” is a formula; the value it showed when last saved was taken.",
    ]


def test_notes_name_the_first_rows_only() -> None:
    rows = [("Café", number, "x", "B6") for number in range(2, 14)]
    (note,) = check_boards([circuits(*rows)], SITE).notes
    assert note == (
        "Sheet “Circuits”, rows 2, 3, 4, 5, 6, 7, 8, 9 and 4 more: the device's standard isn't said; "
        "type B was taken for BS EN 60898."
    )  # fmt: skip


@pytest.mark.parametrize(
    ("cells", "heads", "device", "rcd"),
    [
        (("B32", "30 mA"), ("Device", "RCD"), Device("BS EN 61009", "B", Decimal(32)), Rcd(30)),
        (("B32", "shared 30 mA"), ("Device", "RCD"), Device("BS EN 60898", "B", Decimal(32)), Rcd(30, shared=True)),
        (
            ("B32", "voltage-operated"),
            ("Device", "RCD"),
            Device("BS EN 60898", "B", Decimal(32)),
            Rcd(None, "voltage-operated", shared=True),
        ),
        (("RCBO B32 30mA", None), ("Device", "RCD"), Device("BS EN 61009", "B", Decimal(32)), Rcd(30)),
        (("BS EN 60898", "C", 16), ("Device", "Device type", "Rating"), Device("BS EN 60898", "C", Decimal(16)), None),
        (("BS 3036", 30), ("Standard", "Rating"), Device("BS 3036", "", Decimal(30)), None),
        (("n/v",), ("Device",), Device(), None),
    ],
)
def test_a_device_is_put_together_from_its_columns(cells: tuple, heads: tuple, device: Device, rcd: Rcd | None) -> None:
    row = only(circuit(5, *cells, heads=("Way", *heads)))
    assert (row.device, row.rcd) == (device, rcd)


@pytest.mark.parametrize(
    ("cells", "heads", "said"),
    [
        (("B32", "16 A"), ("Device", "Rating"), "Rating: “16 A” contradicts the column “Device”."),
        (("B32", "C"), ("Device", "Type"), "Type: “C” contradicts the column “Device”."),
        (("RCBO B32 30mA", 100), ("Device", "RCD (mA)"), "RCD (mA): “100” contradicts the column “Device”."),
        (("type B",), ("Device",), "Device: says the type, but not the rating."),
        (("BS 3036", "B", 30), ("Standard", "Type", "Rating"), "Type: BS 3036 has no types, not type B."),
        (("B32", "AC"), ("Device", "RCD type"), "RCD type: gives an RCD's type without its rated residual current."),
        (
            ("B32", "voltage-operated", 30),
            ("Device", "RCD", "RCD (mA)"),
            "RCD: is a voltage-operated breaker, which has no rated residual current and no type.",
        ),
        ((8, None), ("Source (kW)", "Second source"), "Second source: is empty, but the row gives particulars of one."),
    ],
)
def test_what_contradicts_itself_is_refused(cells: tuple, heads: tuple, said: str) -> None:
    assert f"Circuits, row 2, {said}" in troubles(circuit(5, *cells, heads=("Way", *heads)))[0]


@pytest.mark.parametrize(
    ("cells", "spare", "blanked", "designation"),
    [
        (("Spare", None, None, None), True, False, ""),
        ((None, "spare way", None, None), True, False, ""),
        ((None, None, "yes", "yes"), True, True, ""),
        ((None, None, None, "x"), True, True, ""),
        (("Sockets", "spare", "no", None), False, False, "Sockets"),
    ],
)
def test_a_spare_way_is_known_by_any_of_its_signs(cells: tuple, spare: bool, blanked: bool, designation: str) -> None:
    row = only(circuit(5, *cells, heads=("Way", "Designation", "Label found", "Spare", "Blanked")))
    assert (row.spare, row.blanked, row.designation) == (spare, blanked, designation)


def test_a_refused_row_shows_what_stood_in_it() -> None:
    (row,) = circuit("5L9", "Range", heads=("Way", "Designation")).refused
    assert row.cells == {"Board": "Café", "Way": "5L9", "Designation": "Range"}


def test_a_sheet_of_boards_may_call_the_feeding_way_a_way() -> None:
    checked = check_boards(
        [boards(("Shed", "L1", "Main intake", "2L1"), heads=("Board", "Phases", "Fed from", "Way"))], SITE
    )
    assert board(checked, "Shed").feeds[0].way == Way(2, "L1")


def test_a_sheet_of_circuits_without_ways_is_refused_in_a_sentence() -> None:
    with pytest.raises(Refused, match="Sheet “Circuits” has no column “Way”"):
        check_boards([circuits(("Café", "Range", "B32", 3), heads=("Board", "Description", "Device", "Points"))], SITE)


def test_a_file_without_rows_cannot_be_taken_in() -> None:
    checked = check_boards([boards()], EMPTY)
    assert (checked.accepted, checked.refused, checked.may_be_taken_in) == ([], [], False)
