"""Refused rows are put right where they stand, judged again, and put back as they were in the file."""

import pytest

from inspections.intake import operations, queries
from inspections.models import Intake, Observation
from jobsite.ids import new_id
from jobsite.ledger.files import read_file
from jobsite.premises.models import Board, Circuit
from jobsite.refused import NotAllowed, Refused
from tests.factories import NOON, Told, make_board, make_circuit, make_site, recorded, unit_of
from tests.inspections.intake.books import BOARD_HEADS, CIRCUIT_HEADS, OBSERVATION_HEADS, workbook

pytestmark = pytest.mark.django_db

WRONG = workbook(
    OBSERVATION_HEADS,
    [1, "C2", "taken"],
    [2, "C2/C3", "two codes"],
    [3, "C3", "a long way off", "Mian intake", "2"],
)
HEADER = {"inspected_on": "2025-02-03", "edition": "2018+A2:2022", "firm_name": "Sample Inspections"}


@pytest.fixture(autouse=True)
def _at_noon(now, monkeypatch):
    monkeypatch.setattr("jobsite.clock.now", lambda: now)


@pytest.fixture
def yard():
    site = make_site("Orrin Reach boatyard", phases=("L1", "L2", "L3"), kind="commercial", tenure="not-a-home")
    make_circuit(make_board(site, "Main intake"), 2)
    return site


@pytest.fixture
def desk(client, office):
    client.force_login(office)
    return client


@pytest.fixture
def read(yard, office):
    """A file sent and read: `read(data, kind="boards")`."""

    def send(data: bytes = WRONG, *, kind: str = "report") -> Intake:
        more = {"header": HEADER} if kind == "report" else {}
        more |= {"unit": unit_of(yard), "by": office, "now": NOON}
        intake = operations.receive(yard, id=new_id(), kind=kind, data=data, file_name="list.xlsx", **more)
        operations.read(intake.pk, now=NOON)
        return Intake.objects.select_related("site", "file").get(pk=intake.pk)

    return send


def put_right(intake: Intake, by, cells=None, reasons=None) -> Intake:
    return operations.put_right(intake, cells=cells or {}, reasons=reasons or {}, by=by, now=NOON)


def refused(intake: Intake) -> list[str]:
    return [row["row"] for row in intake.found["refused"]]


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


# --- the operation ----------------------------------------------------------------------------------------------------


def test_a_corrected_row_is_judged_again_and_what_was_in_the_file_stays_known(read, office) -> None:
    intake = read()
    assert refused(intake) == ["Sheet, row 3", "Sheet, row 4"]
    with recorded() as told:
        intake = put_right(intake, office, {"Sheet, row 3": {"code": " C2 "}})
    assert (refused(intake), len(intake.found["accepted"])) == (["Sheet, row 4"], 2)
    assert intake.corrections == {"Sheet, row 3": {"code": {"head": "Code", "was": "C2/C3", "now": "C2"}}}
    words = {"row": "Sheet, row 3", "cells": "Code: “C2/C3” in the file, now “C2”"}
    assert told == [Told("intake.corrected", intake.pk, {"accepted": 2, "refused": 1}, words)]
    assert read_file(intake.file) == WRONG


def test_saving_the_same_again_is_no_second_correction(read, office) -> None:
    intake = put_right(read(), office, {"Sheet, row 4": {"board": "Main intake", "way": "9"}})
    with recorded() as told:
        again = put_right(intake, office, {"Sheet, row 4": {"board": "Main intake", "way": "9"}})
    assert (told, again.corrections) == ([], intake.corrections)


def test_a_cell_that_was_corrected_twice_remembers_the_file(read, office) -> None:
    intake = put_right(read(), office, {"Sheet, row 4": {"board": "Main"}})
    assert refused(intake) == ["Sheet, row 3", "Sheet, row 4"]
    intake = put_right(intake, office, {"Sheet, row 4": {"board": "Main intake"}})
    assert refused(intake) == ["Sheet, row 3"]
    cell = {"head": "Board", "was": "Mian intake", "now": "Main intake"}
    assert intake.corrections == {"Sheet, row 4": {"board": cell}}


@pytest.mark.parametrize("way", ["taken back", "typed back"])
def test_a_corrected_row_is_put_back_as_it_was(read, office, way: str) -> None:
    intake = put_right(read(), office, {"Sheet, row 3": {"code": "C2"}})
    with recorded() as told:
        if way == "taken back":
            intake = operations.take_back_correction(intake, row="Sheet, row 3", by=office, now=NOON)
        else:
            intake = put_right(intake, office, {"Sheet, row 3": {"code": "C2/C3"}})
    assert (intake.corrections, refused(intake)) == ({}, ["Sheet, row 3", "Sheet, row 4"])
    verb = {"taken back": "intake.uncorrected", "typed back": "intake.corrected"}[way]
    assert [(entry.verb, entry.words["row"]) for entry in told] == [(verb, "Sheet, row 3")]
    with recorded() as told:
        operations.take_back_correction(intake, row="Sheet, row 3", by=office, now=NOON)
    assert told == []


def test_cells_and_reasons_are_saved_together(read, office) -> None:
    with recorded() as told:
        intake = put_right(read(), office, {"Sheet, row 3": {"code": "C3"}}, {"Sheet, row 4": " not on site "})
    assert [entry.verb for entry in told[2:]] == ["intake.corrected", "intake.left-out"]
    assert (intake.left_out, refused(intake)) == ({"Sheet, row 4": "not on site"}, ["Sheet, row 4"])
    intake = put_right(intake, office, reasons={"Sheet, row 4": ""})
    assert intake.left_out == {}
    operations.take_in(intake, left_out={"Sheet, row 4": "gone"}, by=office, now=NOON)
    assert [(o.item, o.code, o.code_written) for o in Observation.objects.order_by("number")] == [
        ("1", "C2", "C2"), ("2", "C3", "C3"),
    ]  # fmt: skip


def test_a_column_that_the_file_lacks_can_be_filled(read, office, yard) -> None:
    make_circuit(Board.objects.get(designation="Main intake"), 3, phase="L1")
    make_circuit(Board.objects.get(designation="Main intake"), 3, phase="L2")
    data = workbook(("Item", "Code", "Observation", "Way"), (1, "C2", "Cover missing", "3L2"))
    intake = read(data)
    (row,) = intake.found["refused"]
    assert [(one["column"], one["key"]) for one in row["troubles"]] == [("Board", "board")]
    intake = put_right(intake, office, {"Sheet, row 2": {"board": "Main intake"}})
    operations.take_in(intake, left_out={}, by=office, now=NOON)
    assert Observation.objects.get().circuit.way_name == "3L2"


def test_boards_and_circuits_are_put_right_too(read, office) -> None:
    rows = [("Shed", "1", "Sockets", "B99999"), ("Shed", "2", "Lights", "B6")]
    data = workbook((*CIRCUIT_HEADS, "Phases"), *[(*row, "three phase") for row in rows])
    intake = read(data, kind="boards")
    assert refused(intake) == ["Sheet, row 2"] or "Sheet, row 2" in refused(intake)
    intake = put_right(
        intake, office, {"Sheet, row 2": {"device": "B32", "phase": "L1"}, "Sheet, row 3": {"phase": "L2"}}
    )
    assert refused(intake) == []
    operations.take_in(intake, left_out={}, by=office, now=NOON)
    assert [(c.way_name, c.rating_a) for c in Circuit.objects.filter(board__designation="Shed").order_by("way")] == [
        ("1L1", 32), ("2L2", 6),
    ]  # fmt: skip


def test_any_row_can_be_corrected_not_only_refused_ones(read, office) -> None:
    intake = put_right(read(), office, {"Sheet, row 2": {"text": "taken, as we say"}})
    assert "taken, as we say" in [row["name"] for row in intake.found["accepted"]]
    assert queries.cells_of(intake, "Sheet, row 2")[2] == {
        "key": "text", "head": "Observation", "said": "taken, as we say", "was": "taken",
    }  # fmt: skip


@pytest.mark.parametrize("cells", [{"Sheet, row 99": {"code": "C2"}}, {"Sheet, row 3": {"colour": "C2"}}])
def test_a_row_or_column_that_is_not_there_is_refused(read, office, cells) -> None:
    intake = read()
    with recorded() as told, pytest.raises(Refused, match="Look at the page again"):
        put_right(intake, office, cells)
    intake.refresh_from_db()
    assert (told, intake.corrections) == ([], {})


def test_a_reason_for_a_row_that_is_fine_is_refused(read, office) -> None:
    with pytest.raises(Refused, match="not refused any more"):
        put_right(read(), office, reasons={"Sheet, row 2": "why not"})


def test_an_engineer_puts_nothing_right(read, engineer) -> None:
    intake = read()
    for change in (
        lambda: put_right(intake, engineer, {"Sheet, row 3": {"code": "C2"}}),
        lambda: operations.take_back_correction(intake, row="Sheet, row 3", by=engineer, now=NOON),
    ):
        with pytest.raises(NotAllowed):
            change()


def test_a_long_file_goes_back_to_the_worker_to_be_judged(read, office, monkeypatch) -> None:
    intake = read()
    monkeypatch.setattr("inspections.intake.operations.leaving_out.MOST_AT_DESK", 2)
    intake = put_right(intake, office, {"Sheet, row 3": {"code": "C2"}})
    assert intake.state == "received"
    operations.read(intake.pk, now=NOON)
    intake.refresh_from_db()
    assert (intake.state, refused(intake)) == ("read", ["Sheet, row 4"])


def test_a_combined_sheet_of_boards_is_corrected_where_rows_contradict_each_other(read, office) -> None:
    heads = (*CIRCUIT_HEADS, "Phases", "Place")
    data = workbook(
        heads,
        ("Shed", "1L1", "Sockets", "B32", "three phase", "yard"),
        ("Shed", "2L2", "Lights", "B6", "three phase", "loft"),
    )
    intake = read(data, kind="boards")
    assert refused(intake) == ["Sheet, row 3"]
    intake = put_right(intake, office, {"Sheet, row 3": {"board_place": "yard"}})
    assert refused(intake) == []


# --- the page ---------------------------------------------------------------------------------------------------------


def test_wrong_cells_are_corrected_on_the_page_and_nothing_is_taken_in_before_the_result_is_seen(desk, read) -> None:
    intake = read()
    here = f"/intake/{intake.pk}/"
    shown = text_of(desk.get(here))
    assert 'name="row_0_code" value="C2/C3"' in shown
    assert 'name="row_1_board" value="Mian intake"' in shown
    typed = {"row_0_code": "C2", "row_1_board": "Main intake", "do": "take-in"}
    assert desk.post(here, typed).headers["Location"] == here
    shown = text_of(desk.get(here))
    assert "Saved and judged again: 0 rows refused. Nothing is taken in yet." in shown
    assert "Every row can be taken in." in shown
    assert "Code: <del>C2/C3</del> C2" in shown
    assert not Observation.objects.exists()
    assert desk.post(here).headers["Location"].endswith("/codes/")
    assert Observation.objects.count() == 3


def test_reasons_typed_are_kept_when_a_rows_own_page_is_opened_first(desk, read) -> None:
    intake = read()
    here = f"/intake/{intake.pk}/"
    typed = {"row_0": "the firm was asked", "row_0_code": "C2/C3", "row_1": "", "row_1_board": "Mian intake"}
    answer = desk.post(here, typed | {"do": "correct Sheet, row 4"})
    assert answer.headers["Location"] == f"{here}correct/?row=Sheet%2C+row+4"
    assert 'value="the firm was asked"' in desk.get(here).content.decode()
    page = text_of(desk.get(answer.headers["Location"]))
    assert 'name="board" value="Mian intake"' in page
    cells = {
        "item": "3",
        "code": "C3",
        "text": "a long way off",
        "board": "Main intake",
        "way": "2",
        "first_recorded": "",
    }
    assert desk.post(answer.headers["Location"], cells).headers["Location"] == here
    assert "1 row refused." in text_of(desk.get(here))


def test_a_page_of_refused_rows_is_saved_before_the_next_is_shown(desk, read) -> None:
    data = workbook(OBSERVATION_HEADS, *([n, "C9", "x"] for n in range(60)))
    intake = read(data)
    here = f"/intake/{intake.pk}/"
    assert desk.post(here, {"row_0_code": "C2", "do": "refused 1"}).headers["Location"] == f"{here}?refused=1"
    assert "59 rows refused." in text_of(desk.get(here))


def test_a_correction_is_taken_back_on_its_page(desk, read, office) -> None:
    intake = put_right(read(), office, {"Sheet, row 3": {"code": "C2"}})
    here = f"/intake/{intake.pk}/"
    back = desk.post(here, {"do": "as-in-file Sheet, row 3"}).headers["Location"]
    assert "Code: C2/C3" in text_of(desk.get(back))
    desk.post(back)
    assert "2 rows refused." in text_of(desk.get(here))


@pytest.mark.parametrize("row", ["Sheet, row 99", "", "nonsense", "Sheet, row 1"])
def test_a_row_that_there_is_not_is_404(desk, read, row: str) -> None:
    assert desk.get(f"/intake/{read().pk}/correct/", {"row": row}).status_code == 404


def test_what_a_cell_cannot_hold_is_said_beside_it(desk, read) -> None:
    intake = read()
    answer = desk.post(f"/intake/{intake.pk}/", {"row_0_code": "C" * 5000, "do": "save"})
    assert (answer.status_code, "Sheet, row 3" in text_of(answer)) == (422, True)
    desk.post(f"/intake/{intake.pk}/", {"row_0_code": "<b>C7</b>", "do": "save"})
    shown = text_of(desk.get(f"/intake/{intake.pk}/"))
    assert ("“&lt;b&gt;C7&lt;/b&gt;” isn&#x27;t a code." in shown, "<b>C7" in shown) == (True, False)


def test_boards_of_a_file_stay_as_they_are_elsewhere(read, office) -> None:
    """A correction is by sheet and row: the same row of another sheet stays."""
    data = workbook((*BOARD_HEADS,), ("Shed", "sideways", "supply", None), title="Boards")
    intake = read(data, kind="boards")
    intake = put_right(intake, office, {"Boards, row 2": {"board_phases": "three phase"}})
    assert refused(intake) == []
    assert list(intake.corrections) == ["Boards, row 2"]
