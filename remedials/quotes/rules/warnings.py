"""What must be looked at before a quote is sent. Values only: nothing here forbids, the person decides."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from jobsite.words import day, money
from remedials.quotes.rules.totals import Key

SAFE_FIRST = frozenset({"C1", "C2"})
CALL_OUT = "call-out"


@dataclass(frozen=True, slots=True)
class Row:
    """A line as far as the warnings go.

    `bare`: whether something of its code is open and not made safe. `unpriced`, `changed`: numbers of its remedials
    without a price, and of those no longer to be offered with their stage. `now`: what its costings come to now.
    """

    key: Key
    number: int
    kind: str
    code: str
    price: Decimal
    cost: Decimal
    bare: bool = False
    remedials: int = 0
    unpriced: tuple[str, ...] = ()
    changed: tuple[tuple[str, str], ...] = ()
    now: Decimal | None = None
    either: str = ""
    needs: tuple[Key, ...] = ()


@dataclass(frozen=True, slots=True)
class Warned:
    """A sentence about a line (`key`), or about the whole (None); `danger` where somebody may be hurt meanwhile."""

    sentence: str
    key: Key | None = None
    danger: bool = False


def warnings(rows: Sequence[Row], *, today: date, valid_until: date | None, energy: str = "") -> list[Warned]:
    """All that is to be said of a draft, danger first. `energy`: what the rule of VAT says, "" where nothing."""
    by_key = {row.key: row for row in rows}
    found = [Warned(sentence, row.key, danger=True) for row in rows if (sentence := _danger(row))]
    found += [Warned(sentence) for sentence in _whole(rows, today, valid_until, energy)]
    for row in rows:
        found += [Warned(sentence, row.key) for sentence in _of_line(row, rows, by_key)]
    return found


def _danger(row: Row) -> str:
    if row.code not in SAFE_FIRST or not row.bare:
        return ""
    wait = "now" if row.code == "C1" else "if it cannot wait for an answer"
    return f"Line {row.number} is a {row.code} that is not made safe: a quote makes nothing safe. Make it safe {wait}."


def _whole(rows: Sequence[Row], today: date, valid_until: date | None, energy: str) -> list[str]:
    said = []
    if not any(row.kind != CALL_OUT for row in rows):
        said.append("There is nothing to offer yet: add a line.")
    if valid_until is None:
        said.append("Say until when it is valid.")
    elif valid_until < today:
        said.append(f"It was to be valid until {day(valid_until)}, which is past.")
    return [*said, energy] if energy else said


def _of_line(row: Row, rows: Sequence[Row], by_key: Mapping[Key, Row]) -> list[str]:
    name = f"Line {row.number}"
    said = []
    if row.unpriced:
        said.append(f"{name}: remedial {', '.join(row.unpriced)} is not priced yet.")
    elif row.now is not None and row.now != row.price:
        said.append(f"{name} asks {money(row.price)}; its remedials are priced at {money(row.now)} now.")
    if row.price < row.cost:
        said.append(f"{name} is priced below its cost: {money(row.price)}, cost {money(row.cost)}.")
    if row.kind != CALL_OUT and not row.remedials:
        said.append(f"{name} stands for no remedial: a yes to it brings no work into the list.")
    said += [f"{name}: remedial {number} is {stage} meanwhile. Take it out." for number, stage in row.changed]
    if row.either and not any(one.either == row.either and one.key != row.key for one in rows):
        said.append(f"{name} excludes others by the letter {row.either}, but no other line has it.")
    if row.kind != CALL_OUT and (sentence := _cannot_be_met(row, by_key)):
        said.append(f"{name} {sentence}")
    return said


def _cannot_be_met(row: Row, by_key: Mapping[Key, Row]) -> str:
    """Why what a line needs, and what that needs in turn, cannot all be had; "" where it can."""
    wanted, left = {row.key}, [*row.needs]
    while left:
        key = left.pop()
        if key in wanted:
            continue
        if key not in by_key:
            return "needs a line that is not in this version."
        wanted.add(key)
        left += by_key[key].needs
    letters: dict[str, list[Row]] = {}
    for key in wanted:
        if letter := by_key[key].either:
            letters.setdefault(letter, []).append(by_key[key])
    for letter, both in sorted(letters.items()):
        if len(both) > 1:
            numbers = " and ".join(str(one.number) for one in sorted(both, key=lambda one: one.number))
            return f"cannot be had: it takes lines {numbers}, which exclude each other by the letter {letter}."
    return ""
