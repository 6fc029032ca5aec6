"""What lines of a quote come to. Totals are sums of what is shown on the lines: nothing is rounded here."""

from collections.abc import Collection
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Protocol
from uuid import UUID

Key = UUID | str
Keys = AbstractSet[Key]
NOTHING = Decimal("0.00")


class Kind(StrEnum):
    """The values are those that lines are stored with."""

    WORK = "work"
    CALL_OUT = "call-out"


class Certainty(StrEnum):
    """The values are those that lines are stored with."""

    FIXED = "fixed"
    PROVISIONAL = "provisional"
    CAPPED = "capped"


@dataclass(frozen=True, slots=True)
class Sum:
    """A line as sums and choices. Pounds: `price` and `cost` without VAT; `vat` as shown on the line.

    Lines with the same `either` exclude each other; `needs` are keys of lines that must be accepted with it. Of a
    call-out, `needs` are the lines that it is for, any of them; none: any work.
    """

    key: Key
    kind: str
    price: Decimal
    percent: Decimal
    vat: Decimal
    certainty: str = Certainty.FIXED
    optional: bool = False
    either: str = ""
    needs: Collection[Key] = ()
    code: str = ""
    cost: Decimal = NOTHING
    words: str = ""

    @property
    def is_work(self) -> bool:
        """Whether the customer answers it: a call-out only follows."""
        return self.kind != Kind.CALL_OUT

    def to_pay(self, *, reverse_charge: bool = False) -> Decimal:
        """In pounds, with VAT; without it under the reverse charge."""
        return self.price if reverse_charge else self.price + self.vat


class Line(Protocol):
    """A line as it is stored, as far as sums and choices need it."""

    @property
    def key(self) -> UUID: ...
    @property
    def kind(self) -> str: ...
    @property
    def words(self) -> str: ...
    @property
    def code(self) -> str: ...
    @property
    def price(self) -> Decimal: ...
    @property
    def rate(self) -> Decimal: ...
    @property
    def vat(self) -> Decimal: ...
    @property
    def cost(self) -> Decimal: ...
    @property
    def certainty(self) -> str: ...
    @property
    def optional(self) -> bool: ...
    @property
    def either(self) -> str: ...
    @property
    def needs(self) -> Collection[UUID]: ...


def of_line(line: Line) -> Sum:
    """A line as it is stored, by its key."""
    return Sum(
        key=line.key,
        kind=line.kind,
        price=line.price,
        percent=line.rate,
        vat=line.vat,
        certainty=line.certainty,
        optional=line.optional,
        either=line.either,
        needs=tuple(line.needs),
        code=line.code,
        cost=line.cost,
        words=line.words,
    )


@dataclass(frozen=True, slots=True)
class RateSum:
    """What the lines of one rate come to, in pounds. Under the reverse charge `vat` is stated, not charged."""

    percent: Decimal
    net: Decimal
    vat: Decimal


@dataclass(frozen=True, slots=True)
class Totals:
    """In pounds. `vat` is what is charged; `reverse_vat` is what the customer accounts for instead.

    So `to_pay` is `net` and `vat`, and the VAT of the rates adds up to `vat` and `reverse_vat`, of which one is nothing.
    """

    rates: tuple[RateSum, ...]
    net: Decimal
    vat: Decimal
    to_pay: Decimal
    reverse_vat: Decimal
    provisional: bool
    capped: bool = False

    @property
    def words(self) -> str:
        """What must be said beside the total; "" where every line has a fixed price."""
        if self.provisional and self.capped:
            return "Some lines are provisional and some are capped: the total can become another, see the lines."
        if self.provisional:
            return "Some lines are provisional: they are charged by what they take, so the total can become another."
        return "Some lines are capped: the total can become less, not more." if self.capped else ""


def totals(sums: Collection[Sum], *, reverse_charge: bool) -> Totals:
    """The sums of `sums`, all of them, by rate from the highest down."""
    percents = sorted({row.percent for row in sums}, reverse=True)
    rates = tuple(_of_rate(percent, [row for row in sums if row.percent == percent]) for percent in percents)
    net = sum((row.price for row in sums), NOTHING)
    stated = sum((row.vat for row in sums), NOTHING)
    vat = NOTHING if reverse_charge else stated
    certainties = {row.certainty for row in sums}
    return Totals(
        rates=rates,
        net=net,
        vat=vat,
        to_pay=net + vat,
        reverse_vat=stated - vat,
        provisional=Certainty.PROVISIONAL in certainties,
        capped=Certainty.CAPPED in certainties,
    )


def _of_rate(percent: Decimal, rows: Collection[Sum]) -> RateSum:
    return RateSum(percent, sum((row.price for row in rows), NOTHING), sum((row.vat for row in rows), NOTHING))
