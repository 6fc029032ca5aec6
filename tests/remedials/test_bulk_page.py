"""The manager's page: shown once more who they are, asked for, made by the worker, carried away, gone; each in the ledger."""

import io
import json
from datetime import timedelta
from zipfile import ZipFile

import pytest
from django.core.files.storage import default_storage
from django.urls import reverse
from openpyxl import load_workbook
from openpyxl.utils.escape import unescape

from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from jobsite.people.models import User
from jobsite.refused import NotAllowed, Refused
from remedials.desk.bulk import operations
from remedials.desk.bulk.kinds import BOOKS
from remedials.desk.bulk.workbooks import LONGEST
from remedials.desk.models import TakeOut
from tests.factories import NOON, make_board, make_circuit, make_observation, make_site, make_take_out, make_user
from tests.remedials.bulk_rows import ODD

PASSWORD = "copper and brass 48"
PAGE = "/take-out/"


@pytest.fixture
def manager(transactional_db) -> User:
    user = make_user("Mabel Ledgerton", "manager", email="mabel@example.com")
    user.set_password(PASSWORD)
    user.save()
    return user


@pytest.fixture
def signed_in(client, manager):
    client.force_login(manager)
    return client


def sure(client) -> None:
    """Shows once more who they are."""
    answer = client.post(reverse("account_reauthenticate"), {"password": PASSWORD, "next": PAGE})
    assert (answer.status_code, answer.headers["Location"]) == (302, PAGE)


def told() -> list[tuple[str, dict]]:
    found = Entry.objects.filter(verb__startswith="take-out.").order_by("number")
    return [(entry.verb, entry.facts) for entry in found]


def ask(client, kind: str, id=None):
    return client.post(PAGE, {"id": id or new_id(), "kind": kind})


def test_an_archive_from_the_page_to_the_disk(signed_in, manager):
    make_site("Willow Court")
    assert "Show once more that it is you" in ask(signed_in, "archive").text
    assert (TakeOut.objects.count(), told()) == (0, [])
    sure(signed_in)
    key = new_id()
    for _ in range(2):
        assert ask(signed_in, "archive", key).headers["Location"] == PAGE
    assert told() == [("take-out.asked", {"kind": "archive"})]
    assert "Waiting for the worker." in signed_in.get(PAGE).text
    operations.make(key, now=clock.now())
    row = TakeOut.objects.get()
    facts = {"kind": "archive", "fingerprint": row.fingerprint}
    assert told()[1:] == [("take-out.made", facts | {"rows": row.rows, "secrets": False})]
    assert row.fingerprint in signed_in.get(PAGE).text
    answer = signed_in.post(f"{PAGE}{row.pk}/file/")
    data = b"".join(answer.streaming_content)
    assert answer.headers["Cache-Control"] == "private, no-store"
    assert answer.headers["Content-Disposition"].startswith('attachment; filename="archive-')
    assert len(data) == row.size
    with ZipFile(io.BytesIO(data)) as archive:
        said = json.loads(archive.read("manifest.json"))
        lines = archive.read("tables/premises_site.jsonl").decode().splitlines()
    assert (said["secrets"], [json.loads(line)["name"] for line in lines]) == (False, ["Willow Court"])
    assert told()[2:] == [("take-out.taken", facts)]
    assert "Removed from here." in signed_in.post(f"{PAGE}{row.pk}/drop/", follow=True).text
    assert told()[3:] == [("take-out.gone", {})]
    assert not default_storage.exists(operations.path_of(row))
    assert "This was removed from here." in signed_in.post(f"{PAGE}{row.pk}/file/").text


def test_without_being_sure_nothing_is_carried_away(signed_in):
    row = make_take_out()
    answer = signed_in.post(f"{PAGE}{row.pk}/file/")
    assert (answer.status_code, told()) == (422, [])
    assert "Show once more that it is you" in answer.text
    assert "Carry it away" not in signed_in.get(PAGE).text


def test_who_may_not(signed_in, manager):
    other = make_user("Sid Lent", "manager", subcontractor=True)
    row = make_take_out()
    for by in (other, make_user("Olga Office", "office")):
        with pytest.raises(NotAllowed):
            operations.ask_for_take_out(id=new_id(), kind="archive", by=by, now=NOON)
        with pytest.raises(NotAllowed):
            operations.carry_away(row, by=by, now=NOON)
    assert told() == []


def test_one_at_a_time(manager):
    operations.ask_for_take_out(id=new_id(), kind="archive", by=manager, now=NOON)
    with pytest.raises(Refused, match="Another is being made"):
        operations.ask_for_take_out(id=new_id(), kind="workbooks", by=manager, now=NOON)
    assert told() == [("take-out.asked", {"kind": "archive"})]


def test_a_lost_message_is_made_good_and_old_files_go(manager):
    old = make_take_out(made_at=NOON - timedelta(days=8))
    operations.ask_for_take_out(id=new_id(), kind="archive", by=manager, now=NOON)
    assert operations.make_waiting(now=NOON + timedelta(seconds=30)) == 0
    assert operations.make_waiting(now=NOON + timedelta(minutes=2)) == 1
    assert [verb for verb, _ in told()] == ["take-out.asked", "take-out.gone", "take-out.made"]
    assert not default_storage.exists(operations.path_of(old))
    assert TakeOut.objects.filter(gone_at=None).count() == 1


def sheets(data: bytes) -> dict[str, list[dict[str, object]]]:
    """What a program that reads workbooks finds, by sheet: each row by its heads."""
    found = {}
    with ZipFile(io.BytesIO(data)) as archive:
        for name in archive.namelist():
            book = load_workbook(io.BytesIO(archive.read(name)), read_only=True)
            for sheet in book.worksheets:
                heads, *rows = sheet.iter_rows(values_only=True)
                found[f"{name}/{sheet.title}"] = [dict(zip(heads, row, strict=True)) for row in rows]
            book.close()
    return found


def test_workbooks_have_a_sheet_for_each_kind_in_words(manager, tmp_path):
    odd = make_site("=1+1", address=ODD, access_notes="x" * (LONGEST + 1))
    circuit = make_circuit(make_board(odd), device_type="B", rating_a="32.0")
    make_observation(odd, code="C1")
    with (tmp_path / "books.zip").open("w+b") as file:
        operations.write_workbooks(file, now=NOON)
    found = sheets((tmp_path / "books.zip").read_bytes())
    assert [name for name, rows in found.items() if not rows] == [], "no empty sheets"
    contents = {name: found[f"{name}.xlsx/Contents"] for name in BOOKS}
    for book, names in BOOKS.items():
        mine = [name.partition("/")[2] for name in found if name.startswith(f"{book}.xlsx/")]
        told = {row["Sheet"]: row["Rows"] for row in contents[book]}
        assert list(told) == [*names.values(), "Columns"]
        full = [sheet for sheet in names.values() if told[sheet] != "none: no sheet"]
        assert mine == ["Contents", *full, "Columns"]
        assert {sheet: told[sheet] for sheet in full} == {s: len(found[f"{book}.xlsx/{s}"]) for s in full}
    assert "A person or an organisation" in contents["Premises"][0]["What it holds"]
    fields = {(row["Sheet"], row["Column"]): row["Field"] for row in found["Inspections.xlsx/Columns"]}
    assert fields["Observations", "Code in force"] == "inspections.Observation.code"
    (site,) = found["Premises.xlsx/Sites"]
    assert (site["Name"], unescape(site["Address"]), site["Number"]) == ("=1+1", ODD, odd.number)
    assert len(site["Access notes"]) == LONGEST
    assert site["Access notes"].endswith("The archive for programs has all of it.)")
    row = next(row for row in found["Premises.xlsx/Circuits"] if row["Key"] == str(circuit.pk))
    assert (row["Site"], row["Board"], row["Rating (A)"]) == (f"{odd.number} =1+1", "Board 1", 32)
    (seen,) = found["Inspections.xlsx/Observations"]
    assert seen["Code in force"] == "C1: danger present", "whoever filters asks for C1"
    (person,) = [row for row in found["Firm and people.xlsx/People"] if row["E-mail"] == "mabel@example.com"]
    assert (person["Name"], "Password" in person) == ("Mabel Ledgerton", False)


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_asks_no_more_for_more_rows(signed_in, django_assert_num_queries, count):
    for _ in range(count):
        make_take_out()
    signed_in.get(PAGE)
    with django_assert_num_queries(7):
        signed_in.get(PAGE)
