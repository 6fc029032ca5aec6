"""What the planner is given and what it answers. Times are whole minutes from local midnight of the plan's first day."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

MINUTES_A_DAY = 1440
Window = tuple[int, int]  # from, up to


@dataclass(frozen=True)
class Shift:
    """One engineer on one day, at most one a day: from `start` up to `end`, beginning and ending at `home` (a place's
    key). No shift: on leave, or not at work."""

    key: str
    engineer: str
    day: int  # 0 is the plan's first
    start: int
    end: int
    home: str
    skills: frozenset[str] = frozenset()  # folded names, those held on that day
    apprentice: bool = False  # goes only beside somebody who is none
    sites: frozenset[str] | None = None  # a subcontractor may be sent to these only; None: anywhere


@dataclass(frozen=True)
class Fixed:
    """A visit that stands: it keeps its engineers and its time, also where that clashes with other visits that stand or
    with the shift. `place` empty: it is not known where, and the ways there and back count for nothing."""

    key: str
    engineers: tuple[str, ...]
    start: int
    end: int
    place: str


@dataclass(frozen=True)
class Job:
    """Work of one site for one visit: the remedials that share a skill and an outage.

    `windows` are the times within which the whole visit must lie: access times, closed days, parts, days to cancel, what
    must be seen to, other outages, all worked in. `minutes` is how long the visit takes with its crew of `crew`: each
    of `skills` must be had by somebody who goes. `place` empty: it is not known where, so it is not planned.
    `danger`: 4 C1, 3 C2, 2 FI, 1 C3, 0 none. `remedy_by`: the last day (0 is the first; may be negative), or None.
    `apart`: keys of jobs that are not done at the same time as this one, since the one has the power off that the other
    needs; it holds both ways. `what` says what it is, in words for the office ("2 C2 items"); empty: the danger alone is named.
    """

    key: str
    site: str
    place: str
    minutes: int
    windows: tuple[Window, ...]
    skills: frozenset[str] = frozenset()
    crew: int = 1
    danger: int = 0
    remedy_by: int | None = None
    what: str = ""
    apart: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Problem:
    """The week: who works when, what stands, what is to be placed. `minutes[a][b]` is driving from place a to place b,
    `km[a][b]` how far. Every place named is in both. `first` is the date of day 0, for the words of reasons."""

    days: int
    shifts: tuple[Shift, ...]
    fixed: tuple[Fixed, ...]
    jobs: tuple[Job, ...]
    minutes: Mapping[str, Mapping[str, int]]
    km: Mapping[str, Mapping[str, float]]
    first: date | None = None


@dataclass(frozen=True)
class Planned:
    """One job placed: who goes, when, and how long the first of them drives there."""

    job: str
    engineers: tuple[str, ...]
    start: int
    end: int
    drive_minutes: int
    reason: str


@dataclass(frozen=True)
class Answer:
    """A plan: every job is either in `planned` or, with a sentence, in `unplanned`."""

    planned: tuple[Planned, ...]
    unplanned: Mapping[str, str]
    drive_minutes: int  # of all shifts, with the fixed visits and the way home
    iterations: int
    cut_short: bool  # the guard of time ended the search before its iterations: another run may differ
