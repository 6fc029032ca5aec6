"""The firm's table of driving times as a file: what is read, and a sentence for every row that cannot be."""

from decimal import Decimal
from io import BytesIO

import pytest
from openpyxl import Workbook

from inspections.intake.reading import read_workbook
from jobsite.refused import Refused
from remedials.visits.driving.table import HEADS, Drive, read_table

HEAD = ",".join(HEADS)


def read(text: str):
    return read_table(read_workbook(text.encode(), "table.csv"))


def test_rows_are_read() -> None:
    found, faults = read(f"{HEAD}\nqx1,QX2,25,18.4\n\nQX2,QX1,27,18.4\nQX1,QX1,4,1\n")
    assert faults == []
    assert found == [
        Drive("QX1", "QX2", 25, Decimal("18.4")),
        Drive("QX2", "QX1", 27, Decimal("18.4")),
        Drive("QX1", "QX1", 4, Decimal("1.0")),
    ]


def test_columns_may_stand_in_any_order_with_others_between() -> None:
    found, _ = read(
        "Note;Kilometres;MINUTES;to district;from district\nby the bridge;3,2;9;QX2;QX1\n".replace("3,2", "3.2")
    )
    assert found == [Drive("QX1", "QX2", 9, Decimal("3.2"))]


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (",QX2,25,18", "From district: write the postcode district, such as QX1."),
        (
            "QX1,QX2 4AB,25,18",
            "To district: “QX2 4AB” is no postcode district, such as QX1: the part before the space.",
        ),
        ("QX1,=1+1,25,18", "To district: write the postcode district, such as QX1."),
        ("QX1,QX2,,18", "Minutes: write a number."),
        ("QX1,QX2,soon,18", "Minutes: “soon” is no number."),
        ("QX1,QX2,25.5,18", "Minutes: write a whole number."),
        ("QX1,QX2,-1,18", "Minutes: write a number from 0 to 600."),
        ("QX1,QX2,NaN,18", "Minutes: write a number from 0 to 600."),
        ("QX1,QX2,1e400,18", "Minutes: write a number from 0 to 600."),
        ("QX1,QX2,25,inf", "Kilometres: write a number from 0 to 1500."),
        ("QX1,QX2,25,18.44", "Kilometres: write at most one digit after the point."),
        ("QX1,QX2,25", "Kilometres: write a number."),
    ],
)
def test_faulty_row(row, sentence) -> None:
    found, faults = read(f"{HEAD}\nQX9,QX8,10,5\n{row}\n")
    assert [(fault.row, fault.sentence) for fault in faults] == [(3, sentence)]
    assert len(found) == 1


def test_a_way_said_twice_is_faulty_at_the_second() -> None:
    _, faults = read(f"{HEAD}\nQX1,QX2,25,18\nqx1,qx2,26,18\n")
    assert [(f.row, f.which, f.sentence) for f in faults] == [
        (3, "qx1 – qx2", "Row 2 says already how long that takes.")
    ]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("From district,To district,Minutes\nQX1,QX2,3\n", "no column “Kilometres”"),
        (f"{HEAD}\n", "no row below its heads"),
        ("", "empty"),
        ("%PDF-1.7 no table", "PDF"),
        ("PK\x03\x04 no workbook", "damaged"),
        ("\0\0\0\0", "spreadsheet"),
    ],
)
def test_files_that_are_no_table(text, sentence) -> None:
    with pytest.raises(Refused, match=sentence):
        read(text)


def test_workbook_with_an_error_in_a_cell() -> None:
    book = Workbook()
    book.active.append(HEADS)
    book.active.append(["QX1", "QX2", "#REF!", 3])
    book.active.cell(2, 3).data_type = "e"
    book.save(out := BytesIO())
    _, faults = read_table(read_workbook(out.getvalue(), "table.xlsx"))
    assert [fault.sentence for fault in faults] == ["Minutes: the cell shows the error #REF!."]
