"""One engineer's day, as a cell of the drawing and as lines of the list: the same facts twice."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.urls import NoReverseMatch

from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.people.models import User
from jobsite.words import MONTHS, WEEKDAYS, joined, london, many
from jobsite.words import day as day_in_full
from remedials.visits.choices import Answered, LineKind
from remedials.visits.drawing import Block, Cell, Drive, Gap, part_on
from remedials.visits.models import Visit
from remedials.visits.queries.diary_rows import Entry, Roads, WholeDays, place_of
from remedials.works.states import Stage

LEAST_GAP = 30  # minutes: in less than that nothing is begun (common practice)


@dataclass(frozen=True)
class Ground:
    """All that cells are made of."""

    by_day: dict[tuple[UUID, date], list[Entry]]
    whole: WholeDays
    roads: Roads
    may_book: bool
    now: datetime
    goers: dict[UUID, list[str]]  # who goes to each visit


def clock_of(minute: int) -> str:
    """A minute of a day: "09:30"."""
    return f"{minute // 60:02}:{minute % 60:02}"


def cell_of(person: User, on: date, ground: Ground) -> Cell:
    """The day `on` of `person`."""
    entries = ground.by_day.get((person.pk, on), [])
    works, away = _works(person, on, ground)
    return Cell(
        engineer=str(person.pk),
        day=on.isoformat(),
        label=f"{person.name}, {WEEKDAYS[on.weekday()]} {on.day} {MONTHS[on.month - 1]}",
        works=works,
        away=away,
        blocks=tuple(_block(entry, ground) for entry in entries),
        drives=tuple(_drives(entries, ground)),
        gaps=tuple(_gaps(person, on, works, entries, ground)),
    )


def _works(person: User, on: date, ground: Ground) -> tuple[tuple[int, int] | None, str]:
    """The hours worked (minutes of the day), or None and why not."""
    if what := ground.whole.away.get((person.pk, on)):
        return None, what
    if on in ground.whole.holidays:
        return None, "bank holiday"
    span = ground.whole.hours.get((person.pk, on))
    part = part_on(*span, on) if span else None
    return ((part.start, part.end), "") if part else (None, "")


def times_of(entry: Entry) -> str:
    """From when until when on the day it is shown on: "09:00–11:00", "…–11:00" where it began before."""
    begin = "…" if entry.part.earlier else f"{london(entry.start):%H:%M}"
    end = "…" if entry.part.later else f"{london(entry.end):%H:%M}"
    return f"{begin}–{end}"


def _block(entry: Entry, ground: Ground) -> Block:
    code, held = entry.worst
    return Block(
        key=str(entry.key),
        start=entry.part.start,
        end=entry.part.end,
        times=times_of(entry),
        site=entry.site.name,
        words=in_words(entry),
        href=href_of(entry),
        code=code,
        held=held,
        off=bool(entry.visit and _off(entry.visit)),
        earlier=entry.part.earlier,
        later=entry.part.later,
        proposed=entry.proposed,
        moves=_moves(entry, ground),
    )


def _off(visit: Visit) -> bool:
    return bool(visit.outage or visit.outage_start)


def href_of(entry: Entry) -> str:
    """The page of the visit, or of the plan that proposes it."""
    if entry.visit:
        return address("visits:visit", entry.visit.pk)
    try:
        return address("visits:plan", entry.proposal.plan_id) if entry.proposal else ""
    except NoReverseMatch:
        return address("desk:site", entry.site.pk)


def _movable(entry: Entry, ground: Ground) -> bool:
    return ground.may_book and entry.visit is not None and not entry.part.earlier and entry.end > ground.now


def _moves(entry: Entry, ground: Ground) -> dict[str, str] | None:
    """What the script that moves it must know."""
    visit = entry.visit
    if visit is None or not _movable(entry, ground):
        return None
    return {
        "move": address("visits:diary_move", visit.pk),
        "name": f"Visit {visit.number}, {entry.site.name}",
        "version": str(visit.version),
        "start": str(entry.part.start),
        "engineers": " ".join(ground.goers.get(entry.key, [])),
        "minutes": str(round((entry.end - entry.start).total_seconds() / 60)),
        "confirmed": "yes" if visit.answered == Answered.CONFIRMED else "",
    }


def in_words(entry: Entry) -> str:
    """All that a block says, in one line: for its title and for screen readers."""
    code, held = entry.worst
    code_words = code and f"{code}, made safe" if held else code
    if entry.visit is None:
        reason = entry.proposal.reason if entry.proposal else ""
        return joined("Proposed", times_of(entry), entry.site.name, code_words, entry.engineer.name, reason)
    visit = entry.visit
    off = joined("power off", visit.outage, by=": ") if _off(visit) else ""
    said = "" if visit.answered == Answered.NOT_ASKED else visit.get_answered_display()
    what = joined(f"Visit {visit.number}", "emergency" if visit.emergency else "")
    return joined(what, times_of(entry), entry.site.name, code_words, entry.engineer.name, work_words(entry), off, said)


def work_words(entry: Entry) -> str:
    """What is to be done at a visit: "2 remedials, 1 to close, 1 inspection"."""
    remedials = {line["remedial"]: line["stage"] for line in entry.lines if line.get("remedial")}
    to_close = sum(stage == Stage.BOOKED for stage in remedials.values())
    kinds = [line["kind"] for line in entry.lines if "kind" in line]
    return joined(
        many(len(remedials), "remedial") if remedials else "",
        f"{to_close} to close" if to_close else "",
        *(many(n, kind.label, more) for kind, more in OTHERS if (n := kinds.count(kind))),
    )


OTHERS = (
    (LineKind.INSPECTION, "inspections"),
    (LineKind.LOOK_AGAIN, "looks again at what was made safe"),
    (LineKind.CALL_OUT, "call-outs"),
)


def _drives(entries: list[Entry], ground: Ground) -> Iterator[Drive]:
    """The driving between one visit and the next at another site, with a word where the time is too short for it."""
    visits = [entry for entry in entries if not entry.proposed]
    for before, after in itertools.pairwise(visits):
        minutes = ground.roads.minutes(place_of(before.site), place_of(after.site))
        if not minutes:
            continue
        there = round((after.start - before.end).total_seconds() / 60)
        short = there < minutes
        words = f"{many(minutes, 'minute')} to drive from {before.site.name} to {after.site.name}"
        words += f": only {many(max(there, 0), 'minute')} between the visits" if short else ""
        yield Drive(before.part.end, after.part.start, minutes, short, words)


def _gaps(person: User, on: date, works: tuple[int, int] | None, entries: list[Entry], ground: Ground) -> Iterator[Gap]:
    """The empty stretches of the hours worked that are not over yet, for those who book."""
    if works is None or not ground.may_book:
        return
    at = max(works[0], _begun(on, ground.now))
    for entry in [*(e for e in entries if not e.proposed), None]:
        until = min(works[1], entry.part.start) if entry else works[1]
        if until - at >= LEAST_GAP:
            where = address("visits:gap", who=person.pk, day=on, start=clock_of(at), until=clock_of(until))
            words = f"{person.name} is free {clock_of(at)}–{clock_of(until)}: see what fits"
            yield Gap(at, until, where, words)
        at = max(at, entry.part.end) if entry else at


def _begun(on: date, now: datetime) -> int:
    """How much of the day is over, in minutes up to the next quarter: all of it, or none of a day to come."""
    here = london(now)
    if here.date() != on:
        return 0 if here.date() < on else 24 * 60
    return -(-(here.hour * 60 + here.minute) // 15) * 15


def list_of(on: date, people: list[User], ground: Ground, cells: list[Cell]) -> dict[str, Any]:
    """The day `on` of `people` as an ordered list: visits and proposals by time, who is away, where there is room.

    `cells` are that day's, in the order of `people`.
    """
    entries = [entry for person in people for entry in ground.by_day.get((person.pk, on), [])]
    by_visit: dict[UUID, list[Entry]] = {}
    for entry in sorted(entries, key=lambda e: (e.start, str(e.key), e.engineer.name)):
        by_visit.setdefault(entry.key, []).append(entry)
    free = [(person, gap) for person, cell in zip(people, cells, strict=True) for gap in cell.gaps]
    return {
        "day": f"{on:%A} {day_in_full(on)}",
        "note": f"Bank holiday: {name}" if (name := ground.whole.holidays.get(on)) else "",
        "away": [f"{p.name}: {what}" for p in people if (what := ground.whole.away.get((p.pk, on)))],
        "rows": [_line(found, ground) for found in by_visit.values()],
        "drives": [drive.words for cell in cells for drive in cell.drives],
        "free": [
            {"href": gap.href, "words": f"{person.name} {clock_of(gap.start)}–{clock_of(gap.end)}"}
            for person, gap in free
        ],
    }


def _line(found: list[Entry], ground: Ground) -> dict[str, Any]:
    entry = found[0]
    visit = entry.visit
    code, held = entry.worst
    return {
        "times": times_of(entry),
        "href": href_of(entry),
        "site": entry.site.name,
        "mark": code_mark(code, held) if code else "",
        "proposed": entry.proposed,
        "words": _line_words(found),
        "off": joined("Power off", visit.outage, by=": ") if visit and _off(visit) else "",
        "move": address("visits:diary_move", visit.pk) if visit and _movable(entry, ground) else "",
        "number": str(visit.number) if visit else "",
    }


def _line_words(found: list[Entry]) -> str:
    """Who goes, what is done, and how it stands: "Edwin Wireman, Otto Ampleby: 1 remedial, confirmed"."""
    entry = found[0]
    who = ", ".join(one.engineer.name for one in found)
    if entry.visit is None:
        return joined(who, entry.proposal.reason if entry.proposal else "", by=": ")
    said = "" if entry.visit.answered == Answered.NOT_ASKED else entry.visit.get_answered_display()
    return joined(who, joined(work_words(entry), "emergency" if entry.visit.emergency else "", said), by=": ")
