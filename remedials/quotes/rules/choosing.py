"""Choosing among the lines of an offer: what goes together, what excludes what, what follows, what all of it comes to."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import product
from math import prod
from textwrap import shorten

from jobsite.words import joined
from remedials.quotes.rules.limits import NO_LIMIT, by_unit, limit_of, over_limit
from remedials.quotes.rules.totals import NOTHING, Key, Keys, Sum, Totals, totals

__all__ = [
    "NO",
    "NOT_CHOSEN",
    "NO_LIMIT",
    "YES",
    "Whole",
    "by_unit",
    "faults",
    "limit_of",
    "over_limit",
    "settle",
    "whole_offer",
    "with_call_outs",
]

# The values are those that answers are stored with.
YES, NO, NOT_CHOSEN = "yes", "no", "not-chosen"


def with_call_outs(sums: Collection[Sum], yes: Keys, settled_yes: Keys = frozenset()) -> set[Key]:
    """`yes` with the call-outs that are charged because of it.

    A call-out follows any accepted work, or where it names lines (`needs`: those at one site) any of those; once, so
    not where an earlier answer already brought it (`settled_yes`).
    """
    work = {row.key for row in sums if row.is_work} & yes
    return work | {
        row.key
        for row in sums
        if not row.is_work and row.key not in settled_yes and (work & set(row.needs) if row.needs else work)
    }


def faults(sums: Collection[Sum], yes: Keys, no: Keys, settled_yes: Keys = frozenset()) -> dict[Key, str]:
    """Why an answer cannot be taken as it is: a sentence for each line that it concerns; empty where it can.

    `settled_yes`: lines accepted in earlier answers, of this version or of one before.
    """
    answer = _Answer(sums, yes, no, settled_yes)
    unknown = (yes | no) - set(answer.names) - settled_yes
    found = dict.fromkeys(unknown, "This line isn't in this version of the quote.")
    for row in sums:
        if sentence := answer.fault(row):
            found[row.key] = sentence
    return found


class _Answer:
    """An answer beside what it is judged by, gathered once: an offer may have hundreds of lines."""

    def __init__(self, sums: Collection[Sum], yes: Keys, no: Keys, settled_yes: Keys) -> None:
        self.yes, self.no, self.settled_yes = yes, no, settled_yes
        self.names = _names(sums)
        self.taken = yes | settled_yes
        self.there = self.taken | {row.key for row in sums if not row.is_work}
        self.followed = with_call_outs(sums, yes)
        self.groups = _groups(sums)
        self.needed_by: dict[Key, list[Key]] = {}
        for row in sums:
            for key in row.needs if row.is_work and row.key in yes else ():
                self.needed_by.setdefault(key, []).append(row.key)

    def fault(self, row: Sum) -> str:
        """What is wrong with what was said to this line, as a sentence; "" where nothing is."""
        key = row.key
        if not row.is_work:
            alone = key in self.no or key in self.yes - self.followed
            return "A call-out isn't answered by itself: it is charged once with the work." if alone else ""
        if key in self.no:
            return self._fault_of_no(key)
        return self._fault_of_yes(row) if key in self.yes else ""

    def _fault_of_no(self, key: Key) -> str:
        if key in self.yes:
            return "Say yes or no to this, not both."
        if key in self.settled_yes:
            return "This was accepted earlier: call us to change that."
        if needing := [self.names[one] for one in self.needed_by.get(key, ())]:
            need = "needs" if len(needing) == 1 else "need"
            return f"{_first(_listed(needing, 'and'))} {need} this: say yes to it too, or no to both."
        return ""

    def _fault_of_yes(self, row: Sum) -> str:
        rivals = (key for key in self.groups.get(row.either, ()) if key != row.key)
        if others := [self.names[key] for key in rivals if key in self.taken]:
            return f"Choose one of these only: this or {_listed(others, 'or')}."
        if lacking := [key for key in dict.fromkeys(row.needs) if key not in self.there]:
            needed = _listed([self.names.get(key, "a line of another version") for key in lacking], "and")
            return f"This needs {needed}: say yes to {'both' if len(lacking) == 1 else 'all of them'}."
        return ""


def settle(sums: Collection[Sum], yes: Keys, no: Keys, settled_yes: Keys = frozenset()) -> dict[Key, str]:
    """What an answer without faults settles, by line: "yes", "no" or "not-chosen"; lines left open are left out.

    A yes makes the others of its either-or "not-chosen", also where they were given a no: what they would have put
    right is put right. Call-outs follow.
    """
    chosen = with_call_outs(sums, yes - settled_yes, settled_yes)
    beaten = {key for keys in _groups(sums).values() if chosen.intersection(keys) for key in keys}
    said = dict.fromkeys(no - settled_yes, NO) | dict.fromkeys(beaten, NOT_CHOSEN) | dict.fromkeys(chosen, YES)
    return {row.key: said[row.key] for row in sums if row.key in said}


# --- everything taken -------------------------------------------------------------------------------------------------

# So many ways to choose among alternatives that hang together are gone through one by one; our own choice.
_WAYS = 128


@dataclass(frozen=True, slots=True)
class Whole:
    """What the offer comes to if everything is taken: the lines counted, their totals, and what must be said of it."""

    keys: frozenset[Key]
    totals: Totals
    words: str


def whole_offer(sums: Collection[Sum], *, reverse_charge: bool = False, settled_yes: Keys = frozenset()) -> Whole:
    """Everything taken, optional lines too; of alternatives the dearest, with what then can be had.

    `sums`: lines that wait for an answer; `settled_yes`: what was accepted earlier, which others may need.
    Where more than 128 ways to choose hang together by what lines need, only the likeliest are looked at.
    """
    worth = {row.key: row.to_pay(reverse_charge=reverse_charge) for row in sums}
    given = settled_yes | {row.key for row in sums if not row.is_work}
    taken = set().union(*(_dearest(part, worth, given) for part in _parts(sums)))
    keys = with_call_outs(sums, taken, settled_yes)
    rows = [row for row in sums if row.key in keys]
    parts = (
        "If everything is taken",
        "also what is optional" if any(row.optional for row in rows) else "",
        "of alternatives the dearest" if any(len(keys) > 1 for keys in _groups(sums).values()) else "",
    )
    return Whole(frozenset(keys), totals(rows, reverse_charge=reverse_charge), joined(*parts))


def _groups(sums: Collection[Sum]) -> dict[str, list[Key]]:
    """The lines of which only one can be had, by their `either`, in the order of the offer."""
    found: dict[str, list[Key]] = {}
    for row in sums:
        if row.is_work and row.either:
            found.setdefault(row.either, []).append(row.key)
    return found


def _parts(sums: Collection[Sum]) -> list[list[Sum]]:
    """Lines that hang together: by what they need, by excluding each other, by a call-out that hangs on the choice."""
    part_of = {row.key: {row.key} for row in sums}
    links = [*_groups(sums).values(), *((row.key, *row.needs) for row in sums if row.is_work)]
    links += [(row.key, *row.needs) for row in sums if not row.is_work and not _sure(row, sums)]
    for link in links:
        merged = set().union(*(part_of[key] for key in link if key in part_of))
        part_of |= dict.fromkeys(merged, merged)
    parts = {id(keys): keys for keys in part_of.values()}
    return [[row for row in sums if row.key in keys] for keys in parts.values()]


def _sure(call_out: Sum, sums: Collection[Sum]) -> bool:
    """Whether the call-out is charged however one chooses: it is for any work, or for a line that nothing keeps out."""
    free = {row.key for row in sums if row.is_work and not row.either and not row.needs}
    return not call_out.needs or bool(free.intersection(call_out.needs))


def _dearest(part: Collection[Sum], worth: Mapping[Key, Decimal], given: Keys) -> set[Key]:
    """Of lines that hang together, those that come to most and can be had together; `given` is there anyway."""
    groups = list(_groups(part).values())
    takings = [_possible(part, way, groups, given) for way in _ways(groups, worth)]
    return max(takings, key=lambda keys: (sum((worth[key] for key in keys), NOTHING), len(keys)))


def _ways(groups: list[list[Key]], worth: Mapping[Key, Decimal]) -> Iterator[set[Key]]:
    """Ways to choose one of each group: all, or where they are too many the dearest of each and one change at a time."""
    if prod(map(len, groups)) <= _WAYS:
        yield from (set(way) for way in product(*groups))
        return
    dearest = {max(keys, key=worth.__getitem__) for keys in groups}
    yield dearest
    for keys in groups:
        yield from (dearest.difference(keys) | {key} for key in keys)


def _possible(part: Collection[Sum], chosen: Keys, groups: Collection[list[Key]], given: Keys) -> set[Key]:
    """The lines of `part` that can be had together with the alternatives chosen, call-outs with them."""
    taken = {row.key for row in part if row.is_work}.difference(*groups) | chosen
    while short := {row.key for row in part if row.key in taken and set(row.needs) - taken - given}:
        taken -= short
    return with_call_outs(part, taken)


# --- words ------------------------------------------------------------------------------------------------------------


def _names(sums: Collection[Sum]) -> dict[Key, str]:
    """What each line is called in a sentence: "line 3 (New board)"."""
    return {row.key: f"line {n}" + (f" ({_short(row.words)})" if row.words else "") for n, row in enumerate(sums, 1)}


def _short(words: str) -> str:
    return shorten(words, 60, placeholder=" …") or words[:60]


def _listed(names: list[str], last: str) -> str:
    return f" {last} ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _first(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
