"""Test instruments, their accuracy checks, and what is found wrong with them."""

from datetime import date, datetime
from uuid import UUID

from jobsite import clock, words
from jobsite.ledger.actor import Actor
from jobsite.ledger.models import StoredFile
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import FORM_USED, alone, locked, made_before
from jobsite.people import policy
from jobsite.people.models import Instrument, InstrumentCheck, InstrumentFault
from jobsite.people.operations.ground import must_keep_people, save_new
from jobsite.people.verbs import Verb
from jobsite.refused import NotAllowed, Refused

Kind, Result = InstrumentCheck.Kind, InstrumentCheck.Result
NO_COMPARISON = "Only somebody of the firm who may take readings records a comparison."


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
    instrument: Instrument,
    *,
    id: UUID,
    checked_on: date,
    by_whom: str,
    by: Actor,
    now: datetime,
    kind: str = Kind.CALIBRATION,
    result: str = Result.PASSED,
    due: date | None = None,
    certificate: str = "",
    file: StoredFile | None = None,
    note: str = "",
    last_good_on: date | None = None,
) -> InstrumentCheck:
    """Record an accuracy check; the instrument's own days follow from the latest calibration that it passed.

    `due` is the day of the next calibration, needed of a calibration that it passed and of nothing else. A check that
    failed, or an adjusted one whose certificate shows that it came in wrong, takes `last_good_on`, the last day on which
    it is known to have been right: that records it as found wrong, with `note` saying how. Older checks may be recorded
    later; they replace no newer one. Raises NotAllowed; Refused for days that cannot be and for a calibration that does
    not answer what was found wrong since.
    """
    _must_check(by, kind)
    alone(id)  # the same key may come for another instrument at the same moment
    instrument = locked(instrument)
    if made := made_before(InstrumentCheck, id, instrument_id=instrument.pk):
        return made
    row = InstrumentCheck(
        id=id, instrument=instrument, kind=kind, checked_on=checked_on, due=due, result=result, by_whom=by_whom.strip(),
        certificate=certificate.strip(), file=file, note=note.strip(), recorded_by_id=by.actor_id, recorded_at=now,
    )  # fmt: skip
    _must_be_sound(row, last_good_on, today=clock.local_day(now))
    if last_good_on is not None and made_before(InstrumentFault, id):  # the finding has the key of its check
        raise Refused(FORM_USED)
    row.save(force_insert=True)
    _follow(instrument, today=clock.local_day(now))
    facts = {"check": str(id), "kind": str(kind), "result": str(result), "checked_on": checked_on.isoformat()}
    facts |= {"due": due.isoformat()} if due else {}
    facts |= {"file": file.hash} if file else {}
    said = {"by_whom": row.by_whom, "certificate": row.certificate, "note": row.note}
    record(Verb.CHECKED, site=None, subject=instrument, by=by, now=now, facts=facts, words=said)
    if last_good_on is not None:
        _found_wrong(instrument, id, last_good_on, checked_on, f"{row.by_whom}: {row.note}", by=by, now=now)
    return row


def _must_check(by: Actor, kind: str) -> None:
    if kind == Kind.COMPARISON:
        if not policy.may_compare(by):
            raise NotAllowed(NO_COMPARISON)
    else:
        must_keep_people(by)


def _must_be_sound(row: InstrumentCheck, last_good_on: date | None, *, today: date) -> None:
    """Raises Refused for a check that cannot be as it is said."""
    failed, calibrated = row.result == Result.FAILED, row.kind == Kind.CALIBRATION
    if row.checked_on > today:
        raise Refused("A check cannot be in the future.", field="checked_on")
    if not row.by_whom:
        raise Refused("Say who checked it.", field="by_whom")
    if not calibrated and row.result == Result.ADJUSTED:
        raise Refused("What was adjusted is calibrated: record the calibration.", field="result")
    _must_be_due(row)
    if failed and last_good_on is None:
        raise Refused("Say on which day it was last known to be right.", field="last_good_on")
    if last_good_on is not None:
        if row.result == Result.PASSED:
            raise Refused("What was within its accuracy was not wrong: leave this day empty.", field="last_good_on")
        _must_be_wrong(last_good_on, row.checked_on, row.note, field="note", today=today)
    if calibrated and not failed:
        _must_answer(row)


def _must_be_due(row: InstrumentCheck) -> None:
    """Raises Refused where a good calibration says no later day for the next, or another check says one."""
    if row.result == Result.FAILED or row.kind == Kind.COMPARISON:
        if row.due:
            raise Refused("Only a calibration that it passed says when the next one is due.", field="due")
    elif row.due is None or row.due <= row.checked_on:
        raise Refused("The next check must be later than this one.", field="due")


def _must_answer(row: InstrumentCheck) -> None:
    """Raises Refused for the newest calibration where what was found wrong since would stay unanswered."""
    wrong = row.instrument.faults.filter(found_on__gte=row.checked_on).order_by("-found_on").first()
    if wrong is None or (row.result == Result.ADJUSTED and wrong.found_on == row.checked_on):
        return
    newest = row.instrument.checked_on
    if newest is None or row.checked_on >= newest:
        sentence = f"It was found wrong on {words.day(wrong.found_on)}: only a check after that day counts again."
        raise Refused(sentence, field="checked_on")


def _must_be_wrong(last_good_on: date, found_on: date, what: str, *, field: str, today: date) -> None:
    """Raises Refused for a finding whose days cannot be, or that nobody put in words."""
    if found_on > today:
        raise Refused("This day is still to come.", field="found_on")
    if last_good_on > found_on:
        raise Refused("It was last right before it was found wrong.", field="last_good_on")
    if not what.strip():
        raise Refused("Say how it was wrong, and who found it.", field=field)


def _follow(instrument: Instrument, *, today: date) -> None:
    """Take over the days of the latest good check, and none for the next where it was found wrong after it."""
    latest = instrument.checks.good().order_by("-checked_on", "-recorded_at", "-pk").first()
    if latest and (instrument.checked_on is None or latest.checked_on >= instrument.checked_on):
        instrument.checked_on, instrument.check_due = latest.checked_on, latest.due
    instrument.version += 1
    instrument.save(update_fields=["checked_on", "check_due", "version"])
    if instrument.check_due and instrument.faults.unanswered(today).exists():
        instrument.check_due = None
        instrument.save(update_fields=["check_due"])


@operation
def find_instrument_wrong(
    instrument: Instrument, *, id: UUID, last_good_on: date, found_on: date, what: str, by: Actor, now: datetime
) -> InstrumentFault:
    """Record that an instrument was found to measure wrongly, and since when what it showed is doubtful.

    It is out of its check until a new one is recorded. Its readings stay as they were taken. Raises Refused for days that
    cannot be, and where nobody says how it is wrong.
    """
    must_keep_people(by)
    alone(id)
    instrument = locked(instrument)
    if InstrumentCheck.objects.filter(pk=id).exists():  # its finding has the same key
        raise Refused(FORM_USED)
    if made := made_before(InstrumentFault, id, instrument_id=instrument.pk):
        return made
    _must_be_wrong(last_good_on, found_on, what, field="what", today=clock.local_day(now))
    return _found_wrong(instrument, id, last_good_on, found_on, what, by=by, now=now)


def _found_wrong(
    instrument: Instrument, id: UUID, last_good_on: date, found_on: date, what: str, *, by: Actor, now: datetime
) -> InstrumentFault:
    """The finding as a row; a check that found it has the same key."""
    row = InstrumentFault(id=id, instrument=instrument, last_good_on=last_good_on, found_on=found_on, what=what.strip())
    row.recorded_by_id, row.recorded_at = by.actor_id, now
    row.save(force_insert=True)
    facts = {"last_good_on": last_good_on.isoformat(), "found_on": found_on.isoformat()}
    if instrument.check_due:
        facts["check_due_before"] = instrument.check_due.isoformat()
    _follow(instrument, today=clock.local_day(now))
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
