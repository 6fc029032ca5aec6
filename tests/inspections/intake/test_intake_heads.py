"""Column heads: found wherever they stand, however they are written; what isn't known is named."""

import pytest

from inspections.intake.boards import check_boards
from inspections.intake.columns import BOARDS, CIRCUITS, COMBINED, OBSERVATIONS
from inspections.intake.heads import Column, find_table, notes_on, refuse_missing
from inspections.intake.observations import check_observations
from jobsite.refused import Refused
from tests.inspections.intake.books import SITE, sheet

TABLES = {"boards": BOARDS, "circuits": CIRCUITS, "combined": COMBINED, "observations": OBSERVATIONS}


def places(*heads: str, columns: tuple[Column, ...] = OBSERVATIONS) -> dict[str, int]:
    table = find_table(sheet(heads), columns)
    return table.places if table else {}


@pytest.mark.parametrize("columns", TABLES.values(), ids=TABLES)
def test_our_own_heads_are_found_each_in_its_place(columns: tuple[Column, ...]) -> None:
    assert places(*(column.head for column in columns), columns=columns) == {
        column.key: place for place, column in enumerate(columns)
    }


@pytest.mark.parametrize("columns", TABLES.values(), ids=TABLES)
def test_every_other_head_of_the_list_is_taken_for_its_column(columns: tuple[Column, ...]) -> None:
    for column in columns:
        beside = next(other for other in columns if other.needed and other is not column)
        for head in column.heads:
            found = places(head, beside.head, columns=columns)
            by = next((key for key, place in found.items() if place == 0), None)
            others = [other.key for other in columns if head.casefold() in map(str.casefold, other.heads)]
            assert by in others, (column.key, head)


def test_case_spacing_punctuation_and_units_do_not_matter() -> None:
    assert places("ITEM  no.", " c_o_d_e ", "Observation(s)", "D.B. ref:") == {"item": 0, "text": 2} | {}
    assert places("item-no", "CLASSIFICATION CODE:", "Observations", "db ref") == {
        "item": 0,
        "code": 1,
        "text": 2,
        "board": 3,
    }
    assert places("Way", "Board", "Rating [A]", "Line mm²", "cpc (sq. mm)", columns=CIRCUITS) == {
        "way": 0, "board": 1, "rating_a": 2, "line_mm2": 3, "cpc_mm2": 4,
    }  # fmt: skip


def test_a_head_for_two_columns_goes_where_there_is_room() -> None:
    assert places("Board", "Circuit", "Description", columns=CIRCUITS) == {"board": 0, "way": 1, "designation": 2}
    assert places("Board", "Way", "Circuit", columns=CIRCUITS) == {"board": 0, "way": 1, "designation": 2}


def test_of_two_heads_for_one_column_the_first_of_its_list_is_read_and_the_other_named() -> None:
    table = find_table(sheet(("Code", "Remarks", "Observation")), OBSERVATIONS)
    assert table.places == {"code": 0, "text": 2}
    assert notes_on(table) == [
        "Sheet “Sheet”: the column “Remarks” wasn't read, because “Observation” stands for the same."
    ]


def test_the_same_head_twice_is_refused() -> None:
    with pytest.raises(Refused, match="two columns have the head “Code”"):
        find_table(sheet(("Code", "Observation", "code")), OBSERVATIONS)


def test_heads_are_found_below_a_title_and_that_is_said() -> None:
    table = find_table(
        sheet(("Report of the boatyard",), ("Code", "Observation", "Photo"), ("C2", "x", "1")), OBSERVATIONS
    )
    assert [row.number for row in table.rows] == [3]
    assert notes_on(table) == [
        "Sheet “Sheet”: these columns aren't known and weren't read: “Photo”.",
        "Sheet “Sheet”: what stands above the column heads in row 2 wasn't read.",
    ]


def test_a_repeated_row_of_heads_is_no_row() -> None:
    heads = ("Code", "Observation")
    table = find_table(sheet(heads, ("C2", "x"), heads, ("C3", "y")), OBSERVATIONS)
    assert [row.number for row in table.rows] == [2, 4]


def test_missing_columns_are_named_in_one_sentence() -> None:
    table = find_table(sheet(("Item", "Board")), OBSERVATIONS)
    with pytest.raises(Refused) as refused:
        refuse_missing(table)
    assert refused.value.sentence.startswith("Sheet “Sheet” has no column “Code” and “Observation”.")


def test_a_file_without_any_known_heads_is_refused() -> None:
    nonsense = [sheet(("Red", "Green"), (1, 2))]
    with pytest.raises(Refused, match="No sheet of this file has the column heads of boards or circuits"):
        check_boards(nonsense, SITE)
    with pytest.raises(Refused, match="No sheet of this file has the column heads of observations"):
        check_observations(nonsense, SITE)


def test_a_sheet_that_is_not_read_is_named() -> None:
    checked = check_observations([sheet(("Code", "Observation"), ("C2", "x")), sheet(("Red",), name="Notes")], SITE)
    assert "Sheet “Notes” has no column heads of observations and wasn't read." in checked.notes
