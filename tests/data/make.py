"""Makes the workbooks of this folder: an invented boatyard with seven boards, and an earlier report on it.

Run as `python -m tests.data.make`. Names, places and findings are invented; whether each code is right is for the
reviewer to say, and some are meant to be disputed.
"""

from pathlib import Path

from openpyxl import Workbook

from inspections.intake.columns import BOARDS, CIRCUITS
from inspections.intake.templates import saved
from tests.data.boatyard import BOARD_ROWS, CIRCUIT_ROWS, OBSERVATION_ROWS

HERE = Path(__file__).parent


def boards_and_circuits() -> bytes:
    """Two sheets under the template's own heads."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for title, columns, rows in (("Boards", BOARDS, BOARD_ROWS), ("Circuits", CIRCUITS, CIRCUIT_ROWS)):
        sheet = book.create_sheet(title)
        heads = {column.key: column.head for column in columns}
        used = [key for key in heads if any(key in row for row in rows)]
        sheet.append([heads[key] for key in used])
        for row in rows:
            sheet.append([row.get(key) for key in used])
    return saved(book)


def report() -> bytes:
    """One sheet as another firm might write it: a title above, and heads of its own."""
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = "Schedule"
    sheet.append(["Observations, Orrin Reach boatyard, inspected 3 February 2025"])
    sheet.append([])
    sheet.append(
        ["Item No.", "DB", "Circuit", "Location", "Observation", "Classification code", "First noted", "Photo"]
    )
    for number, row in enumerate(OBSERVATION_ROWS, start=1):
        board, way, place, text, code, *first = row
        sheet.append([number, board, way, place, text, code, first[0] if first else None, f"P{number:02}"])
    return saved(book)


if __name__ == "__main__":
    (HERE / "orrin-reach-boards.xlsx").write_bytes(boards_and_circuits())
    (HERE / "orrin-reach-report.xlsx").write_bytes(report())
