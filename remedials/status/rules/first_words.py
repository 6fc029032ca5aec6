"""The sentences that open a customer's page: the dangerous first, and never more than is known. Pure."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from textwrap import shorten

from jobsite.words import many
from remedials.status.rules.words import MOST_NAMED, listed, long_day

SURVEY = "visual survey"
MOST_LETTERS = 140  # of a defect in the headline; it stands in full as the first open item


@dataclass(frozen=True, slots=True)
class OpenItem:
    """What the sentences must know of one open item.

    `safe_on` while a made-safe stands. `booked_on`: the day of the visit by which all its work still to come would be done;
    `over` where that is past and nobody has said what came of it. `stands`: else how far its work is, a value of `STANDS`.
    `text` is the defect as recorded, `where` its board or place; `advised`: its page says what to do until it is put right.
    """

    code: str
    safe_on: date | None = None
    booked_on: date | None = None
    over: bool = False
    stands: str = ""
    text: str = ""
    where: str = ""
    advised: bool = False
    urgent: bool = False
    """Of one without a code: whoever took the report in thought that it may be dangerous now."""


@dataclass(frozen=True, slots=True)
class Basis:
    """The last inspection that counts for some units: what it was, when, and what it did not look at.

    `boards`: how many of how many boards on record it names; None where it names none.
    """

    noun: str
    on: date
    not_covered: tuple[str, ...] = ()
    boards: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Known:
    """All that the first sentences rest on.

    `next_visit`: when we are to be there next, in words.

    `never`: the units without an inspection on record; `whole` is true where that is everything the page is about.
    `unreviewed`: open items of another firm's report that nobody of the firm has looked over. `overdue`: the units whose
    next inspection is past its date, and that date.
    """

    items: tuple[OpenItem, ...] = ()
    bases: tuple[Basis, ...] = ()
    never: tuple[str, ...] = ()
    whole: bool = True
    unreviewed: int = 0
    overdue: tuple[tuple[str, date], ...] = ()
    next_visit: str = ""


def mood(items: Iterable[OpenItem]) -> str:
    """The worst that is open: "live" for a danger now, "warn" for another danger or one nobody has judged, "must", or ""."""
    items = list(items)
    if any(item.code == "C1" and not item.safe_on for item in items):
        return "live"
    codes = {item.code for item in items}
    return "warn" if codes & {"C1", "C2", ""} else "must" if "FI" in codes else ""


def first_words(known: Known) -> list[str]:
    """The sentences that open the page, the most dangerous first; the first is its headline.

    "No dangerous item" is never said beside an item that nobody has investigated or coded, nor without naming the
    inspection that it rests on and what that did not cover.
    """
    now, uncoded = _danger_now(known.items), _uncoded(known.items)
    urgent = [*now, *_urgent(known.items)]
    dangerous = [item for item in known.items if item.code in ("C1", "C2")]
    doubtful = [*_investigate(known.items), *_overdue(known.overdue)]
    visit = f"We are to be there next on {known.next_visit}." if known.next_visit else ""
    if dangerous:
        said = [
            *urgent,
            *_dangerous(dangerous),
            _until_then(dangerous),
            *uncoded,
            *doubtful,
            visit,
            _from_what(known.bases),
        ]
    else:
        none = _none_dangerous(known.bases, besides=bool(urgent or uncoded or _investigate(known.items)))
        said = [*urgent, *uncoded, *doubtful, none, visit]
    return [*filter(None, said), *_never(known), *_unreviewed(known)]


def not_known(known: Known, earlier: Sequence[str] = ()) -> list[str]:
    """What a list of what is open, or of what was put right, rests on, and what nobody has looked at: never empty.

    It stands in each document that could be handed on by itself: that nothing is recorded open does not say that all is well.
    `earlier`: what inspections before those left out, and none has covered since.
    """
    left = f"Left out of an earlier inspection and not covered since: {_as_written(earlier)}." if earlier else ""
    said = [_from_what(known.bases), left, *_never(known), *_unreviewed(known), *_overdue(known.overdue)]
    return [sentence for sentence in said if sentence]


def _danger_now(items: Iterable[OpenItem]) -> list[str]:
    """The headline where a C1 is not recorded as made safe: it names the first, and counts the others."""
    now = [item for item in items if item.code == "C1" and not item.safe_on]
    if not now:
        return []
    text = shorten(now[0].text.strip().rstrip("."), MOST_LETTERS, placeholder="…") or "an item recorded as C1"
    named = f"{text} ({now[0].where})" if now[0].where else text
    if len(now) == 1:
        return [f"Danger now: {named}, not recorded as made safe. Keep away from it."]
    others = many(len(now) - 1, "other danger", "other dangers")
    return [f"Danger now: {named}, and {others}, not recorded as made safe. Keep away from them."]


def _dangerous(items: Sequence[OpenItem]) -> list[str]:
    """How many dangerous ones are open and made safe, and how far their repairs are.

    In one sentence where the repairs are all as far, as for a single one; else in two, and the counts of the second add up.
    """
    of = len(items)
    are = f"{many(of, 'dangerous item is', 'dangerous items are')} open"
    safe = _made_safe([item.safe_on for item in items if item.safe_on], of, len(_left(items)))
    repairs = _repairs(items)
    if len(repairs) == 1:
        ((count, words),) = repairs
        return [f"{are}: {f'{safe}, ' if safe else ''}{'repair' if count == 1 else 'repairs'} {words}."]
    counted = "; ".join(f"{count} {words}" for count, words in repairs)
    return [f"{are}{f': {safe}' if safe else ''}.", f"Their repairs: {counted}."]


# How far the repair of an item is that has no visit booked.
STANDS = {
    "done": "done, the proof still to be reviewed by a qualified person",
    "quoted": "waiting for an answer to our quote",
    "approved": "agreed, the day still to be fixed",
    "declined": "offered, and declined",
    "": "not booked yet",
}


def _repairs(items: Sequence[OpenItem]) -> list[tuple[int, str]]:
    """How many are how far, in an order that begins with what comes next."""
    booked = [item.booked_on for item in items if item.booked_on and not item.over]
    over = [item.booked_on for item in items if item.booked_on and item.over]
    rest = Counter(item.stands for item in items if not item.booked_on)
    first = "booked, the first for" if len(set(booked)) > 1 else "booked for"
    found = [(len(booked), f"{first} {long_day(min(booked))}")] if booked else []
    if over:
        found.append((len(over), f"booked for {long_day(max(over))}, with no outcome recorded yet"))
    return found + [(rest[stands], words) for stands, words in STANDS.items() if rest[stands]]


def _left(items: Iterable[OpenItem]) -> list[OpenItem]:
    """Those that nothing has made safe yet: also not a repair that waits only for its review."""
    return [item for item in items if not item.safe_on and item.stands != "done"]


def _made_safe(days: Sequence[date], of: int, left: int) -> str:
    """ "made safe for now on 3 March 2026", "1 made safe ..., 3 not made safe", "both made safe for now, the last on ..."."""
    rest = f"{left} not made safe" if left else ""
    if not days:
        return {0: "", of: "none made safe" if of > 1 else "not made safe"}.get(left, rest)
    so_many = str(len(days)) if len(days) < of else {1: "", 2: "both"}.get(of, f"all {of}")
    last = f", the last on {long_day(max(days))}" if len(set(days)) > 1 else f" on {long_day(days[0])}"
    return f"{so_many} made safe for now{last}{f', {rest}' if rest else ''}".strip()


def _until_then(items: Sequence[OpenItem]) -> str:
    """Where to read what to do about those that are not made safe; "" where all are."""
    left = _left(items)
    if not left:
        return ""
    if any(item.advised for item in left):
        return "What to do until then stands at the items below: ask us where it does not."
    return "Ask us what may be used until then."


def _investigate(items: Iterable[OpenItem]) -> list[str]:
    count = sum(1 for item in items if item.code == "FI")
    must = many(count, "item must", "items must")
    they = "it is" if count == 1 else "they are"
    return (
        [f"{must} be investigated without delay: until then nobody can say whether {they} dangerous."] if count else []
    )


def _urgent(items: Iterable[OpenItem]) -> list[str]:
    """What somebody thought to be dangerous now comes before what is known: nobody competent has looked at it yet."""
    count = sum(1 for item in items if not item.code and item.urgent)
    what = (
        "A defect was reported that may be dangerous now"
        if count == 1
        else f"{count} defects were reported that may be dangerous now"
    )
    them = "it" if count == 1 else "them"
    return (
        [f"{what}, and no competent person has looked at {them} yet. Keep away from {them}, and ring us."]
        if count
        else []
    )


def _uncoded(items: Iterable[OpenItem]) -> list[str]:
    """Those that nobody thought to be dangerous now: what is known to be dangerous comes before them."""
    count = sum(1 for item in items if not item.code and not item.urgent)
    if count > 1:
        return [f"{count} reports of defects have not been looked at by a competent person yet: they may be dangerous."]
    return ["One report of a defect has not been looked at by a competent person yet: it may be dangerous."] * count


def _none_dangerous(bases: Sequence[Basis], *, besides: bool) -> str:
    if not bases:
        return ""
    return f"{'Besides that, no' if besides else 'No'} dangerous item is recorded open, {_basis_words(bases)}"


def _from_what(bases: Sequence[Basis]) -> str:
    return f"What is known here is {_basis_words(bases)}" if bases else ""


def _basis_words(bases: Sequence[Basis]) -> str:
    """ "from the inspection of 3 February 2026. It did not cover: no access to the loft; kiln not isolated."."""
    they = "It" if len(bases) == 1 else "They"
    missed = list(dict.fromkeys(name for basis in bases for name in basis.not_covered))
    full = [basis for basis in bases if basis.noun != SURVEY] or bases
    some = [basis.boards for basis in full if basis.boards and basis.boards[0] < basis.boards[1]]
    it = "It" if len(bases) == 1 else f"The {full[0].noun}"
    gaps = f" {they} did not cover: {_as_written(missed)}." if missed else ""
    fewer = f" {it} named {some[0][0]} of the {many(some[0][1], 'board')} on record." if len(full) == 1 and some else ""
    return f"from {_sources(bases)}.{gaps}{fewer}"


def _as_written(missed: Sequence[str]) -> str:
    """Limitations as the inspector wrote them ("no access to the loft"), which no sentence can take into itself."""
    more = f"; and {len(missed) - MOST_NAMED} more" if len(missed) > MOST_NAMED else ""
    return "; ".join(missed[:MOST_NAMED]) + more


def _sources(bases: Sequence[Basis]) -> str:
    days = sorted(bases, key=lambda basis: basis.on)
    if len(days) <= MOST_NAMED:
        return listed([f"the {basis.noun} of {long_day(basis.on)}" for basis in days])
    return f"{len(days)} inspections between {long_day(days[0].on)} and {long_day(days[-1].on)}"


def _never(known: Known) -> list[str]:
    if known.whole and not known.bases:
        return ["No inspection is on record here, so it is not known whether the installation is safe."]
    return [f"No inspection is on record for {listed(known.never)}."] if known.never else []


def _overdue(units: Sequence[tuple[str, date]]) -> list[str]:
    """One date for one unit; the dates of several stand further down the page."""
    if len(units) == 1:
        name, on = units[0]
        return [f"The next inspection{f' of {name}' if name else ''} was due by {long_day(on)} and is not on record."]
    return [f"The next inspections of {listed([name for name, _ in units])} are overdue."] if units else []


def _unreviewed(known: Known) -> list[str]:
    have = many(known.unreviewed, "item of another firm's report has", "items of another firm's report have")
    return [f"{have} not been looked over by us yet."] if known.unreviewed else []
