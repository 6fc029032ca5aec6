"""From the uploaded file to the record: received, read, taken in all or nothing, once."""

from collections import Counter
from datetime import timedelta

import pytest
from django.core.files.storage import default_storage

from inspections.choices import IntakeState
from inspections.intake import operations, queries, tasks
from inspections.intake.operations.receiving import STUMBLED
from inspections.models import Inspection, Intake, Observation
from jobsite.firm.models import Progress
from jobsite.ids import new_id
from jobsite.ledger.files import path_of, read_file
from jobsite.premises.models import Board, Circuit, Feed, SecondSource
from jobsite.premises.operations import add_board, add_circuit
from jobsite.refused import NotAllowed, Refused
from tests.data import make
from tests.factories import NOON, make_site, recorded, unit_of
from tests.inspections.intake.books import BOARD_HEADS, CIRCUIT_HEADS, OBSERVATION_HEADS, workbook

pytestmark = pytest.mark.django_db

BOARDS = (make.HERE / "orrin-reach-boards.xlsx").read_bytes()
REPORT = (make.HERE / "orrin-reach-report.xlsx").read_bytes()
HEADER = {
    "inspected_on": "2025-02-03",
    "edition": "2018+A2:2022",
    "firm_name": "Sample Inspections",
    "next_due_on": "2028-02-03",
    "remedy_limit_days": 21,
    "outcome_written": "unsatisfactory",
    "limitations": ["Loft of the chandlery not entered"],
}
THREE = ("L1", "L2", "L3")


@pytest.fixture
def yard():
    return make_site("Orrin Reach boatyard", phases=THREE, kind="commercial", tenure="not-a-home")


def sent(site, data: bytes, by, *, kind: str = "boards", name: str = "list.xlsx", **more) -> Intake:
    more = {"id": new_id(), "unit": unit_of(site), "now": NOON, "header": HEADER if kind == "report" else None} | more
    return operations.receive(site, kind=kind, data=data, file_name=name, by=by, **more)


def read(site, data: bytes, by, **more) -> Intake:
    intake = sent(site, data, by, **more)
    operations.read(intake.pk, now=NOON)
    return Intake.objects.select_related("site", "file", "progress", "unit").get(pk=intake.pk)


def taken(site, data: bytes, by, **more) -> Intake:
    return operations.take_in(read(site, data, by, **more), left_out={}, by=by, now=NOON)


def refusal(call) -> str:
    with pytest.raises(Refused) as refused:
        call()
    return refused.value.sentence


def rows() -> dict[str, int]:
    return {
        model.__name__: model.objects.count() for model in (Board, Circuit, Feed, SecondSource, Observation, Inspection)
    }


def test_a_file_is_kept_byte_for_byte_and_waits_to_be_read(yard, office) -> None:
    with recorded() as told:
        intake = sent(yard, BOARDS, office, name="Boards of the yard.xlsx")
    assert read_file(intake.file) == BOARDS
    assert (intake.state, intake.progress.state) == (IntakeState.RECEIVED, Progress.State.WAITING)
    (entry,) = told
    assert (entry.verb, entry.subject, entry.words) == (
        "intake.received",
        intake.pk,
        {"file_name": "Boards of the yard.xlsx"},
    )
    assert entry.facts == {
        "kind": "boards",
        "file": intake.file_id,
        "bytes": len(BOARDS),
        "unit": str(unit_of(yard).pk),
    }


def test_sending_the_same_form_twice_makes_one_upload(yard, office) -> None:
    key = new_id()
    sent(yard, BOARDS, office, id=key)
    with recorded() as told:
        assert sent(yard, BOARDS, office, id=key).pk == key
    assert (Intake.objects.count(), told) == (1, [])
    other = make_site("Other")
    assert "already used for something else" in refusal(lambda: sent(other, BOARDS, office, id=key))


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "This file is empty."),
        (b"%PDF-1.7", "This is a PDF"),
        (b"a" * (10 * 1024 * 1024 + 1), "This file is larger"),
    ],
)
def test_what_is_plainly_no_spreadsheet_is_not_even_kept(yard, office, data: bytes, said: str) -> None:
    assert refusal(lambda: sent(yard, data, office)).startswith(said)
    assert Intake.objects.count() == 0


def test_an_engineer_takes_nothing_in(yard, office, engineer) -> None:
    with pytest.raises(NotAllowed):
        sent(yard, BOARDS, engineer)
    intake = read(yard, BOARDS, office)
    for change in (operations.read_again, operations.set_aside):
        with pytest.raises(NotAllowed):
            change(intake, by=engineer, now=NOON)
    with pytest.raises(NotAllowed):
        operations.take_in(intake, left_out={}, by=engineer, now=NOON)


def test_a_unit_of_another_site_is_refused(yard, office) -> None:
    assert (
        refusal(lambda: sent(yard, BOARDS, office, unit=unit_of(make_site("Other"))))
        == "This unit is not at this site."
    )


def test_reading_says_what_was_found_and_changes_nothing_else(yard, office) -> None:
    before = rows()
    with recorded() as told:
        intake = read(yard, BOARDS, office)
    assert (intake.state, intake.progress.state, intake.progress.done) == (IntakeState.READ, Progress.State.DONE, 79)
    assert queries.in_words(intake.found) == "7 boards and 72 circuits"
    assert intake.found["accepted"][3] == {
        "row": "Boards, row 5",
        "what": "board",
        "name": "Chandlery",
        "more": "under the stairs; L2; label “SHOP”; main switch 63 A two-pole; Zdb 0.29 Ω; "
        "fed from Main intake, way 4L2 (by the file verified: traced on 03/02/2025)",
    }
    more = {row["more"] for row in intake.found["accepted"]}
    assert any(said.startswith("must not lose power: ") for said in more)
    assert any("points" in said and "RCD 30 mA" in said for said in more)
    assert any("isolated on the source side at" in said and "wait 15 min" in said for said in more)
    assert len(intake.found["warnings"]) == 1
    assert "feeds are called verified in this file, and taken in as believed only" in intake.found["warnings"][0]
    assert [(entry.verb, entry.facts) for entry in told[1:]] == [("intake.read", {"accepted": 79, "refused": 0})]
    assert rows() == before


def test_reading_twice_finds_nothing_more_to_do(yard, office) -> None:
    intake = read(yard, BOARDS, office)
    with recorded() as told:
        assert operations.read(intake.pk, now=NOON) is None
        tasks.read(str(intake.pk))
        tasks.read(str(new_id()))
    assert told == []


def test_a_file_that_cannot_be_read_says_so(yard, office) -> None:
    with recorded() as told:
        intake = read(yard, workbook(["Red", "Green"], [1, 2]), office)
    sentence = "No sheet of this file has the column heads of boards or circuits. The template shows them."
    assert (intake.state, intake.progress.sentence) == (IntakeState.UNREADABLE, sentence)
    assert (told[-1].verb, told[-1].words) == ("intake.unreadable", {"why": sentence})


def test_a_file_that_storage_lost_says_so(yard, office) -> None:
    intake = sent(yard, workbook(["Board"], ["only here"]), office)
    default_storage.delete(path_of(intake.file_id))
    assert operations.read(intake.pk, now=NOON).state == IntakeState.UNREADABLE
    intake.progress.refresh_from_db()
    assert intake.progress.sentence == queries.LOST


def test_a_file_that_the_program_stumbles_over_holds_up_no_other(yard, office) -> None:
    broken = sent(yard, REPORT, office, kind="report")
    Intake.objects.filter(pk=broken.pk).update(header=HEADER | {"inspected_on": "last week"})
    sound = sent(yard, BOARDS, office)
    assert operations.read_waiting(now=NOON + timedelta(seconds=90)) == 2
    for intake in (broken, sound):
        intake.refresh_from_db()
    assert (broken.state, broken.progress.sentence) == (IntakeState.UNREADABLE, STUMBLED)
    assert sound.state == IntakeState.READ


def test_a_file_that_the_broker_forgot_is_read_by_the_sweep(yard, office) -> None:
    intake = sent(yard, BOARDS, office)
    assert operations.read_waiting(now=NOON + timedelta(seconds=30)) == 0
    assert operations.read_waiting(now=NOON + timedelta(seconds=90)) == 1
    intake.refresh_from_db()
    assert intake.state == IntakeState.READ


def test_boards_circuits_feeds_and_the_second_source_are_taken_in(yard, office) -> None:
    with recorded() as told:
        intake = taken(yard, BOARDS, office)
    assert rows() == {"Board": 7, "Circuit": 72, "Feed": 7, "SecondSource": 1, "Observation": 0, "Inspection": 0}
    assert (intake.state, intake.taken_in_at) == (IntakeState.TAKEN_IN, NOON)
    chandlery = Board.objects.get(designation="Chandlery")
    assert (chandlery.phases, chandlery.label_found, chandlery.place) == (["L2"], "SHOP", "under the stairs")
    assert list(chandlery.units.all()) == [unit_of(yard)]
    feed = chandlery.feeds.get()
    assert (feed.from_circuit.board.designation, feed.from_circuit.way, feed.from_circuit.phase) == (
        "Main intake",
        4,
        "L2",
    )
    source = SecondSource.objects.get()
    assert (source.kind, source.circuit.way, source.wait_minutes, source.phases) == ("pv", 9, 15, list(THREE))
    counts = Counter(entry.verb for entry in told)
    assert counts["intake.taken-in"] == 1
    assert told[-1].facts == {"boards": 7, "circuits": 72, "file": intake.file_id, "left_out": 0}


def test_what_a_list_calls_verified_is_only_believed_until_one_of_us_verifies_it(yard, office) -> None:
    taken(yard, BOARDS, office)
    assert not Feed.objects.filter(verified=True).exists()
    assert not Board.objects.filter(designation_verified=True).exists()
    assert (
        Board.objects.get(designation="Chandlery").notes
        == "By the list taken in, the feed was verified (traced, 3 Feb 2025)."
    )


def test_a_circuit_is_taken_in_with_all_its_particulars(yard, office) -> None:
    taken(yard, BOARDS, office)
    circuit = Circuit.objects.get(board__designation="Workshop", way=3)
    assert (circuit.phase, circuit.device_standard, circuit.device_type, circuit.rating_a) == (
        "3",
        "BS EN 60898",
        "C",
        32,
    )
    assert (circuit.rcd_ma, circuit.rcd_kind, circuit.rcd_shared, circuit.line_mm2, circuit.points) == (
        30,
        "unknown",
        True,
        6,
        1,
    )
    spare = Circuit.objects.get(board__designation="Main intake", way=5, phase="L3")
    assert (spare.spare, spare.blanked) == (True, False)


def test_a_report_is_taken_in_as_another_firms_issued_report(yard, office) -> None:
    taken(yard, BOARDS, office)
    intake = taken(yard, REPORT, office, kind="report", name="report.xlsx")
    inspection = intake.inspection
    assert (inspection.other_firm, inspection.state, inspection.firm_name) == (True, "issued", "Sample Inspections")
    assert (inspection.outcome, inspection.outcome_written, inspection.remedy_limit_days) == (
        "unsatisfactory",
        "unsatisfactory",
        21,
    )
    assert (inspection.file_id, inspection.file_name) == (intake.file_id, "report.xlsx")
    assert [limitation.what for limitation in inspection.limitations.all()] == HEADER["limitations"]
    observations = Observation.objects.order_by("number")
    assert Counter(o.code for o in observations) == {"C3": 20, "C2": 18, "FI": 6, "C1": 3}
    assert not observations.filter(draft=True).exists()
    first, third = observations[0], observations[2]
    assert (first.item, first.board.designation, first.circuit.way, first.place) == (
        "1",
        "Slip hoist",
        3,
        "hoist isolator",
    )
    assert (third.code_written, third.first_recorded_on.isoformat(), third.recorded_on.isoformat()) == (
        "C3",
        "2022-03-14",
        "2025-02-03",
    )


def test_the_code_is_kept_as_written(yard, office) -> None:
    taken(yard, workbook(OBSERVATION_HEADS, [1, "code 2", "x"]), office, kind="report")
    observation = Observation.objects.get()
    assert (observation.code, observation.code_written) == ("C2", "code 2")


def test_taking_in_twice_is_harmless(yard, office) -> None:
    intake = taken(yard, BOARDS, office)
    before = rows()
    with recorded() as told:
        operations.take_in(intake, left_out={}, by=office, now=NOON)
    assert (told, rows()) == ([], before)


def test_the_same_file_is_not_taken_in_twice_under_whatever_name(yard, office) -> None:
    waiting = read(yard, BOARDS, office, name="again.xlsx")
    taken(yard, BOARDS, office, name="boards.xlsx")
    said = "This very file was already taken in on 3 Feb 2026, 12:00, under the name boards.xlsx."
    assert refusal(lambda: operations.take_in(waiting, left_out={}, by=office, now=NOON)) == said
    assert refusal(lambda: sent(yard, BOARDS, office, name="third.xlsx")) == said
    assert sent(make_site("Other", phases=THREE), BOARDS, office).state == IntakeState.RECEIVED


WRONG = workbook(OBSERVATION_HEADS, [1, "C2", "taken"], [2, "C9", "refused"], [3, "C3", "taken", "nowhere"])


def test_nothing_is_taken_in_while_a_refused_row_has_no_reason(yard, office) -> None:
    intake = read(yard, WRONG, office, kind="report")
    before = rows()
    with recorded() as told, pytest.raises(Refused) as refused:
        operations.take_in(intake, left_out={"Sheet, row 3": "not ours", "Sheet, row 4": " "}, by=office, now=NOON)
    assert refused.value.sentence.startswith("Say why Sheet, row 4, is left out")
    assert (refused.value.field, told, rows()) == ("Sheet, row 4", [], before)


def test_refused_rows_are_left_out_with_their_reasons_and_the_others_taken_in(yard, office) -> None:
    intake = read(yard, WRONG, office, kind="report")
    reasons = {"Sheet, row 3": "asked the firm", "Sheet, row 4": "no such board"}
    with recorded() as told:
        operations.take_in(intake, left_out=reasons | {"Sheet, row 2": "this one is fine"}, by=office, now=NOON)
    assert [o.text for o in Observation.objects.all()] == ["taken"]
    intake.refresh_from_db()
    assert intake.left_out == reasons
    assert told[-1].words == {"left_out": "Sheet, row 3: asked the firm\nSheet, row 4: no such board"}


def test_a_file_with_nothing_to_take_in_is_refused(yard, office) -> None:
    intake = read(yard, workbook(OBSERVATION_HEADS, [1, "C9", "x"]), office, kind="report")
    assert refusal(lambda: operations.take_in(intake, left_out={"Sheet, row 2": "no"}, by=office, now=NOON)).startswith(
        "No row"
    )


def test_what_the_site_gained_meanwhile_is_seen_when_taking_in(yard, office) -> None:
    intake = read(yard, BOARDS, office)
    add_board(yard, id=new_id(), designation="CAFE", phases=["L3"], by=office, now=NOON)
    before = rows()
    said = refusal(lambda: operations.take_in(intake, left_out={}, by=office, now=NOON))
    assert said.startswith(
        "The site has changed since this file was read. Boards, row 6, Board: “CAFE” is already on record"
    )
    assert rows() == before
    operations.read_again(intake, by=office, now=NOON)
    operations.read(intake.pk, now=NOON)
    intake.refresh_from_db()
    assert [row["row"] for row in intake.found["refused"]] == ["Boards, row 6"]


def test_a_row_that_the_record_refuses_undoes_all(yard, office) -> None:
    """The next number of an inspection can't be in the past of the report: refused by the operation, not by the check."""
    header = HEADER | {"next_due_on": "2024-01-01"}
    intake = read(yard, WRONG[:0] + workbook(OBSERVATION_HEADS, [1, "C2", "x"]), office, kind="report", header=header)
    before = rows()
    with recorded() as told:
        refusal(lambda: operations.take_in(intake, left_out={}, by=office, now=NOON))
    assert (told, rows()) == ([], before)


def test_circuits_for_a_board_on_record_are_added_to_it(yard, office) -> None:
    board = add_board(yard, id=new_id(), designation="Main intake", phases=THREE, by=office, now=NOON)
    add_circuit(board, id=new_id(), way=1, phase="3", by=office, now=NOON)
    intake = read(
        yard, workbook(CIRCUIT_HEADS, ["main intake", "1L1", "x", "B6"], ["main intake", "2L1", "y", "B6"]), office
    )
    operations.take_in(intake, left_out={"Sheet, row 2": "already there"}, by=office, now=NOON)
    assert list(board.circuits.values_list("way", "designation").order_by("way")) == [(1, ""), (2, "y")]


def test_length_and_breaking_capacity_are_taken_in(yard, office) -> None:
    add_board(yard, id=new_id(), designation="Main intake", phases=THREE, by=office, now=NOON)
    heads = [*CIRCUIT_HEADS, "Cable length (m)", "Icn (kA)"]
    intake = taken(yard, workbook(heads, ["Main intake", "1L1", "x", "B6", "18.5 m", 6]), office)
    [row] = intake.found["accepted"]
    assert "breaks 6 kA" in str(row)
    assert "18.5 m" in str(row)
    circuit = Circuit.objects.get()
    assert (str(circuit.length_m), str(circuit.breaking_capacity_ka)) == ("18.5", "6.0")


def test_an_alternative_feed_is_taken_in_as_such(yard, office) -> None:
    main = add_board(yard, id=new_id(), designation="Main intake", phases=THREE, by=office, now=NOON)
    add_circuit(main, id=new_id(), way=1, phase="L1", by=office, now=NOON)
    heads = [*BOARD_HEADS, "Other feed"]
    taken(yard, workbook(heads, ["Shed", "L1", "Main intake", "1L1", "supply"]), office)
    feeds = Feed.objects.filter(board__designation="Shed").order_by("kind")
    assert [(feed.kind, bool(feed.from_supply)) for feed in feeds] == [("alternative", True), ("normal", False)]


def test_a_file_set_aside_is_not_taken_in(yard, office) -> None:
    intake = read(yard, BOARDS, office)
    with recorded() as told:
        operations.set_aside(intake, by=office, now=NOON, reason="wrong site")
        operations.set_aside(intake, by=office, now=NOON)
    assert [(entry.verb, entry.words) for entry in told] == [("intake.set-aside", {"reason": "wrong site"})]
    assert "there is nothing to take in" in refusal(
        lambda: operations.take_in(intake, left_out={}, by=office, now=NOON)
    )
    assert "isn't read again" in refusal(lambda: operations.read_again(intake, by=office, now=NOON))


def test_a_file_taken_in_is_not_set_aside_or_read_again(yard, office) -> None:
    intake = taken(yard, BOARDS, office)
    assert refusal(lambda: operations.set_aside(intake, by=office, now=NOON)) == "This file is already taken in."
    assert "isn't read again" in refusal(lambda: operations.read_again(intake, by=office, now=NOON))


def test_the_worker_is_told_only_when_the_row_is_there(
    yard, office, django_capture_on_commit_callbacks, monkeypatch
) -> None:
    woken = []
    monkeypatch.setattr(tasks.read, "apply_async", lambda args, retry: woken.append((args, retry)))
    with django_capture_on_commit_callbacks(execute=True):
        intake = sent(yard, BOARDS, office)
        assert woken == []
    assert woken == [([str(intake.pk)], False)]


# --- a row that could be taken in is left out -------------------------------------------------------------------------

LOST = {"row": "Sheet, row 2", "reason": "It was taken out last year"}


def two_boards() -> bytes:
    heads = ("Board", "Phases", "Fed from", "From way", "Way", "Designation", "Device")
    rows = [
        ("Hall", "L1", "supply", "", 1, "Shed", "B32"),
        ("Shed", "L1", "Hall", "1", 1, "Lamp", "B6"),
        ("Porch", "L1", "supply", "", 1, "Bell", "B6"),
    ]
    return workbook(heads, *rows)


def refused_rows(intake) -> list[str]:
    return [row["row"] for row in intake.found["refused"]]


def test_leaving_a_row_out_refuses_what_needs_it_and_is_harmless_again(site, office) -> None:
    intake = read(site, two_boards(), office)
    with recorded() as told:
        for _ in range(2):
            intake = operations.leave_out(intake, **LOST, by=office, now=NOON)
    assert refused_rows(intake) == ["Sheet, row 2", "Sheet, row 3"]
    assert intake.found["refused"][1]["troubles"][0]["wrong"] == "needs Sheet, row 2, which can't be taken in."
    assert [(one.verb, one.words) for one in told] == [("intake.left-out", LOST)]
    taken_in = operations.take_in(intake, left_out={"Sheet, row 3": "Nor this"}, by=office, now=NOON)
    assert taken_in.left_out == {"Sheet, row 2": LOST["reason"], "Sheet, row 3": "Nor this"}
    assert [board.designation for board in site.boards.all()] == ["Porch"]


def test_a_row_left_out_is_put_back(site, office) -> None:
    intake = operations.leave_out(read(site, two_boards(), office), **LOST, by=office, now=NOON)
    with recorded() as told:
        for _ in range(2):
            intake = operations.put_back(intake, row=LOST["row"], by=office, now=NOON)
    assert (refused_rows(intake), intake.left_out) == ([], {})
    assert [one.verb for one in told] == ["intake.put-back"]


def test_a_row_left_out_holds_no_way(site, office) -> None:
    rows = [("Hall", "L1", "supply", "", 1, name, "B6") for name in ("Bell", "Lamp")]
    heads = ("Board", "Phases", "Fed from", "From way", "Way", "Designation", "Device")
    beside = read(site, workbook(heads, ("Hall", "L1", "supply", "", 9, "Oven", "B32"), *rows), office)
    assert refused_rows(beside) == ["Sheet, row 4"]
    assert refused_rows(operations.leave_out(beside, row="Sheet, row 3", reason="Old", by=office, now=NOON)) == [
        "Sheet, row 3"
    ]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [({"reason": " "}, "Say why this row is left out."), ({"row": "Sheet, row 99"}, "This row is not among those")],
)
def test_leaving_out_needs_a_row_and_a_reason(site, office, change, sentence) -> None:
    intake = read(site, two_boards(), office)
    assert refusal(lambda: operations.leave_out(intake, **LOST | change, by=office, now=NOON)).startswith(sentence)


def test_an_observation_is_left_out(yard, office) -> None:
    rows = [(1, "C1", "Live busbar"), (2, "C2", "No RCD")]
    data = workbook(("Item", "Code", "Observation"), *rows)
    intake = operations.leave_out(
        read(yard, data, office, kind="report"), row="Sheet, row 3", reason="Twice", by=office, now=NOON
    )
    assert (len(intake.found["accepted"]), refused_rows(intake)) == (1, ["Sheet, row 3"])
