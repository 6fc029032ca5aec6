"""Sheets of labels: where each lies, only of what is verified, read back from the paper."""

import pypdfium2
import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from jobsite.ids import new_id
from jobsite.ledger.files import read_file
from jobsite.premises import operations
from jobsite.premises.charts import Sheet, places, sheet_of, why_not_a_sheet
from jobsite.premises.models import BoardDocument
from jobsite.refused import Refused
from tests import factories as make
from tests.factories import NOON, Told, recorded
from tests.jobsite.papers import codes_of, reader, words_of
from tests.jobsite.premises import posted, refusal, text_of

SEEN = {"verified_how": "traced", "verified_on": NOON.date()}
SMALL = Sheet(38, 21, 5, 13)


# --- the sheet --------------------------------------------------------------------------------------------------------


def test_labels_follow_each_other_along_the_rows_over_several_sheets() -> None:
    sheet = Sheet(50, 20, 2, 2, gap_across_mm=10, gap_down_mm=5)
    left, top = (210 - 110) * 5, (297 - 45) * 5
    assert places(sheet, start=2, count=4) == [
        (0, left + 600, top),
        (0, left, top + 250),
        (0, left + 600, top + 250),
        (1, left, top),
    ]


@pytest.mark.parametrize(
    ("sheet", "trouble"),
    [
        (Sheet(70, 37, 3, 8), ("", "")),
        (Sheet(70, 37, 4, 8), ("4 columns of 70 mm take 280 mm; A4 is 210 mm wide.", "columns")),
        (Sheet(70, 37, 3, 9), ("9 rows of 37 mm take 333 mm; A4 is 297 mm high.", "rows")),
        (Sheet(70, 37, 3, 8, gap_across_mm=1), ("3 columns of 70 mm take 212 mm; A4 is 210 mm wide.", "columns")),
    ],
)
def test_what_goes_on_a4(sheet, trouble) -> None:
    assert why_not_a_sheet(sheet) == trouble


@given(st.integers(10, 200), st.integers(5, 287), st.integers(0, 20), st.integers(0, 20))
def test_as_many_as_go_do_go_and_one_more_does_not(width, height, across, down) -> None:
    full = sheet_of(width, height, columns=None, rows=None, gap_across_mm=across, gap_down_mm=down)
    assert why_not_a_sheet(full) == ("", "")
    one_more = Sheet(width, height, full.columns + 1, full.rows, across, down)
    assert one_more.across_mm > 200


@given(st.integers(1, 60), st.integers(1, 200))
def test_no_two_labels_lie_on_each_other(start, count) -> None:
    found = places(SMALL, start=start, count=count)
    assert len(set(found)) == count
    assert all(0 <= left <= 2100 - 380 and 0 <= top <= 2970 - 210 for _, left, top in found)


# --- labels for circuits ----------------------------------------------------------------------------------------------


@pytest.fixture
def board(db):
    row = make.make_board(make.make_site("Yard"), "Workshop", place="by the door")
    make.make_circuit(row, 1, designation="Lights, slipway", rcd_ma=30, **SEEN)
    make.make_circuit(row, 2, designation="Sockets")
    make.make_circuit(row, 3, designation="Cooker", **SEEN)
    return row


def labels(board, *ways, **more) -> BoardDocument:
    circuits = board.circuits.filter(way__in=ways)
    usual = {"id": new_id(), "circuits": circuits, "sheet": SMALL, "by": make.anybody(), "now": NOON}
    return operations.make_labels(board, **usual | more)


def test_labels_are_kept_and_told_once(board, engineer) -> None:
    with recorded() as told:
        made = labels(board, 1, 3, by=engineer)
        assert labels(board, 1, 3, id=made.pk, by=engineer) == made
    facts = {"board": str(board.pk), "kind": "labels", "file": made.file.hash, "fingerprint": made.fingerprint}
    assert told == [Told("board-document.made", made.pk, facts)]
    assert made.words == "2 labels of 38 × 21 mm"
    words = words_of(made).replace("\u202f", " ")
    assert "1L1 Lights, slipway B32 · RCD 30 mA · Workshop" in words
    assert "3L1 Cooker B32 · Workshop" in words


def test_what_nobody_verified_gets_no_label(board) -> None:
    with pytest.raises(Refused) as raised:
        labels(board, 1, 2)
    assert refusal(raised) == ("Nobody has verified way 2L1: a label is believed, so verify first.", "circuits")
    with pytest.raises(Refused, match="Choose ways of this board"):
        labels(board)
    assert not BoardDocument.objects.exists()


def test_way_of_another_board_is_refused(board) -> None:
    other = make.make_board(board.site, "Other")
    make.make_circuit(other, 9, designation="Elsewhere", **SEEN)
    with pytest.raises(Refused, match="Choose ways of this board"):
        labels(board, circuits=[*board.circuits.filter(way=1), *other.circuits.all()])


@pytest.mark.parametrize(("start", "pages"), [(1, 1), (64, 1), (65, 2)])
def test_sheet_begun_is_used_up(board, start, pages) -> None:
    assert len(reader(labels(board, 1, 3, start=start)).pages) == pages


@pytest.mark.parametrize("start", [0, 66])
def test_place_that_the_sheet_has_not_is_refused(board, start) -> None:
    with pytest.raises(Refused) as raised:
        labels(board, 1, start=start)
    assert refusal(raised) == ("A sheet has 65 places.", "start")


def outside(made: BoardDocument, sheet: Sheet, count: int) -> list[str]:
    """The letters of the first page that reach over the edge of each label, but for the line at the foot."""
    page = pypdfium2.PdfDocument(read_file(made.file))[0]
    text = page.get_textpage()
    frames = [(left * 0.1, top * 0.1) for _, left, top in places(sheet, start=1, count=count)]
    found = []
    for at in range(text.count_chars()):
        left, bottom, right, top = (side / 72 * 25.4 for side in text.get_charbox(at))
        above, below = 297 - top, 297 - bottom
        within = any(
            x <= left and right <= x + sheet.width_mm and y <= above and below <= y + sheet.height_mm for x, y in frames
        )
        if not within and above < 290 and right > left:
            found.append(text.get_text_range(at, 1))
    return found


@pytest.mark.parametrize("size", [(18, 9), (36, 9), (38, 21), (50, 15), (70, 37), (99, 38)])
def test_every_letter_stands_on_its_label(board, size) -> None:
    """A way number that loses its last letter is another way."""
    for way in (104, 105):
        make.make_circuit(board, way, designation="Charging point by the roller door, left-hand side", **SEEN)
    made = labels(board, 1, 3, 104, 105, sheet=(sheet := sheet_of(*size, columns=None, rows=None)))
    assert outside(made, sheet, 4) == []
    assert all(f"{way}L1" in words_of(made) for way in (1, 3, 104, 105))


@pytest.mark.parametrize("size", [(18, 9), (36, 9), (38, 21), (50, 15), (99, 38)])
def test_long_words_stay_on_their_label(board, size) -> None:
    """They are set smaller, and then lose their last words; nothing reaches over the edge."""
    way = board.circuits.get(way=1)
    way.designation = "Sockets and the very long description of everything else in the old workshop " * 4
    way.save()
    made = labels(board, 1, sheet=sheet_of(*size, columns=None, rows=None))
    words = words_of(made)
    assert "1L1 Sockets and the" in words
    assert "…" in words or size == (99, 38)


def test_labels_are_chosen_on_their_page(client, board, engineer) -> None:
    client.force_login(engineer)
    where = reverse("premises:circuit_labels", args=[board.pk])
    page = client.get(where)
    assert "Not verified, so not offered here: 2L1 “Sockets”." in text_of(page)
    ways = [str(board.circuits.get(way=1).pk)]
    form = posted(page) | {"circuits": ways, "columns": "9", "rows": "", "gap_across": "", "gap_down": ""}
    refused = client.post(where, form)
    assert refused.status_code == 422
    assert refused.context["form"].errors["columns"] == ["9 columns of 38 mm take 342 mm; A4 is 210 mm wide."]
    response = client.post(where, form | {"columns": "3"}, follow=True)
    assert "Labels for circuits 1 label of 38 × 21 mm" in text_of(response)


# --- labels for the board ---------------------------------------------------------------------------------------------


def board_label(board, kind: str = "board-label", **more) -> BoardDocument:
    usual = {"id": new_id(), "width_mm": 99, "height_mm": 57, "copies": 2, "by": make.anybody(), "now": NOON}
    return operations.make_board_label(board, kind=kind, **usual | more)


def test_board_label_names_it_and_leads_to_its_page(board, settings) -> None:
    settings.SITE_ADDRESS = "https://works.example.com"
    made = board_label(board)
    assert codes_of(made) == [f"https://works.example.com/boards/{board.pk}/"] * 2
    assert words_of(made).count("Workshop by the door Fed from Intake") == 2


@pytest.mark.parametrize("size", [(70, 37), (99, 57), (148, 105)])
def test_every_letter_stands_on_the_boards_label(board, size) -> None:
    board.designation, board.place = "Distributionboardone", "the room behind the old store, beside the second door"
    board.save()
    sheet = sheet_of(*size, columns=None, rows=None)
    assert outside(board_label(board, width_mm=size[0], height_mm=size[1]), sheet, 2) == []


def test_board_whose_name_is_believed_gets_no_label(board) -> None:
    board.designation_verified = False
    board.save()
    with pytest.raises(Refused, match="Nobody has verified that this is Workshop"):
        board_label(board)


def test_warning_names_every_source_and_how_it_is_isolated(board) -> None:
    make.make_second_source(board, "Roof panels", isolate_supply_side="switch beside it", wait_minutes=15)
    make.make_second_source(board, "Store", kind="battery")
    words = words_of(board_label(board, "two-sources", copies=1))
    assert "WARNING: more than one source of supply" in words
    assert "isolated on the supply side at switch beside it, then wait 15 min" in words
    assert "Store, battery" in words
    assert "where it is isolated: not known" in words


def test_warning_without_a_source_is_refused(board) -> None:
    with pytest.raises(Refused, match="No second source is recorded"):
        board_label(board, "two-sources")


@pytest.mark.parametrize("page", ["board_label", "two_sources_label"])
def test_board_labels_are_chosen_on_their_page(client, board, engineer, page) -> None:
    make.make_second_source(board)
    client.force_login(engineer)
    where = reverse(f"premises:{page}", args=[board.pk])
    response = client.post(where, posted(client.get(where)) | {"copies": "3"}, follow=True)
    assert "3 labels of 99 × 57 mm" in text_of(response)
