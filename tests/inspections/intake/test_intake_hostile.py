"""Files made to do harm: each ends in our refusal, quickly, and nothing else."""

import time
import tracemalloc
import zipfile
from collections.abc import Callable
from io import BytesIO
from typing import TypeVar

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from inspections.intake.boards import check_boards
from inspections.intake.known import KnownSite
from inspections.intake.observations import check_observations
from inspections.intake.reading import read_workbook
from inspections.intake.table import CellError, Formula, Merged, Row
from inspections.intake.trouble import Checked
from jobsite.refused import Refused
from tests.inspections.intake.books import (
    BOARD_HEADS,
    CIRCUIT_HEADS,
    OBSERVATION_HEADS,
    SITE,
    changed,
    sheet,
    workbook,
)

Result = TypeVar("Result")
SHEET = "xl/worksheets/sheet1.xml"
GOOD = workbook(OBSERVATION_HEADS, [1, "C2", "text", "Main intake", "1", None])


def archive(**members: bytes) -> bytes:
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in members.items():
            made.writestr(name.replace("__", "/"), content)
    return out.getvalue()


def refusal(data: bytes) -> str:
    with pytest.raises(Refused) as refused:
        read_workbook(data, "x.xlsx")
    return refused.value.sentence


def outcome(call: Callable[[], Result]) -> Result | str:
    """What the call gives, or the sentence of our refusal; anything else that it raises fails the test."""
    try:
        return call()
    except Refused as refused:
        return refused.sentence


def test_a_zip_bomb_is_refused_before_it_is_unpacked() -> None:
    bomb = archive(
        **{"[Content_Types].xml": b"", "xl__workbook.xml": b"", "xl__worksheets__sheet1.xml": b" " * 90_000_000}
    )
    tracemalloc.start()
    assert refusal(bomb).startswith("This file unpacks to far more")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 1_000_000


def test_many_members_that_are_small_each_are_refused_together() -> None:
    members = {f"xl__part{number}": b"ab" * 490_000 for number in range(110)}
    assert refusal(archive(**members)).startswith("This file unpacks to far more")


def test_a_member_that_declares_less_than_it_holds_is_refused() -> None:
    data = bytearray(archive(**{"[Content_Types].xml": b"", "xl__workbook.xml": b" " * 50_000_000}))
    central = data.rfind(b"PK\x01\x02")
    data[central + 24 : central + 28] = (1000).to_bytes(4, "little")
    assert refusal(bytes(data)).startswith("This file is damaged")


@pytest.mark.parametrize(
    "entity",
    ['<!ENTITY a "aaaaaaaaaa">', '<!ENTITY a SYSTEM "file:///etc/passwd">'],
    ids=["expanding", "from a file"],
)
@pytest.mark.parametrize("member", [SHEET, "xl/workbook.xml"])
def test_entities_are_refused(entity: str, member: str) -> None:
    start = "<worksheet" if member == SHEET else "<workbook"
    data = changed(GOOD, member, start, f"<!DOCTYPE x [{entity}]>{start}")
    assert refusal(data).startswith("This file is damaged")


def test_a_row_numbered_beyond_all_sheets_costs_no_time() -> None:
    started = time.monotonic()
    data = changed(GOOD, SHEET, '<row r="2">', '<row r="999999999999">')
    assert len(read_workbook(data, "x.xlsx")[0].rows) == 1
    assert time.monotonic() - started < 20


@pytest.mark.parametrize(
    ("members", "said"),
    [
        ({"word__document.xml": b"x", "[Content_Types].xml": b"x"}, "This isn't a spreadsheet."),
        ({"readme.txt": b"x"}, "This is a packed folder"),
        ({"content.xml": b"x", "mimetype": b"x"}, "This is an OpenDocument file."),
        ({"xl__workbook.bin": b"x", "[Content_Types].xml": b"x"}, "This is a spreadsheet in the binary XLSB form."),
        ({"xl__workbook.xml": b"<x/>", "[Content_Types].xml": b"<x/>"}, "This file is damaged"),
    ],
)
def test_other_archives_are_told_apart(members: dict[str, bytes], said: str) -> None:
    assert refusal(archive(**members)).startswith(said)


def test_a_protected_archive_is_refused() -> None:
    data = bytearray(GOOD)
    data[data.rfind(b"PK\x01\x02") + 8] |= 1
    assert refusal(bytes(data)).startswith("This file is protected by a password.")


def test_merging_everything_is_bearable() -> None:
    data = changed(workbook(["Item", "Code"], [1, 2], merge=["A3:B3"]), SHEET, "A3:B3", "A1:XFD1048576")
    assert [row.number for row in read_workbook(data, "x.xlsx")[0].rows] == [1, 2]


def test_merging_everything_over_and_over_is_refused() -> None:
    rows = [["x"] * 100 for _ in range(30)]
    areas = '<mergeCell ref="A1:CV30"/>' * 100
    data = changed(workbook(*rows, merge=["A40:B40"]), SHEET, '<mergeCell ref="A40:B40" />', areas)
    assert refusal(data).startswith("This workbook merges cells over whole sheets.")


@given(st.binary(max_size=400))
@example(b"PK\x03\x04")
@example(b"PK\x05\x06" + b"\0" * 18)
@example(b"\xff\xfe\x00")
@example(b"\xff\xfe\x00\xd8,\x00")
def test_any_bytes_give_rows_or_our_refusal(data: bytes) -> None:
    found = outcome(lambda: read_workbook(data, "x"))
    assert found.endswith(".") if isinstance(found, str) else any(sheet.rows for sheet in found)


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_a_workbook_with_any_byte_changed_gives_rows_or_our_refusal(data: st.DataObject) -> None:
    place = data.draw(st.integers(0, len(GOOD) - 1))
    broken = GOOD[:place] + bytes([data.draw(st.integers(0, 255))]) + GOOD[place + 1 :]
    found = outcome(lambda: read_workbook(broken, "x.xlsx"))
    assert found.endswith(".") if isinstance(found, str) else any(sheet.rows for sheet in found)


@settings(max_examples=60, deadline=None)
@given(st.text(alphabet=st.characters(codec="utf-8"), max_size=30))
def test_any_text_for_a_sheets_xml_gives_rows_or_our_refusal(text: str) -> None:
    data = changed(GOOD, SHEET, "<sheetData>", f"<sheetData>{text}")
    found = outcome(lambda: read_workbook(data, "x.xlsx"))
    assert found.endswith(".") if isinstance(found, str) else found[0].rows[0].cells == OBSERVATION_HEADS


plain = (
    st.none()
    | st.text(max_size=30)
    | st.sampled_from(
        [
            "C2",
            "5L1",
            "B32",
            "30 mA",
            "1e999999",
            "03/02/2025",
            "L1/L2",
            "²",
            "٣",
            "3" * 400,
            "-0",
            "Main intake",
            "supply",
        ]
    )
    | st.integers()
    | st.floats()
    | st.booleans()
    | st.datetimes()
    | st.dates()
    | st.times()
    | st.timedeltas()
)
cells = plain | st.builds(Formula, plain) | st.builds(Merged, st.just("A1")) | st.builds(CellError, st.just("#REF!"))


def _told_apart(checked: object, rows: list[Row]) -> None:
    """Every row is taken or refused with a reason, none both."""
    taken = {(row.sheet, row.row) for row in checked.accepted}
    refused = {(row.sheet, row.row) for row in checked.refused}
    assert not taken & refused
    assert {number for _, number in taken | refused} <= {row.number for row in rows}
    assert all(row.troubles and all(trouble.sentence for trouble in row.troubles) for row in checked.refused)


@settings(max_examples=300, deadline=None)
@given(st.lists(st.lists(cells, min_size=1, max_size=6), max_size=6))
def test_any_cells_are_taken_or_refused_as_observations(rows: list[list[object]]) -> None:
    made = sheet(OBSERVATION_HEADS, *rows)
    checked = check_observations([made], SITE)
    _told_apart(checked, made.rows)
    assert {row.row for row in checked.accepted} | {row.row for row in checked.refused} == {
        row.number for row in made.rows[1:] if row.cells != OBSERVATION_HEADS
    }


@settings(max_examples=300, deadline=None)
@given(
    st.lists(st.lists(cells, min_size=1, max_size=6), max_size=6),
    st.lists(st.lists(cells, min_size=1, max_size=6), max_size=6),
)
def test_any_cells_are_taken_or_refused_as_boards_and_circuits(boards: list, circuits: list) -> None:
    made = [
        sheet((*BOARD_HEADS, "Zdb (Ω)", "Feed verified how"), *boards, name="Boards"),
        sheet((*CIRCUIT_HEADS, "RCD", "Line (mm²)"), *circuits, name="Circuits"),
    ]
    for known in (KnownSite(), SITE):
        checked = check_boards(made, known)
        _told_apart(checked, [row for one in made for row in one.rows])


@settings(max_examples=100, deadline=None)
@given(st.lists(st.lists(cells, max_size=8), max_size=8))
def test_any_sheet_is_checked_or_refused(rows: list[list[object]]) -> None:
    for check in (check_boards, check_observations):
        found = outcome(lambda: check([sheet(*rows)], SITE))  # noqa: B023 - called at once
        assert found.endswith(".") if isinstance(found, str) else isinstance(found, Checked)
