"""Reads observations out of text pasted from a PDF or an e-mail, into a sheet like one of a spreadsheet.

What starts an observation: its number in the report, a code in front of it, a label ("Item: 4"), or, in a list without
numbers, the end of the one before. Its code stands in front, behind, on a line of its own, behind "Code:", or in the
heading of its section. The text stays as it is worded. What cannot be placed becomes a row without a code, which is
refused and can be corrected; what stands before the first and after the last observation, and what was taken for the
head of a page, is named and left unread. A heading's code holds until an item under it has one of its own.
Every row is numbered by its line in the text. Shapes of such texts: common practice, by invented samples.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from .cells import fold
from .columns import OBSERVATIONS
from .heads import match
from .table import Row, Sheet, Value

SHEET = "Pasted text"
HEADS = ("Item", "Code", "Observation", "Board", "Way", "Place")
MOST_QUOTED = 8
LIGATURES = str.maketrans({"ﬁ": "fi", "ﬂ": "fl", "ﬀ": "ff", "ﬃ": "ffi", "ﬄ": "ffl", "\u00ad": "", "\u00a0": " "})

CODE = r"(?:(?:code|classification|class)\s*[:.]?\s*)?(?:C\s?[1-3]|FI|code\s[1-4])(?:\s?[/&+]\s?(?:C\s?[1-3]|FI))*"
BRACKETED = rf"[(\[]?\s*({CODE})\s*[)\]]?"
ALONE = re.compile(rf"\W*{BRACKETED}\W*", re.IGNORECASE)
IN_FRONT = re.compile(rf"{BRACKETED}(?:\s*[-–—:.|]\s*|\s+)(?=\S)", re.IGNORECASE)
BEHIND = re.compile(rf"^(.*?\S)(?:\s*[-–—:|]\s*|\s+|(?=[(\[])){BRACKETED}\s*\.?$", re.IGNORECASE | re.DOTALL)
MEANINGS = (
    r"danger present|risk of injury|immediate(?:\s+remedial)?\s+action(?:\s+is)?\s+required|potentially\s+dangerous|"
    r"urgent(?:\s+remedial)?\s+action(?:\s+is)?\s+required|improvement\s+recommended|"
    r"further\s+investigation(?:\s+is)?(?:\s+required)?(?:\s+without\s+delay)?|observations?|items?|defects?"
)
HEADING = re.compile(rf"\W*{BRACKETED}(?:[\s,.;:()–—-]*(?:{MEANINGS}))+\W*", re.IGNORECASE)
"""A code with nothing but its meaning (the model report's words): the heading of a section."""
NUMBERED = re.compile(
    r"(?:(?:item|obs(?:ervation)?|defect|ref)\.?\s*(?:no\.?|number)?\s*[:#]?\s*|#\s*|no\.?\s*(?=\d))?"
    r"[(\[]?(\d{1,3}(?:\.\d{1,2}){0,2}[a-z]?)(\s*[.):\]–—-](?=\s|$|[A-Z(\[])|\s*\t|\s*\||\s{2,}|\s|$)\s*",
    re.IGNORECASE,
)
SAID_TO_BE_ONE = re.compile(r"(?:item|obs(?:ervation)?|defect|ref|#|no\.)", re.IGNORECASE)
LABELS = {
    "place": "location|place|room|area|where|position",
    "board": "board|distribution board|db|consumer unit|cu",
    "way": "circuit|cct|way",
    "code": "code|classification|classification code|class",
    "item": "item|item no|item number|observation no|obs no|ref",
    "text": "observation|description|defect|details|finding|comment",
}
LABELLED = {
    key: re.compile(rf"(?:{words})\.?\s*(?::|\s[-–—]\s)\s*(.*)", re.IGNORECASE) for key, words in LABELS.items()
}
FURNITURE = re.compile(r"(?:page\s+\d+(?:\s*(?:of|/)\s*\d+)?|\d+\s*/\s*\d+|-+\s*\d+\s*-+|[-_=*\s.]{3,})", re.IGNORECASE)
BULLET = re.compile(r"[•·▪◦●*‣-]\s+")
WAY_BEHIND_BOARD = re.compile(
    r"[\s,;(/-]*(?:circuit|cct|way)\.?\s*(?:no\.?\s*)?(\d{1,3}(?:\s?/?\s?L[123])?)\b", re.IGNORECASE
)


@dataclass
class _Item:
    """An observation on its way. `closed`: its code stood behind it, so that nothing more belongs to it.

    `heading`: which heading of the text, counted, it stands under.
    """

    line: int
    item: str = ""
    code: str = ""
    section: str = ""
    heading: int = 0
    words: list[str] = field(default_factory=list)
    board: str = ""
    way: str = ""
    place: str = ""
    closed: bool = False

    @property
    def text(self) -> str:
        return " ".join(self.words)


@dataclass
class _Reading:
    """How far the text is read: what was found, the heading above, whether a blank line came before."""

    items: list[_Item] = field(default_factory=list)
    before: list[tuple[int, str]] = field(default_factory=list)
    paragraph: list[tuple[int, str]] = field(default_factory=list)
    page_heads: list[tuple[int, str]] = field(default_factory=list)
    section: str = ""
    heading: int = 0
    gap: bool = False
    numbers: bool = False

    @property
    def open(self) -> _Item | None:
        return self.items[-1] if self.items else None

    def begin(self, line: int, *, item: str = "", code: str = "") -> _Item:
        self.items.append(_Item(line, item=item, code=code, section=self.section, heading=self.heading))
        return self.items[-1]

    def head(self, code: str) -> None:
        """From here on the observations stand under a heading of this code."""
        self.section = code
        self.heading += 1


def read_pasted(text: str, boards: Sequence[str] = ()) -> Sheet:
    """The observations that a pasted text holds, as a sheet with heads of ours; `boards` are the names to look for.

    A table copied out of a spreadsheet, with its heads, stays that table.
    """
    lines = [_clean(line) for line in re.split(r"\r\n|[\r\n\f\v\u2028\u2029]", text)]
    if table := _table(lines):
        return table
    reading = _Reading()
    for number, line in enumerate(lines, start=1):
        _read_line(reading, number, line)
    _number_by_section(reading.items)
    after = _letter_after(reading.items)
    for one in reading.items:
        _find_board(one, boards)
    rows = [Row(0, HEADS)] + [Row(one.line, _cells(one, numbers=reading.numbers)) for one in reading.items]
    rows[0] = Row(0, HEADS if reading.numbers else HEADS[1:])
    return Sheet(
        SHEET, rows if reading.items else [], notes=[*_notes(reading.before, after), *_left_out(reading.page_heads)]
    )


def _clean(line: str) -> str:
    line = "".join(letter for letter in line.translate(LIGATURES) if letter == "\t" or letter.isprintable())
    return re.sub(r"^(?:\s*>)+\s?", "", line).strip()


def _table(lines: Sequence[str]) -> Sheet | None:
    rows = [Row(n, tuple(cell.strip() or None for cell in line.split("\t"))) for n, line in enumerate(lines, 1) if line]
    heads = next((row for row in rows[:5] if {"code", "text"} <= match(row, OBSERVATIONS).keys()), None)
    return Sheet(SHEET, rows) if heads and len(heads.cells) > 1 else None


def _read_line(reading: _Reading, number: int, line: str) -> None:
    if not line or FURNITURE.fullmatch(line):
        reading.gap = reading.gap or not line
        reading.page_heads += [(number, line)] if any(letter.isalnum() for letter in line) else []
        return
    if heading := HEADING.fullmatch(line):
        reading.head(heading[1])
        if reading.open:
            reading.open.closed = True
    elif not _labelled(reading, number, line):
        _worded(reading, number, line)
    reading.gap = False


def _labelled(reading: _Reading, number: int, line: str) -> bool:
    """Whether the line is a field with its label; one that the open observation has already begins the next."""
    for key, pattern in LABELLED.items():
        if not (found := pattern.fullmatch(line)):
            continue
        one, said = reading.open, found[1].strip()
        if key == "item" and not re.match(r"\d", said):
            return False
        has = one is not None and (one.words if key == "text" else getattr(one, key))
        if one is None or key == "item" or (has and (reading.gap or key != "place")):
            one = reading.begin(number)
        reading.numbers = reading.numbers or key == "item"
        if key == "text":
            one.words.append(said)
        else:
            setattr(one, key, said)
        return True
    return False


def _worded(reading: _Reading, number: int, line: str) -> None:
    bullet = BULLET.match(line)
    rest = line[bullet.end() :] if bullet else line
    one = reading.open
    alone = ALONE.fullmatch(rest)
    if alone and one and one.words and not (one.code or one.section or one.closed):
        one.code, one.closed = alone[1], True
        return
    if alone and one and one.item and not (one.words or one.code):
        one.code = alone[1]
        return
    if alone:
        reading.head(alone[1])
        return
    front = IN_FRONT.match(rest)
    item = _item_number(reading, rest[front.end() :] if front else rest)
    if item:
        said, rest = item[1], (rest[front.end() :] if front else rest)[item.end() :]
        reading.numbers = True
        one = reading.begin(number, item=said, code=front[1] if front else "")
        front = None if front else IN_FRONT.match(rest)
        if front:
            one.code, rest = front[1], rest[front.end() :]
    elif front:
        one = reading.begin(number, code=front[1])
        rest = rest[front.end() :]
    elif one is None and not reading.section and not BEHIND.match(rest):
        reading.paragraph = [] if reading.gap or line.endswith((":", ",")) else reading.paragraph
        reading.before.append((number, line))
        reading.paragraph += [] if line.endswith((":", ",")) else [(number, line)]
        return
    elif one is None:
        one = _with_paragraph(reading, number)
    elif one.closed or bullet or (reading.gap and (one.code or one.section)):
        one = reading.begin(number)
    _add_words(one, rest)


def _with_paragraph(reading: _Reading, number: int) -> _Item:
    """The first observation of a list without numbers, with the lines of its paragraph above."""
    above = [] if reading.gap else reading.paragraph
    one = reading.begin(above[0][0] if above else number)
    one.words += [line for _, line in above]
    reading.before = [one for one in reading.before if one not in above]
    return one


def _add_words(one: _Item, rest: str) -> None:
    cells = [cell.strip() for cell in re.split(r"\t|\s\|\s|\s{3,}", rest) if cell.strip()]
    codes = [cell for cell in cells if ALONE.fullmatch(cell)]
    if len(cells) > 1 and codes and not one.code:
        one.code, one.closed = ALONE.fullmatch(codes[0])[1], True  # type: ignore[index]
        others = [cell for cell in cells if cell not in codes]
        text = max(others, key=len, default="")
        one.words.append(text)
        one.place = ", ".join(cell for cell in others if cell is not text)
    elif not one.code and (behind := BEHIND.match(rest)):
        one.words.append(behind[1].rstrip(" -–—:|"))
        one.code, one.closed = behind[2], True
    elif rest:
        one.words.append(rest)


def _item_number(reading: _Reading, rest: str) -> re.Match[str] | None:
    """The number that an observation begins with. One without a mark behind it must be the next in the count: a line
    may go on with "30 mA" or "2 sockets"."""
    found = NUMBERED.match(rest)
    if found is None:
        return None
    if SAID_TO_BE_ONE.match(rest) or found[2].strip() in {")", "]", "|"} or "\t" in found[2]:
        return found
    last = next((one.item for one in reversed(reading.items) if one.item), "0")
    then = rest[found.end() :][:1]
    marked = bool(found[2].strip()) or not then or not then.islower()
    follows = marked and found[1] == str(int(re.match(r"\d+", last)[0]) + 1)  # type: ignore[index]
    sub_item = "." in found[1] and bool(found[2].strip() or rest[found.end() : found.end() + 1].isupper())
    dotted = found[2].strip() in {".", ":"} and bool(rest[found.end() :])
    return found if follows or dotted or (sub_item and found[2] != "") or (found[1] == "1" and dotted) else None


def _number_by_section(items: Sequence[_Item]) -> None:
    """Codes from the headings, each until an item has its own; where each section counts anew, its code stands before the number."""
    twice = {item for item, count in Counter(one.item for one in items if one.item).items() if count > 1}
    ended = {one.heading: number for number, one in reversed(list(enumerate(items))) if one.code}
    for number, one in enumerate(items):
        if not one.code and number < ended.get(one.heading, len(items)):
            one.code = one.section
        if twice and one.section and one.item:
            one.item = f"{one.section} {one.item}"


def _letter_after(items: list[_Item]) -> list[tuple[int, str]]:
    """Takes off what stands behind the last observation and is none: no number, no code. Returns it."""
    after: list[tuple[int, str]] = []
    while len(items) > 1 and not items[-1].code and not items[-1].item:
        last = items.pop()
        after.insert(0, (last.line, last.text))
    return after


def _find_board(one: _Item, boards: Sequence[str]) -> None:
    """The board that the text begins with, where it is one by name, and the way behind it. The words stay."""
    if one.board:
        return
    for name in sorted(boards, key=len, reverse=True):
        begins = re.match(rf"(?:at\s+|in\s+)?{re.escape(name)}(?!\w)", one.text, re.IGNORECASE)
        if begins or (one.place and fold(one.place) == fold(name)):
            one.board = name
            way = WAY_BEHIND_BOARD.match(one.text[begins.end() :]) if begins else None
            one.way = one.way or (way[1].replace(" ", "") if way else "")
            one.place = "" if fold(one.place) == fold(name) else one.place
            return


def _cells(one: _Item, *, numbers: bool) -> tuple[Value, ...]:
    code = re.sub(r"(?i)^(?:code|classification|class)\s*[:.]?\s*(?=C\s?\d|FI)", "", one.code)
    cells = (one.item, code, one.text, one.board, one.way, one.place)
    return tuple(cell or None for cell in (cells if numbers else cells[1:]))


def _notes(before: Sequence[tuple[int, str]], after: Sequence[tuple[int, str]]) -> Iterator[str]:
    for lines, where in ((before, "before the first observation"), (after, "after the last observation")):
        if lines:
            yield f"what stands {where} wasn't read: {_quoted(lines)}. Is an observation among it, change the text."


def _left_out(page_heads: Sequence[tuple[int, str]]) -> Iterator[str]:
    if page_heads:
        yield f"left out as the head or foot of a page: {_quoted(page_heads)}."


def _quoted(lines: Sequence[tuple[int, str]]) -> str:
    more = f" and {len(lines) - MOST_QUOTED} more" if len(lines) > MOST_QUOTED else ""
    return " / ".join(f"“{text[:120]}”" for _, text in lines[:MOST_QUOTED]) + more
