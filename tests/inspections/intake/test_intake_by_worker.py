"""A long file is taken in by the worker: asked for, its progress seen meanwhile, once, whole, whatever breaks off."""

from datetime import timedelta

import pytest

from inspections.choices import IntakeState
from inspections.intake import operations, tasks
from inspections.intake.operations import by_worker
from inspections.models import Inspection, Intake, Observation
from jobsite.firm.models import Progress
from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from jobsite.premises.models import Board
from jobsite.premises.operations import add_board
from jobsite.refused import NotAllowed, Refused
from tests.at_once import at_once
from tests.factories import NOON, make_site, recorded, unit_of
from tests.inspections.intake.books import BOARD_HEADS, OBSERVATION_HEADS, workbook

BOARDS = workbook(BOARD_HEADS, *[(f"Shed {n}", "three phase", "supply", None) for n in range(1, 5)])
REPORT = workbook(OBSERVATION_HEADS, [1, "C2", "taken"], [2, "C9", "refused"], [3, "C3", "taken too"])
HEADER = {"inspected_on": "2025-02-03", "edition": "2018+A2:2022", "firm_name": "Sample Inspections"}


@pytest.fixture(autouse=True)
def _long(monkeypatch, now):
    """Two rows are a long file here."""
    monkeypatch.setattr("inspections.intake.views.looking_over.MOST_AT_DESK", 1)
    monkeypatch.setattr("jobsite.clock.now", lambda: now)


def read(site, by, data: bytes = BOARDS, kind: str = "boards") -> Intake:
    more = {"header": HEADER} if kind == "report" else {}
    more |= {"unit": unit_of(site), "by": by, "now": NOON}
    intake = operations.receive(site, id=new_id(), kind=kind, data=data, file_name="list.xlsx", **more)
    operations.read(intake.pk, now=NOON)
    return Intake.objects.select_related("site", "file").get(pk=intake.pk)


def yard():
    return make_site("Orrin Reach boatyard", phases=("L1", "L2", "L3"), kind="commercial", tenure="not-a-home")


def asked(site, by, *args, left_out=None) -> Intake:
    return operations.ask_to_take_in(read(site, by, *args), left_out=left_out or {}, by=by, now=NOON)


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


@pytest.mark.django_db
def test_it_is_asked_for_once_and_the_reasons_are_kept(office) -> None:
    intake = read(yard(), office, REPORT, "report")
    with pytest.raises(Refused, match="Say why Sheet, row 3, is left out"):
        operations.ask_to_take_in(intake, left_out={}, by=office, now=NOON)
    with recorded() as told:
        for _ in range(2):
            operations.ask_to_take_in(intake, left_out={"Sheet, row 3": "unreadable"}, by=office, now=NOON)
    assert [(entry.verb, entry.facts) for entry in told] == [("intake.asked", {"accepted": 2, "left_out": 1})]
    intake.refresh_from_db()
    assert (intake.state, intake.asked_by, intake.left_out) == ("taking-in", office, {"Sheet, row 3": "unreadable"})
    assert not Inspection.objects.exists()
    tasks.take_in(str(intake.pk))
    assert [o.text for o in Observation.objects.order_by("number")] == ["taken", "taken too"]


@pytest.mark.django_db
def test_an_engineer_asks_for_nothing_and_a_file_without_rows_is_refused(office, engineer) -> None:
    intake = read(yard(), office)
    with pytest.raises(NotAllowed):
        operations.ask_to_take_in(intake, left_out={}, by=engineer, now=NOON)
    empty = read(yard(), office, workbook(OBSERVATION_HEADS, [1, "C9", "x"]), "report")
    with pytest.raises(Refused, match="No row of this file"):
        operations.ask_to_take_in(empty, left_out={"Sheet, row 2": "no"}, by=office, now=NOON)


@pytest.mark.django_db
def test_while_it_is_taken_in_nothing_else_is_done_with_it(office) -> None:
    intake = asked(yard(), office)
    for change in (operations.set_aside, operations.read_again):
        with pytest.raises(Refused, match="being taken in"):
            change(intake, by=office, now=NOON)
    with pytest.raises(Refused, match="being taken in"):
        operations.put_right(intake, cells={}, reasons={}, by=office, now=NOON)


@pytest.mark.django_db
def test_what_stands_in_its_way_by_then_is_shown_where_it_is_looked_over(client, office) -> None:
    site = yard()
    intake = asked(site, office)
    add_board(site, id=new_id(), designation="Shed 3", phases=["L3"], by=office, now=NOON)
    with recorded() as told:
        operations.take_in_asked(intake.pk, now=NOON)
    intake.refresh_from_db()
    assert (intake.state, Board.objects.count()) == (IntakeState.READ, 1)
    assert [entry.verb for entry in told] == ["intake.not-taken-in"]
    client.force_login(office)
    shown = text_of(client.get(f"/intake/{intake.pk}/"))
    assert "<h2>Not taken in</h2><p>The site has changed since this file was read." in shown


@pytest.mark.django_db
def test_what_the_program_stumbles_over_is_not_tried_for_ever(office, monkeypatch) -> None:
    intake = asked(yard(), office)
    Intake.objects.filter(pk=intake.pk).update(kind="report", header={"inspected_on": "last week"})
    operations.take_in_asked(intake.pk, now=NOON)
    intake.refresh_from_db()
    assert (intake.state, intake.progress.sentence) == (IntakeState.READ, by_worker.STUMBLED)
    assert operations.take_in_asked(intake.pk, now=NOON) is None


@pytest.mark.django_db
def test_the_page_shows_how_far_it_has_come_and_goes_on_by_itself(client, office) -> None:
    site = yard()
    intake = read(site, office)
    client.force_login(office)
    here = f"/intake/{intake.pk}/"
    assert client.post(here).headers["Location"] == here
    assert not Board.objects.exists()
    shown = text_of(client.get(here))
    assert "<h1>Taking in list.xlsx</h1>" in shown
    assert "0 of 4 rows" in shown
    Progress.objects.filter(pk=intake.progress_id).update(done=3, sentence="Writing the rows.")
    polled = text_of(client.get(here, headers={"HX-Request": "true"}))
    assert ("3 of 4 rows" in polled, "Writing the rows." in polled) == (True, True)
    Progress.objects.filter(pk=intake.progress_id).update(changed_at=NOON - timedelta(seconds=30))
    assert "Take it in now" in text_of(client.get(here))
    assert client.post(f"{here}read/").headers["Location"] == here
    assert Board.objects.filter(site=site).count() == 4
    assert client.get(here, headers={"HX-Request": "true"}).headers["HX-Redirect"] == here


@pytest.mark.django_db(transaction=True)
def test_how_far_it_has_come_is_seen_before_it_ends(office) -> None:
    """Told by a connection of its own: the last that was told from inside the transaction stands there afterwards."""
    intake = asked(yard(), office)
    operations.take_in_asked(intake.pk, now=NOON)
    progress = Progress.objects.get(pk=intake.progress_id)
    assert (progress.state, progress.sentence, progress.done, progress.total) == (
        "running", "Writing the entries of the ledger.", 4, 4,
    )  # fmt: skip


@pytest.mark.django_db(transaction=True)
def test_broken_off_half_way_nothing_is_half_done_and_the_sweep_takes_it_in(office, monkeypatch) -> None:
    site = yard()
    intake = asked(site, office)
    entries = Entry.objects.count()

    def killed(*args, sentence, **fields) -> None:
        if sentence.startswith("Writing the entries"):
            raise KeyboardInterrupt  # as a process that is told to stop

    with monkeypatch.context() as patch:  # before anything was told: the broker's message is lost with the worker
        patch.setattr(by_worker, "note_progress_apart", killed)
        with pytest.raises(KeyboardInterrupt):
            operations.take_in_asked(intake.pk, now=NOON)
    intake.refresh_from_db()
    assert (intake.state, Board.objects.count(), Entry.objects.count()) == (IntakeState.TAKING_IN, 0, entries)
    assert operations.read_waiting(now=NOON + timedelta(seconds=30)) == 0
    assert operations.read_waiting(now=NOON + timedelta(seconds=90)) == 1
    intake.refresh_from_db()
    assert (intake.state, Board.objects.filter(site=site).count()) == (IntakeState.TAKEN_IN, 4)


@pytest.mark.django_db(transaction=True)
def test_two_workers_take_it_in_once(office) -> None:
    site = yard()
    intake = asked(site, office)
    take = lambda: operations.take_in_asked(intake.pk, now=NOON)  # noqa: E731 - the same twice
    at_once(take, take)
    assert Board.objects.filter(site=site).count() == 4
    assert Entry.objects.filter(verb="intake.taken-in").count() == 1


@pytest.mark.django_db(transaction=True)
def test_one_that_is_at_it_is_left_alone_until_it_has_been_silent_too_long(client, office) -> None:
    intake = asked(yard(), office)
    Progress.objects.filter(pk=intake.progress_id).update(state="running", sentence="Writing the rows.")
    assert operations.read_waiting(now=NOON + timedelta(minutes=5)) == 0
    client.force_login(office)
    assert "Take it in now" not in text_of(client.get(f"/intake/{intake.pk}/"))
    assert operations.read_waiting(now=NOON + timedelta(minutes=17)) == 1
    intake.refresh_from_db()
    assert intake.state == IntakeState.TAKEN_IN
