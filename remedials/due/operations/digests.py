"""The day's digest of each of the firm's people."""

from datetime import date, datetime, timedelta
from uuid import UUID

from django.conf import settings

from jobsite import clock
from jobsite.firm.operations import beat
from jobsite.firm.queries import last_beat
from jobsite.ledger.queries import heads
from jobsite.messages.models import Message
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.words import day as in_words
from remedials.due.operations.apart import Met, all_or_halves, each, whole_or_by_site, write_apart
from remedials.due.queries.clockwork import DIGESTS
from remedials.due.queries.digesting import HEADINGS, Digests, Heap, Key, hearers_on, said_to
from remedials.due.queries.lines import Line, line_of, rows_of
from remedials.due.queries.settings import rules_in_force
from remedials.due.rules.moments import Hours, digest_day_before, digest_moment, is_working

REASON = "digest"
LOOKS_BACK = timedelta(days=60)
HANDED_OVER = (Message.State.SENT, Message.State.UNKNOWN)


def write_digests(staff: list[User], *, hours: Hours, now: datetime, met: Met) -> bool:
    """One digest a person and working day, from the firm's time of day on. Whether the day's were worked out now.

    Each lists what is said on that day to that person (`queries.digesting`), and a manager's carries the heads of the
    ledger's chains. They are worked out once a day; what is new later is in the next one, and danger has messages of its own.
    """
    today = clock.local_day(now)
    ran = last_beat(DIGESTS)
    if not is_working(today, hours) or now < digest_moment(today, hours) or (ran and clock.local_day(ran) == today):
        return False
    said = _said(staff, _since(staff, ran, hours, today), today, met)
    lines = _lines(said, today, met)
    foot = "\n".join(head.line() for head in heads()) if said else ""
    told = [person for person in staff if person.pk in said]
    messages = each(
        told,
        lambda person: digest_of(person, said[person.pk], lines, foot=foot, today=today, hours=hours, now=now),
        lambda person, error: met.add(f"the digest of {person.name}", error),
    )
    write_apart(messages, met)
    beat(DIGESTS, now=now)
    return True


def _since(staff: list[User], ran: datetime | None, hours: Hours, today: date) -> dict[UUID, date]:
    """For each who has no digest of `today` yet the day up to which all was said to them: that of the digest before.

    Earlier where the clockwork stood still, or where a digest never went out: what it said is said now. Two statements.
    """
    before = digest_day_before(today, hours)
    if ran and clock.local_day(ran) < before:
        before = max(clock.local_day(ran), today - LOOKS_BACK)
    named = {_occasion(person.pk, today) for person in staff}
    written = set(Message.objects.filter(occasion__in=named).values_list("to_id", flat=True))
    since = {person.pk: before for person in staff if person.pk not in written}
    rows = Message.objects.filter(reason_kind=REASON, reason_ref__in=list(since)).order_by("-number")
    settled: set[UUID] = set()
    for person, occasion, state in rows.values_list("to_id", "occasion", "state")[: 60 * len(since)]:
        day = day_of(occasion)
        if person in settled or day >= today or day < today - LOOKS_BACK:
            continue
        if state in HANDED_OVER:
            settled.add(person)
        else:
            since[person] = min(since[person], digest_day_before(day, hours))
    return since


def _said(staff: list[User], since: dict[UUID, date], today: date, met: Met) -> Digests:
    """What is said to whom; where that cannot be worked out for all rows at once, without the sites where it fails."""
    people, days = hearers_on(staff, today), rules_in_force()

    found: Digests = {}
    for part in whole_or_by_site(lambda sites: said_to(people, since=since, days=days, today=today, sites=sites), met):
        for person, heaps in part.items():
            for heading, heap in heaps.items():
                found.setdefault(person, {}).setdefault(heading, Heap()).add(heap)
    return found


def _lines(said: Digests, today: date, met: Met) -> dict[Key, Line]:
    """Every row that is said, as a line; those that cannot be read are left out and named."""
    keys = sorted({key for heaps in said.values() for heap in heaps.values() for key in heap.keys})
    parts = all_or_halves(keys, rows_of, lambda key, error: met.add(f"the row {key[0]}:{key[1]}", error))
    lines = each(
        [row for part in parts for row in part],
        lambda row: line_of(row, today=today),
        lambda row, error: met.add(f"“{row.subject}” at {row.site_name or 'no site'} ({row.kind}:{row.ref})", error),
    )
    return {line.key: line for line in lines}


def digest_of(
    person: User, heaps: dict[str, Heap], lines: dict[Key, Line], *, foot: str, today: date, hours: Hours, now: datetime
) -> Message:
    """The message of one person: under each heading how many rows, and the first of them."""
    count = sum(heap.count for heap in heaps.values())
    parts = [_part(heading, heaps[heading], lines, person) for heading in HEADINGS if heading in heaps]
    kept = f"\n\nKeep this message: it helps to prove the ledger.\n{foot}" if person.may(Right.KEEP_FIRM) else ""
    return Message(
        occasion=_occasion(person.pk, today),
        to_kind=Message.To.STAFF,
        to_id=person.pk,
        address=person.email,
        subject=f"Due on {in_words(today)}: {count}",
        body="\n\n".join(parts) + f"\n\nThe whole list: {settings.SITE_ADDRESS}/\n{kept}\n",
        why=(
            f"The digest of {in_words(today)}: once each working day from {hours.digest_at:%H:%M}, to each of the firm's "
            "people, of what is due by the days set for each sort, and of what is passed on because nobody has acted."
        ),
        reason_kind=REASON,
        reason_ref=person.pk,
        written_at=now,
        next_try_at=now,
    )


def _part(heading: str, heap: Heap, lines: dict[Key, Line], person: User) -> str:
    shown = [lines[key].to(person.pk) for key in heap.keys if key in lines]
    more = heap.count - len(heap.keys)
    rest = [f"- and {more:,} more: {settings.SITE_ADDRESS}/"] if more else []
    return "\n".join([f"{heading} ({heap.count:,})", *shown, *rest])


def _occasion(person: UUID, day: date) -> str:
    return f"{REASON} {person} {day}"


def day_of(occasion: str) -> date:
    """The day whose digest a message is, by its occasion."""
    return date.fromisoformat(occasion.split(" ")[2])


def digest_stands(message: Message, *, today: date) -> bool:
    """Whether a digest may still go out: until those of a later day are worked out. One statement.

    What it said is in the next one: `_since` looks for digests that never went out. One of a day that has not come was
    written while the clock was ahead.
    """
    day, ran = day_of(message.occasion), last_beat(DIGESTS)
    newest = clock.local_day(ran) if ran else day
    return day <= today and not day < newest <= today
