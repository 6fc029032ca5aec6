"""What must be looked at before a quote is sent. Values only: nothing here forbids, the person decides."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from jobsite.words import day, money
from remedials.quotes.rules.totals import Key

MOST_APART, MOST_NAMED = 3, 20
UNSAFE = {
    "C1": "not made safe: a quote makes nothing safe. Make it safe now.",
    "C2": "not made safe: a quote makes nothing safe. Make it safe if it cannot wait for an answer.",
}
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
    """A sentence about a line (`key`), or about the whole (None); `danger` where somebody may be hurt meanwhile.

    `all_of_them`: what is said of many lines at once instead, after their numbers; "" where each needs its own words.
    """

    sentence: str
    key: Key | None = None
    danger: bool = False
    number: int = 0
    all_of_them: str = ""


def warnings(
    rows: Sequence[Row], *, today: date, valid_until: date | None, energy: str = "", limits: Sequence[str] = ()
) -> list[Warned]:
    """All that is to be said of a draft, danger first.

    `energy`: what the rule of VAT says, "" where nothing; `limits`: where its party may not approve all of it.
    """
    by_key = {row.key: row for row in rows}
    found = [warned for row in rows if (warned := _danger(row))]
    found += [Warned(sentence) for sentence in (*_whole(rows, today, valid_until, energy), *limits)]
    for row in rows:
        found += _of_line(row, rows, by_key)
    return _folded(found)


def _folded(found: Sequence[Warned]) -> list[Warned]:
    """`found` with what is the same of more than a few lines said once, at the first of them."""
    same: dict[tuple[str, bool], list[Warned]] = {}
    for one in found:
        same.setdefault((one.all_of_them, one.danger), []).append(one)
    folded = []
    for one in found:
        group = same[one.all_of_them, one.danger]
        if not one.all_of_them or len(group) <= MOST_APART:
            folded.append(one)
        elif one is group[0]:
            numbers = [str(each.number) for each in group[:MOST_NAMED]]
            more = f" and {len(group) - MOST_NAMED} more" if len(group) > MOST_NAMED else ""
            folded.append(Warned(f"Lines {', '.join(numbers)}{more}: {one.all_of_them}", one.key, one.danger))
    return folded


def _danger(row: Row) -> Warned | None:
    if row.code not in SAFE_FIRST or not row.bare:
        return None
    said = UNSAFE[row.code]
    return Warned(
        f"Line {row.number} is a {row.code} that is {said}", row.key, True, row.number, f"{row.code} that is {said}"
    )


def _whole(rows: Sequence[Row], today: date, valid_until: date | None, energy: str) -> list[str]:
    said = []
    if not any(row.kind != CALL_OUT for row in rows):
        said.append("There is nothing to offer yet: add a line.")
    if valid_until is None:
        said.append("Say until when it is valid.")
    elif valid_until < today:
        said.append(f"It was to be valid until {day(valid_until)}, which is past.")
    return [*said, energy] if energy else said


def _of_line(row: Row, rows: Sequence[Row], by_key: Mapping[Key, Row]) -> list[Warned]:
    name = f"Line {row.number}"
    said: list[tuple[str, str]] = []
    if row.unpriced:
        said.append((f"{name}: remedial {', '.join(row.unpriced)} is not priced yet.", "not priced yet."))
    elif row.now is not None and row.now != row.price:
        now = f"its remedials are priced at {money(row.now)} now."
        said.append((f"{name} asks {money(row.price)}; {now}", "other prices than their remedials have now."))
    if row.price < row.cost:
        said.append((f"{name} is priced below its cost: {money(row.price)}, cost {money(row.cost)}.", "below cost."))
    if row.kind != CALL_OUT and not row.remedials:
        no_work = "no remedial: a yes brings no work into the list."
        said.append((f"{name} stands for {no_work}", f"for {no_work}"))
    said += [(f"{name}: remedial {number} is {stage} meanwhile. Take it out.", "") for number, stage in row.changed]
    if row.either and not any(one.either == row.either and one.key != row.key for one in rows):
        said.append((f"{name} excludes others by the letter {row.either}, but no other line has it.", ""))
    if row.kind != CALL_OUT and row.needs and (sentence := _cannot_be_met(row, by_key)):
        said.append((f"{name} {sentence}", ""))
    return [Warned(sentence, row.key, number=row.number, all_of_them=many) for sentence, many in said]


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
