"""What fails stands alone: one row or message that can never be read or written keeps nothing else from being said."""

from datetime import timedelta

import pytest
from django.core import mail
from django.db import OperationalError, connection
from django.test import RequestFactory

from inspections.models import InspectionDue
from jobsite.firm.models import Heartbeat
from jobsite.firm.operations import beat
from jobsite.messages.models import Message
from remedials.due import queries
from remedials.due.models import Reminding, Trouble
from remedials.due.operations import send, sweep
from remedials.due.operations.apart import Met, all_or_halves, each, keep_troubles, part_of_sweep
from remedials.due.queries import SWEEP
from remedials.due.queries.held import Held, held
from tests.factories import NOON, TODAY, make_observation, make_see_to, make_site, unit_of

pytestmark = pytest.mark.django_db
A_DAY = timedelta(days=1)


def banner(office, function=queries.trouble_banner):
    """What `function` says above an office page."""
    request = RequestFactory().get("/")
    request.user, request.now = office, NOON
    return function(request)


# --- one of many ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("bad", [set(), {1}, {7}, {1, 4}, set(range(1, 9))])
def test_what_fails_is_found_by_halves_and_the_rest_is_done(bad):
    failed = []

    def do(some):
        if bad & set(some):
            raise ValueError("a test's own")
        return list(some)

    done = all_or_halves(range(1, 9), do, lambda thing, _: failed.append(thing))
    assert ([n for part in done for n in part], failed) == (sorted(set(range(1, 9)) - bad), sorted(bad))


def test_a_failed_statement_takes_nothing_else_with_it(site):
    def do(some):
        with connection.cursor() as cursor:
            cursor.execute("SELECT sum(1 / x) FROM unnest(%s::int[]) x", [list(some)])
        return len(some)

    assert sum(all_or_halves([1, 2, 0, 3], do, lambda *_: None)) == 3
    assert each([1, 0, 2], lambda n: 2 // n, lambda *_: None) == [2, 1]


@pytest.mark.parametrize("error", [OperationalError("gone"), MemoryError()])
def test_what_no_row_is_to_blame_for_ends_the_sweep(error):
    def work(_):
        raise error

    with pytest.raises(type(error)):
        part_of_sweep("a test's own", work)
    with pytest.raises(type(error)):
        all_or_halves([1], work, lambda *_: None)


# --- a row ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def poisoned(office):
    """A row whose date cannot be read, at a site of its own, that stands in the list now."""
    row = make_see_to(make_site("Poison Place"), owner=office)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE visits_seeto SET by = DATE '0044-03-15 BC' WHERE id = %s", [row.pk])
    return row


def test_a_row_that_cannot_be_read_is_named_and_the_rest_is_said(site, office, manager, engineer, poisoned):
    make_observation(site, owner=office, by=office)
    danger = make_observation(site, code="C1", owner=engineer, by=office)
    assert sweep(now=NOON)
    assert set(Message.objects.values_list("occasion", flat=True)) == {
        *(f"digest {person.pk} {TODAY}" for person in (office, manager, engineer)),
        *(f"danger {danger.pk} {TODAY} {person.pk}" for person in (manager, engineer)),
    }
    [trouble] = Trouble.objects.all()
    assert (trouble.part, trouble.first_at, trouble.last_at) == ("digests", NOON, NOON)
    assert trouble.what in (f"the row see-to:{poisoned.pk}", "a row at Poison Place")
    assert Heartbeat.objects.get(name=SWEEP).at == NOON
    words = banner(office)
    left_out = "The reminders left out 1 thing that could not be read or written, and nobody is told of it: "
    assert words.startswith(left_out)
    assert words.endswith((": “Ask for the asbestos register” at Poison Place.", ": a row at Poison Place."))


def test_a_trouble_goes_when_it_is_mended(site, office, poisoned):
    make_observation(site, owner=office, by=office)
    sweep(now=NOON)
    sweep(now=NOON + timedelta(minutes=5))
    assert Trouble.objects.count() == 1  # digests were not worked out again: nobody knows better yet
    with connection.cursor() as cursor:
        cursor.execute("UPDATE visits_seeto SET by = %s WHERE id = %s", [TODAY, poisoned.pk])
    sweep(now=NOON + A_DAY)
    assert not Trouble.objects.exists()
    assert banner(office) == ""


def test_a_danger_that_cannot_be_written_leaves_the_others(site, office, manager):
    bad = make_observation(make_site("Poison Place"), code="C1", owner=manager, by=office)
    good = make_observation(site, code="C1", owner=manager, by=office)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE inspections_observation SET step_by = DATE '0044-03-15 BC' WHERE id = %s", [bad.pk])
    sweep(now=NOON)
    told = set(Message.objects.filter(danger=True).values_list("reason_ref", flat=True))
    assert told == {good.pk}
    assert ("danger", "a row at Poison Place") in set(Trouble.objects.values_list("part", "what"))


def test_an_inspection_that_cannot_be_read_leaves_the_other_customers(site, office):
    bad, good = unit_of(make_site("Poison Place")), unit_of(site)
    for unit in (bad, good):
        InspectionDue.objects.create(unit=unit, due_on=TODAY, basis="as recommended", shows_from=TODAY, owner=office)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE inspections_inspectiondue SET due_on = '0044-03-15 BC' WHERE unit_id = %s", [bad.pk])
    sweep(now=NOON)
    assert set(Message.objects.filter(to_kind="customer").values_list("reason_ref", flat=True)) == {good.pk}
    assert ("customers", "a row at Poison Place") in set(Trouble.objects.values_list("part", "what"))


def test_danger_is_told_also_where_the_hours_of_the_firm_make_no_sense(site, office, manager):
    seen = make_observation(site, code="C1", owner=manager, by=office)
    Reminding.objects.create(working_days=[], inspection_days=[30])  # past the form, which refuses it
    message(office, to_kind="customer", reminder=True, about="a test's own", quiet_until=NOON + A_DAY)
    sweep(now=NOON)
    send(now=NOON)
    sent = set(Message.objects.filter(state="sent").values_list("reason_ref", flat=True))
    assert seen.pk in sent
    assert Message.objects.get(reminder=True).state == "waiting"
    assert banner(office).endswith(": everything about customers; the firm's hours.")


def test_a_part_that_fails_as_a_whole_takes_back_what_it_wrote_and_the_others_go_on(office):
    def work(_):
        make_site("Half done")
        raise ZeroDivisionError("a test's own")

    met = part_of_sweep("a test's own", work)
    assert met.found == {"all of it": "ZeroDivisionError: a test's own"}
    assert not type(make_site("Whole")).objects.filter(name="Half done").exists()


def test_a_trouble_keeps_since_when_it_is_there(db):
    met = Met("a test's own")
    met.add("a row", ValueError("nul \x00 in it"))
    assert keep_troubles([met], now=NOON) is True
    assert keep_troubles([met], now=NOON + A_DAY) is True
    [row] = Trouble.objects.values_list("first_at", "last_at", "error")
    assert row == (NOON, NOON + A_DAY, "ValueError: nul  in it")
    assert keep_troubles([Met("another part")], now=NOON) is True  # it stands: its own part has not run
    assert keep_troubles([Met("a test's own")], now=NOON) is False


def test_many_troubles_are_counted_and_the_first_named(office):
    met = Met("digests")
    for n in range(5):
        met.add(f"“Cover missing” at Place {n} (decide:01920000-0000-7000-8000-00000000000{n})", ValueError("x"))
    keep_troubles([met], now=NOON)
    for name in (SWEEP, "trouble"):
        beat(name, now=NOON)
    words = banner(office)
    assert "left out 5 things" in words
    left_out = "and nobody is told of them: “Cover missing” at Place 0; “Cover missing” at Place 1; and 3 more."
    assert words.endswith(left_out)


# --- a message --------------------------------------------------------------------------------------------------------


def message(person, **fields):
    usual = {"to_kind": "staff", "to_id": person.pk, "address": person.email, "subject": "A test's own", "body": "x"}
    usual |= {"occasion": f"a test's own {Message.objects.count()}", "written_at": NOON, "next_try_at": NOON}
    return Message.objects.create(**usual | fields)


def test_a_message_whose_reason_cannot_be_looked_at_waits_and_the_rest_is_sent(office, site):
    seen = make_observation(site, owner=office, by=office)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE inspections_observation SET step_by = DATE '0044-03-15 BC' WHERE id = %s", [seen.pk])
    bad = message(office, reason_kind="digest", reason_ref=office.pk, occasion="digest of no day at all", danger=True)
    good = message(office)
    send(now=NOON)
    for row in (bad, good):
        row.refresh_from_db()
    assert (bad.state, good.state, len(mail.outbox)) == ("waiting", "sent", 1)
    assert bad.error.startswith("Its reason could not be looked at: ")
    assert bad.next_try_at > NOON


# --- what doesn't get through -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fields", "found"),
    [
        ({}, Held(0, 0, 0, 0)),
        ({"written_at": NOON - timedelta(minutes=59), "next_try_at": NOON - timedelta(minutes=59)}, Held(0, 0, 0, 0)),
        ({"written_at": NOON - timedelta(hours=1), "next_try_at": NOON - timedelta(hours=1)}, Held(1, 0, 0, 0)),
        (
            {"written_at": NOON - timedelta(hours=2), "next_try_at": NOON + A_DAY},
            Held(0, 0, 0, 0),
        ),  # it waits for Monday
        ({"written_at": NOON - timedelta(hours=2), "next_try_at": NOON + A_DAY, "attempts": 3}, Held(1, 0, 0, 0)),
        ({"written_at": NOON - timedelta(minutes=15), "danger": True}, Held(1, 1, 0, 0)),
        ({"state": "failed", "settled_at": NOON - timedelta(hours=23)}, Held(0, 0, 1, 0)),
        ({"state": "failed", "settled_at": NOON - timedelta(hours=25)}, Held(0, 0, 0, 0)),
        ({"state": "failed", "settled_at": NOON, "danger": True}, Held(0, 0, 1, 1)),
        ({"state": "sent", "settled_at": NOON}, Held(0, 0, 0, 0)),
    ],
)
def test_what_waits_too_long_and_what_failed_is_counted(office, fields, found):
    message(office, **fields)
    assert held(now=NOON) == found


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (Held(0, 0, 4, 0), ""),
        (Held(0, 0, 5, 0), "5 messages could not be sent since yesterday. Look at the messages."),
        (
            Held(0, 0, 1, 1),
            "1 message could not be sent since yesterday, 1 of them about danger. Look at the messages.",
        ),
        (Held(1, 0, 0, 0), "1 message has waited too long to go out. Look at the messages."),
        (
            Held(1200, 2, 6, 0),
            (
                "1,200 messages have waited too long to go out, 2 of them about danger; 6 messages could not be sent since "
                "yesterday. Look at the messages."
            ),
        ),
    ],
)
def test_what_does_not_get_through_in_words(found, words):
    assert (found.words(), bool(found)) == (words, bool(words))


def test_the_banner_says_that_messages_wait_from_the_next_sweep_on(office, django_assert_num_queries):
    message(office, written_at=NOON - timedelta(hours=3), next_try_at=NOON - timedelta(hours=3))
    sweep(now=NOON)
    assert banner(office, queries.held_banner) == "1 message has waited too long to go out. Look at the messages."
    Message.objects.all().delete()
    sweep(now=NOON + timedelta(minutes=1))
    with django_assert_num_queries(1):  # the heartbeats, which all sentences share
        assert banner(office, queries.held_banner) == ""


def test_the_banner_tells_sending_from_the_sweep(office):
    stopped = queries.sending_banner
    beat(SWEEP, now=NOON)
    assert banner(office, stopped).startswith(
        "Messages are written but not sent: sending has not run to its end so far."
    )
    beat("sending", now=NOON - timedelta(minutes=31))
    assert "since 3 Feb 2026, 11:29. Look at the worker and the mail server." in banner(office, stopped)
    beat("sending", now=NOON - timedelta(minutes=29))
    assert banner(office, stopped) == ""
    beat("sending", now=NOON - timedelta(hours=3))
    beat(SWEEP, now=NOON - timedelta(hours=3))  # both stand still: one sentence is enough
    assert banner(office, stopped) == ""
    assert banner(office, queries.clockwork_banner).startswith("The reminders have stopped")


def test_an_engineer_is_not_troubled_by_the_clockwork(engineer):
    for function in (queries.trouble_banner, queries.held_banner, queries.sending_banner, queries.clockwork_banner):
        assert banner(engineer, function) == ""


def test_health_says_that_messages_do_not_get_through(client, office, time_machine):
    time_machine.move_to(NOON, tick=False)
    for name in (SWEEP, "sending"):
        beat(name, now=NOON)
    assert client.get("/health/").json()["messages"] == "moving"
    message(office, state="failed", settled_at=NOON, danger=True)
    answer = client.get("/health/")
    assert (answer.status_code, answer.json()["messages"]) == (503, "failing")
    message(office, danger=True, written_at=NOON - timedelta(hours=1))
    assert client.get("/health/").json()["messages"] == "waiting too long"
