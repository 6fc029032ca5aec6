"""`manage.py due --as-of` and `manage.py messages --explain`: what stands in the list, and why somebody heard or not."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from jobsite.firm.operations import beat
from jobsite.messages.models import Message
from remedials.due.models import NoReminders
from remedials.due.operations import send, sweep
from remedials.due.operations.undertaking import have_it
from remedials.due.queries import SENDING, SWEEP
from tests.factories import NOON, TODAY, make_observation

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def printed(*command):
    out = StringIO()
    call_command(*command, stdout=out)
    return out.getvalue()


def due(day):
    """What the command prints, in cells: the columns stand at least two blanks apart."""
    lines = printed("due", "--as-of", str(day)).splitlines()
    return [[cell.strip() for cell in line.split("  ") if cell.strip()] for line in lines if line]


# --- due --as-of ------------------------------------------------------------------------------------------------------


def test_the_rows_of_today_as_they_would_stand_on_a_day(site, engineer):
    seen = make_observation(
        site, text="Cover missing", owner=engineer, by=engineer, remedy_by=TODAY + timedelta(days=27)
    )
    row = ["Decide what it needs", "Cover missing", "Sample House", f"decide:{seen.pk}"]
    heads = ["Code", "By", "Mark", "Who", "Next step", "What", "Where", "Row"]
    for day, group, by in (
        (TODAY, "Today", ["3 Feb 2026"]),
        (TODAY - timedelta(days=1), "This week", ["3 Feb 2026"]),
        (TODAY - timedelta(days=8), "Later", ["3 Feb 2026"]),
        (TODAY + timedelta(days=4), "Late", ["3 Feb 2026, 4 days late"]),
        (TODAY + timedelta(days=30), "Late", ["3 Feb 2026, 30 days late", "remedy overdue 3 days"]),
    ):
        told = due(day)
        assert told[1:] == [[group], heads, ["C2", *by, engineer.name, *row], ["1 row."]]


def test_loose_ends_and_what_has_no_date_say_so(site, engineer):
    make_observation(site, owner=None, step_by=None, by=engineer)
    assert due(TODAY)[3][:4] == ["C2", "no date", "loose end", "nobody"]


def test_an_empty_list_says_so(db):
    assert printed("due") == "The due list as of 3 Feb 2026.\n\nNothing is due.\n"


@pytest.mark.parametrize("text", ["2026-02-30", "tomorrow", "03/02/2026", "0001-01-01", "9999-12-31", "20260203x"])
def test_a_bad_date_is_answered_by_a_sentence(db, text):
    with pytest.raises(CommandError, match=r"is no date\. Write it as|is no day on which"):
        call_command("due", "--as-of", text)


def test_a_long_list_is_read_in_one_statement(site, engineer, django_assert_num_queries):
    for _ in range(7):
        make_observation(site, owner=engineer, by=engineer)
    with django_assert_num_queries(1):
        assert printed("due").endswith("\n7 rows.\n")


# --- messages --explain -----------------------------------------------------------------------------------------------


def explained(what):
    return printed("messages", "--explain", str(what))


def test_a_message_that_was_sent(site, engineer):
    seen = make_observation(site, code="C1", owner=engineer, by=engineer)
    sweep(now=NOON)
    send(now=NOON)
    message = Message.objects.filter(danger=True).get()
    said = explained(message.number)
    for line in (
        f"Message {message.number}: Danger present, not made safe: Sample House",
        f"To:         {engineer.name}, {engineer.email} (of the firm)",
        f"Occasion:   danger {seen.pk} {TODAY} {engineer.pk} (kept once)",
        "Rule:       Code C1, not made safe: at once, and then every day from 07:00, to who has it, the qualified persons",
        f"About:      Sample House, site {site.number}",
        "State:      sent, 3 Feb 2026, 12:00",
        "Reason now: stands",
        "Attempts:   1",
        "            3 Feb 2026, 12:00: message sent",
        "Limits:     none.",
    ):
        assert line in said


def test_a_message_whose_reason_is_gone(site, engineer):
    seen = make_observation(site, code="C1", owner=engineer, by=engineer)
    sweep(now=NOON)
    seen.made_safe = True
    seen.save()
    message = Message.objects.filter(danger=True).get()
    assert "Reason now: no longer stands. It was made safe, remedied or recoded meanwhile." in explained(message.number)
    send(now=NOON)
    said = explained(message.number)
    assert "State:      no longer needed, 3 Feb 2026, 12:00" in said


def polite(site, **fields):
    """A reminder to the customer of `site`."""
    usual = {"written_at": NOON, "next_try_at": NOON, "quiet_until": NOON + timedelta(days=7), "about": "a test's own"}
    return Message.objects.create(
        occasion="a test's own", to_kind="customer", to_id=site.customer.pk, address="pat@example.com", subject="Soon",
        body="Soon", reminder=True, site=site.pk, **usual | fields,
    )  # fmt: skip


def test_what_holds_a_polite_message_back(site, time_machine):
    night = NOON.replace(hour=22)
    time_machine.move_to(night, tick=False)
    beat(SENDING, now=night)
    message = polite(site, next_try_at=night + timedelta(hours=9))
    said = explained(message.number)
    for line in (
        "Held back:  it is tried next at 4 Feb 2026, 07:00",
        "Held back:  it is no working hour",
        "Limits:     no other reminder about the same to them before 10 Feb 2026, 12:00",
        "            they want reminders",
    ):
        assert line in said
    NoReminders.objects.create(party=site.customer, address="pat@example.com", said_at=night)
    said = explained(message.number)
    assert "            they want no reminders since 3 Feb 2026, 22:00" in said
    assert "Reason now: no longer stands. The customer wants no reminders" in said


def test_what_waits_while_sending_stands_still(site):
    message = polite(site)
    assert "Held back:  sending does not run; it last did never" in explained(message.number)
    beat(SENDING, now=NOON)
    assert "Held back:  nothing: its turn comes with the next sending" in explained(message.number)


def test_a_row_of_which_nobody_has_heard_yet(site, engineer, qualified, manager):
    seen = make_observation(site, code="C2", owner=engineer, by=engineer, step_by=TODAY + timedelta(days=20))
    beat(SWEEP, now=NOON)
    said = explained(f"decide:{seen.pk}")
    for line in (
        "Reminded:   as “C2, potentially dangerous”: from 7 days before, again every day once late, to qualified persons",
        "to qualified persons 2 days after it was due, to managers 5 days after it was due",
        f"First:      {engineer.name}, in the digest of 16 Feb 2026",  # a Monday, seven days before
        f"Then:       {qualified.name}, in the digest of 25 Feb 2026",
        f"And then:   {manager.name}, in the digest of 2 Mar 2026",  # the 28th is a Saturday
        "Not yet:    it is due on 23 Feb 2026; its owner hears of it 7 days before",
        "Said so far: nothing.",
    ):
        assert line in said


def test_a_row_in_hand_says_who_has_it_and_until_when(site, engineer, office):
    seen = make_observation(site, code="C2", owner=engineer, by=engineer)
    have_it("decide", seen.pk, until=TODAY + timedelta(days=6), reason="the part is on its way", by=office, now=NOON)
    said = explained(f"decide:{seen.pk}")
    assert "In hand:    until 9 Feb 2026: the part is on its way" in said
    assert f"First:      {office.name}, in the digest of 10 Feb 2026" in said


def test_what_was_said_of_a_row_is_listed(site, engineer):
    seen = make_observation(site, code="C1", owner=engineer, by=engineer)
    sweep(now=NOON)
    numbers = sorted(Message.objects.values_list("number", flat=True), reverse=True)
    said = explained(f"decide:{seen.pk}")
    for number in numbers:  # the danger message and the digest
        assert f"            {number} to {engineer.email}, 3 Feb 2026, 12:00: waiting to be sent" in said
    assert len(numbers) == 2


def test_a_row_that_is_gone_says_so(db):
    key = "01920000-0000-7000-8000-000000000000"
    assert explained(f"decide:{key}").startswith(
        f"There is no open row decide:{key}: it was done or ended, or never was."
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x", "“x” is no number of a message"),
        ("-1", "is no number of a message"),
        ("99999999", "There is no message 99999999"),
        ("9" * 30, "is no number of a message"),
        ("decide:x", "names no row"),
        (":", "names no row"),
    ],
)
def test_what_cannot_be_explained_is_answered_by_a_sentence(db, text, words):
    with pytest.raises(CommandError, match=words):
        call_command("messages", "--explain", text)
