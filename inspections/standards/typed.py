"""Readings as people type them from an instrument: "0.35", "350 mΩ", ">200 MΩ", "no trip", "OK"."""

import re
from dataclasses import dataclass
from decimal import Decimal

from inspections.standards.quantities import Quantity

LONGEST = 20

_NUMBER = re.compile(r"(?P<above>>?)\s*(?P<number>[0-9]+(?:\.[0-9]+)?|\.[0-9]+)\s*(?P<unit>[^\s0-9.]*)")
_OK = {"ok", "yes", "y", "pass", "passed", "correct", "✓"}
_NOT_OK = {"not ok", "no", "n", "fail", "failed", "incorrect", "not correct", "wrong", "reversed", "✗"}
_NO_TRIP = {"no trip", "did not trip", "didn't trip", "not tripped", "no operation"}

# "M" alone would be a million ohms where ohms are read, and is too near to "m" to guess.
_OHMS = {"": "1", "Ω": "1", "mΩ": "0.001", "m": "0.001", "kΩ": "1000", "k": "1000"}
_MEGOHMS = {"": "1", "MΩ": "1", "M": "1", "GΩ": "1000", "G": "1000", "kΩ": "0.001", "k": "0.001", "Ω": "0.000001"}
_UNITS = {
    "Ω": _OHMS,
    "MΩ": _MEGOHMS,
    "ms": {"": "1", "ms": "1", "s": "1000"},
    "kA": {"": "1", "kA": "1", "ka": "1", "A": "0.001", "a": "0.001"},
}
_EXAMPLES = {
    "Ω": 'Enter ohms as the tester shows them, such as 0.35 or ">1999".',
    "MΩ": 'Enter megohms as the tester shows them, such as 12.5 or ">200".',
    "ms": "Enter milliseconds as the tester shows them, such as 28, or “no trip”.",
    "kA": "Enter kiloamperes as the tester shows them, such as 1.2.",
}


@dataclass(frozen=True, slots=True)
class Value:
    """What an instrument showed, in the quantity's unit, with the places that were typed.

    `above`: it showed ">" the number, more than its range. `no_trip`: the RCD did not operate.
    `ok`: the answer to a check without a number. One of number, `no_trip` and `ok` is given.
    """

    number: Decimal | None = None
    above: bool = False
    no_trip: bool = False
    ok: bool | None = None

    def __post_init__(self) -> None:
        if [self.number is not None, self.no_trip, self.ok is not None].count(True) != 1:
            raise ValueError("A reading is a number, “no trip”, or OK or not OK.")
        if self.above and self.number is None:
            raise ValueError("Only a number can be above the range of the tester.")

    def words(self, unit: str) -> str:
        """As it is shown: "0.35 Ω", ">200 MΩ", "no trip", "not OK"."""
        if self.number is not None:
            return f"{'>' if self.above else ''}{self.number:f} {unit}".strip()
        if self.no_trip:
            return "no trip"
        return "OK" if self.ok else "not OK"


def read(quantity: Quantity, typed: str) -> Value:
    """What was typed for a quantity, in its unit.

    Raises ValueError with a sentence for what is no reading of that quantity.
    """
    words = " ".join(typed.replace("\u2126", "Ω").split())
    if quantity.yes_no:
        return _answer(words)
    if quantity is Quantity.RCD_TIME and words.lower() in _NO_TRIP:
        return Value(no_trip=True)
    if re.match(r"[-−–]\s*[0-9.]", words):
        raise ValueError(f"No instrument shows a negative value here: check the {quantity.label}.")
    found = _NUMBER.fullmatch(words) if len(words) <= LONGEST else None
    factor = _UNITS[quantity.unit].get(_plain_unit(found["unit"])) if found else None
    if found is None or factor is None:
        raise ValueError(_EXAMPLES[quantity.unit])
    number = Decimal(found["number"])
    return Value(number if factor == "1" else number * Decimal(factor), above=bool(found["above"]))


def _plain_unit(typed: str) -> str:
    """ "Ohm" and "ohms" as one writes them; the case of other units carries meaning."""
    lower = typed.lower()
    if lower.endswith(("ohm", "ohms")):
        return f"{typed[: lower.index('ohm')]}Ω"
    return typed


def _answer(words: str) -> Value:
    answer = words.lower()
    if answer not in _OK | _NOT_OK:
        raise ValueError("Answer OK or not OK.")
    return Value(ok=answer in _OK)
