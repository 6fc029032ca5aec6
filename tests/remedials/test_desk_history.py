"""The history of a site: its ledger in plain words, and as a file that proves itself later."""

from datetime import timedelta

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.db import connection
from django.urls import reverse

from inspections.operations import report_defect
from inspections.verbs import Verb
from jobsite.ids import new_id
from jobsite.ledger.actor import CLOCK
from jobsite.ledger.models import Entry
from jobsite.ledger.operations import operation, record
from jobsite.ledger.queries import heads
from jobsite.ledger.rules import read_heads
from jobsite.messages.models import Message
from remedials.status.record.history import facts_in_words, verbs
from remedials.status.record.subjects import KINDS, named
from tests.factories import NOON, TODAY, grant_access, make_link, make_observation, make_site, unit_of
from tests.remedials.desk import hrefs, read, statements, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


def page(site, name: str = "history") -> str:
    return reverse(f"desk:{name}", args=[site.pk])


@operation
def tell(site, subject, *, by, now=NOON, verb=Verb.REVIEWED, facts=None, words=None):
    """An entry of `site` as an operation leaves it."""
    record(verb, site=site.pk, subject=subject, by=by, now=now, facts=facts, words=words)


def ring(site, by, text: str = "The urn trips everything", now=NOON):
    return report_defect(site, id=new_id(), unit=unit_of(site), text=text, reported_by="the caretaker", by=by, now=now)


def message_about(site, by):
    return Message.objects.create(
        occasion=f"test {new_id()}", to_kind="staff", to_id=by.pk, address=by.email, subject="Danger present", body="…",
        site=site.pk, state="sent", written_at=NOON, next_try_at=NOON, settled_at=NOON,
    )  # fmt: skip


# --- words ------------------------------------------------------------------------------------------------------------


def test_an_entry_in_plain_words(at_desk, site, office):
    seen = ring(site, office)
    response = at_desk.get(page(site))
    words = text_of(response)
    assert (
        f"3 Feb 2026 12:00 defect reported : observation {seen.number}: The urn trips everything Olive Deskworth"
        in words
    )
    assert "reported by: the caretaker" in words
    assert reverse("desk:observation", args=[seen.pk]) in hrefs(response)


def test_newest_first_under_its_day(at_desk, site, office):
    for days in (0, 1, 1):
        ring(site, office, f"day {days}", NOON + timedelta(days=days))
    rows = at_desk.get(page(site)).context["rows"]
    assert [(row["heading"], row["number"]) for row in rows] == [("4 Feb 2026", "3"), ("", "2"), ("3 Feb 2026", "1")]


def test_the_page_and_the_file_tell_in_the_order_of_the_chain(at_desk, site, office):
    """Two at the same time: the one whose clock was a moment earlier came second into the chain."""
    for seconds in (5, 3, 8):
        ring(site, office, f"at {seconds}", NOON + timedelta(seconds=seconds))
    rows = at_desk.get(page(site)).context["rows"]
    assert [row["number"] for row in rows] == ["3", "2", "1"]
    text = at_desk.get(page(site, "history_text")).content.decode()
    told = [line.rpartition(": ")[2] for line in text.splitlines() if line[:2] in {"1.", "2.", "3."}]
    assert told == ["at 5)", "at 3)", "at 8)"]
    assert [row["subject"].rpartition(": ")[2] for row in rows] == ["at 8", "at 3", "at 5"]


def test_who_did_it_person_clock_and_link(at_desk, site, office):
    seen = make_observation(site, by=office)
    link, _ = make_link(site, by=office, sent_to="Petra")
    for by in (office, CLOCK, link):
        tell(site, seen, by=by)
    rows = at_desk.get(page(site)).context["rows"]
    assert [row["who"] for row in rows] == ["private link sent to Petra", "the clock", "Olive Deskworth"]


def test_a_message_of_the_site_stands_in_its_history(at_desk, site, office):
    tell(site, message_about(site, office), by=CLOCK, verb="message.sent", facts={"to": str(office.pk)})
    assert "message sent : Danger present, to olive@example.com the clock" in read(at_desk, page(site))


def test_what_is_gone_is_still_told(at_desk, site, office):
    seen = make_observation(site, by=office)
    tell(site, seen, by=office, verb=Verb.DROPPED)
    seen.delete()
    assert "observation dropped before issue : observation Olive Deskworth" in read(at_desk, page(site))


def test_every_verb_of_every_app_has_its_words():
    """The words come from the apps' own lists; none is left to be shown raw."""
    for verb in ("site.opened", "inspection.issued", "remedial.closed", "visit.booked", "message.sent"):
        assert verbs()[verb] != verb
    assert all(words and not words[0].isupper() for words in verbs().values())


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"code": "C2", "code_before": "C3"}, "code C2, code before C3"),
        ({"remedy_by": "2026-03-02", "owner": str(new_id())}, "remedy by 2 Mar 2026"),
        ({"start": "2026-02-05T12:00:00+00:00"}, "start 5 Feb 2026, 12:00"),
        ({"file": "0" * 64, "text_digest": "1" * 64, "number": 12, "units": [str(new_id())]}, ""),
        ({"next_due": [f"{new_id()}:2027-03-01"], "ways": ["1L1", "2L1"]}, "next due 1 Mar 2027, ways 1L1, 2L1"),
        ({"verified": True, "spare": False, "minutes": 90, "none": None}, "minutes 90, verified yes"),
    ],
)
def test_facts_that_a_person_can_read(facts, words):
    assert facts_in_words(facts) == words


# --- the page ---------------------------------------------------------------------------------------------------------


def test_pages_by_the_last_entry_seen(at_desk, site, office):
    seen = make_observation(site, by=office)
    for n in range(60):
        tell(site, seen, by=office, words={"reason": f"time {n}"})
    response = at_desk.get(page(site))
    (onward,) = [href for href in hrefs(response) if "after=" in href]
    first, second = (r.context["rows"] for r in (response, at_desk.get(onward)))
    assert [int(row["number"]) for row in [*first, *second]] == list(range(60, 0, -1))


def test_another_sites_entries_are_not_told(at_desk, site, office):
    ring(make_site("Elsewhere"), office, "not here")
    assert "Nothing has been recorded yet." in read(at_desk, page(site))


@pytest.mark.parametrize("name", ["history", "history_text"])
def test_not_yours_is_not_there(client, site, subcontractor, name):
    client.force_login(subcontractor)
    assert client.get(page(site, name)).status_code == 404
    grant_access(site, subcontractor)
    assert client.get(page(site, name)).status_code == 200


@pytest.mark.parametrize("size", [1, 10])
def test_the_page_costs_ten_statements_at_any_size(at_desk, site, office, size):
    """Session, person, when the reminders ran, the site, what it took over, entries, words, people, links, their subjects."""
    link, _ = make_link(site, by=office)
    for _ in range(size):
        ring(site, office)
        tell(site, make_observation(site, by=office), by=link)
        tell(site, message_about(site, office), by=CLOCK, verb="message.sent")
    with statements() as sql:
        at_desk.get(page(site))
    assert len(sql) == 10


# --- the file ---------------------------------------------------------------------------------------------------------


@pytest.fixture
def taken_away(at_desk, site, office, tmp_path):
    """The history of three entries as a file that left the service."""
    for n in range(3):
        ring(site, office, f"call {n}")
    response = at_desk.get(page(site, "history_text"))
    file = tmp_path / "history.txt"
    file.write_bytes(response.content)
    assert response["Content-Type"] == "text/plain; charset=utf-8"
    return file


def test_the_file_tells_all_oldest_first_and_ends_with_the_head(taken_away, site):
    lines = taken_away.read_text().splitlines()
    assert lines[0] == f"History of Sample House, site {site.number}"
    told = [line for line in lines if line[:2] in {"1.", "2.", "3."}]
    assert [line.rpartition(": ")[2] for line in told] == ["call 0)", "call 1)", "call 2)"]
    assert read_heads([lines[-1]]) == heads([site.pk])


def test_the_file_proves_the_ledger(taken_away, site, office, capsys):
    ring(site, office, "later")
    call_command("check_ledger", str(taken_away))
    assert "1 kept heads found" in capsys.readouterr().out


def test_the_file_finds_out_a_cut_tail(taken_away, site, capsys):
    with connection.cursor() as cursor:
        cursor.execute("ALTER TABLE ledger_entry DISABLE TRIGGER USER")
        cursor.execute("DELETE FROM ledger_entry WHERE chain = %s AND number = 3", [site.pk])
        cursor.execute("ALTER TABLE ledger_entry ENABLE TRIGGER USER")
        last = Entry.objects.get(chain=site.pk, number=2)
        cursor.execute("UPDATE ledger_chain SET length = 2, head = %s WHERE id = %s", [bytes(last.hash), site.pk])
    call_command("check_ledger")
    with pytest.raises(CommandError, match="The ledger does not hold"):
        call_command("check_ledger", str(taken_away))
    assert "entry 3 was kept as a head outside, but is gone" in capsys.readouterr().err


def test_a_site_without_entries_has_a_file_without_a_head(at_desk, site):
    text = at_desk.get(page(site, "history_text")).content.decode()
    assert text.endswith("Nothing has been recorded yet.\n")
    assert read_heads([text]) == []


def test_the_day_of_the_file_is_said(at_desk, site):
    assert f"Written {TODAY.day} Feb 2026, 12:00." in at_desk.get(page(site, "history_text")).content.decode()


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_subject_can_be_named(db, kind):
    """No alias of the statement meets a column of the model."""
    assert named([(kind, new_id())]) == {}
