"""The archive of a site as of an instant: what it tells, what is in it, and that a stranger with Python finds any change."""

import hashlib
import json
import subprocess
import sys
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
import time_machine
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from inspections import operations as inspect
from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.models import Document, Entry
from jobsite.ledger.queries import faults, heads
from jobsite.ledger.rules import read_heads
from jobsite.messages.models import Message
from jobsite.premises import operations as premises
from jobsite.refused import NotAllowed, Refused
from remedials.status import facts, queries
from remedials.status.bundles import as_of, operations
from remedials.status.bundles.extract import extract_of
from remedials.status.bundles.operations_holds import lift_hold, place_hold
from remedials.status.bundles.rules import State, state_of
from remedials.status.models import Bundle
from remedials.works.models import Remedial
from tests.at_once import behind
from tests.factories import (
    NOON,
    make_site,
    recorded,
    unit_of,
)
from tests.remedials.played import HOUR, Played, stranger, unpacked
from tests.remedials.test_proof_completion import tagged

pytestmark = pytest.mark.django_db


@pytest.fixture
def played(db) -> Played:
    return Played()


def by_hand(files: dict[str, bytes]) -> list[str]:
    """The published method gone through by hand, sharing nothing with check.py or with our own code but hashlib and json."""
    wrong = []
    manifest = json.loads(files["manifest.json"])
    for name, said in manifest["files"].items():
        if hashlib.sha256(files.get(name, b"")).hexdigest() != said["sha256"]:
            wrong.append(name)
    last = {}
    facts_at = {}
    for line in files["ledger.jsonl"].decode().splitlines():
        entry = json.loads(line)
        said, previous = entry.pop("hash"), entry.pop("previous")
        if previous != last.get(entry["chain"], "00" * 32):
            wrong.append(f"order {entry['number']}")
        last[entry["chain"]] = said
        facts_at[entry["chain"], entry["number"]] = entry.get("facts", {})
        text = json.dumps(entry, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode("utf-8")
        if "facts" in entry and hashlib.sha256(bytes.fromhex(previous) + text).hexdigest() != said:
            wrong.append(f"entry {entry['number']}")
    return wrong


def test_a_stranger_checks_it_with_python_alone(played, tmp_path) -> None:
    data, fingerprint = as_of.archive(played.bundle(played.instants[-1]))
    files = unpacked(data, tmp_path)
    done = stranger(tmp_path, fingerprint)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Nothing was altered" in done.stdout
    assert fingerprint == hashlib.sha256(files["manifest.json"]).hexdigest()
    assert by_hand(files) == []


def test_the_heads_that_the_check_prints_are_those_of_the_ledger(played, tmp_path) -> None:
    """Whoever keeps a digest of ours compares its lines; `manage.py check_ledger` finds the same ones."""
    data, _ = as_of.archive(played.bundle(NOON + 50 * HOUR, now=NOON + 50 * HOUR))
    files = unpacked(data, tmp_path)
    told = stranger(tmp_path).stdout.splitlines()
    [head] = heads([played.site.pk])
    at = json.loads(files["ledger.jsonl"].splitlines()[-1])
    assert (at["number"], at["hash"]) == (head.number, head.hash)  # up to the entry that says who asked for it
    assert f"ledger head {played.site.pk} {at['number']} {at['hash']}" in told
    assert list(faults(read_heads([files["heads.txt"].decode()]))) == []


def test_the_same_record_makes_the_same_bytes(played) -> None:
    bundle = played.bundle(played.instants[-1])
    first = as_of.archive(bundle)
    with time_machine.travel(NOON + 400 * HOUR):
        assert as_of.archive(bundle) == first


def test_what_came_later_is_not_in_it(played, tmp_path) -> None:
    for instant in played.instants:
        data, _ = as_of.archive(played.bundle(instant))
        files = unpacked(data, tmp_path / str(instant.timestamp()))
        rows = [json.loads(line) for line in files["ledger.jsonl"].splitlines()]
        there = Entry.objects.filter(chain=played.site.pk, at__lte=instant).count()
        assert len(rows) == there
        assert max(row["at"] for row in rows if "at" in row) <= instant.isoformat(timespec="microseconds")
        later = {entry.pk for entry in Entry.objects.filter(chain=played.site.pk, at__gt=instant)}
        assert not any(str(key) in content.decode(errors="replace") for key in later for content in files.values())


def shown(state: State) -> list[tuple[int, str, bool, bool]]:
    return [(one.number, one.code, bool(one.ended), bool(one.held)) for one in state.on_record()]


def test_it_says_what_the_customers_page_said_at_each_instant(played) -> None:
    """The page as it was made from the rows then, against the ledger read today."""
    assert len(played.pages) == len(played.instants) > 9
    for instant, page in zip(played.instants, played.pages, strict=True):
        still = [one for one in state_of(extract_of(played.site, instant).told()).on_record() if not one.ended]
        assert page.open_count == len(still), instant
        assert sorted((item.number, item.text) for item in page.open) == sorted((one.number, one.text) for one in still)
        assert page.head.danger_now == any(one.code == "C1" and not one.held for one in still)
        for item in page.open:
            one = next(one for one in still if one.number == item.number)
            assert one.code in item.mark
            assert ("made safe" in item.mark) == bool(one.held)


def test_codes_and_what_was_made_safe_as_they_were(played) -> None:
    told = {instant: shown(state_of(extract_of(played.site, instant).told())) for instant in played.instants}
    numbers = [item.number for item in played.items]
    assert told[played.instants[0]] == []
    assert told[played.instants[1]] == []  # a draft that nobody issued
    assert told[played.instants[2]] == [(n, c, False, False) for n, c in zip(numbers, played.codes, strict=True)]
    assert told[played.instants[4]][0] == (numbers[0], "C1", False, True)
    assert told[played.instants[-2]][2] == (numbers[2], "C3", False, False)
    assert told[played.instants[-1]][2] == (numbers[2], "C2", False, False)


def test_works_stood_as_they_did(played) -> None:
    remedial = Remedial.objects.get()
    stages = [
        [str(job.stage) for job in state_of(extract_of(played.site, instant).told()).jobs.values()]
        for instant in played.instants
    ]
    assert stages[-4:] == [[], ["to-price"], ["declined"], ["declined"]]
    assert remedial.stage == "declined"


def test_the_record_tells_what_was_known_said_refused_and_who_was_competent(played, tmp_path) -> None:
    data, _ = as_of.archive(played.bundle(played.instants[-1]))
    text = unpacked(data, tmp_path)["record.txt"].decode()
    for words in (
        "3 items were recorded open: 1 C1, 2 C2.", "1 of them was made safe", "An item of code C1", "isolated and locked",
        "What was advised: Keep off", "refused by Petra", "declined by Petra", "Too dear", "Stage then: declined",
        "Quentin Prover", "Qualified person from 1 Jan 2025, without an end: held then. On what: Certificate 7",
    ):  # fmt: skip
        assert words in text, words


def test_a_decision_without_competence_on_record_is_named(tmp_path) -> None:
    """The ledger counts: somebody whose competence nobody had recorded by then is said to have had none."""
    played = Played(competent=False)
    data, _ = as_of.archive(played.bundle(played.instants[-1]))
    text = unpacked(data, tmp_path)["record.txt"].decode()
    assert "No competence was on record." in text
    assert "report issued on 3 Feb 2026" in text
    assert "not on record as qualified then" in text


@pytest.mark.django_db(transaction=True)
def test_who_waits_for_an_archive_that_another_worker_takes_does_not_make_it_too(played) -> None:
    """PostgreSQL reads a locked row again after waiting, and only that: the progress must be locked with the bundle."""
    bundle = played.bundle(NOON + 30 * HOUR)
    with transaction.atomic():
        assert operations._claimed(bundle.pk, clock.now()) == bundle
        other = behind(lambda: operations._claimed(bundle.pk, clock.now()))
    assert other.result(timeout=20) is None


def test_for_whom_and_why_the_firm_holds_its_record_stays_here(played, tmp_path) -> None:
    """Canaries: whoever gets an archive is often the other side."""
    hold = place_hold(
        played.site, id=new_id(), reason="Claim of Xenia Quarrel", by=played.manager, now=NOON + 20 * HOUR
    )
    played.bundle(played.instants[-1], reason="Counsel doubts our case", now=NOON + 21 * HOUR)
    lift_hold(hold, why="Settled without admission", by=played.manager, now=NOON + 22 * HOUR)
    data, _ = as_of.archive(played.bundle(NOON + 30 * HOUR))
    files = unpacked(data, tmp_path)
    for name, content in files.items():
        said = content.decode(errors="replace")
        assert not [word for word in ("Quarrel", "Counsel", "admission") if word in said], name
    verbs = [json.loads(line).get("verb") for line in files["ledger.jsonl"].splitlines()]
    assert {"hold.placed", "hold.lifted", "bundle.asked"} <= set(verbs)
    assert stranger(tmp_path).returncode == 0
    assert b"their prices" in files["READ-ME.txt"]


def test_how_to_get_in_and_how_to_reach_people_stay_here(played, tmp_path) -> None:
    """Canaries: access notes, e-mail addresses and telephone numbers are nowhere in an archive."""
    unit = played.unit
    inspect.report_defect(
        played.site,
        id=new_id(),
        unit=unit,
        text="It hums",
        reported_by="Tina, 01632 960 999",
        by=played.office,
        now=NOON + 20 * HOUR,
    )
    inspect.report_defect(
        played.site,
        id=new_id(),
        unit=unit,
        text="Write to tina@example.com",
        reported_by="Tina",
        by=played.office,
        now=NOON + 20 * HOUR,
    )
    data, _ = as_of.archive(played.bundle(NOON + 30 * HOUR))
    for name, content in unpacked(data, tmp_path).items():
        said = content.decode(errors="replace")
        assert "third pot" not in said, name
        assert "960 999" not in said, name
        assert "tina@" not in said, name
        assert played.site.customer.email not in said, name


def test_files_are_there_byte_for_byte_and_named_by_their_hash(played, tmp_path) -> None:
    data, _ = as_of.archive(played.bundle(played.instants[-1]))
    files = {name: content for name, content in unpacked(data, tmp_path).items() if name.startswith("files/")}
    assert len(files) == 2
    for name, content in files.items():
        assert hashlib.sha256(content).hexdigest() == Path(name).stem
        assert name.endswith(".jpg")


def test_the_pdf_shows_the_pictures_and_says_what_they_are(played, tmp_path) -> None:
    pdf = PdfReader(BytesIO(unpacked(as_of.archive(played.bundle(played.instants[-1]))[0], tmp_path)["record.pdf"]))
    assert len([image for page in pdf.pages for image in page.images]) == 1
    found = [element.get("/Alt") for element in tagged(pdf.trailer["/Root"]["/StructTreeRoot"])]
    assert "Observation 1001, as found" in found
    assert pdf.trailer["/Root"]["/Lang"] == "en-GB"


def test_a_site_that_was_recorded_twice_brings_its_own_chain(played, tmp_path) -> None:
    twin = make_site("Sample Barn again", customer=played.site.customer)
    inspect.report_defect(
        twin,
        id=new_id(),
        unit=unit_of(twin),
        text="Hot socket",
        reported_by="Tina",
        by=played.office,
        now=NOON + 20 * HOUR,
    )
    premises.merge_sites(twin, into=played.site, names={}, reason="Twice", by=played.office, now=NOON + 21 * HOUR)
    data, fingerprint = as_of.archive(played.bundle(NOON + 30 * HOUR))
    files = unpacked(data, tmp_path)
    done = stranger(tmp_path, fingerprint)
    assert done.returncode == 0, done.stdout
    chains = {json.loads(line)["chain"] for line in files["ledger.jsonl"].splitlines()}
    assert chains == {str(played.site.pk), str(twin.pk)}
    assert "Hot socket" in files["record.txt"].decode()
    assert "[B1" in files["record.txt"].decode()


# --- any change is found ----------------------------------------------------------------------------------------------


@pytest.fixture
def whole(played, tmp_path) -> tuple[dict[str, bytes], str, Path]:
    data, fingerprint = as_of.archive(played.bundle(played.instants[-1]))
    return unpacked(data, tmp_path / "whole"), fingerprint, tmp_path / "whole"


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True, database=None)
@given(data=st.data())
def test_any_byte_altered_in_any_file_is_found(whole, data) -> None:
    files, fingerprint, folder = whole
    name = data.draw(st.sampled_from(sorted(files)))
    at = data.draw(st.integers(0, len(files[name]) - 1)) if files[name] else 0
    change = data.draw(st.integers(1, 255))
    altered = bytearray(files[name] or b"\0")
    altered[at] ^= change if files[name] else 0
    (folder / name).write_bytes(altered)
    try:
        program = [sys.executable, "-I", "-S", str(folder / "check.py"), fingerprint]
        if name == "check.py":  # whoever reads METHOD.md can run the one they know, or compare its SHA-256
            assert hashlib.sha256(altered).hexdigest() != json.loads(files["manifest.json"])["files"][name]["sha256"]
        else:
            done = subprocess.run(program, capture_output=True, text=True, check=False, env={}, timeout=60)
            assert (done.returncode, done.stderr) == (1, ""), done.stdout
            assert f"{name}: missing or altered" in done.stdout or name == "manifest.json"
    finally:
        (folder / name).write_bytes(files[name])


@pytest.mark.parametrize("name", ["manifest.json", "words.jsonl", "ledger.jsonl"])
@pytest.mark.parametrize("spoiled", [b"{", b"\xff\xfe", b"[]", b"null\n", b'{"salt2": "00"}\n', b""])
def test_a_file_that_cannot_be_read_is_named_in_words(whole, name, spoiled) -> None:
    files, _, folder = whole
    (folder / name).write_bytes(spoiled)
    done = stranger(folder)
    assert (done.returncode, done.stderr) == (1, "")
    assert f"{name}: missing or altered" in done.stdout
    (folder / name).unlink()
    done = stranger(folder)
    assert (done.returncode, done.stderr) == (1, "")
    assert f"{name}: missing or altered" in done.stdout
    (folder / name).write_bytes(files[name])


def test_a_file_more_and_a_file_less_are_found(whole) -> None:
    files, fingerprint, folder = whole
    (folder / "files" / "more.jpg").write_bytes(b"x")
    assert "files/more.jpg: not in the manifest" in stranger(folder, fingerprint).stdout
    (folder / "files" / "more.jpg").unlink()
    gone = next(name for name in files if name.startswith("files/"))
    (folder / gone).unlink()
    assert f"{gone}: missing or altered" in stranger(folder, fingerprint).stdout


def test_a_ledger_written_anew_is_found_by_its_numbers(whole) -> None:
    """Somebody who alters an entry, its hash and the manifest as well: the next entry no longer follows, and the number differs."""
    files, fingerprint, folder = whole
    rows = [json.loads(line) for line in files["ledger.jsonl"].splitlines()]
    rows[3]["facts"] = {"code": "C3"}
    text = "".join(json.dumps(row, sort_keys=True, separators=(",", ":"), ensure_ascii=False) + "\n" for row in rows)
    (folder / "ledger.jsonl").write_text(text)
    manifest = json.loads(files["manifest.json"])
    manifest["files"]["ledger.jsonl"]["sha256"] = hashlib.sha256(text.encode()).hexdigest()
    (folder / "manifest.json").write_text(json.dumps(manifest))
    said = stranger(folder, fingerprint).stdout
    assert "manifest.json is not the one whose SHA-256 you gave" in said
    assert f"entry {rows[3]['number']}: was altered" in stranger(folder).stdout


# --- asked for, drawn, kept -------------------------------------------------------------------------------------------


def test_asking_leaves_an_entry_and_drawing_keeps_the_file(played, django_capture_on_commit_callbacks) -> None:
    key = new_id()
    with recorded() as told:
        bundle = played.bundle(played.instants[-1], id=key)
        assert played.bundle(played.instants[-1], id=key) == bundle  # the same form again
    assert [(one.verb, one.facts["kind"]) for one in told] == [("bundle.asked", "as-of")]
    with recorded() as told:
        operations.draw(bundle.pk, now=NOON + 100 * HOUR)
        operations.draw(bundle.pk, now=NOON + 101 * HOUR)
    assert [one.verb for one in told] == ["document.made"]
    document = Document.objects.get(pk=bundle.pk)
    bundle.refresh_from_db()
    assert (bundle.document, bundle.progress.state) == (document, "done")
    assert told[0].facts["file"] == document.file_id
    assert list(faults()) == []


def test_what_is_refused_says_where(played) -> None:
    with pytest.raises(Refused, match="still to come") as no:
        played.bundle(NOON + 200 * HOUR)
    assert no.value.field == "instant"
    with pytest.raises(Refused, match="Say whom it is for"):
        played.bundle(NOON, reason="  ")
    with pytest.raises(NotAllowed):
        played.bundle(NOON, by=played.engineer)
    assert not Bundle.objects.exists()


def test_one_that_failed_says_so_and_is_drawn_again(played, monkeypatch) -> None:
    bundle = played.bundle(played.instants[-1])
    monkeypatch.setattr("remedials.status.bundles.files.MOST_BYTES", 1)
    operations.draw(bundle.pk, now=NOON + 100 * HOUR)
    bundle.progress.refresh_from_db()
    assert (bundle.progress.state, "300 MB" in bundle.progress.sentence) == ("failed", True)
    assert operations.draw(bundle.pk, now=NOON + 100 * HOUR) is None  # not by itself
    monkeypatch.undo()
    operations.ask_again(bundle, by=played.office, now=NOON + 100 * HOUR)
    made = operations.draw(bundle.pk, now=NOON + 100 * HOUR)
    assert made is not None
    assert made.document is not None


def test_what_the_broker_forgot_is_drawn_by_the_clockwork(played) -> None:
    bundle = played.bundle(played.instants[-1])
    assert operations.draw_waiting(now=NOON + 99 * HOUR) == 0  # just asked for
    assert operations.draw_waiting(now=NOON + 100 * HOUR) == 1
    bundle.refresh_from_db()
    assert bundle.document is not None


def test_a_message_is_told_with_what_had_become_of_it_by_then(played, tmp_path) -> None:
    sent, back = NOON + 10 * HOUR, NOON + 20 * HOUR
    Message.objects.create(
        occasion="one", to_kind="customer", to_id=played.site.customer_id, address="petra@example.com", subject="About the barn",
        body="Dear Petra", state="returned", written_at=NOON + 9 * HOUR, next_try_at=NOON, settled_at=sent, returned_at=back,
        site=played.site.pk, why="By the office",
    )  # fmt: skip
    found = [
        next(line for line in unpacked(as_of.archive(played.bundle(at))[0], tmp_path / str(at.hour))["record.txt"].decode().splitlines() if "Written" in line)
        for at in (sent - timedelta(minutes=5), sent, back)
    ]  # fmt: skip
    assert ["waiting to be sent" in found[0], "; sent," in found[1], "came back" in found[2]] == [True] * 3


def test_a_record_too_long_to_be_set_goes_without_its_pdf(played, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("jobsite.documents.SECONDS", 0.01)  # the compiler is given no time
    data, fingerprint = as_of.archive(played.bundle(played.instants[-1]))
    files = unpacked(data, tmp_path)
    assert "record.pdf" not in files
    assert "3 items were recorded open" in files["record.txt"].decode()
    assert stranger(tmp_path, fingerprint).returncode == 0


def test_a_large_site_costs_no_more_statements(played) -> None:
    def cost() -> int:
        bundle = played.bundle(NOON + 98 * HOUR)
        with CaptureQueriesContext(connection) as told:
            as_of.archive(bundle)
        return len(told)

    few = cost()
    for n in range(30):
        inspect.report_defect(
            played.site,
            id=new_id(),
            unit=played.unit,
            text=f"Defect {n}",
            reported_by="Tina",
            by=played.office,
            now=NOON + 30 * HOUR,
        )
    assert (few, cost()) == (11, 11)


def test_the_customers_page_of_now_says_the_same_as_an_archive_of_now(played) -> None:
    """Counted apart: the page reads rows, the archive reads entries."""
    now = NOON + 98 * HOUR
    scope = facts.scope_at(played.site.pk)
    assert scope is not None
    page = queries.status_in(scope, now=now)
    state = state_of(extract_of(played.site, now).told())
    assert page.open_count == sum(not one.ended for one in state.on_record()) == 3
