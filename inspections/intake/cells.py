"""Reads single cells: text, numbers with their units, yes and no. Each raises Unfit with what is expected."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import date, time, timedelta
from decimal import Decimal, InvalidOperation

from jobsite.sorting import sort_key

from .table import Plain, as_text
from .trouble import Unfit

NOTHING = {"", "-", "–", "—", "n/a", "na", "none", "nil", "not known", "unknown", "n/v", "nv", "lim", "?"}
"""What people write in a cell that has no value ("N/V" not verified, "LIM" limitation: common practice)."""
YES = {"yes", "y", "true", "1", "x", "✓", "✔", "☑"}
NO = {"no", "n", "false", "0", "☐", "✗"}
NUMBER = re.compile(r"([+-]?(?:\d{1,15}(?:\.\d{0,15})?|\.\d{1,15}))\s*([^\W\d].*)?")


def fold(text: str) -> str:
    """The text without case, accents, spaces, punctuation and leading noughts: "DB-1", "db 01" and "DB1" are the same.

    Only between digits does a separator count: "DB 1.1" is not "DB 11".
    """
    key = re.sub(r"(?<!\d)0+(?=\d)", "", sort_key(text))
    return re.sub(r"[^\w.]|_|(?<!\d)\.|\.(?!\d)", "", re.sub(r"(?<=\d)[\W_]+(?=\d)", ".", key)) or key


def plain_head(head: str, *, without_brackets: bool = False) -> str:
    """A column head as it is compared: lower case, words apart, no punctuation; on demand without "(A)" or "[mm²]"."""
    if without_brackets:
        head = re.sub(r"[(\[][^)\]]*[)\]]", " ", head)
    return " ".join(re.findall(r"[^\W_]+", unicodedata.normalize("NFKC", head).casefold()))


def text(value: Plain, *, most: int) -> str:
    """Trimmed text of at most `most` letters, runs of blanks made one; control characters are refused."""
    found = re.sub(r"[^\S\n]+", " ", re.sub(r"[ \t]*\r?\n\s*", "\n", as_text(value)))
    if any(unicodedata.category(letter) in {"Cc", "Cs"} and letter != "\n" for letter in found):
        raise Unfit("holds characters that aren't text.", "plain text")
    if len(found) > most:
        raise Unfit(f"is {len(found)} letters long.", f"at most {most} letters")
    return found


def line(value: Plain, *, most: int) -> str:
    """As `text`, but on one line."""
    return text(value, most=most).replace("\n", " ")


def is_nothing(value: Plain) -> bool:
    """Whether the cell is empty or says that there is no value."""
    return as_text(value).casefold() in NOTHING


@dataclass(frozen=True, slots=True)
class Measure:
    """What a column of numbers counts: its unit, how people write it (folded), its range and decimals."""

    unit: str
    spellings: tuple[str, ...]
    least: str
    most: str
    decimals: int

    @property
    def expected(self) -> str:
        return f"a number from {self.least} to {self.most}, with or without “{self.unit}”, of at most {self.decimals} decimals"


AMPS = Measure("A", ("a", "amp", "amps"), "0.5", "6300", 1)
OHMS = Measure("Ω", ("ω", "ohm", "ohms", "r"), "0", "9999", 3)
KILOAMPS = Measure("kA", ("ka",), "0", "999", 2)
BREAKING = Measure("kA", ("ka",), "0.1", "999", 1)
METRES = Measure("m", ("m", "metre", "metres", "meter", "meters"), "0.1", "9999", 1)
KILOWATTS = Measure("kW", ("kw", "kwp"), "0", "9999", 2)
MILLIMETRES = Measure("mm²", ("mm2", "mm", "sqmm"), "0.5", "1000", 2)
MILLIAMPS = Measure("mA", ("ma",), "1", "30000", 0)
MINUTES = Measure("minutes", ("min", "mins", "minute", "minutes"), "0", "600", 0)


def quantity(value: Plain, measure: Measure) -> Decimal:
    """A number within the measure's range, with or without its unit.

    A decimal comma is refused, because in this country a comma groups thousands; so are more decimals than are kept.
    """
    number, written = _number(value, measure.expected)
    if written and fold(written) not in measure.spellings:
        raise Unfit(f"“{as_text(value)}” isn't in {measure.unit}.", measure.expected)
    if not Decimal(measure.least) <= number <= Decimal(measure.most):
        raise Unfit(f"“{as_text(value)}” is out of range.", measure.expected)
    if number != round(number, measure.decimals):
        raise Unfit(f"“{as_text(value)}” has too many decimals.", measure.expected)
    return number


def whole(value: Plain, *, most: int) -> int:
    """A whole number from 0 to `most`."""
    expected = f"a whole number from 0 to {most}"
    number, written = _number(value, expected)
    if written or number != number.to_integral_value() or not 0 <= number <= most:
        raise Unfit(f"“{as_text(value)}” isn't a whole number from 0 to {most}.", expected)
    return int(number)


def yes_no(value: Plain) -> bool:
    """Yes or no; an empty cell is no."""
    said = as_text(value).casefold()
    if said in NO or said in {"", "-", "–"}:
        return False
    if said in YES:
        return True
    raise Unfit(f"“{said}” is neither yes nor no.", "yes, no, or nothing")


def _number(value: Plain, expected: str) -> tuple[Decimal, str]:
    if isinstance(value, bool | date | time | timedelta):
        raise Unfit(f"“{as_text(value)}” isn't a number.", expected)
    said = unicodedata.normalize("NFKC", as_text(value)).replace("µ", "μ")
    if "," in said:
        raise Unfit(f"“{said}” has a comma in it.", f"{expected}; decimals are written with a point")
    found = NUMBER.fullmatch(said)
    if found is None:
        raise Unfit(f"“{said}” isn't a number.", expected)
    try:
        return Decimal(found[1]), (found[2] or "").strip()
    except InvalidOperation:
        raise Unfit(f"“{said}” isn't a number.", expected) from None
