"""What in a text may be a name, a telephone number or an address of somebody: marked for a person to look at. Pure.

Nothing here decides: a machine misses names and takes places for people. What is sure (an e-mail address, a number to ring,
a name on record) is taken out of what is offered; what only may be a name is marked and left to whoever looks it over.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

LEFT_OUT = "[left out]"

NAME, MAY_BE, EMAIL, PHONE = "a name on record", "may be a name", "an e-mail address", "a telephone number"
SURE = (NAME, EMAIL, PHONE)

EMAIL_IN = re.compile(r"[\w.+'-]+@[\w-]+(?:\.[\w-]+)+")
# Ten or more digits, or a national number as it is written in the United Kingdom, with or without spaces and brackets.
PHONE_IN = re.compile(
    r"(?<![\w.,-])(?:\+\d{1,3}[\s-]?)?(?:\(0?\d{2,5}\)|0\d{2,5})(?:[\s-]?\d{2,4}){2,4}(?![\w.])|\+\d[\d\s-]{8,}\d"
)
TITLES = "Mr|Mrs|Ms|Miss|Mx|Dr|Sir|Lady|Lord|Rev|Cllr|Prof"
TITLED = re.compile(rf"\b(?:{TITLES})\.?\s+(?:[A-Z][\w'’-]*\s?){{1,3}}")
PERSON_WORDS = re.compile(
    r"\b(?:tenant|occupier|landlord|owner|neighbour|caretaker|resident|engineer|son|daughter|wife|husband|agent|told|asked|"
    r"rang|spoke to|agreed with|key with|by)\s+((?:[A-Z][\w'’-]+)(?:\s+[A-Z][\w'’-]+)*)"
)
PAIR = re.compile(r"(?<![.!?:]\s)(?<!^)\b[A-Z][a-z'’-]+\s+[A-Z][a-z'’-]+\b")
TRADE = frozenset(
    [
        "Amendment",
        "Annex",
        "Avenue",
        "Barn",
        "Board",
        "British",
        "Building",
        "Chapter",
        "Circuit",
        "Class",
        "Close",
        "Consumer",
        "Court",
        "Distribution",
        "Drive",
        "Fire",
        "First",
        "Flat",
        "Ground",
        "Hall",
        "House",
        "Kitchen",
        "Lane",
        "Main",
        "Meter",
        "Neutral",
        "No",
        "Number",
        "Part",
        "Phase",
        "Plant",
        "Regulation",
        "Regulations",
        "Road",
        "Room",
        "Row",
        "School",
        "Section",
        "Side",
        "Standard",
        "Street",
        "Supply",
        "Switch",
        "Table",
        "Terrace",
        "Type",
        "Unit",
        "Way",
        "Wiring",
        "Yard",
        "Zone",
    ]
)


@dataclass(frozen=True, slots=True)
class Found:
    """A piece of a text, from letter `start` up to `end`, and what it may be."""

    start: int
    end: int
    what: str


def suspects(text: str, names: Iterable[str]) -> list[Found]:
    """What in `text` is or may be personal, in order, none over another. `names` are those on record, of people."""
    found = [Found(m.start(), m.end(), EMAIL) for m in EMAIL_IN.finditer(text)]
    found += [Found(m.start(), m.end(), PHONE) for m in PHONE_IN.finditer(text)]
    for name in names:
        found += [Found(m.start(), m.end(), NAME) for m in _whole(name).finditer(text)]
    found += [Found(m.start(), _trimmed(text, m.start(), m.end()), MAY_BE) for m in TITLED.finditer(text)]
    found += [Found(m.start(1), m.end(1), MAY_BE) for m in PERSON_WORDS.finditer(text) if not _trade(m[1])]
    found += [Found(m.start(), m.end(), MAY_BE) for m in PAIR.finditer(text) if not _trade(m[0])]
    return _apart(found)


def _whole(name: str) -> re.Pattern[str]:
    return re.compile(rf"(?<!\w){re.escape(name)}(?!\w)", re.IGNORECASE)


def _trimmed(text: str, start: int, end: int) -> int:
    return start + len(text[start:end].rstrip())


def _trade(words: str) -> bool:
    return any(word.strip("'’-") in TRADE for word in words.split())


def _apart(found: list[Found]) -> list[Found]:
    """The sure ones first, then the longer: a piece that touches one that was taken is left."""
    taken: list[Found] = []
    for one in sorted(found, key=lambda f: (f.what not in SURE, f.start - f.end, f.start)):
        if all(one.end <= other.start or one.start >= other.end for other in taken):
            taken.append(one)
    return sorted(taken, key=lambda f: f.start)


def without(text: str, names: Iterable[str]) -> str:
    """`text` as it is offered: what is sure to be personal is replaced by LEFT_OUT."""
    for one in reversed([f for f in suspects(text, names) if f.what in SURE]):
        text = f"{text[: one.start]}{LEFT_OUT}{text[one.end :]}"
    return text


def surely_in(text: str, names: Iterable[str]) -> list[str]:
    """The pieces of `text` that are sure to be personal, each once, with what they are."""
    found = [f"{text[one.start : one.end]} ({one.what})" for one in suspects(text, names) if one.what in SURE]
    return list(dict.fromkeys(found))


def pieces(text: str, names: Iterable[str]) -> list[tuple[str, str]]:
    """`text` cut where something is marked: each piece with what it may be, "" for the rest."""
    cut, at = list[tuple[str, str]](), 0
    for one in suspects(text, names):
        cut += [(text[at : one.start], "")] if one.start > at else []
        cut.append((text[one.start : one.end], one.what))
        at = one.end
    return [*cut, (text[at:], "")] if at < len(text) else cut


def telling_names(names: Iterable[str]) -> tuple[str, ...]:
    """Names to look for: each whole, and each surname of four letters or more that is no word of the trade. Longest first."""
    wanted = set[str]()
    for name in names:
        words = name.split()
        wanted.add(name.strip())
        if len(words) > 1 and len(words[-1]) >= 4 and words[-1].strip(",.") not in TRADE:
            wanted.add(words[-1].strip(",."))
    return tuple(sorted((name for name in wanted if len(name) > 2), key=lambda n: (-len(n), n)))
