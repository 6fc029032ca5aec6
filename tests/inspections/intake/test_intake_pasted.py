"""Text pasted from a PDF or an e-mail: invented samples in the shapes that reports have (common practice)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.intake.columns import OBSERVATIONS
from inspections.intake.heads import find_table
from inspections.intake.observations import check_observations
from inspections.intake.pasted import read_pasted
from tests.inspections.intake.books import SITE

BOARDS = ("Main intake", "Café")
Found = list[tuple[str, str, str]]


def found(text: str) -> Found:
    """Item, code and text of each row."""
    sheet = read_pasted(text, BOARDS)
    if not sheet.rows:
        return []
    table = find_table(sheet, OBSERVATIONS)
    assert table
    return [tuple(str(table.cell(row, key) or "") for key in ("item", "code", "text")) for row in table.rows]  # type: ignore[misc]


SAMPLES: dict[str, tuple[str, Found]] = {
    "number, words, code": (
        "1. No RCD for sockets outdoors C2\n2. Old cable colours C3",
        [("1", "C2", "No RCD for sockets outdoors"), ("2", "C3", "Old cable colours")],
    ),
    "bracket and dash": (
        "1) No RCD for sockets outdoors - C2\n2) Old cable colours – C3\n3) Neutral not traced: FI",
        [("1", "C2", "No RCD for sockets outdoors"), ("2", "C3", "Old cable colours"), ("3", "FI", "Neutral not traced")],
    ),
    "code in brackets": (
        "1. Cover missing [C1]\n2. Cracked socket (C2)\n3. Label faded (c3).",
        [("1", "C1", "Cover missing"), ("2", "C2", "Cracked socket"), ("3", "c3", "Label faded")],
    ),
    "code in front": (
        "C2 1. Cracked socket\nC3 2. Label faded",
        [("1", "C2", "Cracked socket"), ("2", "C3", "Label faded")],
    ),
    "code behind the number": (
        "1. C2 – Cracked socket\n2. C3 – Label faded",
        [("1", "C2", "Cracked socket"), ("2", "C3", "Label faded")],
    ),
    "code behind the number in brackets": (
        "Item 1 (C2) Cracked socket\nItem 2 (FI) Earthing not found",
        [("1", "C2", "Cracked socket"), ("2", "FI", "Earthing not found")],
    ),
    "wrapped lines": (
        "1. No RCD for the sockets that are\nlikely to supply equipment\noutdoors C2\n2. Old colours C3",
        [("1", "C2", "No RCD for the sockets that are likely to supply equipment outdoors"), ("2", "C3", "Old colours")],
    ),
    "wrapped lines that go on with a number": (
        "1. The RCD trips slowly, and at\n30 mA not at all; found at\n2 sockets. C2\n2. Old colours C3",
        [("1", "C2", "The RCD trips slowly, and at 30 mA not at all; found at 2 sockets."), ("2", "C3", "Old colours")],
    ),
    "code on a line of its own": (
        "1\nCracked socket beside the\nsink\nC2\n2\nLabel faded\nC3",
        [("1", "C2", "Cracked socket beside the sink"), ("2", "C3", "Label faded")],
    ),
    "code between number and words": (
        "1\nC2\nCracked socket beside\nthe sink\n2\nC3\nLabel faded",
        [("1", "C2", "Cracked socket beside the sink"), ("2", "C3", "Label faded")],
    ),
    "cells between tabs": (
        "1\tCracked socket\tC2\n2\tLabel faded\tC3",
        [("1", "C2", "Cracked socket"), ("2", "C3", "Label faded")],
    ),
    "cells between bars": (
        "1 | Kitchen | Cracked socket beside the sink | C2\n2 | Hall | Label faded on the board | C3",
        [("1", "C2", "Cracked socket beside the sink"), ("2", "C3", "Label faded on the board")],
    ),
    "cells between blanks": (
        "1    Cracked socket      C2\n2    Label faded      C3",
        [("1", "C2", "Cracked socket"), ("2", "C3", "Label faded")],
    ),
    "a table with its heads": (
        "Item\tObservation\tCode\n1\tCracked socket\tC2\n2\tLabel faded\tC3",
        [("1", "C2", "Cracked socket"), ("2", "C3", "Label faded")],
    ),
    "labels": (
        "Item: 1\nLocation: Kitchen\nObservation: Cracked socket\nCode: C2\n\nItem: 2\nObservation: Label faded\nCode: C3",
        [("1", "C2", "Cracked socket"), ("2", "C3", "Label faded")],
    ),
    "labels without numbers": (
        "Location: Kitchen\nObservation: Cracked socket\nCode: C2\n\nLocation: Hall\nObservation: Label faded\nCode: C3",
        [("", "C2", "Cracked socket"), ("", "C3", "Label faded")],
    ),
    "sections": (
        "C2 – Potentially dangerous\n1. Cracked socket\n2. No RCD outdoors\nC3 – Improvement recommended\n3. Label faded",
        [("1", "C2", "Cracked socket"), ("2", "C2", "No RCD outdoors"), ("3", "C3", "Label faded")],
    ),
    "sections that count anew": (
        "C1: Danger present. Immediate action required\n1. Cover missing\nC3: Improvement recommended\n1. Label faded",
        [("C1 1", "C1", "Cover missing"), ("C3 1", "C3", "Label faded")],
    ),
    "a heading holds until an item has a code of its own": (
        "C2 – Potentially dangerous\n1. Cracked socket\n2. No RCD\n3. Faded C3\n4. Loose C2\n5. Something X9\nC3\n6. Old",
        [
            ("1", "C2", "Cracked socket"), ("2", "C2", "No RCD"), ("3", "C3", "Faded"), ("4", "C2", "Loose"),
            ("5", "", "Something X9"), ("6", "C3", "Old"),
        ],
    ),
    "bullets in sections": (
        "C2\n• Cracked socket\n• No RCD outdoors\nC3\n• Label faded",
        [("", "C2", "Cracked socket"), ("", "C2", "No RCD outdoors"), ("", "C3", "Label faded")],
    ),
    "bullets with codes": (
        "- C2: Cracked socket\n- C3: Label faded, and the\nlid beside it",
        [("", "C2", "Cracked socket"), ("", "C3", "Label faded, and the lid beside it")],
    ),
    "lines without numbers": (
        "Cracked socket C2\nLabel faded C3",
        [("", "C2", "Cracked socket"), ("", "C3", "Label faded")],
    ),
    "paragraphs without numbers": (
        "Cracked socket beside\nthe sink. Code C2\n\nLabel faded. Code C3",
        [("", "C2", "Cracked socket beside the sink."), ("", "C3", "Label faded.")],
    ),
    "a quoted letter": (
        "Dear Olive,\nhere is what we found:\n\n> 1. Cracked socket C2\n> 2. Label faded C3\n\nKind regards\nInvented Sparks",
        [("1", "C2", "Cracked socket"), ("2", "C3", "Label faded")],
    ),
    "page ends inside": (
        "1. Cracked socket beside\nPage 3 of 12\fthe sink C2\n2. Label faded C3\n- 4 -",
        [("1", "C2", "Cracked socket beside the sink"), ("2", "C3", "Label faded")],
    ),
    "numbers with a point": (
        "4.1 Cracked socket C2\n4.2 Label faded C3",
        [("4.1", "C2", "Cracked socket"), ("4.2", "C3", "Label faded")],
    ),
    "two codes": ("1. Cracked socket C2/C3", [("1", "C2/C3", "Cracked socket")]),
    "a code that is only spoken of": (
        "1. Would be a C2 if it were outdoors, and so C3\n2. As before C3",
        [("1", "C3", "Would be a C2 if it were outdoors, and so"), ("2", "C3", "As before")],
    ),
    "older words": ("1. Cracked socket Code 2", [("1", "Code 2", "Cracked socket")]),
    "letters of print": ("1. De\ufb01cient \ufb02ex, sof\u00adtened\u00a0by heat C2", [("1", "C2", "Deficient flex, softened by heat")]),
    "no code at all": ("1. Cracked socket\n2. Label faded", [("1", "", "Cracked socket"), ("2", "", "Label faded")]),
    "nothing": ("", []),
    "no observation": ("Dear Olive,\nthe report follows by post.", []),
}  # fmt: skip


@pytest.mark.parametrize("shape", SAMPLES)
def test_each_shape_is_read(shape: str) -> None:
    text, rows = SAMPLES[shape]
    assert found(text) == rows


@pytest.mark.parametrize("ends", ["\r\n", "\r", "\n\n"])
def test_ends_of_lines_do_not_matter(ends: str) -> None:
    text, rows = SAMPLES["bracket and dash"]
    assert found(text.replace("\n", ends)) == rows


def test_rows_are_numbered_by_their_lines() -> None:
    sheet = read_pasted("Report\n\n1. Cracked\nsocket C2\n2. Label faded C3")
    assert [row.number for row in sheet.rows] == [0, 3, 5]


def test_what_stands_around_is_named_and_not_read() -> None:
    change = "Is an observation among it, change the text."
    sheet = read_pasted(SAMPLES["a quoted letter"][0])
    assert sheet.notes == [
        f"what stands before the first observation wasn't read: “Dear Olive,” / “here is what we found:”. {change}",
        f"what stands after the last observation wasn't read: “Kind regards Invented Sparks”. {change}",
    ]


def test_what_is_left_out_as_the_head_of_a_page_is_named() -> None:
    sheet = read_pasted("1. Cracked socket C2\nPage 2 of 9\n-----\n2. Label faded C3\n- 3 -")
    assert sheet.notes == ["left out as the head or foot of a page: “Page 2 of 9” / “- 3 -”."]


def test_what_cannot_be_placed_in_between_is_a_row_to_be_corrected() -> None:
    checked = check_observations([read_pasted("1. Cracked socket C2\n\nWe also saw this.\n\n2. Label faded C3")], SITE)
    assert [row.item for row in checked.accepted] == ["1", "2"]
    (row,) = checked.refused
    assert (row.row, row.cells["Observation"]) == (3, "We also saw this.")
    assert [trouble.column for trouble in row.troubles] == ["Item", "Code"]
    corrections = {"Pasted text, row 3": {"item": "1a", "code": "C3"}}
    checked = check_observations([read_pasted("1. Cracked socket C2\n\nWe also saw this.\n\n2. Label faded C3")], SITE,
                                 corrections=corrections)  # fmt: skip
    assert [row.item for row in checked.accepted] == ["1", "1a", "2"]


def test_two_codes_of_one_item_are_for_a_person_to_settle() -> None:
    checked = check_observations([read_pasted("1. Cracked socket C2/C3")], SITE)
    assert checked.refused[0].troubles[0].wrong == "“C2/C3” gives more than one code. Write one row for each."


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("1. Main intake: cover missing C1", ("Main intake", "", "")),
        ("1. Main intake, circuit 3: cover missing C1", ("Main intake", "3", "")),
        ("1. At Café way 1L3 the neutral is loose C2", ("Café", "1L3", "")),
        ("1. The Main intake is hot C1", ("", "", "")),
        ("Item: 1\nBoard: Main intake\nCircuit: 2L1\nObservation: loose\nCode: C2", ("Main intake", "2L1", "")),
        ("1 | Café | Cracked socket beside the sink | C2", ("Café", "", "")),
        ("1 | Kitchen | Cracked socket beside the sink | C2", ("", "", "Kitchen")),
    ],
)
def test_where_it_is_is_found_by_the_names_of_boards_and_labels(text: str, place: tuple[str, str, str]) -> None:
    sheet = read_pasted(text, BOARDS)
    table = find_table(sheet, OBSERVATIONS)
    assert table
    assert tuple(table.cell(table.rows[0], key) or "" for key in ("board", "way", "place")) == place


@given(st.text(alphabet=st.characters(exclude_categories=["Cs"]), max_size=400))
def test_any_text_is_read_without_stumbling(text: str) -> None:
    sheet = read_pasted(text, BOARDS)
    assert all(row.number <= len(text) + 1 for row in sheet.rows)


@given(st.lists(st.sampled_from(["C1", "C2", "C3", "FI"]), min_size=1, max_size=30))
def test_as_many_numbered_lines_as_were_written_are_found(codes: list[str]) -> None:
    text = "\n".join(f"{n}. Defect number {n} in the hall {code}" for n, code in enumerate(codes, start=1))
    assert [(item, code) for item, code, _ in found(text)] == [(str(n), code) for n, code in enumerate(codes, start=1)]
