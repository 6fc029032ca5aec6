"""What the customer's page says, in plain words and never more than is known. Pure: counts and dates in, sentences out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from textwrap import shorten

from jobsite.words import many

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

# What the codes of BS 7671's condition report (Appendix 6) mean, in our words for somebody who has never seen one.
CODE_WORDS = {
    "C1": "Danger present: somebody could be hurt now.",
    "C2": "Potentially dangerous: it can become a danger, for example when something else fails.",
    "FI": "Further investigation is needed without delay: until then nobody can say whether it is dangerous.",
    "C3": "Improvement recommended: it would make the installation safer.",
    "": "Reported, but no competent person has looked at it yet.",
}
SHORT = {
    "C1": "danger present",
    "C2": "potentially dangerous",
    "FI": "further investigation needed",
    "C3": "improvement recommended",
}
ORDER = ("C1", "", "C2", "FI", "C3")  # nobody knows yet how bad an uncoded one is

# What is said of a remedial on the way; the others are said with their dates by `work_words`.
STAGE_WORDS = {
    "to-price": "being priced",
    "quoted": "a quote is with you; we are waiting for the answer",
    "approved": "agreed; the date is still to be fixed",
    "booked": "booked",
    "reviewed": "this part is done, and a qualified person has reviewed the proof",
    "by-others": "this part was done by others, by the papers we were given",
}
MOST_NAMED = 3
MOST_LETTERS = 140  # of a defect in the headline; it stands in full as the first open item


def long_day(on: date) -> str:
    """A date for a customer: "3 February 2026"."""
    return f"{on.day} {MONTHS[on.month - 1]} {on.year}"


def listed(names: Sequence[str]) -> str:
    """ "the loft", "the loft and the garage", "the loft, the garage, the cellar and 2 more"."""
    if len(names) > MOST_NAMED:
        return f"{', '.join(names[:MOST_NAMED])} and {len(names) - MOST_NAMED} more"
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


@dataclass(frozen=True, slots=True)
class OpenItem:
    """What the sentences must know of one open item: `safe_on` while a made-safe stands, `booked_on` its next visit.

    `text` is the defect as recorded, `where` its board or place.
    """

    code: str
    safe_on: date | None = None
    booked_on: date | None = None
    text: str = ""
    where: str = ""


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


def meaning(code: str, *, safe: bool = False, closed: bool = False) -> str:
    """What a code says of an item, in words that stay true once it is made safe or closed."""
    if closed:
        return f"Recorded as {code}, {SHORT[code]}." if code else "It has no code."
    if code and safe:
        return f"{SHORT[code].capitalize()}, but made safe for now."
    return CODE_WORDS[code]


def first_words(known: Known) -> list[str]:
    """The sentences that open the page, the most dangerous first; the first is its headline.

    "No dangerous item" is never said beside an item that nobody has investigated or coded, nor without naming the
    inspection that it rests on and what that did not cover.
    """
    alarms = [*_danger_now(known.items), *_uncoded(known.items)]
    dangerous = [item for item in known.items if item.code in ("C1", "C2")]
    doubtful = [*_investigate(known.items), *_overdue(known.overdue)]
    if dangerous:
        said = [*alarms, _dangerous(dangerous), *doubtful, _from_what(known.bases)]
    else:
        said = [*alarms, *doubtful, _none_dangerous(known.bases, besides=bool(alarms or _investigate(known.items)))]
    return [*filter(None, said), *_never(known), *_unreviewed(known)]


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


def _dangerous(items: Sequence[OpenItem]) -> str:
    are = many(len(items), "dangerous item is", "dangerous items are")
    safe = [item.safe_on for item in items if item.safe_on]
    booked = [item.booked_on for item in items if item.booked_on]
    parts = [_counted(safe, "made safe for now", "on"), _counted(booked, "with the repair booked", "for")]
    said = ", ".join(filter(None, parts))
    return f"{are} open: {said}." if said else f"{are} open."


def _counted(days: Sequence[date], what: str, before: str) -> str:
    if not days:
        return ""
    return f"{len(days)} {what} {before} {long_day(days[0])}" if len(days) == 1 else f"{len(days)} {what}"


def _investigate(items: Iterable[OpenItem]) -> list[str]:
    count = sum(1 for item in items if item.code == "FI")
    must = many(count, "item must", "items must")
    they = "it is" if count == 1 else "they are"
    return (
        [f"{must} be investigated without delay: until then nobody can say whether {they} dangerous."] if count else []
    )


def _uncoded(items: Iterable[OpenItem]) -> list[str]:
    count = sum(1 for item in items if not item.code)
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
    some = [basis.boards for basis in bases if basis.boards and basis.boards[0] < basis.boards[1]]
    gaps = f" {they} did not cover: {_as_written(missed)}." if missed else ""
    fewer = f" It named {some[0][0]} of the {many(some[0][1], 'board')} on record." if len(bases) == 1 and some else ""
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
        return ["No inspection is on record here, so this page cannot say whether the installation is safe."]
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


def work_words(
    stage: str, *, code: str, booked: str = "", done_on: date | None = None, said_no_on: date | None = None,
    ask_again_on: date | None = None,
) -> str:  # fmt: skip
    """Where one remedial stands, for the customer; `booked` is its visit in words. "" for one that was cancelled."""
    if stage == "booked" and booked:
        return f"booked for {booked}"
    if stage == "declined":
        no = f"offered, and declined on {long_day(said_no_on)}" if said_no_on else "offered, and declined"
        left = "; whether it is dangerous stays unknown" if code == "FI" else ""
        return f"{no}{left}{f'; we shall ask again on {long_day(ask_again_on)}' if ask_again_on else ''}"
    if stage == "done":
        when = f"done on {long_day(done_on)}" if done_on else "done"
        return (
            f"{when}; more is to come" if code == "C3" else f"{when}; a qualified person has still to review the proof"
        )
    return STAGE_WORDS.get(stage, "")


def undecided_words(code: str) -> str:
    """What is said of an open item that no remedial carries."""
    if code == "":
        return "A competent person has still to look at it."
    return "Nothing is planned for it yet." if code == "C3" else "What it needs is being decided."


def ended_words(ended: str, on: date, *, reviewed: bool, followed: bool) -> str:
    """How an item stopped being open. `reviewed`: a qualified person accepted the proof; `followed`: another item continues it.

    It never says that anybody inspected again: a review of proof is a look at papers and pictures.
    """
    day = long_day(on)
    if ended == "remedied":
        return f"Put right by {day}.{' A qualified person has reviewed the proof.' if reviewed else ''}"
    if ended == "others":
        return f"Put right by others, by the papers we were given, {day}. We have not inspected it."
    if ended == "finding":
        rest = "What was found is an item of its own." if followed else "No defect was recorded from it."
        return f"Investigated, {day}. {rest}"
    if ended == "gone":
        return f"Looked for again, {day}: a qualified person found that it is not there any more."
    return f"Looked at again, {day}: a qualified person found that it needs no code."


def completion_words(done: int, of: int) -> str:
    """How many of a report's C1, C2 and FI are complete: it stands beside the report's outcome and never changes it."""
    if not of:
        return "It lists no item of code C1, C2 or FI."
    coded = "of code C1, C2 or FI in it"
    if of == 1:
        return f"The one item {coded} is {'' if done else 'not '}recorded as complete."
    if done == of:
        return f"All {of} items {coded} are recorded as complete."
    return f"{done or 'None'} of the {of} items {coded} {'are' if done > 1 else 'is'} recorded as complete."
