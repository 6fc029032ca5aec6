"""What was found, closed and left open in a year. Pure: rows in, counts out.

Defects are counted, not records: what a later report notes again is the same defect. What an investigation found is one of
its own, and the investigation is closed. So for every code: open when the year began + found in it = closed in it + open when it ended.
"""

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from statistics import median

ORDER = ("C1", "", "C2", "FI", "C3")
HOW = {"remedied": "put right", "others": "put right by others", "finding": "investigated"}
OTHERWISE = "closed otherwise"
URGENT = ("C1", "C2", "FI")


@dataclass(frozen=True, slots=True)
class Row:
    """One observation: what it continues, its code in force, when it was recorded, how and when it ended, its date."""

    key: Hashable
    unit: Hashable
    code: str
    recorded_on: date
    continues: Hashable = None
    ended: str = ""
    ended_on: date | None = None
    remedy_by: date | None = None


@dataclass(frozen=True, slots=True)
class Defect:
    """One defect through all of its records: first recorded, closed on (None: open), by the code in force now."""

    unit: Hashable
    code: str
    first: date
    ended: str = ""
    ended_on: date | None = None
    remedy_by: date | None = None

    def open_on(self, day: date) -> bool:
        """Whether it was on record and not closed at the end of `day`."""
        return self.first <= day and (self.ended_on is None or self.ended_on > day)


@dataclass
class OfCode:
    """The counts of one code."""

    began: int = 0
    found: int = 0
    closed: Counter[str] = field(default_factory=Counter)
    left: int = 0
    late: int = 0


def defects(rows: Iterable[Row]) -> list[Defect]:
    """The defects that `rows` tell of. Only what ended as continued is carried on by what continues it."""
    known = {row.key: row for row in rows}
    later: dict[Hashable, list[Row]] = defaultdict(list)
    roots = []
    for row in known.values():
        former = known.get(row.continues)
        if former is not None and former.ended == "continued":
            later[former.key].append(row)
        else:
            roots.append(row)
    return [_defect(row, later) for row in roots]


def _defect(root: Row, later: Mapping[Hashable, Sequence[Row]]) -> Defect:
    """The chain from `root`: it ends with its last record; where it goes on in several, with the last of those to close."""
    found, waiting = {root.key: root}, [root]
    while waiting:
        for one in later.get(waiting.pop().key, ()):
            if one.key not in found:
                found[one.key] = one
                waiting.append(one)
    chain = list(found.values())
    ends = [row for row in chain if not later.get(row.key)]
    last = max(ends, key=lambda row: (row.ended_on or date.max, row.recorded_on), default=root)
    still = [row.code for row in ends if not row.ended_on] or [last.code]
    code = min(still, key=ORDER.index)
    first = min(row.recorded_on for row in chain)
    if last.ended == "continued" or last.ended_on is None:  # what was to carry it on is gone: nothing closed it
        return Defect(root.unit, code, first, "", None, last.remedy_by)
    return Defect(root.unit, code, first, last.ended, max(last.ended_on, first), last.remedy_by)


def by_code(found: Iterable[Defect], first: date, last: date) -> dict[str, OfCode]:
    """The counts from `first` to `last`, both included, by code in the order of danger; codes without any are left out."""
    counts: dict[str, OfCode] = defaultdict(OfCode)
    for defect in found:
        of = counts[defect.code]
        of.began += defect.first < first and (defect.ended_on is None or defect.ended_on >= first)
        of.found += first <= defect.first <= last
        if defect.ended_on and first <= defect.ended_on <= last:
            of.closed[HOW.get(defect.ended, OTHERWISE)] += 1
        if defect.open_on(last):
            of.left += 1
            of.late += bool(defect.remedy_by and defect.remedy_by < last and defect.code != "C3")
    told = {code: counts[code] for code in ORDER if code in counts}
    return {code: of for code, of in told.items() if of.began or of.found or of.closed or of.left}


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast C1, C2 and FI were closed: how many, half of them within so many days, how many of those with a date by it."""

    closed: int
    median_days: int | None
    dated: int
    in_time: int


def pace(found: Iterable[Defect], first: date, last: date) -> Pace:
    """Of what is urgent and was closed from `first` to `last`."""
    closed = [d for d in found if d.code in URGENT and d.ended_on and first <= d.ended_on <= last]
    days = [(d.ended_on - d.first).days for d in closed if d.ended_on]
    dated = [d for d in closed if d.remedy_by]
    in_time = sum(bool(d.ended_on and d.remedy_by and d.ended_on <= d.remedy_by) for d in dated)
    return Pace(len(closed), round(median(days)) if days else None, len(dated), in_time)


def open_by_unit(found: Iterable[Defect], last: date) -> dict[Hashable, Counter[str]]:
    """What each unit had open at the end of `last`, by code; units without anything are left out."""
    counts: dict[Hashable, Counter[str]] = defaultdict(Counter)
    for defect in found:
        if defect.open_on(last):
            counts[defect.unit][defect.code] += 1
    return counts
