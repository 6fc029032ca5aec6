"""What changed between two versions of a quote, in words.

Both are given as they are said to the customer (the shape of `offer.said`): sums as text, dates in ISO form, lines with
the `key` that a line keeps in every version. What a version doesn't have counts as empty.
"""

from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any

from jobsite.words import day, money, plain
from remedials.quotes.rules.vat import percent_words

Said = Mapping[str, Any]


class What(StrEnum):
    OFFER = "the quote itself"
    ADDED = "added"
    TAKEN_OUT = "taken out"
    CHANGED = "changed"
    MOVED = "moved"


@dataclass(frozen=True, slots=True)
class Change:
    """One field in words: what it is called, and what it was and is."""

    field: str
    old: str
    new: str

    def __str__(self) -> str:
        return f"{self.field}: {self.old} → {self.new}"


@dataclass(frozen=True, slots=True)
class Difference:
    """What became of one line (`key`, `name`: its words), or of the quote itself (no key).

    A line that was changed and moved has two. `changes` of an added or removed line say its price.
    """

    what: What
    key: str
    name: str
    changes: tuple[Change, ...] = ()


def _text(value: Any) -> str:
    return plain(value)


def _sum(value: Any) -> str:
    return money(Decimal(str(value)))


def _day(value: Any) -> str:
    return day(value if isinstance(value, date) else date.fromisoformat(value)) if value else "no date"


def _percent(value: Any) -> str:
    return percent_words(Decimal(str(value)))


def _words_of(value: Any) -> str:
    """Of a text that is kept with its mark, the text."""
    return plain(value.get("words") if isinstance(value, Mapping) else value)


Read = Callable[[Any], str]
_OFFER: dict[str, tuple[str, Read]] = {
    "name": ("What it is about", _text),
    "valid_until": ("Valid until", _day),
    "work_until": ("Work done by", _day),
    "consumer": ("For a consumer", _text),
    "vat_registered": ("Firm registered for VAT", _text),
    "reverse_charge": ("Reverse charge", _text),
    "text_before": ("Text before the lines", _text),
    "text_after": ("Text after the lines", _text),
    "reverse_charge_words": ("Wording of the reverse charge", _text),
    "cancellation": ("Right to cancel", _words_of),
    "begin": ("Request to begin at once", _words_of),
}
_LINE: dict[str, tuple[str, Read]] = {
    "words": ("What is done", _text),
    "danger": ("Danger it removes", _text),
    "code": ("Code", _text),
    "where": ("Where", _text),
    "price": ("Price without VAT", _sum),
    "percent": ("VAT rate", _percent),
    "vat": ("VAT", _sum),
    "certainty_words": ("How fixed the price is", _text),
    "optional": ("Optional", _text),
    "either": ("Either-or", _text),
}


def between(old: Said, new: Said) -> list[Difference]:
    """What changed from `old` to `new`: the quote itself first, then its lines in the new order, then those taken out."""
    was, now = _lines(old), _lines(new)
    moved = _moved([key for key in was if key in now], [key for key in now if key in was])
    own = _changes(old, new, _OFFER) + _totals(old, new)
    found = [Difference(What.OFFER, "", "", own)] if own else []
    names = _names(old) | _names(new)
    for key, line in now.items():
        if key not in was:
            found.append(Difference(What.ADDED, key, names[key], _price(line, new=True)))
            continue
        if changes := _changes(was[key], line, _LINE) + _needs(was[key], line, names):
            found.append(Difference(What.CHANGED, key, names[key], changes))
        if key in moved:
            found.append(Difference(What.MOVED, key, names[key], (_place(key, was, now),)))
    gone = [key for key in was if key not in now]
    return found + [Difference(What.TAKEN_OUT, key, names[key], _price(was[key], new=False)) for key in gone]


def _lines(said: Said) -> dict[str, Said]:
    return {str(line["key"]): line for line in said.get("lines", ())}


def _names(said: Said) -> dict[str, str]:
    return {key: str(line.get("words") or key) for key, line in _lines(said).items()}


def _changes(old: Said, new: Said, fields: Mapping[str, tuple[str, Read]]) -> tuple[Change, ...]:
    """Fields that read otherwise. One that only one of them has at all is read as empty in the other."""
    found = []
    for field, (called, read) in fields.items():
        if field in old or field in new:
            before, after = (read(side[field]) if field in side else "nothing" for side in (old, new))
            if before != after:
                found.append(Change(called, before, after))
    return tuple(found)


def _totals(old: Said, new: Said) -> tuple[Change, ...]:
    sums = {"net": ("Total without VAT", _sum), "vat": ("VAT", _sum), "to_pay": ("Total to pay", _sum)}
    return _changes(old.get("totals") or {}, new.get("totals") or {}, sums)


def _needs(old: Said, new: Said, names: Mapping[str, str]) -> tuple[Change, ...]:
    before, after = ({str(key) for key in side.get("needs") or ()} for side in (old, new))
    if before == after:
        return ()
    said = [", ".join(sorted(names.get(key, "a line of another version") for key in keys)) for keys in (before, after)]
    return (Change("Needs", *(words or "nothing" for words in said)),)


def _price(line: Said, *, new: bool) -> tuple[Change, ...]:
    if "price" not in line:
        return ()
    price = _sum(line["price"])
    return (Change("Price without VAT", *(("nothing", price) if new else (price, "nothing"))),)


def _place(key: str, was: Mapping[str, Said], now: Mapping[str, Said]) -> Change:
    before, after = (str(list(side).index(key) + 1) for side in (was, now))
    return Change("Place in the list", before, after)


def _moved(was: Sequence[str], now: Sequence[str]) -> set[str]:
    """The fewest lines whose moving explains the new order: all but a longest run that kept its order."""
    place = {key: n for n, key in enumerate(was)}
    tails: list[int] = []
    ends: list[str] = []
    before: dict[str, str | None] = {}
    for key in now:
        at = bisect_left(tails, place[key])
        before[key] = ends[at - 1] if at else None
        tails[at : at + 1] = [place[key]]
        ends[at : at + 1] = [key]
    kept: set[str] = set()
    last: str | None = ends[-1] if ends else None
    while last is not None:
        kept.add(last)
        last = before[last]
    return set(now) - kept
