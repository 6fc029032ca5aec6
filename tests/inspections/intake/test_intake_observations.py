"""The observations of an earlier report: what is taken for what, and what is refused."""

from datetime import date

import pytest

from inspections.intake.observations import ObservationRow, check_observations
from inspections.intake.table import Formula, Merged
from inspections.intake.trouble import Checked
from inspections.intake.ways import Way
from tests.inspections.intake.books import OBSERVATION_HEADS, SITE, sheet

INSPECTED = date(2025, 2, 3)


def check(*rows: tuple[object, ...], heads: tuple[str, ...] = OBSERVATION_HEADS) -> Checked[ObservationRow]:
    return check_observations([sheet(heads, *rows)], SITE, inspected_on=INSPECTED)


def troubles(checked: Checked) -> list[str]:
    return [trouble.sentence.removeprefix("Sheet, ") for row in checked.refused for trouble in row.troubles]


def test_an_observation_is_read_with_all_it_says() -> None:
    heads = ("Item no.", "DB", "Circuit", "Location", "Defect", "Code", "Date found")
    row = (1.0, "MAIN INTAKE", "2L1", "office", "Socket cracked", " c2", "14/03/2022")
    assert check(row, heads=heads).accepted == [
        ObservationRow(
            "Sheet", 2, "1", "C2", "c2", "Socket cracked", "Main intake", Way(2, "L1"), "office", date(2022, 3, 14)
        )
    ]


def test_board_way_place_and_day_may_be_left_empty() -> None:
    (row,) = check((1, "C3", "No diagram", None, "n/a", None)).accepted
    assert (row.board, row.way, row.place, row.first_recorded) == ("", None, "", None)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ((1, None, "x"), "row 2, Code: is empty. Expected: C1, C2, C3 or FI"),
        ((1, "C2/C3", "x"), "row 2, Code: “C2/C3” gives more than one code. Write one row for each. Expected: one of C1, C2, C3, FI"),
        (
            (1, "3", "x"),
            ("row 2, Code: “3” may be a number of the older scale, whose meanings differ. Write the code that the report means. "
            "Expected: one of C1, C2, C3, FI"),
        ),
        ((1, "C2", None), "row 2, Observation: is empty. Expected: what was found, as the report words it"),
        ((None, "C2", "x"), "row 2, Item: is empty. Expected: the observation's number in the report"),
        (
            (1, "C2", "x", "Main intak"),
            "row 2, Board: “Main intak” isn't a board of this site. Expected: did you mean “Main intake”?",
        ),
        ((1, "C2", "x", None, 5), "row 2, Board: is empty, though a way is given. Expected: the board that has that way"),
        (
            (1, "C2", "x", "Main intake", 2),
            "row 2, Way: “Main intake” has no way 2. Expected: 2L1 or 2L2",
        ),
        (
            (1, "C2", "x", "Main intake", 9),
            "row 2, Way: “Main intake” has no way 9. Expected: one of its ways 1 three-phase, 2L1, 2L2, 3L3",
        ),
        ((1, "C2", "x", None, None, "04/02/2025"), "row 2, First recorded: 04/02/2025 is after the inspection. Expected: a day up to 03/02/2025"),
        (
            (Merged("A1"), Formula(None), "x"),
            "row 2, Code: is a formula without a stored value. Expected: the value itself: paste it in the formula's place",
        ),
    ],
)  # fmt: skip
def test_a_row_that_cannot_be_taken_in_says_why(row: tuple, said: str) -> None:
    checked = check(row)
    assert checked.accepted == []
    assert said in troubles(checked)


def test_the_same_number_twice_is_refused() -> None:
    checked = check((1, "C2", "x"), ("1", "C3", "y"), ("1a", "C3", "z"), ("1A", "C3", "z"))
    assert troubles(checked) == [
        "row 3, Item: “1” is there twice: it is also in Sheet, row 2. Expected: each number once",
        "row 5, Item: “1A” is there twice: it is also in Sheet, row 4. Expected: each number once",
    ]


def test_a_number_counts_as_given_even_where_its_row_is_refused() -> None:
    assert len(check((1, "C9", "x"), (1, "C3", "y")).refused) == 2


def test_without_numbers_the_rows_are_counted_and_that_is_said() -> None:
    checked = check(("C2", "x"), ("C3", "y"), heads=("Code", "Observation"))
    assert [row.item for row in checked.accepted] == ["1", "2"]
    assert "the report's item numbers are missing; the rows were counted instead." in checked.notes[0]


def test_a_code_in_words_is_taken_with_a_caution() -> None:
    checked = check((1, "Code 2", "x"))
    assert checked.accepted[0].code == "C2"
    assert "“Code 2” was taken for C2. Reports of before the letters came in meant other things" in checked.notes[0]


def test_where_one_day_is_month_first_those_that_could_be_are_refused_too() -> None:
    rows = [
        (number, "C2", "x", None, None, on)
        for number, on in enumerate(("03/02/2024", "02/13/2024", "3 Feb 2024", "03/03/2024"))
    ]
    checked = check(*rows)
    assert [row.row for row in checked.accepted] == [4, 5]
    assert troubles(checked)[0] == (
        "row 2, First recorded: “03/02/2024” may be month first, as row 3 is. Expected: the month in words, or 2025-02-03"
    )


def test_days_that_a_program_may_have_swapped_are_noted() -> None:
    checked = check((1, "C2", "x", None, None, date(2024, 3, 2)), (2, "C2", "y", None, None, "13/02/2024"))
    assert len(checked.accepted) == 2
    assert "A spreadsheet program may have swapped day and month." in checked.notes[0]


def test_rows_of_several_sheets_are_one_report() -> None:
    heads = ("Item", "Code", "Observation")
    sheets = [sheet(heads, (1, "C2", "x"), name="Danger"), sheet(heads, (1, "C3", "y"), (2, "C3", "z"), name="Others")]
    checked = check_observations(sheets, SITE)
    assert [(row.sheet, row.item) for row in checked.accepted] == [("Danger", "1"), ("Others", "2")]
    assert troubles(checked) == [
        "Others, row 2, Item: “1” is there twice: it is also in Danger, row 2. Expected: each number once"
    ]


def test_a_sheet_that_lacks_a_needed_column_is_left_aside_where_another_has_them() -> None:
    sheets = [
        sheet(("Item", "Code", "Observation"), (1, "C2", "x")),
        sheet(("Board", "Place"), ("Café", "kitchen"), name="Boards"),
    ]
    checked = check_observations(sheets, SITE)
    assert len(checked.accepted) == 1
    assert "Sheet “Boards” lacks the code or the observation and wasn't read." in checked.notes


@pytest.mark.parametrize("rows", [200, 2_000])
def test_many_unknown_boards_are_answered_without_looking_for_each(rows: int) -> None:
    checked = check(*((number, "C2", "x", f"Main intak {number}") for number in range(rows)))
    assert len(checked.refused) == rows
