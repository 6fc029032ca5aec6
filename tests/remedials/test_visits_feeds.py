"""Calendar feeds, read back by a reader of our own written from the grammar of RFC 5545, and by a general-purpose library.

The worked examples of RFC 5545 are in tests/outside/test_calendar.py.
"""

import logging
from datetime import UTC, datetime, timedelta
from hashlib import sha256

import pytest
import vobject
from django.db import connection

from jobsite.ids import new_id
from jobsite.people.operations import edit_person, person_left, person_returned
from jobsite.refused import NotAllowed, Refused
from remedials.visits.models import Attendance, Feed, VisitMove
from remedials.visits.operations import cancel_visit, make_feed, withdraw_feed
from remedials.visits.queries import feed_file
from tests import ical
from tests.factories import NOON, anybody, make_item, make_site, make_user, recorded
from tests.remedials.desk import read as words_of
from tests.remedials.desk import statements
from tests.remedials.test_visits_operations import HOUR, MORNING
from tests.remedials.test_visits_operations import book as booked
from tests.remedials.work import on_the_way

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock_at_noon(at_noon):
    """The pages' clock stands."""


def book(remedial, engineer, **more):
    """A visit that nobody need confirm, at whatever hour the test wants it."""
    return booked(remedial, engineer, **{"confirm": False, "despite": "agreed so"} | more)


def a_feed(user, by=None):
    return make_feed(user=user, id=new_id(), by=by or anybody("office"), now=NOON)


def fetch(client, token, **headers):
    return type(client)().get(f"/calendar/{token}.ics", headers=headers)


def events_of(client, token):
    answer = fetch(client, token)
    assert answer.status_code == 200
    return ical.events(ical.read(answer.content))


# --- what stands in it ------------------------------------------------------------------------------------------------


def test_a_visit_as_the_phone_reads_it(client, office, engineer, settings) -> None:
    settings.SITE_ADDRESS = "https://jobs.example"
    site = make_site("Müller, Sons; Co", latitude="50.12345", longitude="-4.5", access_notes="Gate 4711")
    remedial = on_the_way("C1", site=site, work="Fit a cover\nand more", power_off=True)
    make_item(remedial, "Cover", cost_each="91.27")
    outage = {"access": "Key at the lodge,\nring first", "outage": "Ring 1; nothing else"}
    visit = book(remedial, engineer, by=office, **outage)
    _, token = a_feed(engineer)
    answer = fetch(client, token)
    whole = ical.read(answer.content)
    (event,) = ical.events(whole)
    zones = ical.zones_of(whole)
    assert event.text("UID") == f"{visit.pk}@jobs.example"
    assert (event.raw("STATUS"), event.raw("SEQUENCE")) == ("CONFIRMED", "1")
    assert (event.moment("DTSTART", zones), event.moment("DTEND", zones)) == (visit.start, visit.end)
    assert ("DTSTART", {"TZID": "Europe/London"}, "20260204T090000") in event.lines
    assert event.raw("DTSTAMP") == event.raw("LAST-MODIFIED") == "20260203T120000Z"
    assert event.text("SUMMARY") == "Müller, Sons; Co"
    assert event.text("LOCATION") == "1 Sample Street, Sampleton, QX1 2AB"
    assert event.raw("GEO") == "50.12345;-4.5"
    assert event.raw("URL") == f"https://jobs.example/visits/{visit.pk}/"
    assert event.text("DESCRIPTION").split("\n") == [
        f"Remedial {remedial.number}: Fit a cover. Power must go off.",
        "Access: Key at the lodge,",
        "ring first.",
        "Goes off: Ring 1; nothing else.",
    ]
    head = {name: value for name, _, value in whole.lines}
    assert (head["NAME"], head["REFRESH-INTERVAL"], "METHOD" in head) == (f"Visits of {engineer}", "PT1H", False)
    assert ("REFRESH-INTERVAL", {"VALUE": "DURATION"}, "PT1H") in whole.lines  # RFC 7986, 5.7: the parameter is a must
    said = answer.content.decode()
    for secret in ("91.27", "4711", "petra@example.com", "01632", engineer.email, "ATTENDEE", "ORGANIZER"):
        assert secret not in said


def test_a_general_reader_reads_the_same(client, office, engineer) -> None:
    visit = book(on_the_way(site=make_site("Żółw, 1; \\ Hof " * 9)), engineer, by=office)
    _, token = a_feed(engineer)
    (event,) = vobject.readOne(fetch(client, token).content.decode()).vevent_list
    assert (event.dtstart.value, event.dtend.value) == (visit.start, visit.end)
    assert event.summary.value == visit.site.name
    assert event.uid.value.startswith(str(visit.pk))


@pytest.mark.parametrize(
    ("start", "written"),
    [
        (datetime(2026, 3, 28, 23, 30, tzinfo=UTC), "20260328T233000"),
        (datetime(2026, 3, 29, 0, 30, tzinfo=UTC), "20260329T003000"),
        (datetime(2026, 3, 29, 1, 0, tzinfo=UTC), "20260329T020000"),
        (datetime(2026, 3, 29, 8, 0, tzinfo=UTC), "20260329T090000"),
        (datetime(2025, 12, 10, 9, 0, tzinfo=UTC), "20251210T090000"),
        (datetime(2026, 7, 1, 8, 0, tzinfo=UTC), "20260701T090000"),
    ],
)
def test_beside_and_across_the_change_in_spring(client, office, engineer, start, written) -> None:
    """Both ends of a visit of three hours keep their instants, though the clocks go on at 01:00 UTC on 29 March 2026."""
    visit = book(on_the_way(), engineer, by=office)
    type(visit).objects.filter(pk=visit.pk).update(start=start, end=start + 3 * HOUR)
    Attendance.objects.update(start=start, end=start + 3 * HOUR)
    whole = ical.read(fetch(client, a_feed(engineer)[1]).content)
    (event,) = ical.events(whole)
    assert event.raw("DTSTART") == written
    moments = [event.moment(name, ical.zones_of(whole)) for name in ("DTSTART", "DTEND")]
    assert moments == [start, start + 3 * HOUR]


@pytest.mark.parametrize("minutes", range(-120, 181, 30))
def test_the_hour_that_comes_twice_in_autumn(minutes) -> None:
    """On 25 October 2026 the clocks go back at 01:00 UTC: local 01:30 means its first time (RFC 5545, 3.3.5)."""
    from remedials.visits.feeds import Entry, calendar

    start = datetime(2026, 10, 25, 1, 0, tzinfo=UTC) + timedelta(minutes=minutes)
    entry = Entry("u@h", 1, NOON, start, start + HOUR, "S", "L", "https://h/", "")
    whole = ical.read(calendar("C", [entry]))
    (event,) = ical.events(whole)
    assert event.moment("DTSTART", ical.zones_of(whole)) == start
    assert event.moment("DTEND", ical.zones_of(whole)) == start + HOUR


def test_it_is_tentative_until_the_customer_confirmed_it(client, office, engineer) -> None:
    visit = book(on_the_way(), engineer, by=office, confirm=True)
    _, token = a_feed(engineer)
    assert events_of(client, token)[0].raw("STATUS") == "TENTATIVE"
    type(visit).objects.filter(pk=visit.pk).update(answered="confirmed")
    assert events_of(client, token)[0].raw("STATUS") == "CONFIRMED"


def test_what_is_over_is_no_longer_tentative(client, office, engineer) -> None:
    visit = book(on_the_way(), engineer, by=office, confirm=True)
    feed, _ = a_feed(engineer)
    for now, status in ((visit.end - HOUR, "TENTATIVE"), (visit.end, "CONFIRMED")):
        (event,) = ical.events(ical.read(feed_file(feed, now=now)))
        assert event.raw("STATUS") == status


# --- changes, cancellations -------------------------------------------------------------------------------------------


def test_cancelled_stays_with_its_uid_and_a_higher_sequence(client, office, engineer) -> None:
    visit = book(on_the_way("C2"), engineer, by=office)
    _, token = a_feed(engineer)
    (before,) = events_of(client, token)
    cancel_visit(visit, reason="Petra is in hospital", by=office, now=NOON + HOUR)
    (after,) = events_of(client, token)
    assert after.raw("UID") == before.raw("UID")
    assert (after.raw("STATUS"), int(after.raw("SEQUENCE"))) == ("CANCELLED", int(before.raw("SEQUENCE")) + 1)
    assert after.raw("LAST-MODIFIED") > before.raw("LAST-MODIFIED")
    assert not after.has("DESCRIPTION")  # neither why, nor what was to be done


def test_who_was_taken_off_is_told_so_and_not_the_new_time(client, office, engineer, other_engineer) -> None:
    visit = book(on_the_way(), engineer, by=office)
    VisitMove.objects.create(
        visit=visit, from_start=visit.start, from_end=visit.end, to_start=visit.start + 5 * HOUR, by=office, at=NOON,
        to_end=visit.end + 5 * HOUR, from_engineers=[engineer.pk], to_engineers=[other_engineer.pk],
    )  # fmt: skip
    visit.attendances.all().delete()
    start, end = visit.start + 5 * HOUR, visit.end + 5 * HOUR
    Attendance.objects.create(visit=visit, engineer=other_engineer, start=start, end=end)
    type(visit).objects.filter(pk=visit.pk).update(start=start, end=end, version=2)
    (gone,) = events_of(client, a_feed(engineer)[1])
    (there,) = events_of(client, a_feed(other_engineer)[1])
    assert (gone.raw("STATUS"), gone.raw("DTSTART")) == ("CANCELLED", "20260204T090000")
    assert (there.raw("STATUS"), there.raw("DTSTART")) == ("CONFIRMED", "20260204T140000")
    assert gone.raw("UID") == there.raw("UID")


def test_own_visits_only_everybody_s_with_names_and_a_window(client, office, engineer, other_engineer) -> None:
    mine = book(on_the_way(site=make_site("Mine")), engineer, by=office)
    theirs = book(on_the_way(site=make_site("Theirs")), other_engineer, by=office)
    for days, site in ((61, "Long ago"), (-182, "Far off")):
        other = book(
            on_the_way(site=make_site(site)), engineer, by=office, start=MORNING + 9 * HOUR, end=MORNING + 10 * HOUR
        )
        other.attendances.all().delete()
        start = NOON - timedelta(days=days)
        type(other).objects.filter(pk=other.pk).update(start=start, end=start + HOUR)
    assert [e.text("SUMMARY") for e in events_of(client, a_feed(engineer)[1])] == ["Mine"]
    everybody = events_of(client, a_feed(None)[1])
    assert [e.text("SUMMARY") for e in everybody] == [f"Mine ({engineer})", f"Theirs ({other_engineer})"]
    assert {mine.pk, theirs.pk} == {type(mine.pk)(e.raw("UID").split("@")[0]) for e in everybody}


def test_the_same_facts_are_the_same_bytes_and_not_sent_twice(client, office, engineer) -> None:
    visit = book(on_the_way(), engineer, by=office)
    _, token = a_feed(engineer)
    one = fetch(client, token)
    again = fetch(client, token)
    assert one.content == again.content
    unchanged = fetch(client, token, if_none_match=one["ETag"])
    assert (unchanged.status_code, unchanged.content) == (304, b"")
    cancel_visit(visit, reason="Rain", by=office, now=NOON)
    assert fetch(client, token, if_none_match=one["ETag"]).status_code == 200


# --- the address ------------------------------------------------------------------------------------------------------


def test_made_anew_the_former_opens_nothing(client, office, engineer) -> None:
    key = new_id()
    with recorded() as told:
        feed, token = make_feed(user=engineer, id=key, by=office, now=NOON)
        assert make_feed(user=engineer, id=key, by=office, now=NOON) == (feed, "")
        other, fresh = make_feed(user=engineer, id=new_id(), by=engineer, now=NOON)
        for _ in range(2):
            withdraw_feed(other, by=office, now=NOON)
    whose = {"user": str(engineer.pk)}
    assert [(entry.verb, entry.subject, entry.facts) for entry in told] == [
        ("feed.made", feed.pk, whose),
        ("feed.withdrawn", feed.pk, whose),
        ("feed.made", other.pk, whose),
        ("feed.withdrawn", other.pk, whose),
    ]
    assert [fetch(client, one).status_code for one in (token, fresh, "A" * 43)] == [404] * 3
    assert len({fetch(client, one).content for one in (token, fresh, "A" * 43)}) == 1  # it tells nobody which


def test_who_may_keep_which(office, engineer, other_engineer) -> None:
    for user in (None, other_engineer):
        with pytest.raises(NotAllowed):
            make_feed(user=user, id=new_id(), by=engineer, now=NOON)
    with pytest.raises(Refused, match="goes on no visits"):
        make_feed(user=office, id=new_id(), by=office, now=NOON)
    feed, _ = a_feed(other_engineer, office)
    with pytest.raises(NotAllowed):
        withdraw_feed(feed, by=engineer, now=NOON)


def test_it_ends_with_whoever_leaves(client, manager, office, engineer) -> None:
    tokens = [a_feed(engineer)[1], a_feed(None, office)[1]]
    person_left(engineer, by=manager, now=NOON)
    assert [fetch(client, token).status_code for token in tokens] == [404, 200]
    person_left(office, by=manager, now=NOON)
    person_returned(engineer, by=manager, now=NOON)
    assert [fetch(client, token).status_code for token in tokens] == [404, 404]
    assert Feed.objects.filter(withdrawn_at=None).count() == 0


def test_who_goes_on_visits_no_more_reads_none(client, manager, engineer) -> None:
    _, token = a_feed(engineer)
    edit_person(engineer, version=engineer.version, roles=["office"], by=manager, now=NOON)
    assert fetch(client, token).status_code == 404


def test_everybody_s_opens_nothing_once_its_maker_books_no_more(client, manager, office) -> None:
    _, token = a_feed(None, office)
    edit_person(office, version=office.version, roles=["engineer"], by=manager, now=NOON)
    assert fetch(client, token).status_code == 404


def test_answers_are_kept_nowhere_and_set_no_cookie(client, engineer) -> None:
    feed, token = a_feed(engineer)
    answer = fetch(client, token)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert (answer["Cache-Control"], answer["Referrer-Policy"]) == ("no-store", "no-referrer")
    assert "noindex" in answer["X-Robots-Tag"]
    assert not answer.cookies
    client.head(f"/calendar/{token}.ics")
    feed.refresh_from_db()
    assert (feed.uses, feed.last_used_at) == (1, NOON)


def test_the_token_is_in_no_log_ledger_or_table(client, office, engineer, caplog) -> None:
    from jobsite.logs import HideTokens

    client.force_login(office)
    page = client.post(f"/people/{engineer.pk}/calendar-address/", {"id": str(new_id())}).content.decode()
    token = page.split("/calendar/")[1].split(".ics")[0]
    assert len(token) == 43
    assert fetch(client, token).status_code == 200
    with caplog.at_level(logging.DEBUG):
        client.get(f"/calendar/{token}x.ics")
        client.post(f"/calendar/{token}.ics")
    lines = []
    for record in caplog.records:
        HideTokens().filter(record)
        lines.append(logging.Formatter().format(record))
    assert any("/calendar/…" in line for line in lines)
    assert not any(token in line for line in lines)
    assert bytes(Feed.objects.get().token_hash) == sha256(token.encode()).digest()
    with connection.cursor() as cursor:
        cursor.execute("SELECT quote_ident(table_name) FROM information_schema.tables WHERE table_schema = 'public'")
        for (table,) in cursor.fetchall():
            cursor.execute(f"SELECT count(*) FROM {table} AS t WHERE t::text LIKE %s", [f"%{token}%"])
            assert cursor.fetchone() == (0,), table


def test_statements_at_two_sizes(client, office, engineer) -> None:
    _, token = a_feed(None)
    counts = []
    for more in (1, 6):
        for n in range(more):
            start = MORNING + timedelta(days=more + n)
            book(on_the_way("C2"), engineer, by=office, start=start, end=start + HOUR)
        with statements() as sql:
            fetch(client, token)
        counts.append(len(sql))
    assert counts[0] == counts[1] <= 9


# --- the pages --------------------------------------------------------------------------------------------------------


def test_the_office_keeps_all_addresses(client, at_desk, engineer, office) -> None:
    assert "/calendar-addresses/" in at_desk.get("/diary/").content.decode()
    shown = words_of(at_desk, "/calendar-addresses/")
    assert "Everybody's visits" in shown
    assert engineer.name in shown
    made = at_desk.post("/calendar-addresses/everybody/make/", {"id": str(new_id())})
    assert made.status_code == 200
    assert "shown only this once" in made.content.decode()
    assert "no-store" in made["Cache-Control"]
    feed = Feed.objects.get()
    assert "not read yet" in words_of(at_desk, "/calendar-addresses/")
    assert at_desk.post(f"/calendar-addresses/{feed.pk}/withdraw/").status_code == 302
    assert "opens nothing any more" in words_of(at_desk, "/calendar-addresses/")


def test_an_engineer_makes_their_own(on_site, engineer, other_engineer) -> None:
    assert "/calendar-addresses/" not in on_site.get("/diary/").content.decode()
    assert "/my-day/calendar/" in on_site.get("/my-day/").content.decode()
    assert "You have no calendar address yet" in words_of(on_site, "/my-day/calendar/")
    key = str(new_id())
    first = on_site.post("/my-day/calendar/make/", {"id": key}).content.decode()
    again = on_site.post("/my-day/calendar/make/", {"id": key}).content.decode()
    assert "/calendar/" in first
    assert "was shown then" in again
    assert Feed.objects.get().user == engineer
    assert on_site.post(f"/people/{other_engineer.pk}/calendar-address/").status_code == 403
    assert on_site.post("/my-day/calendar/withdraw/").status_code == 302
    assert Feed.objects.filter(withdrawn_at=None).count() == 0


def test_the_statements_of_the_page_do_not_grow(at_desk) -> None:
    counts = []
    for more in (1, 8):
        for n in range(more):
            a_feed(make_user(f"E{more}{n} Gineer", "engineer"))
        with statements() as sql:
            at_desk.get("/calendar-addresses/")
        counts.append(len(sql))
    assert counts[0] == counts[1] <= 6
