"""Pages of getting in: what they say to whom, in how many statements, and what is refused."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from remedials.visits.models import AccessTime, AlarmCode, Attempt, CheckIn, ClosedDays, OccupierNote, SeeTo, SiteKey
from tests import factories as make
from tests.factories import NOON, TODAY

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
HOUR = timedelta(hours=1)


@pytest.fixture
def block(db):
    """A block with one flat."""
    site = make.make_site("Sample Court")
    make.make_unit(site, "Flat 1")
    return site


def at(name: str, row) -> str:
    return reverse(f"visits:{name}", args=[row.pk])


def read(client, where: str) -> str:
    response = client.get(where)
    assert response.status_code == 200, response.status_code
    return response.content.decode()


def mind(site, words: str = "Uses an oxygen machine"):
    return OccupierNote.objects.create(
        site=site,
        unit=make.unit_of(site),
        contact="Tina Tenant",
        phone="01632 960123",
        mind=words,
        loses_power_badly=True,
    )


# --- the page ---------------------------------------------------------------------------------------------------------


def test_an_empty_page_says_what_is_not_known(at_desk, site) -> None:
    said = read(at_desk, at("getting_in", site))
    for words in (
        "At any time, as far as is known.",
        "Nothing is noted. Ask all the same.",
        "None yet.",
        "We keep none.",
    ):
        assert words in said


def test_page_says_all_that_is_known(at_desk, site) -> None:
    make.make_access_time(site, note="ask at the lodge")
    make.make_closed_days(site, first=TODAY, last=TODAY + timedelta(days=2))
    make.make_see_to(site)
    make.make_key(site, "K7", place="board 2")
    make.make_code(site, "73559", place="Panel by the door")
    make.make_attempt(site, said="Left a card", next_on=TODAY + timedelta(days=1))
    mind(site)
    said = read(at_desk, at("getting_in", site))
    for words in (
        "09:00 to 12:00, ask at the lodge", "3 Feb 2026 to 5 Feb 2026: Term", "Ask for the asbestos register", "K7",
        "hangs at board 2", "Panel by the door", "Left a card", "Try again 4 Feb 2026", "Uses an oxygen machine",
        "Must not lose power",
    ):  # fmt: skip
        assert words in said
    assert "73559" not in said


def filled(site, many: int) -> None:
    for number in range(many):
        make.make_access_time(site)
        make.make_closed_days(site)
        make.make_see_to(site)
        make.make_key(site, f"K{site.number}-{number}")
        make.make_code(site)
        make.make_attempt(site)
        make.make_times_offer(site)


def test_page_takes_the_same_statements_for_much_as_for_little(at_desk, engineer) -> None:
    counts = []
    for many in (1, 12):
        site = make.make_site(f"Site {many}")
        filled(site, many)
        with CaptureQueriesContext(
            connection,
        ) as found:
            read(at_desk, at("getting_in", site))
        counts.append(len(found))
    assert counts[0] == counts[1] <= 20


# --- who sees what of people ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "sees"),
    [
        (NOON + timedelta(days=2), True),
        (NOON + timedelta(days=2, minutes=1), False),
        (NOON - timedelta(days=1, hours=2), True),
        (NOON - timedelta(days=1, hours=2, minutes=1), False),
    ],
)
def test_what_to_mind_is_shown_to_engineers_around_their_visit_only(on_site, engineer, site, start, sees) -> None:
    mind(site)
    visit = make.make_visit(site, engineers=[engineer], start=start)
    for where in (at("getting_in", site), at("visit", visit)):
        assert ("oxygen" in read(on_site, where)) is sees


def test_what_to_mind_is_not_shown_to_engineers_of_other_visits(on_site, other_engineer, site) -> None:
    mind(site)
    visit = make.make_visit(site, engineers=[other_engineer])
    assert "oxygen" not in read(on_site, at("getting_in", site)) + read(on_site, at("visit", visit))


def test_occupier_is_noted_and_a_change_meanwhile_is_shown(at_desk, block) -> None:
    unit = block.units.get(name="Flat 1")
    where = at("occupier", unit)
    assert at_desk.post(where, {"contact": "Tina", "mind": "Hard of hearing", "version": 0}).status_code == 302
    assert (note := OccupierNote.objects.get()).contact == "Tina"
    again = at_desk.post(where, {"contact": "Tom", "mind": "", "version": 0})
    assert again.status_code == 422
    assert OccupierNote.objects.get() == note
    entry = Entry.objects.get(verb="access.occupier")
    assert "hearing" not in str(entry.facts)


# --- forms ------------------------------------------------------------------------------------------------------------


def test_times_and_closed_days_are_added_and_taken_off(at_desk, block) -> None:
    unit = block.units.get(name="Flat 1")
    typed = {"id": new_id(), "unit": unit.pk, "weekdays": ["0", "4"], "start": "09:00", "end": "12:30", "note": ""}
    assert at_desk.post(at("access_time_new", block), typed).status_code == 302
    days = {"id": new_id(), "first": "3 Feb 2026", "last": "5 Feb 2026", "why": "Term"}
    assert at_desk.post(at("closed_days_new", block), days).status_code == 302
    row, closed = AccessTime.objects.get(), ClosedDays.objects.get()
    assert (row.weekdays, row.unit) == ([0, 4], unit)
    at_desk.post(at("access_time_remove", row))
    at_desk.post(at("closed_days_remove", closed))
    assert not AccessTime.objects.exists()
    assert not ClosedDays.objects.exists()


def test_bad_times_are_refused_with_what_was_typed(at_desk, site) -> None:
    typed = {"id": new_id(), "weekdays": ["0"], "start": "12:00", "end": "09:00", "note": "at the lodge"}
    response = at_desk.post(at("access_time_new", site), typed)
    assert response.status_code == 422
    assert "The time must end after it begins." in response.content.decode()
    assert "at the lodge" in response.content.decode()


def test_attempt_with_a_photo_is_logged_from_a_visit_and_answered_later(on_site, engineer, site) -> None:
    visit = make.make_visit(site, engineers=[engineer], start=NOON - HOUR)
    typed = {"id": new_id(), "how": "visit", "at": "2026-02-03T11:30", "whom": "Flat door", "said": "Left a card"}
    with make_file() as photo:
        where = f"{at('attempt_new', site)}?visit={visit.pk}"
        assert on_site.post(where, typed | {"photo": photo}).status_code == 302
    row = Attempt.objects.get()
    assert (row.visit, row.by, row.got_in, row.photo is not None) == (visit, engineer, False, True)
    assert on_site.get(at("attempt_photo", row))["Content-Type"] == "image/jpeg"
    on_site.post(at("attempt_reply", row), {"reply": "Monday is fine", "replied_on": "3 Feb 2026", "next_on": ""})
    again = on_site.post(at("attempt_reply", row), {"reply": "No", "replied_on": "3 Feb 2026", "next_on": ""})
    assert again.status_code == 422
    assert "Reply of 3 Feb 2026: Monday is fine" in read(on_site, at("getting_in", site))


def make_file():
    from io import BytesIO

    file = BytesIO(make.picture())
    file.name = "door.png"
    return file


def test_subcontractor_sees_no_attempts(client, subcontractor, site) -> None:
    make.grant_access(site, subcontractor)
    row = make.make_attempt(site, said="Left a card")
    client.force_login(subcontractor)
    assert "Left a card" not in read(client, at("getting_in", site))
    assert client.get(at("attempt_reply", row)).status_code == 404


# --- keys -------------------------------------------------------------------------------------------------------------


def test_key_goes_out_is_late_and_comes_in(at_desk, engineer, site) -> None:
    at_desk.post(
        at("key_new", site), {"id": new_id(), "tag": "K12", "what": "front door", "held_for": "", "place": "1"}
    )
    key = SiteKey.objects.get()
    typed = {"id": new_id(), "to": engineer.pk, "back_by": "4 Feb 2026", "note": ""}
    assert at_desk.post(at("key_out", key), typed).status_code == 302
    assert "out to Edwin Wireman, back by 4 Feb 2026" in read(at_desk, reverse("visits:keys_out"))
    SiteKey.objects.update(back_by=TODAY - timedelta(days=2))
    assert "2 days late" in read(at_desk, reverse("visits:keys_out"))
    at_desk.post(at("key_in", key), {"id": new_id(), "note": ""})
    assert "Every key is in." in read(at_desk, reverse("visits:keys_out"))
    at_desk.post(at("key_back", key), {"id": new_id(), "note": "to Petra"})
    said = read(at_desk, at("key", key))
    assert "given back for good" in said
    assert "to Petra" in said


def test_tag_that_tells_the_door_is_refused(at_desk, site) -> None:
    typed = {"id": new_id(), "tag": f"{site.name} front", "what": "front door"}
    response = at_desk.post(at("key_new", site), typed)
    assert (response.status_code, SiteKey.objects.count()) == (422, 0)


# --- codes ------------------------------------------------------------------------------------------------------------


def test_code_is_shown_by_a_post_to_the_booked_engineer_near_the_time(client, on_site, engineer, site) -> None:
    code = make.make_code(site, "83511")
    make.make_visit(site, engineers=[engineer], start=NOON + 2 * HOUR)
    assert "83511" not in read(on_site, at("code", code))
    response = on_site.post(at("code", code))
    assert "83511" in response.content.decode()
    assert "no-store" in response["Cache-Control"]
    assert Entry.objects.filter(verb="code.seen", subject=code.pk).count() == 1


@pytest.mark.parametrize("who", ["office", "other_engineer", "manager"])
def test_code_is_shown_to_nobody_else(client, request, engineer, site, who) -> None:
    code = make.make_code(site, "83511")
    make.make_visit(site, engineers=[engineer])
    client.force_login(request.getfixturevalue(who))
    response = client.post(at("code", code))
    assert response.status_code == 403
    assert "83511" not in response.content.decode()
    assert not Entry.objects.filter(verb="code.seen").exists()


def test_office_enters_and_erases_a_code(at_desk, site) -> None:
    response = at_desk.post(at("code_new", site), {"id": new_id(), "place": "Panel", "code": "83511"}, follow=True)
    assert "83511" not in response.content.decode()
    row = AlarmCode.objects.get()
    at_desk.post(at("code_retire", row))
    assert bytes(AlarmCode.objects.get().sealed) == b""


def test_planted_code_lies_readable_in_no_column_of_any_table(at_desk, site, engineer) -> None:
    """Every row of every table as text, after the code was entered and looked at."""
    at_desk.post(at("code_new", site), {"id": new_id(), "place": "Panel", "code": "Zq83511Zq"})
    make.make_visit(site, engineers=[engineer])
    at_desk.force_login(engineer)
    assert "Zq83511Zq" in at_desk.post(at("code", AlarmCode.objects.get())).content.decode()
    with connection.cursor() as cursor:
        cursor.execute("SELECT quote_ident(tablename) FROM pg_tables WHERE schemaname = 'public'")
        tables = [name for (name,) in cursor.fetchall()]
        assert "visits_alarmcode" in tables
        for table in tables:
            cursor.execute(f"SELECT t::text FROM {table} t")
            for (row,) in cursor.fetchall():
                assert "Zq83511Zq" not in row, table
                assert b"Zq83511Zq".hex() not in row, table


# --- to see to, working alone -----------------------------------------------------------------------------------------


def test_what_must_be_seen_to_is_noted_met_and_runs_out(at_desk, office, site) -> None:
    typed = {"id": new_id(), "kind": "permit", "what": "Roof permit", "owner": office.pk, "due": "10 Feb 2026"}
    assert at_desk.post(at("see_to_new", site), typed).status_code == 302
    row = SeeTo.objects.get()
    assert "Roof permit" in read(at_desk, reverse("visits:to_see_to"))
    met = {"met_on": "3 Feb 2026", "met_how": "Permit 7", "holds_until": "3 Feb 2026", "version": row.version}
    assert at_desk.post(at("see_to_met", row), met).status_code == 302
    assert "Roof permit" not in read(at_desk, reverse("visits:to_see_to"))
    SeeTo.objects.update(met_on=TODAY - timedelta(days=3), holds_until=TODAY - timedelta(days=1))
    said = read(at_desk, reverse("visits:to_see_to"))
    assert "It held until 2 Feb 2026." in said
    at_desk.post(at("see_to_drop", row), {"why": "No roof"})
    assert "Roof permit" not in read(at_desk, reverse("visits:to_see_to"))


def test_engineer_checks_in_stays_and_is_out(on_site, engineer, site) -> None:
    visit = make.make_visit(site, engineers=[engineer])
    assert "Working alone: check in" in read(on_site, at("visit", visit))
    key = new_id()
    for _ in range(2):
        assert on_site.post(at("check_in", visit), {"id": key, "out_by": "2026-02-03T14:00"}).status_code == 302
    assert "out by 14:00" in read(on_site, at("visit", visit))
    on_site.post(at("check_in", visit), {"id": new_id(), "out_by": "2026-02-03T15:00"})
    assert CheckIn.objects.get().out_by == NOON + 3 * HOUR
    for _ in range(2):
        on_site.post(at("check_out", visit))
    assert CheckIn.objects.get().out_at == NOON


def test_somebody_else_says_that_they_were_found_safe(at_desk, engineer, site) -> None:
    visit = make.make_visit(site, engineers=[engineer])
    row = make.make_check_in(visit, engineer)
    assert "They were found safe" in read(at_desk, at("visit", visit))
    assert at_desk.post(at("found_safe", row), {"how": ""}).status_code == 422
    at_desk.post(at("found_safe", row), {"how": "Rang them, all well"})
    row.refresh_from_db()
    assert (row.found_safe, row.out_at) == ("Rang them, all well", NOON)
