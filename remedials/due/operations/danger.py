"""What cannot wait for the digest: danger that nobody made safe, reports of what may be dangerous."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from inspections.models import MadeSafe
from jobsite import clock
from jobsite.messages.models import Message
from jobsite.people.models import User
from remedials.due.models import DueRow
from remedials.due.operations.apart import Met, each, whole_or_by_site, write_apart
from remedials.due.queries import (
    alarms,
    bare_beside,
    danger_now,
    in_hand_words,
    owner_words,
    words_of,
    words_of_works,
)
from remedials.due.queries.digesting import hearers_on
from remedials.due.queries.lines import link_to, link_to_have_it
from remedials.due.rules.hearers import Hearer, hearers
from remedials.due.rules.levels import Level
from remedials.due.rules.moments import Hours, digest_moment

DANGER, ALARM = "danger", "alarm"
EVERYBODY_ABOVE = frozenset(Level) - {Level.NOBODY}
"""A C1 that is not made safe is heard of by all of them from the first moment, whatever its date and whoever has it."""


@dataclass(frozen=True)
class Danger:
    """A C1 that is not made safe, in its own `words`, with the row of the due list that carries it.

    `work`: what is to put it right; "" where nothing is. `again`: how often it was made safe and is dangerous again, which is
    told anew.
    """

    observation: UUID
    row: DueRow
    words: str
    work: str
    again: int


def _dangers(rows: list[DueRow]) -> list[Danger]:
    """Each C1 of `rows` once, by the first that it leads; and those that a work of theirs is to put right and that lead none,
    by the first row of that work.
    """
    first = {row.observation: row for row in reversed(rows) if row.observation}
    works = {row.remedial: row for row in reversed(rows) if row.remedial}
    beside = bare_beside(works, first)
    carried = first | {observation: works[remedial] for observation, (remedial, _) in beside.items()}
    again, words, work = _times_back(carried), words_of(carried), words_of_works(works)
    return [
        Danger(o, row, words.get(o, row.subject), work.get(row.remedial, "") if row.remedial else "", again.get(o, 0))
        for o, row in carried.items()
    ]


def write_dangers(staff: list[User], *, hours: Hours, now: datetime, met: Met) -> None:
    """For each C1 not made safe, to who has it, qualified persons and managers: at once, and then every day from the firm's
    time of day on, until somebody acts. Each for itself, also of several that one work is to put right.
    """
    today = clock.local_day(now)
    people, by_key = hearers_on(staff, today), {person.pk: person for person in staff}
    dangers = _dangers(_read(danger_now, today, met))

    def of_danger(danger: Danger) -> list[Message]:
        told = _heard_by(danger.row, people, EVERYBODY_ABOVE, today)
        return [_danger_message(danger, by_key[key], hours, today, now) for key in told]

    named = _named(met)
    made = each(dangers, of_danger, lambda danger, error: named(danger.row, error))
    found = [message for told in made for message in told]
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


def _times_back(observations: Iterable[UUID]) -> dict[UUID, int]:
    """How often each of `observations` was made safe and is dangerous again: that is told anew, on the same day too."""
    ended = MadeSafe.objects.filter(observation__in=observations).exclude(ended="")
    times: dict[UUID, int] = {}
    for key in ended.values_list("observation", flat=True):
        times[key] = times.get(key, 0) + 1
    return times


def _danger_occasion(danger: Danger, day: date, person: UUID) -> str:
    return f"{DANGER} {danger.observation} {day} {person}" + (f" {danger.again}" if danger.again else "")


def _heard_first(messages: list[Message], today: date) -> list[Message]:
    """Those of `messages` that repeat none of yesterday's: they don't wait for the morning."""
    yesterday = str(today - timedelta(days=1))
    before = {m.occasion: m.occasion.replace(str(today), yesterday) for m in messages}
    told = set(Message.objects.filter(occasion__in=list(before.values())).values_list("occasion", flat=True))
    return [m for m in messages if before[m.occasion] not in told]


def _danger_message(danger: Danger, person: User, hours: Hours, today: date, now: datetime) -> Message:
    row = danger.row
    work = f"To be put right by: {danger.work}\n" if danger.work else ""
    waits = f"Waits on {row.waits_on}: {row.subject}\n" if row.waits_on else ""
    return Message(
        occasion=_danger_occasion(danger, today, person.pk),
        to_kind=Message.To.STAFF,
        to_id=person.pk,
        address=person.email,
        subject=f"Danger present, not made safe: {row.site_name}",
        body=(
            f"{danger.words}\n{row.site_name}\n\nCode C1, danger present, and no record that it was made safe.\n{work}{waits}"
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
        reason_ref=danger.observation,
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
