"""Whether a file is ours: by the command and by the page, for what was made, altered, received, made anew."""

import hashlib
import re
from datetime import timedelta
from html import unescape
from io import StringIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspections.operations import add_photo
from jobsite.ids import new_id
from jobsite.ledger.files import read_file
from jobsite.ledger.models import Entry, StoredFile
from remedials.status.facts import scope_at
from remedials.status.proof import views_check
from remedials.status.proof.checking import KINDS_WORDS, NOT_HERE, check_document, in_words
from remedials.status.proof.making import document_for
from remedials.visits.operations.letters import write_letter
from tests.factories import NOON, TODAY, anybody, make_observation, make_user
from tests.remedials.proven import picture, put_right, whole_site

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon", "firm")]


@pytest.fixture
def site():
    return whole_site()


def made_at(site, now=NOON, kind: str = "completion") -> bytes:
    return read_file(document_for(kind, scope_at(site.pk), by=anybody(), now=now).file)


def said_of(data: bytes) -> list[str]:
    return list(in_words(check_document([data])))


def test_what_we_made_is_ours_unaltered_and_the_ledger_holds(site):
    assert said_of(made_at(site)) == [
        "This is ours, unaltered to the last byte: Completion record: Heron Wharf, made 3 Feb 2026, 12:00.",
        "The ledger that tells of it was recomputed and holds.",
    ]


def test_the_mark_of_the_ledger_in_the_file_is_looked_for_in_it(site):
    made_at(site, kind="status")  # so that the chain has an entry, whose head the next one bears
    assert said_of(made_at(site))[-1] == (
        "The ledger that tells of it was recomputed and holds and the mark of the ledger that stands in the file was "
        "found in it."
    )


def test_a_newer_one_of_the_same_kind_is_named(site):
    first = made_at(site)
    put_right(site, "Another")
    second = made_at(site, NOON + timedelta(days=2))
    assert "A newer one of the same kind was made 5 Feb 2026, 12:00: ask us for it." in said_of(first)
    made_at(site, NOON + timedelta(days=3), kind="outstanding")
    assert len(said_of(second)) == 2


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.data())
def test_any_altered_byte_is_found(site, data):
    whole = made_at(site)
    at, to = data.draw(st.integers(0, len(whole) - 1)), data.draw(st.integers(0, 255))
    altered = whole[:at] + bytes([to]) + whole[at + 1 :]
    assert check_document([altered]).ours is (altered == whole)


def test_a_stranger_is_told_that_it_is_altered_or_not_ours():
    assert said_of(b"%PDF-1.7 something else")[0] == (
        "This file is altered, or not one that we made: these bytes are not on record with us."
    )


def test_an_altered_one_that_bears_our_mark_is_said_to_have_been_ours_perhaps(site):
    made_at(site, kind="status")
    said = said_of(made_at(site) + b"\n")
    assert said[0].startswith("This file is altered, or not one that we made")
    assert said[1].startswith("It bears a mark of our ledger, so it may have been one of ours")


def test_what_we_only_received_is_said_to_be_on_record_and_not_ours(site):
    by = make_user("Ed Engineer", "engineer")
    open_one = make_observation(site, "Another")
    photo = add_photo(open_one, data=picture("blue"), by=by, now=NOON)
    said = said_of(read_file(photo.file))
    assert len(said) == 1
    assert said[0].startswith(
        "We did not make this file, but just these bytes have been on record with us since 3 Feb 2026"
    )


def test_an_access_letter_is_known(site):
    by = anybody()
    made = write_letter(
        site, id=new_id(), which="first-letter", to="Tess Tenant", to_address="Flat 1", answer_by=TODAY + timedelta(days=9),
        sent="post", by=by, now=NOON,
    )  # fmt: skip
    assert said_of(read_file(made.letter))[0].startswith("This is ours, unaltered to the last byte: ")


def test_a_ledger_that_was_changed_is_said(site):
    pdf = made_at(site)
    with connection.cursor() as cursor:
        cursor.execute("ALTER TABLE ledger_entry DISABLE TRIGGER USER")
        cursor.execute("""UPDATE ledger_entry SET at = at + interval '1 hour'""")
        cursor.execute("ALTER TABLE ledger_entry ENABLE TRIGGER USER")
    last = said_of(pdf)[-1]
    assert last.startswith("But our ledger does not hold where it tells of it: do not rely on this answer")
    assert "entry 1 was changed" in last


def test_a_ledger_that_was_written_anew_is_found_by_the_mark_in_the_file(site):
    made_at(site, kind="status")
    pdf = made_at(site)
    with connection.cursor() as cursor:
        cursor.execute("ALTER TABLE ledger_entry DISABLE TRIGGER USER")
        cursor.execute("UPDATE ledger_entry SET hash = sha256(hash) WHERE number = 1")
        cursor.execute("ALTER TABLE ledger_entry ENABLE TRIGGER USER")
    assert "Its own mark ledger head" in said_of(pdf)[-1]


def made_on_days(site, days: int) -> list[bytes]:
    """So many documents, a day each, all told of in the site's chain."""
    return [made_at(site, NOON + timedelta(days=day)) for day in range(days)]


def number_of(data: bytes) -> int:
    return Entry.objects.get(facts__file=hashlib.sha256(data).hexdigest()).number


def change(site, number: int) -> None:
    """Somebody writes into the ledger past its guard."""
    with connection.cursor() as cursor:
        cursor.execute("ALTER TABLE ledger_entry DISABLE TRIGGER USER")
        cursor.execute("UPDATE ledger_entry SET verb = 'x' WHERE chain = %s AND number = %s", [site.pk, number])
        cursor.execute("ALTER TABLE ledger_entry ENABLE TRIGGER USER")


@pytest.mark.parametrize(("far", "found"), [(-2, False), (-1, True), (0, True), (1, True), (2, False)])
def test_of_a_long_chain_a_stretch_on_both_sides_is_looked_at(site, far, found):
    middle = made_on_days(site, 9)[4]
    at = number_of(middle)
    whole = check_document([middle], most=1)
    assert (whole.holds, whole.part) == (True, True)
    if far:
        change(site, at + far)
        assert check_document([middle], most=1).holds is not found
        assert not check_document([middle]).holds
        assert not check_document([middle], most=100).part


def test_of_a_long_chain_its_end_is_looked_at_too_and_that_is_said(site):
    first = made_on_days(site, 9)[0]
    assert list(in_words(check_document([first], most=2)))[-1].startswith(
        "The ledger was recomputed around what tells of it and at its end: it holds as far as it was looked at"
    )
    change(site, 9)
    assert not check_document([first], most=2).holds


def test_the_entries_that_are_read_for_one_file_are_bounded(site):
    first = made_on_days(site, 12)[0]
    with CaptureQueriesContext(connection) as told:
        check_document([first], most=2)
    read = [query["sql"] for query in told if "BETWEEN" in query["sql"]]
    assert len(read) == 2
    assert ["BETWEEN 1 AND 3" in read[0], "BETWEEN 11 AND 12" in read[1]] == [True, True]


def test_an_entry_that_was_put_after_the_end_is_no_proof(site):
    last = made_on_days(site, 2)[-1]
    with connection.cursor() as cursor:
        cursor.execute("ALTER TABLE ledger_chain DISABLE TRIGGER USER")
        cursor.execute("UPDATE ledger_chain SET length = length - 1 WHERE id = %s", [site.pk])
        cursor.execute("ALTER TABLE ledger_chain ENABLE TRIGGER USER")
    assert "stands after its end" in said_of(last)[-1]


def test_the_file_is_found_by_an_index(site):
    pdf = made_at(site)
    with CaptureQueriesContext(connection) as told:
        check_document([pdf])
    assert len(told) == 5
    with connection.cursor() as cursor:
        cursor.execute("SET enable_seqscan = off")
        cursor.execute(f"EXPLAIN {told[0]['sql']}")
        plan = " ".join(row[0] for row in cursor.fetchall())
        cursor.execute("SET enable_seqscan = on")
    assert "entry_by_file" in plan


# --- the command ------------------------------------------------------------------------------------------------------


def test_the_command_says_it_of_each_file(site, tmp_path):
    ours, other = tmp_path / "ours.pdf", tmp_path / "other.pdf"
    ours.write_bytes(made_at(site))
    other.write_bytes(b"%PDF")
    out = StringIO()
    call_command("check_document", str(ours), stdout=out)
    assert f"{ours} (SHA-256 {hashlib.sha256(ours.read_bytes()).hexdigest()})" in out.getvalue()
    assert "This is ours, unaltered to the last byte" in out.getvalue()
    with pytest.raises(CommandError, match="1 of 2 not confirmed"):
        call_command("check_document", str(ours), str(other), stdout=out)
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("check_document", str(tmp_path / "none.pdf"), stdout=out)


# --- the page ---------------------------------------------------------------------------------------------------------


def ask(client, data: bytes):
    return client.post("/check/", {"file": SimpleUploadedFile("x.pdf", data)})


def test_anybody_has_a_file_checked_and_nothing_of_it_is_kept(client, site):
    pdf = made_at(site)
    assert "Is this document ours?" in client.get("/check/").content.decode()
    files = StoredFile.objects.count()
    response = ask(client, pdf)
    assert response.status_code == 200
    assert "This is ours, unaltered to the last byte: Completion record: Heron Wharf" in response.content.decode()
    assert (response.cookies, response["Cache-Control"]) == ({}, "no-store")
    assert "altered, or not one that we made" in ask(client, pdf + b" ").content.decode()
    assert StoredFile.objects.count() == files


def test_the_page_says_which_kinds_it_knows_and_a_file_out_of_an_archive_is_not_called_altered_alone(client, site):
    page = client.get("/check/").content.decode()
    for kind in KINDS_WORDS:
        assert kind in page
    assert NOT_HERE in unescape(page)
    answer = unescape(ask(client, b"%PDF record.pdf out of an archive").content.decode())
    assert answer.count(NOT_HERE) == 2  # in the answer, and below
    assert unescape(ask(client, made_at(site)).content.decode()).count(NOT_HERE) == 1


def test_no_file_is_asked_for_in_place(client):
    response = client.post("/check/")
    assert (response.status_code, "Choose the file that you have." in response.content.decode()) == (422, True)


def test_a_file_larger_than_any_of_ours_is_not_read(client, monkeypatch):
    monkeypatch.setattr(views_check, "MOST_BYTES", 1000)
    response = ask(client, b"x" * 2000)
    assert (response.status_code, "larger than 25" in response.content.decode()) == (413, True)
    assert ask(client, b"x" * 200_000).status_code == 413


def test_whoever_checks_without_end_is_asked_to_wait(client, monkeypatch):
    monkeypatch.setattr(views_check, "CHECKS", views_check.Limit("check-test", each=2, together=100))
    assert [ask(client, b"x").status_code for _ in range(3)] == [200, 200, 429]
    assert int(ask(client, b"x")["Retry-After"]) > 0


def test_many_who_check_shut_the_page_for_nobody_else(client, site, monkeypatch):
    """In a rush less of the ledger is looked at for each."""
    old = made_on_days(site, 9)[0]
    monkeypatch.setattr(views_check, "CHECKS", views_check.Limit("check-many", each=2, together=None))
    monkeypatch.setattr(views_check, "RUSH", 6)
    monkeypatch.setattr(views_check, "FEW_ENTRIES", 1)
    said = []
    for address in range(1, 9):
        file = SimpleUploadedFile("x.pdf", old)
        response = client.post("/check/", {"file": file}, REMOTE_ADDR=f"192.0.2.{address}")
        assert response.status_code == 200
        said.append("as far as it was looked at" in response.content.decode())
    assert said == [False] * 6 + [True] * 2


def test_no_stranger_is_told_that_a_photograph_is_on_record(client, site):
    photo = add_photo(make_observation(site, "Another"), data=picture("blue"), by=make_user("Ed", "engineer"), now=NOON)
    page, other = (ask(client, data).content.decode() for data in (read_file(photo.file), read_file(photo.file) + b" "))
    assert "This file is altered, or not one that we made." in page
    assert "on record with us" not in page
    without = [re.sub("SHA-256 [0-9a-f]+", "", one) for one in (page, other)]
    assert without[0] == without[1]


def test_printed_attempts_are_known(client, site):
    client.force_login(make_user("Olive Deskworth", "office"))
    response = client.post(reverse("visits:evidence", args=[site.pk]), {"first": "2025-03-01", "last": "2026-02-03"})
    assert response["Content-Type"] == "application/pdf"
    assert said_of(response.content)[0].startswith(
        "This is ours, unaltered to the last byte: Attempts to get in: Heron"
    )
