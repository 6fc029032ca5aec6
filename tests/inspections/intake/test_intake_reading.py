"""Reading files: what comes out, and what is refused with which sentence."""

from datetime import UTC, datetime

import pytest
from openpyxl import Workbook

from inspections.intake.delimited import sniff
from inspections.intake.limits import MOST_ROWS
from inspections.intake.reading import read_workbook
from inspections.intake.table import CellError, Formula, Merged, Row
from jobsite.refused import Refused
from tests.inspections.intake.books import changed, saved, workbook

SHEET = "xl/worksheets/sheet1.xml"


def rows_of(data: bytes, name: str = "list.csv") -> list[Row]:
    return read_workbook(data, name)[0].rows


def refusal(data: bytes) -> str:
    with pytest.raises(Refused) as refused:
        read_workbook(data, "list.xlsx")
    return refused.value.sentence


def test_cells_come_as_they_are_and_empty_rows_are_left_out() -> None:
    moment = datetime(2025, 2, 3)  # noqa: DTZ001 - as a spreadsheet has it
    rows = rows_of(workbook(["Board", 5, 0.35, moment, True], [None, "  "], ["x"]))
    assert rows[0] == Row(1, ("Board", 5, 0.35, moment, True))
    assert [row.number for row in rows] == [1, 3]


def test_all_sheets_are_read_and_a_hidden_one_is_named() -> None:
    book = Workbook()
    book.worksheets[0].append(["a"])
    hidden = book.create_sheet("Old")
    hidden.append(["b"])
    hidden.sheet_state = "hidden"
    sheets = read_workbook(saved(book), "x.xlsx")
    assert [(sheet.name, sheet.notes) for sheet in sheets] == [
        ("Sheet", []),
        ("Old", ["This sheet is hidden; it was read all the same."]),
    ]


def test_a_formula_never_saved_with_its_value_has_none() -> None:
    assert rows_of(workbook(["Zdb"], ["=0.1+0.2"]))[1] == Row(2, (Formula(None),))


def test_a_formula_gives_the_value_it_was_saved_with() -> None:
    data = changed(workbook(["Zdb"], ["=1+2"]), SHEET, "<v />", "<v>3</v>")
    assert rows_of(data)[1] == Row(2, (Formula(3),))


def test_a_cell_that_shows_an_error_is_an_error() -> None:
    data = changed(workbook(["Zdb"], [1]), SHEET, 't="n"><v>1</v>', 't="e"><v>#REF!</v>')
    assert rows_of(data)[1] == Row(2, (CellError("#REF!"),))


def test_a_merged_area_counts_for_its_first_cell() -> None:
    data = workbook(["Place", "Way"], ["loft", 1], [None, 2], merge=["A2:A3"])
    assert rows_of(data)[2] == Row(3, (Merged("A2"), 2))


def test_a_merged_area_without_a_value_covers_nothing() -> None:
    data = workbook(["Place", "Way"], [None, 1], [None, 2], merge=["A2:A3"])
    assert rows_of(data)[2] == Row(3, (None, 2))


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_separated_text_is_read_by_its_own_delimiter(mark: str) -> None:
    text = (
        mark.join(["Code", "Observation", "Board"]) + "\r\n" + mark.join(["C2", '"Blanks, three; missing | 2"', "Café"])
    )
    expected = [Row(1, ("Code", "Observation", "Board")), Row(2, ("C2", "Blanks, three; missing | 2", "Café"))]
    assert rows_of(text.encode()) == expected


def test_commas_within_the_text_do_not_hide_semicolons() -> None:
    text = "Item;Code;Observation\n1;C2;no RCD, outdoors, by the slip, twice\n2;C3;label, old\n3;C1;live parts\n"
    assert sniff(text) == ";"


def test_a_first_line_that_names_the_delimiter_is_heeded_and_keeps_its_row_number() -> None:
    assert rows_of(b"sep=;\r\nCode;Observation\r\nC2;a, b")[0] == Row(2, ("Code", "Observation"))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_text_is_read_in_its_encoding(encoding: str) -> None:
    assert rows_of("Zs (Ω),Größe\n0.35,2".encode(encoding)) == [Row(1, ("Zs (Ω)", "Größe")), Row(2, ("0.35", "2"))]


def test_text_of_older_programs_is_read_as_windows_1252_and_that_is_said() -> None:
    (sheet,) = read_workbook("Place,mm²\nCafé,2.5 mm²".encode("cp1252"), "list.csv")
    assert sheet.rows[1] == Row(2, ("Café", "2.5 mm²"))
    assert "Windows-1252" in sheet.notes[0]


def test_a_formula_in_separated_text_has_no_value() -> None:
    assert rows_of(b"Item,Code\n=1+1,C2")[1] == Row(2, (Formula(None), "C2"))


def test_a_cell_over_two_lines_is_one_row() -> None:
    assert rows_of(b'Code,Observation\nC2,"two\nlines"\nC3,one')[2] == Row(3, ("C3", "one"))


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "This file is empty."),
        (b" \r\n ", "This file is empty."),
        (b",,\n,,\n", "This file has no rows with anything in them."),
        (workbook(), "This file has no rows with anything in them."),
        (b"%PDF-1.7 ...", "This is a PDF, not a spreadsheet."),
        (b"\xff\xd8\xff\xe0\x00\x10JFIF", "This is a picture, not a spreadsheet."),
        (b"PK\x03\x04 broken", "This file is damaged"),
        (b"\x00\x01\x02\x03" * 50, "This isn't a spreadsheet"),
        (bytes(range(1, 32)) * 20, "This isn't a spreadsheet"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "This is a spreadsheet in the old XLS form."),
        (
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"),
            "This spreadsheet is protected by a password.",
        ),
        (b'Code,Observation\nC2,"never closed\nC3,x', "Row 2 can't be read as separated text"),
        (b"a,b\nx," + b"y" * 200_000, "Row 2 can't be read as separated text"),
        (b"x" * (10 * 1024 * 1024 + 1), "This file is larger than 10 MB."),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(data: bytes, said: str) -> None:
    assert refusal(data).startswith(said)


def test_50_000_rows_are_refused_before_they_are_kept() -> None:
    assert refusal(b"Code,Observation\n" + b"C2,text\n" * 50_000) == refusal(workbook(*([["C2", "text"]] * 50_000)))
    assert refusal(b"a,b\n" * 50_000).startswith("This file has more than 20,000 rows.")


def test_the_last_row_allowed_is_read_and_one_more_is_not() -> None:
    assert len(rows_of(b"C2,text\n" * MOST_ROWS)) == MOST_ROWS
    assert refusal(b"C2,text\n" * (MOST_ROWS + 1)).startswith("This file has more than")


def test_rows_of_all_sheets_count_together() -> None:
    book = Workbook()
    for sheet in (book.worksheets[0], book.create_sheet()):
        for _ in range(MOST_ROWS // 2 + 1):
            sheet.append(["C2", "text"])
    assert refusal(saved(book)).startswith("This file has more than 20,000 rows.")


def test_the_other_date_system_is_known() -> None:
    book = Workbook()
    book.epoch = datetime(1904, 1, 1)  # noqa: DTZ001
    book.worksheets[0].append(["x"])
    assert read_workbook(saved(book), "x.xlsx")[0].day_nought == datetime(1904, 1, 1)  # noqa: DTZ001


def test_a_moment_of_a_spreadsheet_has_no_zone() -> None:
    assert rows_of(workbook([datetime(2025, 2, 3, tzinfo=UTC).replace(tzinfo=None)]))[0].cells[0].tzinfo is None
