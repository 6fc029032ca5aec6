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
    "still_open",
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
    named = _names(sums)
    unknown = (yes | no) - set(named) - settled_yes
    found = dict.fromkeys(unknown, "This line isn't in this version of the quote.")
    for row in sums:
        if sentence := _fault(row, sums, named, yes, no, settled_yes):
            found[row.key] = sentence
    return found


def _fault(row: Sum, sums: Collection[Sum], named: Mapping[Key, str], yes: Keys, no: Keys, settled_yes: Keys) -> str:
    if not row.is_work:
        alone = row.key in no or (row.key in yes and row.key not in with_call_outs(sums, yes))
        return "A call-out isn't answered by itself: it is charged once with the work." if alone else ""
    if row.key in yes and row.key in no:
        return "Say yes or no to this, not both."
    taken = yes | settled_yes
    if row.key in no and row.key in settled_yes:
        return "This was accepted earlier: call us to change that."
    if row.key in no:
        needing = [named[one.key] for one in sums if one.is_work and one.key in yes and row.key in one.needs]
        return f"{_first(_and(needing))} {_need(needing)} this: say yes to it too, or no to both." if needing else ""
    return _fault_of_yes(row, sums, named, taken) if row.key in yes else ""


def _fault_of_yes(row: Sum, sums: Collection[Sum], named: Mapping[Key, str], taken: Keys) -> str:
    others = [one for one in rivals(row, sums) if one.key in taken]
    if others:
        return f"Choose one of these only: this or {_or([named[one.key] for one in others])}."
    call_outs = {one.key for one in sums if not one.is_work}
    lacking = [key for key in dict.fromkeys(row.needs) if key not in taken | call_outs]
    if not lacking:
        return ""
    needed = _and([named.get(key, "a line of another version") for key in lacking])
    return f"This needs {needed}: say yes to {'both' if len(lacking) == 1 else 'all of them'}."


def rivals(row: Sum, sums: Collection[Sum]) -> list[Sum]:
    """The other lines of which only one can be had with `row`."""
    if not (row.is_work and row.either):
        return []
    return [one for one in sums if one.is_work and one.either == row.either and one.key != row.key]


def settle(sums: Collection[Sum], yes: Keys, no: Keys, settled_yes: Keys = frozenset()) -> dict[Key, str]:
    """What an answer without faults settles, by line: "yes", "no" or "not-chosen"; lines left open are left out.

    A yes makes the others of its either-or "not-chosen", also where they were given a no: what they would have put
    right is put right. Call-outs follow.
    """
    chosen = with_call_outs(sums, yes - settled_yes, settled_yes)
    beaten = {one.key for row in sums if row.key in chosen for one in rivals(row, sums)}
    said = dict.fromkeys(no - settled_yes, NO) | dict.fromkeys(beaten, NOT_CHOSEN) | dict.fromkeys(chosen, YES)
    return {row.key: said[row.key] for row in sums if row.key in said}


def still_open(sums: Collection[Sum], settled: Keys) -> list[Key]:
    """Lines that wait for an answer; none left: the offer is answered. Call-outs never wait."""
    return [row.key for row in sums if row.is_work and row.key not in settled]


# --- everything taken -------------------------------------------------------------------------------------------------

# So many ways to choose among alternatives are gone through one by one; our own choice.
_WAYS = 256


@dataclass(frozen=True, slots=True)
class Whole:
    """What the offer comes to if everything is taken: the lines counted, their totals, and what must be said of it."""

    keys: frozenset[Key]
    totals: Totals
    words: str


def whole_offer(sums: Collection[Sum], *, reverse_charge: bool = False, settled_yes: Keys = frozenset()) -> Whole:
    """Everything taken, optional lines too; of alternatives the dearest, with what then can be had.

    `sums`: lines that wait for an answer; `settled_yes`: what was accepted earlier, which others may need.
    Where more than 256 ways to choose hang together by what lines need, only the likeliest are looked at.
    """
    worth = {row.key: row.to_pay(reverse_charge=reverse_charge) for row in sums}
    groups = _groups(sums)
    best: set[Key] = set()
    for way in _ways(sums, groups, worth):
        taken = _possible(sums, way, groups, settled_yes)
        if not best or _value(taken, worth) > _value(best, worth):
            best = taken
    rows = [row for row in sums if row.key in best]
    parts = (
        "If everything is taken",
        "also what is optional" if any(row.optional for row in rows) else "",
        "of alternatives the dearest" if groups else "",
    )
    return Whole(frozenset(best), totals(rows, reverse_charge=reverse_charge), joined(*parts))


def _groups(sums: Collection[Sum]) -> list[list[Key]]:
    """Lines of which only one can be had, each group in the order of the offer."""
    found: dict[str, list[Key]] = {}
    for row in sums:
        if row.is_work and row.either:
            found.setdefault(row.either, []).append(row.key)
    return [keys for keys in found.values() if len(keys) > 1]


def _ways(sums: Collection[Sum], groups: list[list[Key]], worth: Mapping[Key, Decimal]) -> Iterator[set[Key]]:
    """Ways to choose one of each group: the dearest, and where lines need each other all ways, or one change at a time."""
    bound = {key for row in sums if row.needs for key in (row.key, *row.needs)}
    entangled = [keys for keys in groups if bound.intersection(keys)]
    dearest = {max(keys, key=worth.__getitem__) for keys in groups}
    if prod(map(len, entangled)) <= _WAYS:
        fixed = dearest.difference(*entangled)
        yield from (fixed | set(way) for way in product(*entangled))
        return
    yield dearest
    for keys in entangled:
        yield from (dearest.difference(keys) | {key} for key in keys)


def _possible(sums: Collection[Sum], chosen: Keys, groups: Collection[list[Key]], settled_yes: Keys) -> set[Key]:
    """The lines that can be had together with the alternatives chosen, call-outs with them."""
    left_out = {key for keys in groups for key in keys} - chosen
    call_outs = {row.key for row in sums if not row.is_work}
    taken = {row.key for row in sums if row.is_work} - left_out
    while short := {row.key for row in sums if row.key in taken and set(row.needs) - taken - call_outs - settled_yes}:
        taken -= short
    return with_call_outs(sums, taken, settled_yes)


def _value(keys: Keys, worth: Mapping[Key, Decimal]) -> tuple[Decimal, int]:
    return sum((worth[key] for key in keys), NOTHING), len(keys)


# --- words ------------------------------------------------------------------------------------------------------------


def _names(sums: Collection[Sum]) -> dict[Key, str]:
    """What each line is called in a sentence: "line 3 (New board)"."""
    return {row.key: f"line {n}" + (f" ({_short(row.words)})" if row.words else "") for n, row in enumerate(sums, 1)}


def _short(words: str) -> str:
    return shorten(words, 60, placeholder=" …") or words[:60]


def _and(names: list[str]) -> str:
    return _listed(names, "and")


def _or(names: list[str]) -> str:
    return _listed(names, "or")


def _listed(names: list[str], last: str) -> str:
    return f" {last} ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _need(names: list[str]) -> str:
    return "needs" if len(names) == 1 else "need"


def _first(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
