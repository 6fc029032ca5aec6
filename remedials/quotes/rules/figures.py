"""What became of the lines that were offered, and how long it took: counts and sums from values alone.

Sums are net pounds. A line counts once, by the last version that had it; of lines that exclude each other one counts:
the accepted one, otherwise the dearest. Call-outs are left out of what was offered: nobody says yes or no to them.
"""

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import cached_property
from itertools import pairwise
from statistics import median
from typing import TypeVar

Number = TypeVar("Number", int, Decimal)
ZERO = Decimal("0.00")
AGES = (0, 8, 15, 31, 61)
"""The first days since sending of each band: up to a week, two weeks, a month, two months, longer."""
PRICES = (Decimal(0), Decimal(100), Decimal(500), Decimal(2000))
"""The least net price of each band of lines, in pounds."""
SPANS = (0, 1, 3, 8, 15, 31)
"""The first days from sending to the first answer of each band."""
CODES = ("C1", "C2", "FI", "C3", "")


class Became(StrEnum):
    """What became of a line that was offered."""

    ACCEPTED = "accepted"
    REFUSED = "refused"
    WAITING = "waiting"
    LAPSED = "lapsed"
    GONE = "gone"
    NOT_CHOSEN = "not-chosen"


SAID = {"yes": Became.ACCEPTED, "no": Became.REFUSED, "not-chosen": Became.NOT_CHOSEN}


@dataclass(frozen=True)
class Offered:
    """A line as the last version that had it offered it. `says`: "yes", "no", "not-chosen", "" for no answer.

    `current`: whether its version is the one that the customer has, and they can still answer it. `lapsed`: it was
    theirs to answer until its last day went by.
    """

    quote: Hashable
    offer: Hashable
    either: str
    price: Decimal
    version: int = 1
    code: str = ""
    says: str = ""
    why: str = ""
    current: bool = False
    lapsed: bool = False

    @cached_property
    def became(self) -> Became:
        """What became of it: the answer first; without one, whether it can still come."""
        if self.says:
            return SAID[self.says]
        return Became.WAITING if self.current else Became.LAPSED if self.lapsed else Became.GONE


def counted(lines: Iterable[Offered]) -> list[Offered]:
    """Those of `lines` that count: of lines that exclude each other one, and none that was not chosen.

    The accepted one counts; where none was, the dearest of those in the last version that had any of them.
    """
    lines = list(lines)
    settled = {(line.offer, line.either) for line in lines if line.either and line.says == "yes"}
    dearest: dict[tuple[Hashable, str], Offered] = {}
    found = []
    for line in lines:
        if line.says == "yes" or (not line.either and line.says != "not-chosen"):
            found.append(line)
        elif line.says != "not-chosen" and (line.offer, line.either) not in settled:
            key = line.quote, line.either
            if key not in dearest or (line.version, line.price) > (dearest[key].version, dearest[key].price):
                dearest[key] = line
    return found + list(dearest.values())


@dataclass
class Row:
    """How many and how much, by what became of them."""

    head: str
    counts: dict[Became, int] = field(default_factory=dict)
    sums: dict[Became, Decimal] = field(default_factory=dict)

    def add(self, line: Offered) -> None:
        """Count `line`."""
        self.counts[line.became] = self.counts.get(line.became, 0) + 1
        self.sums[line.became] = self.sums.get(line.became, ZERO) + line.price

    def count(self, *kinds: Became) -> int:
        """How many of `kinds`; of all for none."""
        return sum(self.counts.get(kind, 0) for kind in kinds or Became)

    def sum(self, *kinds: Became) -> Decimal:
        """How much of `kinds`; of all for none."""
        return sum((self.sums.get(kind, ZERO) for kind in kinds or Became), ZERO)

    @property
    def share(self) -> int | None:
        """Percent of what was offered that was accepted, by value, to the nearest whole; None of nothing."""
        return percent(self.sum(Became.ACCEPTED), self.sum())


def percent(part: Decimal | int, whole: Decimal | int) -> int | None:
    """`part` of `whole` in percent, to the nearest whole; None where there is no whole."""
    return int((Decimal(100) * part / whole).to_integral_value()) if whole else None


def by_code(lines: Iterable[Offered]) -> list[Row]:
    """What became of `lines` (counted already), by code, the worst first; codes without any are left out."""
    return _rows(lines, CODES, lambda line: line.code)


def by_price(lines: Iterable[Offered]) -> list[Row]:
    """What became of `lines` (counted already), by the band of their net price."""
    return _rows(lines, tuple(str(least) for least in PRICES), lambda line: str(band(line.price, PRICES)))


def by_reason(lines: Iterable[Offered], reasons: Iterable[str]) -> list[Row]:
    """The refused of `lines` (counted already) by reason, the largest sum first; "" for none given."""
    refused = [line for line in lines if line.became == Became.REFUSED]
    rows = _rows(refused, (*reasons, ""), lambda line: line.why)
    return sorted(rows, key=lambda row: (-row.sum(), -row.count(), row.head))


def all_of(lines: Iterable[Offered]) -> Row:
    """What became of `lines` together."""
    row = Row("")
    for line in lines:
        row.add(line)
    return row


def _rows(lines: Iterable[Offered], heads: Iterable[str], head_of: Callable[[Offered], str]) -> list[Row]:
    rows = {head: Row(head) for head in heads}
    for line in lines:
        rows[head_of(line)].add(line)
    return [row for row in rows.values() if row.counts]


def band(value: Number, bands: tuple[Number, ...]) -> Number:
    """The band that `value` (not below the first) falls in, named by its least."""
    return max(least for least in bands if least <= value)


def bands_in_words(bands: tuple[int, ...]) -> dict[int, str]:
    """Bands of whole days in words: "0 to 7 days", "61 days and more"."""
    words = {least: f"{least} to {after - 1} days" for least, after in pairwise(bands)}
    one = {
        least: ("the same day" if not least else f"{least} day")
        for least, after in pairwise(bands)
        if after == least + 1
    }
    return words | one | {bands[-1]: f"{bands[-1]} days and more"}


@dataclass(frozen=True)
class Unanswered:
    """A line of a version that is with the customer, without an answer of its own. `pays`: to pay, with VAT."""

    offer: Hashable
    sent_on: date
    standing: str
    either: str
    price: Decimal
    pays: Decimal


@dataclass
class Age:
    """Versions out for so long: how many, net, to pay; by how they stand."""

    least: int
    offers: dict[str, set[Hashable]] = field(default_factory=dict)
    net: dict[str, Decimal] = field(default_factory=dict)
    pays: dict[str, Decimal] = field(default_factory=dict)

    def add(self, line: Unanswered) -> None:
        """Count `line` and its offer."""
        self.offers.setdefault(line.standing, set()).add(line.offer)
        self.net[line.standing] = self.net.get(line.standing, ZERO) + line.price
        self.pays[line.standing] = self.pays.get(line.standing, ZERO) + line.pays


def by_age(lines: Iterable[Unanswered], today: date) -> list[Age]:
    """What is unanswered by the days since it was sent; of lines that exclude each other the dearest to pay counts."""
    dearest: dict[tuple[Hashable, str], Unanswered] = {}
    ages = {least: Age(least) for least in AGES}
    single = []
    for line in lines:
        key = line.offer, line.either
        if not line.either:
            single.append(line)
        elif key not in dearest or line.pays > dearest[key].pays:
            dearest[key] = line
    for line in [*single, *dearest.values()]:
        ages[band(max(0, (today - line.sent_on).days), AGES)].add(line)
    return list(ages.values())


def by_span(days: Iterable[int]) -> dict[int, int]:
    """How many answers came after how many days, by band."""
    found = dict.fromkeys(SPANS, 0)
    for one in days:
        found[band(max(0, one), SPANS)] += 1
    return found


def middle(days: Iterable[int]) -> float | None:
    """The median; None of nothing."""
    days = list(days)
    return median(days) if days else None
