"""The sweep: looks at the due list and writes the messages that its rows ask for, each once for its occasion.

Set-based and safe to repeat: whatever crashed or ran twice, the next sweep finds the work again.
"""

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from functools import partial
from uuid import UUID

from django.conf import settings
from django.db import connection, transaction
from django.db.models import Exists, OuterRef, Q

from inspections.models import InspectionDue, Observation
from jobsite import clock
from jobsite.firm.operations import beat
from jobsite.firm.queries import the_firm
from jobsite.ledger.queries import heads
from jobsite.messages.models import Message
from jobsite.messages.operations import Complete, send_waiting, settle_abandoned, write_messages
from jobsite.people.models import Competence, PrivateLink, User
from jobsite.people.rights import Right
from jobsite.words import day as in_words
from remedials.due.models import DueRow
from remedials.due.queries import (
    ALONE,
    SWEEP,
    active_staff,
    address_of,
    alarms,
    danger_now,
    lines_for_digest,
    still_due,
)
from remedials.quotes.operations import mailing
from remedials.visits.models import Visit, VisitLine
from remedials.visits.operations import asking_mail, checking_in, letters, telling, times_mail

SWEEP_LOCK = 7_110_001  # a number of our own for PostgreSQL's advisory lock
MORNING = time(7, 0)  # local time; before it nobody wants a digest, or to hear again of what they know
NOTICE_DAYS = (90, 30, 7)


def sweep(*, now: datetime) -> bool:
    """Write every message that is due at `now`. False where another sweep is at work.

    1. Take the advisory lock, or leave.
    2. Write danger messages, those on what may be dangerous, and those on who works alone and is not out, which are so at
    most as late as the sweep is rare; then digests, then what customers are reminded of, in one transaction.
    3. Note the heartbeat in the same transaction: a sweep that failed has not run.
    """
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [SWEEP_LOCK])
            if not cursor.fetchone()[0]:
                return False
        today = clock.local_day(now)
        staff = active_staff()
        write_messages(danger_messages(staff, today=today, now=now))
        write_messages(alarm_messages(staff, today=today, now=now))
        if alone := checking_in.overdue_messages(now):
            write_messages(alone)
            beat(ALONE, now=now)
        if _is_morning(now):
            write_messages(digests(staff, today=today, now=now))
            write_messages(mailing.lapse_messages(today=today, now=now))
        write_messages(inspection_notices(today=today, now=now))
        beat(SWEEP, now=now)
    settle_abandoned(now=now)
    return True


def _is_morning(now: datetime) -> bool:
    return now.astimezone(clock.LONDON).time() >= MORNING


def send(*, now: datetime) -> int:
    """Send what waits; returns how many messages were looked at."""
    today = clock.local_day(now)
    return send_waiting(now=now, stands=partial(stands, today=today), complete=partial(completed, now=now))


def completed(message: Message, *, now: datetime) -> Complete:
    """What goes out for `message`: completed by the room that wrote it."""
    if message.filled_by == letters.FILLED_BY:
        return letters.complete(message)
    if message.filled_by == asking_mail.FILLED_BY:
        return asking_mail.complete(message, now=now)
    if message.filled_by == times_mail.FILLED_BY:
        return times_mail.complete(message, now=now)
    return mailing.complete(message, now=now)


ABOUT_VISITS: dict[str, Callable[[Message, date], bool]] = {
    telling.REASON: lambda message, _: telling.still_stands(message),
    asking_mail.REASON: lambda message, _: asking_mail.still_asked(message),
    times_mail.REASON: times_mail.still_open,
}


def _link_withdrawn(message: Message) -> bool:
    """Whether the office withdrew the link that an earlier try put in: another try would bring it back."""
    return bool(message.link) and PrivateLink.objects.filter(pk__in=[message.link], withdrawn_at__isnull=False).exists()


def stands(message: Message, *, today: date) -> bool:
    """Whether the reason of `message` still holds on `today`; one without a reason (a digest) always does."""
    if message.reason_kind == "danger":
        return DueRow.objects.filter(observation=message.reason_ref, code="C1", made_safe=False).exists()
    if message.reason_kind == "alarm":
        return Observation.objects.uncoded().filter(pk=message.reason_ref, may_be_dangerous=True).exists()
    if message.reason_kind == checking_in.REASON and message.reason_ref:
        return checking_in.alarm_stands(message.reason_ref)
    if about_a_visit := ABOUT_VISITS.get(message.reason_kind):
        return not _link_withdrawn(message) and about_a_visit(message, today)
    if mailing.link_was_withdrawn(message):
        return False
    if message.reason_kind in (mailing.REASON, mailing.LAPSES):
        return mailing.offer_stands(message, today=today)
    if message.reason_kind == "inspection" and message.reason_ref:
        return DueRow.objects.filter(kind="inspection", ref=message.reason_ref, visit=None).exists()
    if message.reason_kind and message.reason_ref:
        return still_due(message.reason_kind, message.reason_ref)
    return True


def danger_messages(staff: list[User], *, today: date, now: datetime) -> list[Message]:
    """For each C1 not made safe: its owner and the managers, at once and then every morning until somebody acts."""
    rows = {row.observation: row for row in danger_now(today=today)}
    managers = [person for person in staff if person.may(Right.KEEP_FIRM)]
    by_key: dict[object, User] = {person.pk: person for person in staff}
    messages = []
    for row in rows.values():
        owner = by_key.get(row.owner_id)
        told = [owner] if owner else []
        for person in told + [m for m in managers if m not in told]:
            occasion = _danger_occasion(row.observation, today, person.pk)
            messages.append(_danger_message(row, person, occasion, now))
    return messages if _is_morning(now) else _heard_first(messages, today=today)


def _danger_occasion(observation: UUID | None, day: date, person: UUID | None) -> str:
    return f"danger {observation} {day} {person}"


def _heard_first(messages: list[Message], *, today: date) -> list[Message]:
    """Those of `messages` that repeat none of yesterday's: they don't wait for the morning.

    What was made safe and is dangerous again since today is no repetition.
    """
    day = today - timedelta(days=1)
    before = {m.occasion: _danger_occasion(m.reason_ref, day, m.to_id) for m in messages}
    told = set(Message.objects.filter(occasion__in=list(before.values())).values_list("occasion", flat=True))
    told_of = {m.reason_ref for m in messages if m.reason_ref and before[m.occasion] in told}
    again = set(Observation.objects.filter(pk__in=told_of, make_safe_by=today).values_list("pk", flat=True))
    return [m for m in messages if before[m.occasion] not in told or m.reason_ref in again]


def _danger_message(row: DueRow, person: User, occasion: str, now: datetime) -> Message:
    owner = row.owner.name if row.owner else "nobody"
    return Message(
        occasion=occasion,
        to_kind=Message.To.STAFF,
        to_id=person.pk,
        address=person.email,
        subject=f"Danger present, not made safe: {row.site.name}",
        body=(
            f"{row.subject}\n{row.site.name}\n\nCode C1, danger present, and no record that it was made safe.\n"
            f"Next step: {row.next_step}. It is with {owner}.\n\n{settings.SITE_ADDRESS}{address_of(row)}\n\n"
            "This comes every morning until the record says that it is made safe or remedied.\n"
        ),
        danger=True,
        site=row.site_id,
        reason_kind="danger",
        reason_ref=row.observation,
        written_at=now,
        next_try_at=now,
    )


def alarm_messages(staff: list[User], *, today: date, now: datetime) -> list[Message]:
    """For each reported defect that may be dangerous now: its owner and every qualified person, once.

    Where the firm has no qualified person on that day, the managers instead. Two statements.
    """
    rows = alarms(today=today)
    qualified = set(Competence.objects.on(today).values_list("user", flat=True)) if rows else set()
    coders = [p for p in staff if p.pk in qualified] or [p for p in staff if p.may(Right.KEEP_FIRM)]
    return [
        _alarm_message(row, person, now)
        for row in rows
        for person in staff
        if person in coders or person.pk == row.owner_id
    ]


def _alarm_message(row: DueRow, person: User, now: datetime) -> Message:
    owner = row.owner.name if row.owner else "nobody"
    return Message(
        occasion=f"alarm {row.observation} {person.pk}",
        to_kind=Message.To.STAFF,
        to_id=person.pk,
        address=person.email,
        subject=f"May be dangerous now: {row.site.name}",
        body=(
            f"{row.subject}\n{row.site.name}\n\nReported as a defect that may be dangerous now, and no qualified person "
            f"has looked at it yet. It is with {owner}.\n\n{settings.SITE_ADDRESS}{address_of(row)}\n"
        ),
        danger=True,
        site=row.site_id,
        reason_kind="alarm",
        reason_ref=row.observation,
        written_at=now,
        next_try_at=now,
    )


def digests(staff: list[User], *, today: date, now: datetime) -> list[Message]:
    """One digest a person and day for those who have something due; it carries the heads of the ledger's chains."""
    written = {f"digest {person.pk} {today}": person for person in staff}
    known = set(Message.objects.filter(occasion__in=list(written)).values_list("occasion", flat=True))
    missing = {occasion: person for occasion, person in written.items() if occasion not in known}
    if not missing:
        return []
    foot = "\n".join(head.line() for head in heads())
    return [
        _digest(person, occasion, lines, foot, today, now)
        for occasion, person in missing.items()
        if (lines := lines_for_digest(person, today=today))
    ]


def _digest(person: User, occasion: str, lines: dict[str, list[str]], foot: str, today: date, now: datetime) -> Message:
    parts = [f"{heading} ({len(rows)})\n" + "\n".join(rows) for heading, rows in lines.items()]
    kept = f"\n\nKeep this message: it helps to prove the ledger.\n{foot}" if person.may(Right.KEEP_FIRM) else ""
    count = sum(map(len, lines.values()))
    return Message(
        occasion=occasion,
        to_kind=Message.To.STAFF,
        to_id=person.pk,
        address=person.email,
        subject=f"Due on {in_words(today)}: {count}",
        body="\n\n".join(parts) + f"\n\nThe whole list: {settings.SITE_ADDRESS}/\n{kept}\n",
        danger=False,
        written_at=now,
        next_try_at=now,
    )


def inspection_notices(*, today: date, now: datetime) -> list[Message]:
    """To the customer of a unit whose inspection comes due: once at 90, 30 and 7 days before, the nearest mark only.

    Nobody is asked to arrange what is booked.
    """
    firm = the_firm()
    booked = VisitLine.objects.filter(
        unit=OuterRef("unit"), active=True, settled_at=None, visit__state=Visit.State.BOOKED
    )
    due = InspectionDue.objects.filter(
        due_on__gte=today,
        due_on__lte=today + timedelta(days=max(NOTICE_DAYS)),
        unit__retired_at__isnull=True,
        unit__site__archived_at__isnull=True,
    ).exclude(Q(unit__site__customer__email="") | Exists(booked))
    messages = []
    for row in due.select_related("unit__site__customer"):
        mark = min(days for days in NOTICE_DAYS if (row.due_on - today).days <= days)
        site, customer = row.unit.site, row.unit.site.customer
        place = site.name if row.unit.whole_site else f"{row.unit.name}, {site.name}"
        messages.append(
            Message(
                occasion=f"inspection {row.pk} {row.due_on} {mark}",
                to_kind=Message.To.CUSTOMER,
                to_id=customer.pk,
                address=customer.email,
                subject=f"Electrical inspection due by {in_words(row.due_on)}: {place}",
                body=(
                    f"Dear {customer.name},\n\nThe next inspection of the electrical installation at {place} is due by "
                    f"{in_words(row.due_on)}.\nWhy: {row.basis}\n\nTo arrange it, please reply or ring {firm.phone}.\n\n"
                    f"{firm.name}\n"
                ),
                site=site.pk,
                reason_kind="inspection",
                reason_ref=row.unit_id,
                written_at=now,
                next_try_at=now,
            )
        )
    return messages
