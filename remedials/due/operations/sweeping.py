"""The sweep: looks at the due list and writes the messages that its rows ask for, each once for its occasion.

Set-based and safe to repeat: whatever crashed or ran twice, the next sweep finds the work again.
"""

from datetime import date, datetime

from django.db import connection, transaction

from jobsite import clock
from jobsite.firm.operations import beat
from jobsite.firm.queries import the_firm
from jobsite.ledger.operations_once import forget_old_answers
from jobsite.messages.operations import settle_abandoned
from jobsite.premises.models import Site
from remedials.due.models import Reminding
from remedials.due.operations.apart import Met, keep_troubles, part_of_sweep, write_apart
from remedials.due.operations.clock_set import free_occasions_ahead, put_clock_right
from remedials.due.operations.customers import customer_messages
from remedials.due.operations.danger import write_alarms, write_dangers
from remedials.due.operations.digests import write_digests
from remedials.due.queries import ALONE, SWEEP, active_staff
from remedials.due.queries.clockwork import HELD, TROUBLE
from remedials.due.queries.held import held
from remedials.due.queries.settings import hours as hours_between
from remedials.due.queries.settings import hours_of
from remedials.due.rules.moments import Hours
from remedials.visits.operations import checking_in

SWEEP_LOCK = 7_110_001  # a number of our own for PostgreSQL's advisory lock


def sweep(*, now: datetime) -> bool:
    """Write every message that is due at `now`. False where another sweep is at work.

    1. Take the advisory lock, or leave.
    2. Write danger messages, those on what may be dangerous, and those on who works alone and is not out, which are so at
    most as late as the sweep is rare; then digests, then what customers are reminded of, in one transaction. Each part has
    a savepoint of its own: what fails in one is left out, kept as a trouble and shown, and the rest is written.
    3. Note the heartbeat in the same transaction: a sweep that was cut off has not run.
    """
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [SWEEP_LOCK])
            if not cursor.fetchone()[0]:
                return False
        free_occasions_ahead(now=now)
        parts = _parts(now)
        if keep_troubles(parts, now=now):
            beat(TROUBLE, now=now)
        if held(now=now):
            beat(HELD, now=now)
        beat(SWEEP, now=now)
    put_clock_right(now=now)
    settle_abandoned(now=now)
    forget_old_answers(now=now)
    return True


def between_sweeps(gone: Site, into: Site) -> None:
    """Inside the operation that makes one site of two: no sweep is at work until it has ended.

    What a sweep was writing about `gone` meanwhile would be left behind, and its customer be written to again about `into`.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [SWEEP_LOCK])


def _parts(now: datetime) -> list[Met]:
    """Run each part of the sweep; what each could not read or write."""
    today, staff = clock.local_day(now), active_staff()
    hours, settings = _hours(today)
    ran = [settings]

    def digests(met: Met) -> None:
        if write_digests(staff, hours=hours, now=now, met=met):
            ran.append(met)

    ran += [
        part_of_sweep("danger", lambda met: write_dangers(staff, hours=hours, now=now, met=met)),
        part_of_sweep("reports that may be dangerous", lambda met: write_alarms(staff, now=now, met=met)),
        part_of_sweep("who works alone", lambda met: _alone(now, met)),
        part_of_sweep("customers", lambda met: write_apart(customer_messages(today=today, now=now, met=met), met)),
    ]
    digested = part_of_sweep("digests", digests)
    return ran if digested in ran or not digested.found else [*ran, digested]


def _hours(today: date) -> tuple[Hours, Met]:
    """The firm's hours; the shipped ones where its own make no sense, since danger must be told all the same."""
    met = Met("the settings of reminders")
    try:
        return hours_between(today, today), met
    except ValueError as error:
        met.add("the firm's hours", error)
        return hours_of(Reminding.shipped(), the_firm().nation, today, today), met


def _alone(now: datetime, met: Met) -> None:
    if alone := checking_in.overdue_messages(now):
        write_apart(alone, met)
        beat(ALONE, now=now)
