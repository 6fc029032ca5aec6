"""Published facts as data rows with stable keys, and a firm's corrections over them.

Each table of this package is made of `Fact`s. A function that judges takes `facts`: the shipped rows,
with what a qualified person corrected after looking it up. A correction is stored elsewhere, by key;
`registry` gathers all facts for a page that lists them.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any, Generic, TypeVar

from inspections.standards.confidence import Confidence
from inspections.standards.counting import day_words

Plain = Decimal | int | bool | date
T = TypeVar("T", Decimal, int, bool, date)

_NUMBER = re.compile(r"[0-9]{1,9}(\.[0-9]{1,6})?")
_YES, _NO = {"yes", "true"}, {"no", "false"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact(Generic[T]):
    """One published value. `editions` are those that it belongs to, all where it is empty.

    `least` and `most` bound what a correction may say: outside them lies a slip of the pen. `zero` says in words what
    0 stands for where that is no number: "no number of days".
    """

    key: str
    title: str
    value: T
    source: str
    confidence: Confidence
    unit: str = ""
    editions: tuple[str, ...] = ()
    least: T | None = None
    most: T | None = None
    zero: str = ""

    @property
    def shown(self) -> str:
        """The value in words with its unit: "1.0 MΩ", "yes", "1 Jul 2020"."""
        if isinstance(self.value, bool):
            return "yes" if self.value else "no"
        if isinstance(self.value, date):
            return "always" if self.value == date.min else day_words(self.value)
        if self.zero and self.value == 0:
            return self.zero
        return f"{self.value} {self.unit}".strip()

    def text(self, value: T) -> str:
        """A value as it is stored; `read` gives it back."""
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, date):
            return value.isoformat()
        return f"{value:f}" if isinstance(value, Decimal) else str(value)

    def read(self, text: str) -> T:
        """What a person entered as this fact's value.

        Raises ValueError with a sentence for anything else, and for what lies outside the bounds.
        """
        typed = text.strip()
        none = bool(self.zero) and typed.casefold() == self.zero.casefold()
        value: Any = _READ[type(self.value)]("0" if none else typed)
        self.check(value)
        return value  # type: ignore[no-any-return]

    def check(self, value: object) -> None:
        """Raises ValueError with a sentence where `value` cannot be this fact's."""
        if type(value) is not type(self.value):
            raise ValueError(f"{self.title}: {value} is no value for this.")
        least, most = self.least, self.most
        if (least is not None and value < least) or (most is not None and value > most):  # type: ignore[operator]
            bounds = f"{self._words(least)}{', or up' if self.zero else ''} to {self._words(most)}"
            raise ValueError(f"{self.title}: {self._words(value)} lies outside what can be, {bounds}.")

    def _words(self, value: Any) -> str:
        return replace(self, value=value).shown


@dataclass(frozen=True, slots=True)
class Correction:
    """What a qualified person put in the place of a shipped value: from which source, and why."""

    value: Plain
    source: str
    reason: str = ""


class Facts:
    """The shipped facts with a firm's corrections, by key, over them."""

    def __init__(self, corrections: Mapping[str, Correction] | None = None) -> None:
        self._corrections = dict(corrections or {})

    def of(self, fact: Fact[T]) -> Fact[T]:
        """The fact as it is to be used: the firm's correction of it, else the shipped row.

        Raises ValueError for a correction that cannot be this fact's.
        """
        found = self._corrections.get(fact.key)
        if found is None:
            return fact
        value: Any = found.value
        fact.check(value)
        return replace(fact, value=value, source=found.source, confidence=Confidence.GIVEN)

    def corrected(self, fact: Fact[T]) -> bool:
        """Whether the firm has put a value of its own in the place of the shipped one."""
        return fact.key in self._corrections


SHIPPED = Facts()


def _decimal(typed: str) -> Decimal:
    if not _NUMBER.fullmatch(typed):
        raise ValueError("Enter a number, such as 0.95.")
    return Decimal(typed)


def _whole(typed: str) -> int:
    if not (_NUMBER.fullmatch(typed) and "." not in typed):
        raise ValueError("Enter a whole number, such as 28.")
    return int(typed)


def _yes_or_no(typed: str) -> bool:
    if typed.casefold() not in _YES | _NO:
        raise ValueError("Answer yes or no.")
    return typed.casefold() in _YES


def _day(typed: str) -> date:
    try:
        return date.fromisoformat(typed)
    except ValueError as wrong:
        raise ValueError("Enter a date as year, month, day: 2026-04-15.") from wrong


_READ = {Decimal: _decimal, int: _whole, bool: _yes_or_no, date: _day}
