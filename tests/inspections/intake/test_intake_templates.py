"""Templates, and the invented workbooks of tests/data: read by our own code with nothing refused."""

from collections import Counter
from datetime import date
from io import BytesIO

import pytest
import time_machine
from openpyxl import load_workbook

from inspections.intake.boards import check_boards
from inspections.intake.columns import BOARDS, CIRCUITS, OBSERVATIONS
from inspections.intake.heads import HELP_SHEET, Column
from inspections.intake.known import KnownBoard, KnownSite
from inspections.intake.observations import check_observations
from inspections.intake.plan import BoardRow
from inspections.intake.reading import read_workbook
from inspections.intake.templates import template
from inspections.intake.trouble import Checked
from tests.data import make

FILES = {"orrin-reach-boards.xlsx": make.boards_and_circuits, "orrin-reach-report.xlsx": make.report}


def filled(kind: str, rows: dict[str, tuple[Column, ...]]) -> bytes:
    """The template with the example of each column below its head."""
    book = load_workbook(BytesIO(template(kind)))
    for sheet, columns in rows.items():
        places = {cell.value: cell.column for cell in book[sheet][1]}
        for column in columns:
            book[sheet].cell(2, places[column.head], column.example or None)
    out = BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize(("kind", "sheets"), [("boards", ["Boards", "Circuits"]), ("report", ["Observations"])])
def test_a_template_has_its_sheets_and_one_that_explains_them(kind: str, sheets: list[str]) -> None:
    book = load_workbook(BytesIO(template(kind)))
    assert book.sheetnames == [*sheets, HELP_SHEET]
    heads = [cell.value for sheet in sheets for cell in book[sheet][1]]
    assert [row[1].value for row in book[HELP_SHEET].iter_rows(min_row=2)] == heads


def test_a_template_is_the_same_bytes_each_time() -> None:
    made = set()
    for moment in ("2026-02-03 12:00", "2026-02-03 12:00:03", "2027-10-31 01:30"):
        with time_machine.travel(moment, tick=False):
            made.add(template("boards"))
    assert len(made) == 1


def test_the_examples_of_the_templates_can_be_taken_in() -> None:
    known = KnownSite((KnownBoard("Main intake"),))
    report = check_observations(read_workbook(filled("report", {"Observations": OBSERVATIONS[:4]}), "x.xlsx"), known)
    assert (len(report.accepted), report.refused) == (1, [])
    boards = filled("boards", {"Boards": tuple(c for c in BOARDS if c.key != "feed_way"), "Circuits": CIRCUITS[:7]})
    checked = check_boards(read_workbook(boards, "x.xlsx"), KnownSite())
    assert (len(checked.accepted), checked.refused) == (2, [])


@pytest.mark.parametrize("name", FILES)
def test_the_kept_files_are_those_that_the_script_makes(name: str) -> None:
    kept = read_workbook((make.HERE / name).read_bytes(), name)
    assert kept == read_workbook(FILES[name](), name)


def _boatyard() -> Checked:
    return check_boards(read_workbook((make.HERE / "orrin-reach-boards.xlsx").read_bytes(), "x.xlsx"), KnownSite())


def test_the_boatyards_boards_are_all_taken_in() -> None:
    checked = _boatyard()
    boards = [row for row in checked.accepted if isinstance(row, BoardRow)]
    circuits = [row for row in checked.accepted if not isinstance(row, BoardRow)]
    assert (len(boards), len(circuits), checked.refused, checked.notes) == (7, 72, [], [])
    assert [(row.designation, row.feeds[0].verified_how) for row in boards if not row.feeds[0].verified_on] == [
        ("Pontoon B", "")
    ]
    assert [row.source.kind for row in circuits if row.source] == ["pv"]


def test_the_boatyards_report_is_all_taken_in() -> None:
    rows = _boatyard().accepted
    boards = tuple(
        KnownBoard(
            board.designation,
            board.phases,
            frozenset(row.way for row in rows if not isinstance(row, BoardRow) and row.board == board.designation),
        )
        for board in rows
        if isinstance(board, BoardRow)
    )
    data = (make.HERE / "orrin-reach-report.xlsx").read_bytes()
    checked = check_observations(read_workbook(data, "x.xlsx"), KnownSite(boards), inspected_on=date(2025, 2, 3))
    assert checked.refused == []
    assert Counter(row.code for row in checked.accepted) == {"C3": 20, "C2": 18, "FI": 6, "C1": 3}
    assert sum(1 for row in checked.accepted if row.first_recorded) == 7
