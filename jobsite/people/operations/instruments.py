"""Test instruments and their accuracy checks."""

from datetime import date, datetime
from uuid import UUID

from jobsite import clock, words
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.people.models import Instrument, InstrumentFault
from jobsite.people.operations.ground import must_keep_people, save_new
from jobsite.people.verbs import Verb
from jobsite.refused import Refused


@operation
def add_instrument(*, id: UUID, name: str, serial_number: str, by: Actor, now: datetime) -> Instrument:
    """Add a test instrument; until a check is recorded its readings are flagged."""
    must_keep_people(by)
    alone(id)
    if made := made_before(Instrument, id):
        return made
    row = Instrument(id=id, name=name, serial_number=serial_number.strip())
    save_new(row)
    record(Verb.INSTRUMENT, site=None, subject=row, by=by, now=now, words={"serial_number": serial_number})
    return row


@operation
def check_instrument(
    instrument: Instrument, *, checked_on: date, check_due: date, by: Actor, now: datetime
) -> Instrument:
    """Record an accuracy check and the day by which the next one is due.

    An older one than that on record is refused, and one that does not answer what was found wrong since.
    """
    must_keep_people(by)
    instrument = locked(instrument)
    if checked_on > clock.local_day(now):
        raise Refused("A check cannot be in the future.", field="checked_on")
    if check_due <= checked_on:
        raise Refused("The next check must be later than this one.", field="check_due")
    if instrument.checked_on and checked_on < instrument.checked_on:
        day = words.day(instrument.checked_on)
        raise Refused(f"A later check, of {day}, is on record: an older one does not replace it.", field="checked_on")
    if (instrument.checked_on, instrument.check_due) == (checked_on, check_due):
        return instrument
    wrong = instrument.faults.filter(found_on__gte=checked_on).order_by("-found_on").first()
    if wrong:
        sentence = f"It was found wrong on {words.day(wrong.found_on)}: only a check after that day counts again."
        raise Refused(sentence, field="checked_on")
    instrument.checked_on, instrument.check_due = checked_on, check_due
    instrument.version += 1
    instrument.save(update_fields=["checked_on", "check_due", "version"])
    facts = {"checked_on": checked_on.isoformat(), "check_due": check_due.isoformat()}
    record(Verb.CHECKED, site=None, subject=instrument, by=by, now=now, facts=facts)
    return instrument


@operation
def find_instrument_wrong(
    instrument: Instrument, *, id: UUID, last_good_on: date, found_on: date, what: str, by: Actor, now: datetime
) -> InstrumentFault:
    """Record that an instrument was found to measure wrongly, and since when what it showed is doubtful.

    It is out of its check until a new one is recorded. Its readings stay as they were taken. Raises Refused for days that
    cannot be, and where nobody says how it is wrong.
    """
    must_keep_people(by)
    instrument = locked(instrument)
    if made := made_before(InstrumentFault, id, instrument_id=instrument.pk):
        return made
    if found_on > clock.local_day(now):
        raise Refused("This day is still to come.", field="found_on")
    if last_good_on > found_on:
        raise Refused("It was last right before it was found wrong.", field="last_good_on")
    if not what.strip():
        raise Refused("Say how it was wrong, and who found it.", field="what")
    row = InstrumentFault(id=id, instrument=instrument, last_good_on=last_good_on, found_on=found_on, what=what.strip())
    row.recorded_by_id, row.recorded_at = by.actor_id, now
    row.save(force_insert=True)
    facts = {"last_good_on": last_good_on.isoformat(), "found_on": found_on.isoformat()}
    if instrument.check_due:
        facts["check_due_before"] = instrument.check_due.isoformat()
    instrument.check_due = None
    instrument.version += 1
    instrument.save(update_fields=["check_due", "version"])
    record(Verb.FOUND_WRONG, site=None, subject=instrument, by=by, now=now, facts=facts, words={"what": row.what})
    return row


@operation
def archive_instrument(instrument: Instrument, *, by: Actor, now: datetime) -> Instrument:
    """Take an instrument out of use; its readings stay."""
    must_keep_people(by)
    instrument = locked(instrument)
    if instrument.archived_at is None:
        instrument.archived_at = now
        instrument.version += 1
        instrument.save(update_fields=["archived_at", "version"])
        record(Verb.ARCHIVED, site=None, subject=instrument, by=by, now=now)
    return instrument
