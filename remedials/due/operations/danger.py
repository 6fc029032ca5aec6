"""What cannot wait for the digest: danger that nobody made safe, reports of what may be dangerous."""

from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from uuid import UUID

from inspections.models import MadeSafe
from jobsite import clock
from jobsite.messages.models import Message
from jobsite.people.models import User
from remedials.due.models import DueRow
from remedials.due.operations.apart import Met, each, whole_or_by_site, write_apart
from remedials.due.queries import alarms, danger_now, in_hand_words, owner_words
from remedials.due.queries.digesting import hearers_on
from remedials.due.queries.lines import link_to, link_to_have_it
from remedials.due.rules.hearers import Hearer, hearers
from remedials.due.rules.levels import Level
from remedials.due.rules.moments import Hours, digest_moment

DANGER, ALARM = "danger", "alarm"
EVERYBODY_ABOVE = frozenset(Level) - {Level.NOBODY}
"""A C1 that is not made safe is heard of by all of them from the first moment, whatever its date and whoever has it."""


def write_dangers(staff: list[User], *, hours: Hours, now: datetime, met: Met) -> None:
    """For each C1 not made safe, to who has it, qualified persons and managers: at once, and then every day from the firm's
    time of day on, until somebody acts. Of several that one work is to put right, for one after another: there is one as
    long as any of them is not safe.
    """
    today = clock.local_day(now)
    people, by_key = hearers_on(staff, today), {person.pk: person for person in staff}
    rows = list({row.observation: row for row in reversed(_read(danger_now, today, met))}.values())
    again = _times_back([row.observation for row in rows])

    def of_row(row: DueRow) -> list[Message]:
        told = _heard_by(row, people, EVERYBODY_ABOVE, today)
        return [_danger_message(row, by_key[key], again.get(row.observation, 0), hours, today, now) for key in told]

    found = [message for told in each(rows, of_row, _named(met)) for message in told]
    write_apart(found if now >= digest_moment(today, hours) else _heard_first(found, today), met)


def _heard_by(row: DueRow, people: list[Hearer], levels: frozenset[Level], today: date) -> list[UUID]:
    """Who hears of `row`; everybody who works here where the rules name nobody."""
    found = hearers(people, kind=row.kind, owner=row.owner_id, levels=levels, no_date_or_loose=False, today=today)
    return [person.key for person in people if not found or person.key in found]


def _read(read: Callable[..., list[DueRow]], today: date, met: Met) -> list[DueRow]:
    """What `read` finds; where a row makes it fail, at all sites but that row's."""
    parts = whole_or_by_site(lambda sites: read(today=today, sites=sites), met)
    return [row for part in parts for row in part]


def _named(met: Met) -> Callable[[DueRow, Exception], None]:
    return lambda row, error: met.add(f"“{row.subject}” at {row.site_name or 'no site'} ({row.kind}:{row.ref})", error)


def _times_back(observations: Sequence[UUID | None]) -> dict[UUID | None, int]:
    """How often each of `observations` was made safe and is dangerous again: that is told anew, on the same day too."""
    ended = MadeSafe.objects.filter(observation__in=[o for o in observations if o]).exclude(ended="")
    times: dict[UUID | None, int] = {}
    for key in ended.values_list("observation", flat=True):
        times[key] = times.get(key, 0) + 1
    return times


def _danger_occasion(observation: UUID | None, day: date, person: UUID | None, again: int) -> str:
    return f"{DANGER} {observation} {day} {person}" + (f" {again}" if again else "")


def _heard_first(messages: list[Message], today: date) -> list[Message]:
    """Those of `messages` that repeat none of yesterday's: they don't wait for the morning."""
    yesterday = str(today - timedelta(days=1))
    before = {m.occasion: m.occasion.replace(str(today), yesterday) for m in messages}
    told = set(Message.objects.filter(occasion__in=list(before.values())).values_list("occasion", flat=True))
    return [m for m in messages if before[m.occasion] not in told]


def _danger_message(row: DueRow, person: User, again: int, hours: Hours, today: date, now: datetime) -> Message:
    return Message(
        occasion=_danger_occasion(row.observation, today, person.pk, again),
        to_kind=Message.To.STAFF,
        to_id=person.pk,
        address=person.email,
        subject=f"Danger present, not made safe: {row.site_name}",
        body=(
            f"{row.subject}\n{row.site_name}\n\nCode C1, danger present, and no record that it was made safe.\n"
            f"Next step: {row.next_step}. {_with_whom(row, today)}\n\n{link_to(row)}\n\n{_who_takes_it(row)}"
            "This comes every day until the record says that it is made safe or remedied.\n"
        ),
        danger=True,
        why=(
            "Code C1, not made safe: at once, and then every day from "
            f"{hours.digest_at:%H:%M}, to who has it, the qualified persons and the managers."
        ),
        site=row.site_id,
        reason_kind=DANGER,
        reason_ref=row.observation,
        written_at=now,
        next_try_at=now,
    )


def _with_whom(row: DueRow, today: date) -> str:
    return f"{in_hand_words(row, today)}." if row.in_hand_until else f"It is with {owner_words(row.owner)}."


def _who_takes_it(row: DueRow) -> str:
    return f"Say that you have it: {link_to_have_it(row)}\n"


def write_alarms(staff: list[User], *, now: datetime, met: Met) -> None:
    """For each reported defect that may be dangerous now: to who has it and every qualified person, once.

    Where the firm has no qualified person on that day, to the managers instead.
    """
    today = clock.local_day(now)
    rows = _read(alarms, today, met)
    people, by_key = hearers_on(staff, today) if rows else [], {person.pk: person for person in staff}

    def of_row(row: DueRow) -> list[Message]:
        told = _heard_by(row, people, frozenset({Level.OWNER, Level.QUALIFIED}), today)
        return [_alarm_message(row, by_key[key], now) for key in told]

    write_apart([message for told in each(rows, of_row, _named(met)) for message in told], met)


def _alarm_message(row: DueRow, person: User, now: datetime) -> Message:
    return Message(
        occasion=f"{ALARM} {row.observation} {person.pk}",
        to_kind=Message.To.STAFF,
        to_id=person.pk,
        address=person.email,
        subject=f"May be dangerous now: {row.site_name}",
        body=(
            f"{row.subject}\n{row.site_name}\n\nReported as a defect that may be dangerous now, and no qualified person "
            f"has looked at it yet. It is with {owner_words(row.owner)}.\n\n{link_to(row)}\n\n{_who_takes_it(row)}"
        ),
        danger=True,
        why="Reported as a defect that may be dangerous now: once, to who has it and to each qualified person.",
        site=row.site_id,
        reason_kind=ALARM,
        reason_ref=row.observation,
        written_at=now,
        next_try_at=now,
    )
