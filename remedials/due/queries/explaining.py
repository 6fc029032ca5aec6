"""Why a message was sent or not, and who would hear of a row of the due list: in plain words, for a terminal."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from uuid import UUID

from jobsite import clock
from jobsite.firm.queries import beats
from jobsite.ledger.models import Entry
from jobsite.messages.models import Message
from jobsite.messages.verbs import Verb
from jobsite.people.models import Competence, User
from jobsite.premises.models import Party, Site
from jobsite.words import day as in_words
from jobsite.words import many, when
from remedials.due.models import DueRow, NoReminders, Trouble
from remedials.due.queries.clockwork import SENDING, SWEEP, fresh
from remedials.due.queries.digesting import hearer
from remedials.due.queries.lines import line_of, rows_of
from remedials.due.queries.reminding import active_staff
from remedials.due.queries.settings import hours, rules_in_force
from remedials.due.rules.hearers import Hearer, hearers
from remedials.due.rules.levels import Level, heard_by, said_on
from remedials.due.rules.moments import Hours, digest_day_before, digest_moment, is_working, may_go
from remedials.due.rules.quieter import WORDS
from remedials.due.rules.sorts import Days, sort_of

LOOKS_AHEAD = timedelta(days=400)
LAST = 8
STATE = Message.State


def about_message(message: Message, *, why_not: str, now: datetime) -> Iterator[str]:
    """Everything that is known of one message, a line each. `why_not`: why its reason no longer stands; "" while it does."""
    yield f"Message {message.number}: {message.subject}"
    yield f"To:         {_receiver(message)}"
    yield f"Occasion:   {message.occasion} (kept once)"
    yield f"Rule:       {message.why or 'not noted: it was written before rules were kept with messages'}"
    if message.site:
        yield f"About:      {_site(message.site)}"
    yield f"Written:    {when(message.written_at)}"
    yield f"State:      {message.get_state_display()}{f', {when(message.settled_at)}' if message.settled_at else ''}"
    yield f"Reason now: {f'no longer stands. {why_not}' if why_not else 'stands'}"
    yield from _attempts(message)
    if message.state in (STATE.WAITING, STATE.SENDING):
        yield from (f"Held back:  {held}" for held in _held_back(message, now))
    yield from _limits(message, now)


def _receiver(message: Message) -> str:
    """Whom it is for, as the record knows them now."""
    if message.to_kind == Message.To.STAFF:
        person = User.objects.filter(pk=message.to_id).first()
        name = "a person of the firm who is unknown" if person is None else person.name
        left = "" if person is None or person.is_active else ", who no longer works here"
        return f"{name}{left}, {message.address} (of the firm)"
    party = Party.objects.filter(pk=message.to_id).first()
    return f"{party.name if party else 'somebody unknown'}, {message.address} (customer)"


def _site(key: UUID) -> str:
    site = Site.objects.filter(pk=key).first()
    return f"{site.name}, site {site.number}" if site else f"a site that is gone ({key})"


def _attempts(message: Message) -> Iterator[str]:
    """Each outcome that the record keeps of it, and what went wrong last."""
    yield f"Attempts:   {message.attempts}"
    words = dict(Verb.choices)
    for entry in Entry.objects.filter(subject=message.pk).order_by("at", "number"):
        yield f"            {when(entry.at)}: {words.get(entry.verb, entry.verb)}"
    if message.error:
        yield f"            {'not sent because' if message.state == STATE.DROPPED else 'last'}: {message.error}"
    if message.returned_at:
        yield f"            {when(message.returned_at)}: it came back. {message.returned_why}"


def _held_back(message: Message, now: datetime) -> Iterator[str]:
    """Why a message that is to go out has not gone out yet."""
    known = beats(SWEEP, SENDING)
    if message.state == STATE.SENDING:
        yield f"it is being sent since {when(message.claimed_at)}"
        return
    if message.next_try_at > now:
        yield f"it is tried next at {when(message.next_try_at)}"
    today = clock.local_day(now)
    if message.to_kind == Message.To.CUSTOMER and not may_go(now, hours(today, today)):
        yield "it is no working hour: customers are written to on working days and outside the quiet hours"
    if not fresh(known.get(SENDING), now):
        yield f"sending does not run; it last did {when(known.get(SENDING)) or 'never'}"
    elif message.next_try_at <= now:
        yield "nothing: its turn comes with the next sending, within a minute"


def _limits(message: Message, now: datetime) -> Iterator[str]:
    """What polite words are bound by."""
    if not message.reminder:
        yield "Limits:     none. It is no reminder that can be stopped: danger, the law or their own work asks for it"
        return
    yield f"Limits:     no other reminder about the same to them before {when(message.quiet_until)}"
    stop = NoReminders.objects.filter(party=message.to_id, lifted_at__isnull=True).first()
    yield (
        f"            they want no reminders since {when(stop.said_at)}" if stop else "            they want reminders"
    )


def about_row(kind: str, ref: UUID, *, now: datetime) -> Iterator[str]:
    """Who hears of the row (kind, ref), from when, and why nobody has heard of it yet; what was said of it."""
    rows, today = rows_of([(kind, ref)]), clock.local_day(now)
    if not rows:
        yield f"There is no open row {kind}:{ref}: it was done or ended, or never was."
    for row in rows:
        yield line_of(row, today=today).to(None)
        yield f"Rule:       {row.rule}"
        yield from _who_and_when(row, today, now)
    yield from _said_of(kind, ref, [row.observation for row in rows if row.observation])


def _who_and_when(row: DueRow, today: date, now: datetime) -> Iterator[str]:
    sort = sort_of(row.kind, row.code, made_safe=row.made_safe)
    days, terms, staff = rules_in_force()[sort], hours(today, today + LOOKS_AHEAD), active_staff()
    yield f"Reminded:   as “{WORDS[sort]}”: {_in_words(days)}"
    if row.code == "C1" and not row.made_safe:
        yield "            Danger present: at once, and then every day, to all of them, whatever its date and whoever has it"
    held = row.in_hand_until is not None and row.in_hand_until >= today
    if held:
        yield f"In hand:    until {in_words(row.in_hand_until)}: {row.in_hand_why}"
    people = {person.pk: person.name for person in staff}
    found = list(_first_days(row, days, terms, hearers_in_time(staff), today))
    for level, day, keys in found:
        names = ", ".join(sorted(people[key] for key in keys)) or "nobody who works here"
        yield f"{level:<12}{names}, in the digest of {in_words(day)}"
    if not found:
        yield f"Nobody:     no digest of the next {LOOKS_AHEAD.days} days has it"
    yield from (f"Not yet:    {why}" for why in _why_not_yet(row, days, terms, today, now))


def hearers_in_time(staff: list[User]) -> list[Hearer]:
    """`staff` as reminders see them on any day: with every competence that the firm records. One statement."""
    spans: dict[UUID, list[tuple[date, date | None]]] = {}
    for user, since, until in Competence.objects.values_list("user", "since", "until"):
        spans.setdefault(user, []).append((since, until))
    return [hearer(person, tuple(spans.get(person.pk, ()))) for person in staff]


def _in_words(days: Days) -> str:
    every = "day" if days.every == 1 else many(days.every, "day")
    parts = [f"from {many(days.before, 'day')} before", f"again every {every} once late"]
    for after, whom in ((days.qualified_after, "qualified persons"), (days.manager_after, "managers")):
        parts.append(f"never to {whom}" if after is None else f"to {whom} {many(after, 'day')} after it was due")
    return ", ".join(parts)


def _first_days(
    row: DueRow, days: Days, terms: Hours, people: list[Hearer], today: date
) -> Iterator[tuple[str, date, set[UUID]]]:
    """For the owner, qualified persons and managers: the first digest from `today` on that tells them, and whom."""
    danger = row.code == "C1" and not row.made_safe
    due = None if row.due == date(9999, 12, 31) else row.due
    facts = {"due": due, "loose": row.loose, "in_hand_until": None if danger else row.in_hand_until, "days": days}
    for level, name in ((Level.OWNER, "First:"), (Level.QUALIFIED, "Then:"), (Level.MANAGER, "And then:")):
        day = today - timedelta(days=1)
        while (day := day + timedelta(days=1)) < today + LOOKS_AHEAD:
            if not is_working(day, terms) or not row.shows_from <= day <= (row.shows_until or day):
                continue
            levels = frozenset(Level) if danger else heard_by(today=day, **facts)  # type: ignore[arg-type]
            since = digest_day_before(day, terms)
            if level in levels and (danger or said_on(today=day, since=since, **facts)):  # type: ignore[arg-type]
                undated = not danger and (due is None or row.loose)
                keys = hearers(
                    people, kind=row.kind, owner=row.owner_id, levels={level}, no_date_or_loose=undated, today=day,
                    of_firm=row.site_id is None,
                )  # fmt: skip
                yield name, day, keys
                break


def _why_not_yet(row: DueRow, days: Days, terms: Hours, today: date, now: datetime) -> Iterator[str]:
    """What stands between the row and a message today."""
    if row.shows_from > today:
        yield f"it stands in the list from {in_words(row.shows_from)} only"
    elif row.shows_until and row.shows_until < today:
        yield f"it stood in the list until {in_words(row.shows_until)}"
    elif row.due != date(9999, 12, 31) and not row.loose and (row.due - today).days > days.before:
        yield f"it is due on {in_words(row.due)}; its owner hears of it {many(days.before, 'day')} before"
    if not is_working(today, terms):
        yield "today is no working day: there is no digest"
    elif now < digest_moment(today, terms):
        yield f"the digests of today are written from {terms.digest_at:%H:%M} on"
    known = beats(SWEEP)
    if not fresh(known.get(SWEEP), now):
        yield f"the reminders do not run; they last did {when(known.get(SWEEP)) or 'never'}"
    for trouble in Trouble.objects.filter(what__contains=str(row.ref)):
        yield f"the sweep could not read or write it on {when(trouble.last_at)}: {trouble.error}"


def _said_of(kind: str, ref: UUID, observations: list[UUID]) -> Iterator[str]:
    """The last messages that were about it or had its line."""
    named = Message.objects.filter(reason_kind__in=[kind, "danger", "alarm"], reason_ref__in=[ref, *observations])
    in_digests = Message.objects.filter(reason_kind="digest", body__contains=f"/due/{kind}/{ref}/")
    found = sorted([*named.order_by("-number")[:LAST], *in_digests.order_by("-number")[:LAST]], key=lambda m: -m.number)
    yield "Said so far:" if found else "Said so far: nothing."
    for message in found[:LAST]:
        yield f"            {message.number} to {message.address}, {when(message.written_at)}: {message.get_state_display()}"
