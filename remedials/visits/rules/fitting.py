"""Whether a visit fits: who goes, what is to be done, when. Facts in, sentences out: each says what clashes with what."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from jobsite.words import LONDON, day, joined, many, span
from remedials.visits.rules.checks import Check

Span = tuple[datetime, datetime]


@dataclass(frozen=True)
class Said:
    """One thing that does not fit, before anybody asked how strictly the firm takes it."""

    check: Check
    sentence: str
    field: str = ""


@dataclass(frozen=True)
class Leg:
    """Another visit of the same day and how many minutes it takes to get from one to the other."""

    site: str
    span: Span
    minutes: int


@dataclass(frozen=True)
class Going:
    """Somebody who goes: hours by day (None: not worked), days away, what they can do on every day of the visit."""

    name: str
    hours: dict[date, Span | None] = field(default_factory=dict)
    away: tuple[tuple[date, date, str], ...] = ()
    skills: frozenset[str] = frozenset()
    apprentice: bool = False
    insured_until: date | None = None
    subcontractor: bool = False
    legs: tuple[Leg, ...] = ()


@dataclass(frozen=True)
class Work:
    """A remedial of the visit. `lock_offs` are those of others that its live tests would be below, in words."""

    number: int
    skill: str = ""  # as it is written
    skill_folded: str = ""
    minutes: int | None = None
    crew: int = 1
    parts_ready_on: date | None = None
    may_begin: date | None = None
    see_to: tuple[str, ...] = ()
    remedy_by: date | None = None
    lock_offs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Asked:
    """The visit that is asked for, and what of its place bears on it. Instants in UTC, days in London."""

    site: str
    start: datetime
    end: datetime
    going: Sequence[Going] = ()
    work: Sequence[Work] = ()
    open_at: Sequence[Span] | None = None  # None: at any time
    holidays: dict[date, str] = field(default_factory=dict)  # the name, with whose it is
    outages: Sequence[str] = ()  # clashes with other visits there, in words
    locks: Sequence[str] = ()  # lock-offs of which no board is known, in words; empty without live tests
    emergency: bool = False
    today: date | None = None  # None: what is late already is said like what will be

    @property
    def days(self) -> list[date]:
        """The days in London that it touches."""
        first = self.start.astimezone(LONDON).date()
        last = (self.end - timedelta(microseconds=1)).astimezone(LONDON).date()
        return [first + timedelta(days=n) for n in range((last - first).days + 1)]

    @property
    def words(self) -> str:
        """When it is, as a sentence ends."""
        return span(self.start, self.end)


def look_over(asked: Asked) -> list[Said]:
    """All that does not fit, people first, then the work, then the place.

    An emergency is not looked at for hours, bank holidays and the customer's times: it goes when it must. What must be seen
    to first is said all the same: who hurries is hurt by what nobody told them of.
    """
    found = [*_people(asked), *_of_work(asked), *_place(asked)]
    waived = {Check.HOURS, Check.BANK_HOLIDAY, Check.ACCESS} if asked.emergency else set()
    return [one for one in found if one.check not in waived]


def _people(asked: Asked) -> Iterator[Said]:
    for one in asked.going:
        yield from _hours(one, asked)
        for first, last, what in one.away:
            if first <= asked.days[-1] and last >= asked.days[0]:
                when = f"on {day(first)}" if first == last else f"from {day(first)} to {day(last)}"
                yield Said(Check.LEAVE, f"{one.name} is away {when} ({what}).", "engineers")
        if one.subcontractor and one.insured_until and one.insured_until < asked.days[-1]:
            sentence = f"The insurance of {one.name} ends on {day(one.insured_until)}, before the end of the visit."
            yield Said(Check.INSURANCE, sentence, "engineers")
        yield from _driving(one, asked)
    if asked.going and all(one.apprentice for one in asked.going):
        names = joined(*[one.name for one in asked.going], by=" and ")
        are = "is an apprentice" if len(asked.going) == 1 else "are apprentices"
        yield Said(Check.ALONE, f"{names} {are}: somebody who is none must go too.", "engineers")


def _hours(one: Going, asked: Asked) -> Iterator[Said]:
    for on in asked.days:
        if one.hours.get(on) is None:
            yield Said(Check.HOURS, f"{one.name} does not work on {on:%A}, {day(on)}.", "engineers")
    first, last = one.hours.get(asked.days[0]), one.hours.get(asked.days[-1])
    early = first and not first[0] <= asked.start < first[1]
    late = last and not last[0] < asked.end <= last[1]
    if early or late:
        hours = " and ".join(dict.fromkeys(span(*each) for each in (first, last) if each))
        yield Said(Check.HOURS, f"{one.name} works {hours}; the visit is {asked.words}.", "start")


def _driving(one: Going, asked: Asked) -> Iterator[Said]:
    for leg in one.legs:
        before = leg.span[1] <= asked.start
        gap = (asked.start - leg.span[1]) if before else (leg.span[0] - asked.end)
        if gap < timedelta(minutes=leg.minutes):
            free = many(int(gap.total_seconds() // 60), "minute")
            side = "before" if before else "after"
            yield Said(
                Check.DRIVING,
                f"{one.name} is at {leg.site} {side} it ({span(*leg.span)}): driving takes about "
                f"{many(leg.minutes, 'minute')}, and {free} are left.",
                "start",
            )


def _of_work(asked: Asked) -> Iterator[Said]:
    for work in asked.work:
        yield from _days_of(work, asked)
        if work.skill and not any(work.skill_folded in one.skills for one in asked.going):
            sentence = f"Remedial {work.number} takes the skill “{work.skill}”: nobody who goes has it on {_day_words(asked.days)}."
            yield Said(Check.SKILL, sentence, "engineers")
        if work.crew > len(asked.going):
            sentence = (
                f"Remedial {work.number} takes {many(work.crew, 'person', 'people')} at once; {len(asked.going)} go."
            )
            yield Said(Check.CREW, sentence, "engineers")
        for lock in work.lock_offs:
            yield Said(
                Check.LOCK_OFF, f"Remedial {work.number} needs live tests below a lock-off of somebody else: {lock}."
            )
    yield from _length(asked)


def _day_words(days: Sequence[date]) -> str:
    """A visit's days where something must hold on all of them."""
    return day(days[0]) if len(days) == 1 else f"each day from {day(days[0])} to {day(days[-1])}"


def _days_of(work: Work, asked: Asked) -> Iterator[Said]:
    first, last = asked.days[0], asked.days[-1]
    if work.parts_ready_on and work.parts_ready_on > first:
        sentence = f"The parts of remedial {work.number} are ready on {day(work.parts_ready_on)}; the visit is on {day(first)}."
        yield Said(Check.PARTS, sentence, "start")
    if work.may_begin and work.may_begin > first:
        until = day(work.may_begin - timedelta(days=1))
        yield Said(
            Check.CANCELLATION,
            f"The customer may still cancel remedial {work.number} until {until} and has not asked that work begins at "
            "once: ask them first. Your adviser settles whether the right applies.",
            "start",
        )
    for what in work.see_to:
        yield Said(Check.SEE_TO, f"Before remedial {work.number}: {what} is still to be seen to.")
    # What is late already is booked like anything else: no day would be in time, and the sooner it is booked the better.
    if work.remedy_by and work.remedy_by < last and (asked.today is None or work.remedy_by >= asked.today):
        sentence = f"Remedial {work.number} is to be done by {day(work.remedy_by)}; the visit is on {day(last)}."
        yield Said(Check.REMEDY_BY, sentence, "start")


def _length(asked: Asked) -> Iterator[Said]:
    people = max(1, len(asked.going))
    needed = sum(-(-(work.minutes or 0) // people) for work in asked.work)
    there = int((asked.end - asked.start).total_seconds() // 60)
    if needed > there and len(asked.days) == 1:
        yield Said(
            Check.TOO_SHORT,
            f"The work takes about {many(needed, 'minute')} with {many(people, 'person', 'people')}; the visit has {there}.",
            "end",
        )


def _place(asked: Asked) -> Iterator[Said]:
    for on in asked.days:
        if on in asked.holidays:
            yield Said(Check.BANK_HOLIDAY, f"{day(on)} is a bank holiday: {asked.holidays[on]}.", "start")
    if asked.open_at is not None and not _open(asked.open_at, asked):
        on = asked.days[0]
        times = [span(*one) for one in asked.open_at if one[0].astimezone(LONDON).date() == on]
        let_in = joined(*times, by=" and ") if times else f"not on {day(on)}"
        yield Said(Check.ACCESS, f"{asked.site} lets people in {let_in}; the visit is {asked.words}.", "start")
    for sentence in asked.outages:
        yield Said(Check.OUTAGE, sentence, "outage")
    for lock in asked.locks:
        yield Said(
            Check.LOCKS,
            f"Live tests are needed, and it is not known which board this locks off: {lock}. Find out first.",
            "locks",
        )


def _open(spans: Iterable[Span], asked: Asked) -> bool:
    """Whether the whole visit lies within one span; one of several days only begins in one, each day."""
    if len(asked.days) == 1:
        return any(start <= asked.start and asked.end <= end for start, end in spans)
    days = {start.astimezone(LONDON).date() for start, _ in spans}
    return all(on in days for on in asked.days)
