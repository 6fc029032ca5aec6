"""How many units stand together: their order, the words of a line, what narrows the list. Pure: counts and dates in."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import IntEnum, StrEnum

from jobsite.words import many
from remedials.status.rules import long_day

SOON = timedelta(days=90)
MOST_NAMED = 3


class Level(IntEnum):
    """How bad what is known of a unit is, the worst first. Nothing is called clear that nobody has inspected."""

    DANGER_NOW = 0  # a C1 that is not recorded as made safe
    UNCODED = 1  # reported, and nobody competent has looked at it: nobody knows how bad
    MADE_SAFE = 2  # a C1 that was made safe for now
    DANGEROUS = 3  # a C2
    INVESTIGATE = 4  # an FI
    NEVER = 5  # no inspection on record
    OVERDUE = 6  # the next inspection is past its date
    IMPROVE = 7  # nothing but C3
    CLEAR = 8


class Danger(StrEnum):
    """What the list can be narrowed to by danger."""

    NOW = "now"
    OPEN = "open"
    UNKNOWN = "unknown"
    NONE = "none"


class Dates(StrEnum):
    """What the list can be narrowed to by dates."""

    LATE = "late"
    SOON = "soon"


@dataclass(frozen=True, slots=True)
class Standing:
    """What is known of one unit.

    `codes`: open items by code, "" for those not coded. `now`: C1 not recorded as made safe. `unsafe`: C1 and C2 not recorded as made
    safe. `by`: the earliest day by which
    a C1, C2 or FI is to be put right. `inspected`: the day of the inspection that counts, None without any. `partly`: it
    did not cover everything. `next`: when the next is due. `if_let`: the sooner day if it is let, where no letting is recorded. `vain`: visits at which nobody let us in, since we last got in.
    """

    name: str
    codes: tuple[tuple[str, int], ...] = ()
    now: int = 0
    unsafe: int = 0
    by: date | None = None
    inspected: date | None = None
    partly: bool = False
    next: date | None = None
    if_let: date | None = None
    vain: int = 0

    def count(self, *codes: str) -> int:
        """How many items of `codes` are open."""
        return sum(number for code, number in self.codes if code in codes)


def level(unit: Standing, today: date) -> Level:
    """How bad what is known of `unit` is."""
    steps = (
        (unit.now, Level.DANGER_NOW),
        (unit.count(""), Level.UNCODED),
        (unit.count("C1"), Level.MADE_SAFE),
        (unit.count("C2"), Level.DANGEROUS),
        (unit.count("FI"), Level.INVESTIGATE),
        (unit.inspected is None, Level.NEVER),
        (overdue(unit, today), Level.OVERDUE),
        (unit.count("C3"), Level.IMPROVE),
    )
    return next((found for there, found in steps if there), Level.CLEAR)


def overdue(unit: Standing, today: date) -> bool:
    """Whether the next inspection of `unit` is past its date."""
    return unit.next is not None and unit.next < today


def order(unit: Standing, today: date) -> tuple[Level, date, int]:
    """Where `unit` stands in the list: by how bad, then by the day of what is to be put right first, then by how much."""
    return level(unit, today), unit.by or date.max, -unit.count("C1", "C2", "FI", "")


def fits(unit: Standing, today: date, *, danger: str = "", dates: str = "", shut_out: bool = False) -> bool:
    """Whether `unit` is among those that were asked for; "" asks for all."""
    late = overdue(unit, today) or (unit.by is not None and unit.by < today)
    asked: dict[str, bool] = {
        Danger.NOW: bool(unit.now),
        Danger.OPEN: bool(unit.count("C1", "C2")),
        Danger.UNKNOWN: bool(unit.count("", "FI")) or unit.inspected is None,
        Danger.NONE: level(unit, today) >= Level.OVERDUE,
        Dates.LATE: late,
        Dates.SOON: unit.next is not None and today <= unit.next <= today + SOON,
    }
    return all(asked[choice] for choice in (danger, dates) if choice) and (bool(unit.vain) or not shut_out)


def vain_words(unit: Standing) -> str:
    """How often nobody let us in: "not let in, twice"."""
    if not unit.vain:
        return ""
    return "not let in" + {1: "", 2: ", twice"}.get(unit.vain, f", {unit.vain} times")


NO_UNIT = "No unit is on record here now: as owner, agent, payer or approver, or as our customer."
DANGEROUS = "a dangerous item is open"
UNSURE = "something must first be investigated or looked at: nobody can say yet whether it is dangerous"


def first_words(units: Sequence[Standing], today: date) -> list[str]:
    """The sentences that open the page, the most dangerous first; the first is its headline.

    Each unit is counted in exactly one of the sentences on danger, and none is called free of danger without an inspection.
    """
    if not units:
        return [NO_UNIT]
    now = [unit for unit in units if unit.now]
    dangerous = [unit for unit in units if unit.count("C1", "C2") and not unit.now]
    unsure = [unit for unit in units if unit.count("", "FI") and not unit.count("C1", "C2")]
    never = [unit for unit in units if level(unit, today) == Level.NEVER]
    clear = [unit for unit in units if level(unit, today) >= Level.OVERDUE]
    of = len(units)
    said = [
        _now(now, of),
        _dangerous(dangerous, of, before=bool(now)),
        _counted(unsure, of, before=bool(now or dangerous), are=UNSURE),
        _clear(clear, of),
        _never(never, of),
        *_besides(units, today),
    ]
    return [sentence for sentence in said if sentence]


def _now(now: Sequence[Standing], of: int) -> str:
    if not now:
        return ""
    names = _named(now)
    where = names if of == 1 else f"{len(now)} of {many(of, 'unit')}: {names}"
    return f"Danger now in {where}. It is not recorded as made safe: keep everybody away from it."


def _named(units: Sequence[Standing]) -> str:
    """ "Flat 1, Mill Court; Flat 2, Mill Court; and 3 more": names hold commas themselves."""
    names = [unit.name for unit in units[:MOST_NAMED]]
    more = len(units) - len(names)
    return "; ".join([*names, f"and {more} more"] if more else names)


def _counted(units: Sequence[Standing], of: int, *, before: bool, are: str) -> str:
    if not units:
        return ""
    which = f"{len(units)} more" if before else "the one unit" if of == 1 else f"{len(units)} of {many(of, 'unit')}"
    return f"In {which} {are}."


def _dangerous(units: Sequence[Standing], of: int, *, before: bool) -> str:
    """Those with an open C1 or C2, and in how many of them something is not made safe."""
    unsafe = sum(bool(unit.unsafe) for unit in units)
    held = (
        "made safe for now" if not unsafe else "not made safe" if unsafe == len(units) else f"not made safe in {unsafe}"
    )
    return _counted(units, of, before=before, are=f"{DANGEROUS}, {held}")


def _clear(clear: Sequence[Standing], of: int) -> str:
    """The units in which no dangerous item is open, always with the inspections that this rests on."""
    days = sorted(unit.inspected for unit in clear if unit.inspected)
    if not days:
        return ""
    between = f"between {long_day(days[0])} and {long_day(days[-1])}"
    source = f"inspections of {long_day(days[0])}" if days[0] == days[-1] else f"inspections {between}"
    partly = sum(unit.partly for unit in clear)
    gaps = f"; {partly} of these units {'was' if partly == 1 else 'were'} not covered in full" if partly else ""
    rest = f"the other {len(clear)}" if len(clear) > 1 else "the other one"
    where = rest if len(clear) < of else "the one unit" if of == 1 else f"any of the {many(of, 'unit')}"
    return f"No dangerous item is recorded open in {where}, from {source}{gaps}."


def _never(never: Sequence[Standing], of: int) -> str:
    if not never:
        return ""
    have = "has" if len(never) == 1 else "have"
    safe = "whether it is safe" if len(never) == 1 else "whether they are safe"
    which = many(len(never), "unit") if len(never) < of or of == 1 else f"All {of} units"
    return f"{which} {have} no inspection on record: nobody can say from here {safe}."


def _besides(units: Sequence[Standing], today: date) -> Iterable[str]:
    late, shut = sum(overdue(unit, today) for unit in units), sum(bool(unit.vain) for unit in units)
    unsaid = sum(unit.if_let is not None for unit in units)
    past = sum(unit.if_let is not None and unit.if_let < today for unit in units)
    if late:
        yield f"The next inspection of {many(late, 'unit')} is overdue."
    if unsaid:
        homes, let = ("a home", "it is let") if unsaid == 1 else (f"{unsaid} homes", "they are let")
        gone = f"; {past} of those days {'is' if past == 1 else 'are'} past" if past else ""
        yield f"The next inspection of {homes} of which no letting is recorded here is due sooner if {let}{gone}."
    if shut:
        yield f"Nobody let us in to {many(shut, 'unit')} when we last came."


@dataclass(frozen=True, slots=True)
class Item:
    """What the summary must know of one item: its code, whether it is still open, and how far its repair is: a key of STEPS,
    as the unit's own page has it.
    """

    code: str
    open: bool
    made_safe: bool = False
    by: date | None = None
    step: str = ""


STEPS = {
    "done": "done, the proof still to be reviewed",
    "booked": "booked",
    "over": "booked for a day that is past, with no outcome recorded yet",
    "approved": "agreed, no date yet",
    "quoted": "waiting for your answer to a quote",
    "declined": "declined",
    "": "being decided or priced",
}


def steps(items: Iterable[Item]) -> list[tuple[str, int]]:
    """How many open C1, C2 and FI are how far, furthest first."""
    found: dict[str, int] = {}
    for item in items:
        if item.open and item.code in ("C1", "C2", "FI"):
            found[item.step] = found.get(item.step, 0) + 1
    return [(words, found[step]) for step, words in STEPS.items() if step in found]


def by_code(items: Sequence[Item], today: date) -> list[tuple[str, int, int, int, int]]:
    """Each code with how many are open, of those made safe, of those past their day, and how many were closed."""
    rows = []
    for code in ("C1", "C2", "FI", "C3", ""):
        own = [item for item in items if item.code == code]
        still = [item for item in own if item.open]
        late = sum(item.by is not None and item.by < today and code != "C3" for item in still)
        rows.append((code, len(still), sum(item.made_safe for item in still), late, len(own) - len(still)))
    return [row for row in rows if row[0] or row[1]]


def figures(units: Sequence[Standing], today: date) -> list[tuple[str, int]]:
    """What is counted for a board, with its words. A unit may stand in several of them."""
    return [
        ("units", len(units)),
        ("with a danger now: a C1 that is not made safe", sum(bool(unit.now) for unit in units)),
        ("with an open C1 or C2", sum(bool(unit.count("C1", "C2")) for unit in units)),
        ("with a C1 or C2 that is not made safe", sum(bool(unit.unsafe) for unit in units)),
        ("with something to investigate or look at first", sum(bool(unit.count("FI", "")) for unit in units)),
        ("without an inspection on record", sum(unit.inspected is None for unit in units)),
        ("with their next inspection overdue", sum(overdue(unit, today) for unit in units)),
        ("with it due within 90 days", sum(fits(unit, today, dates=Dates.SOON) for unit in units)),
        ("where nobody let us in when we last came", sum(bool(unit.vain) for unit in units)),
    ]
