"""Text whose width the server cannot measure: estimated generously, shortened where it would not fit, made safe.

The widths are those of the widest sans serif that a common system offers as its interface font, rounded up.
"""

import html
import re
import unicodedata
from functools import lru_cache

# Characters that XML 1.0 (section 2.2) does not allow, with surrogates and the two non-characters.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
BOLD = 1.18  # how much wider bold letters are

_WIDTHS = (
    ("iIlj.,:;'|!()[]/\\ tfr·-‘’", 0.42),
    ('abcdefghknopqsuvxyzL0123456789"“”–?_*{}€£$#^`', 0.65),
    ("ABCDEFGHJKNOPQRSTUVXYZ+=<>~×&Ω±", 0.84),
    ("mwMW@%—…½¼", 1.02),
)
_BY_CHARACTER = {character: width for characters, width in _WIDTHS for character in characters}


@lru_cache(maxsize=4096)
def _em(character: str) -> float:
    """Width of one character in ems, rounded up."""
    if (known := _BY_CHARACTER.get(character)) is not None:
        return known
    if unicodedata.combining(character):
        return 0.0
    base = unicodedata.normalize("NFD", character)[0]  # é is as wide as e
    return _BY_CHARACTER.get(base, 1.4)


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Pixels to reserve for a text set in `size` pixels; never less than it takes in a common interface font."""
    return sum(map(_em, text)) * size * (BOLD if bold else 1.0)


def shorten(text: str, room: float, size: float, *, bold: bool = False) -> str:
    """The text, or as much of it as fits into `room` pixels with "…" at its end."""
    if width(text, size, bold=bold) <= room:
        return text
    room -= width("…", size, bold=bold)
    kept = ""
    for character in text:
        room -= width(character, size, bold=bold)
        if room < 0:
            break
        kept += character
    return kept.rstrip() + "…"


def wrap(text: str, room: float, size: float, *, bold: bool = False) -> list[str]:
    """The text on one line or two, broken between words, either shortened where it must be."""
    words, first = text.split(" "), ""
    while words and width(f"{first} {words[0]}", size, bold=bold) <= room:
        first = f"{first} {words.pop(0)}".strip()
    return [shorten(line, room, size, bold=bold) for line in (first, " ".join(words)) if line]


def fold(text: str, room: float, size: float) -> list[str]:
    """The whole text on as many lines as it needs, broken between words, and inside one that is longer than a line."""
    lines = [""]
    for word in text.split():
        if lines[-1] and width(f"{lines[-1]} {word}", size) > room:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
        while width(lines[-1], size) > room and len(lines[-1]) > 1:
            head = _head(lines[-1], room, size)
            lines[-1:] = [head, lines[-1][len(head) :]]
    return [line for line in lines if line]


def _head(text: str, room: float, size: float) -> str:
    """As many characters from the beginning as fit, at least one."""
    end = 1
    while end < len(text) and width(text[: end + 1], size) <= room:
        end += 1
    return text[:end]


def safe(text: str) -> str:
    """Text for an element or a quoted attribute: escaped, on one line, without what XML forbids."""
    return html.escape(" ".join(_FORBIDDEN.sub("\ufffd", text).split()))
