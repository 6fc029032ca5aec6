"""What work costs the firm and what it is charged at. Exact decimals, pounds without VAT; values only.

Rounded to the penny, half up, in three places and nowhere else: the labour of a remedial (its cost and its price), the
cost of each item (quantity × cost each), and the mark-up of each item on that cost. All else is sums of those, so what is
shown adds up.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Protocol

from remedials.quotes.rules.money import MOST, penny

FIXED = "fixed"


class Taken(Protocol):
    """A material, access equipment or a fixed item."""

    @property
    def kind(self) -> str: ...
    @property
    def quantity(self) -> Decimal: ...
    @property
    def cost_each(self) -> Decimal: ...
    @property
    def markup_percent(self) -> Decimal | None: ...


@dataclass(frozen=True, slots=True)
class Hour:
    """What an hour of one person costs the firm, and what it is charged at."""

    cost: Decimal
    price: Decimal


@dataclass(frozen=True, slots=True)
class Part:
    """Cost and price of one part of the work."""

    cost: Decimal
    price: Decimal

    @property
    def markup(self) -> Decimal:
        """What stands on top of the cost."""
        return self.price - self.cost


@dataclass(frozen=True, slots=True)
class Worked:
    """The costing of a remedial: its labour, each of its items in their order, and the sums of both."""

    labour: Part
    items: tuple[Part, ...]

    @property
    def items_cost(self) -> Decimal:
        return sum((part.cost for part in self.items), Decimal("0.00"))

    @property
    def items_price(self) -> Decimal:
        return sum((part.price for part in self.items), Decimal("0.00"))

    @property
    def items_markup(self) -> Decimal:
        return self.items_price - self.items_cost

    @property
    def cost(self) -> Decimal:
        return self.labour.cost + self.items_cost

    @property
    def price(self) -> Decimal:
        return self.labour.price + self.items_price


def hour_of(rates: Mapping[str, Hour], skill: str) -> Hour | None:
    """The rate of `skill`, compared without case and blanks around; else that of any other skill (""), else None."""
    folded = {name.strip().casefold(): hour for name, hour in rates.items()}
    return folded.get(skill.strip().casefold(), folded.get(""))


def labour(minutes: int | None, crew: int, hour: Hour | None) -> Part:
    """Minutes × people × the rate of an hour. No time costs nothing; time without a rate is a mistake (ValueError)."""
    if not minutes:
        return Part(Decimal("0.00"), Decimal("0.00"))
    if hour is None:
        raise ValueError("time cannot be priced without a rate")
    people = Decimal(minutes * crew)
    return Part(penny(people * hour.cost / 60), penny(people * hour.price / 60))


def item(one: Taken, firms_markup: Decimal) -> Part:
    """Cost and price of an item: its own mark-up, else the firm's (percent); none on a fixed item."""
    cost = penny(one.quantity * one.cost_each)
    own = firms_markup if one.markup_percent is None else one.markup_percent
    percent = Decimal(0) if one.kind == FIXED else own
    return Part(cost, cost + penny(cost * percent / 100))


def work_out(
    *, minutes: int | None, crew: int, hour: Hour | None, items: Iterable[Taken], firms_markup: Decimal
) -> Worked:
    """The costing of work that takes `minutes` of `crew` people at `hour`, and `items`. Errors as `labour`."""
    return Worked(labour(minutes, crew, hour), tuple(item(one, firms_markup) for one in items))


def margin(cost: Decimal, price: Decimal) -> Decimal:
    """What is left of the price when the cost is paid, in pounds; below nought where the price doesn't cover it."""
    return price - cost


def margin_percent(cost: Decimal, price: Decimal) -> Decimal | None:
    """The margin as a share of the price, to a tenth of a percent; None where nothing is charged."""
    return ((price - cost) * 100 / price).quantize(Decimal("0.1"), ROUND_HALF_UP) if price else None


def below_cost(cost: Decimal, price: Decimal) -> str:
    """The warning where `price` doesn't cover `cost`; "" where it does. It is a warning only: the office may mean it."""
    return f"This price is £{cost - price:,.2f} below what the work costs." if price < cost else ""


def too_much(sums: Sequence[Decimal]) -> bool:
    """Whether one of `sums` is more than is ever asked for."""
    return any(amount > MOST for amount in sums)
