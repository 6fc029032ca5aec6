"""Small rules of the inspections floor, computed from values alone."""

import re
from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import TypeVar

from inspections.standards.assessment import Code, action_required, overall_assessment
from inspections.standards.counting import last_day_starting_with
from inspections.standards.editions import Edition
from inspections.standards.facts import SHIPPED, Facts
from jobsite.sorting import sort_key

Thing = TypeVar("Thing")
CODES = ("C1", "C2", "FI", "C3")
LINES = ("L1", "L2", "L3")
THREE = "3"
WAY_SHAPE = re.compile(r"(?:way\s*)?(\d{1,3})\s*[/,.-]?\s*(L[123]|3|3-?ph(?:ase)?|three[ -]phase|TPN?)?", re.IGNORECASE)
WAY_WRONG = "Write the way as it stands at the board: 5, or 5L1 where each phase has its own."


def read_way(text: str) -> tuple[int, str]:
    """A way as it is written at the board: "5" gives (5, ""), "5L1" (5, "L1"), "5 three-phase" (5, "3").

    Raises ValueError with a sentence for anything else.
    """
    found = WAY_SHAPE.fullmatch(" ".join(text.split()))
    if not found:
        raise ValueError(WAY_WRONG)
    phase = (found[2] or "").upper()
    return int(found[1]), phase if phase in LINES or not phase else THREE


def closest(typed: str, things: Iterable[Thing], *, name: Callable[[Thing], str]) -> list[Thing]:
    """Those of `things` that `typed` may mean: the one called just so, else those that begin so, else those that hold it.

    Folded as names sort: capitals, accents and the width of a number make no difference.
    """
    wanted, named = sort_key(typed), [(sort_key(name(thing)), thing) for thing in things]
    for fits in (str.__eq__, str.startswith, str.__contains__):
        if found := [thing for key, thing in named if fits(key, wanted)]:
            return found
    return []


def report_order(item: str, number: int) -> tuple[bool, str, int]:
    """Where an observation stands in its report: by its item there (2 before 10, 4.2 before 4.10), then those without."""
    return (not item, sort_key(item), number)


def next_item(item: str) -> str:
    """The item that most likely follows `item` in a report: "12" after "11", "B7" after "B6"; "" where nobody can say."""
    found = re.fullmatch(r"(\D*)(\d{1,6})", item.strip())
    return f"{found[1]}{int(found[2]) + 1}" if found else ""


def step_by(code: str, today: date, decide_days: int, remedy_by: date | None) -> date | None:
    """The day by which somebody must have decided what an observation needs; None for C3, which nobody must remedy.

    A C1 and a defect that nobody has coded: today. Otherwise the firm's own days, counted starting with today, but
    not beyond the remedy-by date while that is still to come. JOB: the firm's habit, not law.
    """
    if code == "C3":
        return None
    if code in ("C1", ""):
        return today
    last = last_day_starting_with(today, decide_days)
    return last if remedy_by is None else min(last, max(today, remedy_by))


def shows_from(due: date, notice_days: int) -> date:
    """From which day an inspection due on `due` stands in the due list; never before the year 1."""
    return date.min if due.toordinal() <= notice_days else due - timedelta(days=notice_days)


def count_codes(codes: Iterable[str]) -> dict[str, int]:
    """How many of each code, the dangerous first, with "" for those that have none."""
    counted = Counter(codes)
    return {code: counted[code] for code in (*CODES, "")}


def codes_in_words(counts: Mapping[str, int]) -> str:
    """ "1 × C1, 12 × C3, 1 not coded"; "none" where there is nothing."""
    words = [f"{counts[code]} × {code}" for code in CODES if counts.get(code)]
    if counts.get(""):
        words.append(f"{counts['']} not coded")
    return ", ".join(words) or "none"


def assess(edition: str, codes: Iterable[str], facts: Facts = SHIPPED) -> tuple[str, str]:
    """The overall assessment of a report by the rule of its edition, and which rule decided, in a sentence or two.

    "" stands for an observation without a code: it does not count, and the sentence says how many there are.
    """
    codes = list(codes)
    outcome = overall_assessment([Code(code) for code in codes if code], Edition(edition), facts)
    note, uncoded = outcome.confidence.note, codes.count("")
    words = [outcome.basis, f"{note[0].upper()}{note[1:]}." if note else ""]
    if uncoded:
        words.append(f"{uncoded} without a code could not be counted.")
    return outcome.assessment.value, " ".join(filter(None, words))


def asks_for_action(codes: Iterable[str]) -> bool:
    """Whether law or policy asks for work or investigation: any C1, C2 or FI, whatever the assessment says."""
    return action_required(Code(code) for code in codes if code)


@dataclass(frozen=True, slots=True)
class Item:
    """What completion asks of an observation: the code in force, how it ended ("" while open), which one it continues.

    Drafts are no items. `report`: the key of the report that it stands in.
    """

    key: Hashable
    code: str
    ended: str
    continues: Hashable | None = None
    report: Hashable | None = None


def required_and_complete(items: Iterable[Item]) -> dict[Hashable, tuple[int, int]]:
    """By report: how many of its observations require work or investigation, and how many of those are complete.

    Required: its C1, C2 and FI by the code in force; not what was found to need no code, or withdrawn. Complete: when
    the observation and all that continues it, however far, ask for nothing more: remedied or done by others, found gone
    by a qualified person, found to need no code, investigated with nothing found, or a C3 by now, which nobody must remedy (BS 7671, Appendix 6:
    improvement recommended). `items` must hold everything that continues an item of a report.
    """
    items = list(items)
    later: dict[Hashable, list[Item]] = defaultdict(list)
    for item in items:
        if item.continues is not None:
            later[item.continues].append(item)
    counted: dict[Hashable, tuple[int, int]] = {}
    for item in items:
        if item.report is not None and _is_required(item):
            required, complete = counted.get(item.report, (0, 0))
            counted[item.report] = required + 1, complete + all(_settled(one, later) for one in _chain(item, later))
    return counted


def completed_on(items: Iterable[Item], done: Mapping[Hashable, date]) -> dict[Hashable, date]:
    """By report whose required works are all complete (`required_and_complete`): the day on which the last was done.

    `done`: by item, the day of the work or investigation that ended it; an item that ended otherwise has none. A report
    for which nothing was done (all found gone, say, or work only on what needed no code) is not in it: there is nothing
    to confirm.
    """
    items = list(items)
    later: dict[Hashable, list[Item]] = defaultdict(list)
    for item in items:
        if item.continues is not None:
            later[item.continues].append(item)
    complete = {report for report, (required, right) in required_and_complete(items).items() if required == right}
    days: dict[Hashable, date] = {}
    for item in items:
        if item.report in complete and _is_required(item):
            for one in _chain(item, later):
                if one.key in done:
                    days[item.report] = max(done[one.key], days.get(item.report, date.min))
    return days


def _is_required(item: Item) -> bool:
    """Whether its report asks for it to be put right or investigated, done already or not."""
    return is_asked_for(item.code, item.ended)


def is_asked_for(code: str, ended: str) -> bool:
    """Whether a report asks for work or investigation by an observation with this code in force that ended so."""
    return asks_for_action([code]) and ended not in ("no-code", "withdrawn")


def _chain(item: Item, later: Mapping[Hashable, list[Item]]) -> list[Item]:
    """The item and everything that continues it, each once."""
    found, waiting = {item.key: item}, [item]
    while waiting:
        for one in later.get(waiting.pop().key, ()):
            if one.key not in found:
                found[one.key] = one
                waiting.append(one)
    return list(found.values())


def _settled(item: Item, later: Mapping[Hashable, list[Item]]) -> bool:
    """Whether nothing more is asked for by the item itself. What a later one was to carry on must be there."""
    if item.ended == "continued":
        return bool(later.get(item.key))
    return item.code == "C3" if item.ended == "" else item.ended != "withdrawn"


@dataclass(frozen=True, slots=True)
class Judged:
    """One observation under review: the code that the report gave it, and the one in force by our decision ("" none).

    `missed`: the report did not have it, we added it.
    """

    theirs: str
    ours: str
    missed: bool = False


@dataclass(frozen=True, slots=True)
class Comparison:
    """How another firm's assessment and ours differ, judged by the same edition's rule.

    `changes`: how often each pair of codes (theirs, ours) differs. `with_missed` is None where nothing was added.
    """

    agreed: int
    changes: Counter[tuple[str, str]]
    missed: Counter[str]
    theirs: tuple[str, str]
    ours: tuple[str, str]
    with_missed: tuple[str, str] | None
    action_by_theirs: bool
    action_by_ours: bool


def compare(edition: str, judged: Iterable[Judged], facts: Facts = SHIPPED) -> Comparison:
    """Another firm's codes beside ours. Assessments come with the sentence that says which rule decided, as in `assess`."""
    judged = list(judged)
    shared = [one for one in judged if not one.missed]
    missed = [one.ours for one in judged if one.missed and one.ours]
    theirs = [one.theirs for one in shared]
    ours = [one.ours for one in shared if one.ours]
    return Comparison(
        agreed=sum(one.theirs == one.ours for one in shared),
        changes=Counter((one.theirs, one.ours) for one in shared if one.theirs != one.ours),
        missed=Counter(missed),
        theirs=assess(edition, theirs, facts),
        ours=assess(edition, ours, facts),
        with_missed=assess(edition, [*ours, *missed], facts) if missed else None,
        action_by_theirs=asks_for_action(theirs),
        action_by_ours=asks_for_action([*ours, *missed]),
    )


def comparison_in_words(compared: Comparison) -> list[str]:
    """The differences in sentences: what was agreed with, recoded, left without a code, coded, added; then the action."""
    said = [f"We agree with {compared.agreed} of its {compared.agreed + compared.changes.total()} codes."]
    pairs = sorted(compared.changes.items(), key=lambda pair: (_rank(pair[0][0]), _rank(pair[0][1])))
    recoded = [f"{count} from {theirs} to {ours}" for (theirs, ours), count in pairs if theirs and ours]
    dropped = [f"{count} × {theirs}" for (theirs, ours), count in pairs if not ours]
    coded = [f"{count} × {ours}" for (theirs, ours), count in pairs if not theirs]
    added = [f"{compared.missed[code]} × {code}" for code in CODES if compared.missed[code]]
    for parts, start in (
        (recoded, "We recode"),
        (dropped, "We find that these need no code:"),
        (coded, "It gave no code that could be read to what we code"),
        (added, "It missed, and we added:"),
    ):
        if parts:
            said.append(f"{start} {', '.join(parts)}.")
    return [*said, _action_in_words(compared.action_by_theirs, compared.action_by_ours)]


def _rank(code: str) -> int:
    return CODES.index(code) if code in CODES else len(CODES)


def _action_in_words(by_theirs: bool, by_ours: bool) -> str:
    if by_theirs and by_ours:
        return "Action by law or policy is required, by its codes as by ours."
    if by_theirs or by_ours:
        yes, no = ("its", "ours") if by_theirs else ("our", "its own")
        return f"Action by law or policy is required by {yes} codes, but not by {no}."
    return "Action by law or policy is required neither by its codes nor by ours."


def plain_code(written: str) -> str:
    """The code that was written, where it is one of the four however it is spaced or cased; else ""."""
    code = "".join(written.split()).upper()
    return code if code in CODES else ""


@dataclass(frozen=True, slots=True)
class Origin:
    """What a supply, or a board with an earthing of its own, hands on downstream."""

    earthing: str
    volts: int


@dataclass(frozen=True, slots=True)
class NormalFeed:
    """That a board is fed from another board, or (where `from_board` is None) from a supply with `origin`."""

    board: str
    from_board: str | None
    origin: Origin | None = None


def origins_of(board: str, feeds: Iterable[NormalFeed], own_earthing: Mapping[str, str]) -> frozenset[Origin]:
    """Every origin that `board` may hang on by its normal feeds, verified or only believed.

    A board with an earthing of its own (a TT outbuilding) hands that on instead of its supply's. More than one in the
    answer means that the record does not settle it, none that no feed is recorded.
    """
    upstream: dict[str, list[NormalFeed]] = defaultdict(list)
    for feed in feeds:
        upstream[feed.board].append(feed)
    found: set[Origin] = set()
    waiting, seen = [(board, "")], set()
    while waiting:
        at, earthing = waiting.pop()
        earthing = earthing or own_earthing.get(at, "")
        if (at, earthing) in seen:
            continue
        seen.add((at, earthing))
        for feed in upstream[at]:
            if feed.origin is not None:
                found.add(Origin(earthing or feed.origin.earthing, feed.origin.volts))
            elif feed.from_board is not None:
                waiting.append((feed.from_board, earthing))
    return frozenset(found)


class Near(StrEnum):
    """How near two observations stand to each other, the nearest first."""

    CIRCUIT = "circuit"
    BOARD = "board"
    PLACE = "place"
    UNIT = "unit"


# The least likeness of words (pg_trgm's similarity of the telling words, 0 to 1) at which two observations may be of one
# defect. Chosen on invented pairs and measured on others: tests/inspections/test_alike.py says how well it does.
LIKE_ENOUGH = {Near.CIRCUIT: 0.28, Near.BOARD: 0.28, Near.PLACE: 0.28, Near.UNIT: 0.6}
NEARER = {Near.CIRCUIT: 0.2, Near.BOARD: 0.1, Near.PLACE: 0.1, Near.UNIT: 0.0}
FIGURE = re.compile(r"\d+(?:\.\d+)?")


def may_be_same(near: Near, likeness: float, one: str, other: str) -> bool:
    """Whether two observations may be of one defect: near and alike enough, and no figures of one deny the other's.

    "Blank missing at way 5" and "at way 6" are as alike as can be, and two defects.
    """
    figures, others = set(FIGURE.findall(one)), set(FIGURE.findall(other))
    return likeness >= LIKE_ENOUGH[near] and not (figures and others and not figures & others)


def rank_of_same(near: Near, likeness: float) -> float:
    """What proposals are ordered by, the likeliest highest: likeness of words, and how near they stand."""
    return likeness + NEARER[near]
