"""Reads protective devices as charts have them: B32, BS EN 60898 type B 32A, RCBO C16 30mA, BS 3036 30A; and RCDs."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal

from .table import Plain, as_text
from .trouble import Unfit

EXPECTED = "a device such as B32, BS EN 60898 type B 32A, BS EN 61009 B32 30mA, BS 3036 30A or BS 88-3 63A"
EXPECTED_RCD = "30 mA, type A 30 mA, shared 30 mA, voltage-operated, or none"
VOLTAGE = "voltage-operated"
"""An earth leakage breaker of the old kind: no RCD, and without a rated residual current."""
BY_NUMBER = (
    (r"60898", "BS EN 60898"),
    (r"61009", "BS EN 61009"),
    (r"60947", "BS EN 60947-2"),
    (r"3871", "BS 3871"),
    (r"3036", "BS 3036"),
    (r"1361", "BS 1361"),
    (r"1362", "BS 1362"),
    (r"88[\s.-]*3", "BS 88-3"),
    (r"(?:88[\s.-]*[26]|60269)", "BS 88-2"),
)
BY_WORD = (
    (r"\bRCBOS?\b", "BS EN 61009"),
    (r"\bMCCB\b", "BS EN 60947-2"),
    (r"\bMCB\b(?=.*TYPE[\s-]*[1-4])|TYPE[\s-]*[1-4]\b(?=.*\bMCB\b)", "BS 3871"),
    (r"\bMCB\b", "BS EN 60898"),
    (r"\bRE-?WIR\w*|\bSEMI-?ENCLOSED\b", "BS 3036"),
)
KINDS = {
    "BS EN 60898": "B C D",
    "BS EN 61009": "B C D",
    "BS 3871": "1 2 3 4",
    "BS 3036": "",
    "BS 1361": "1 2",
    "BS 1362": "",
    "BS 88-2": "GG GM E G",
    "BS 88-3": "C",
}
"""Types by standard: B, C, D for circuit-breakers, 1 to 4 for older ones, and those of fuses (from memory)."""
RCD_KINDS = ("AC", "A", "F", "B", "S")
POLES = {"SP": 1, "SPN": 2, "SP&N": 2, "DP": 2, "TP": 3, "TPN": 4, "TP&N": 4, "1P+N": 2, "3P+N": 4}


@dataclass(frozen=True, slots=True)
class Device:
    """A protective device; what the cell doesn't say is empty. Amps and milliamps."""

    standard: str = ""
    kind: str = ""
    rating_a: Decimal | None = None
    poles: int | None = None
    rcd_ma: Decimal | None = None
    not_understood: str = ""


@dataclass(frozen=True, slots=True)
class Rcd:
    """A residual current device: rated residual current in mA, its type, and whether other circuits share it.

    `ma` is None for a voltage-operated earth leakage breaker only.
    """

    ma: int | None
    kind: str = "unknown"
    shared: bool = False


class _Rest:
    """What is left of the text to be understood; `take` cuts a piece out and returns it."""

    def __init__(self, said: str) -> None:
        self.said = said
        self.left = unicodedata.normalize("NFKC", said).upper()

    def take(self, pattern: str) -> str:
        found = re.search(pattern, self.left)
        if found is None:
            return ""
        self.left = f"{self.left[: found.start()]} {self.left[found.end() :]}"
        return found[1] if found.re.groups else found[0]


def device(value: Plain) -> Device:
    """The device that a cell describes, perhaps only in part. Unfit where neither its standard nor its type is said."""
    rest = _Rest(as_text(value))
    rcd = rest.take(r"(?<![\d.])(\d{1,5})\s*MA\b")
    rest.take(r"(?<![\d.])\d{1,3}(?:\.\d)?\s*KA\b")
    standard = _standard(rest)
    kind = rest.take(r"\b(?:TYPE|CURVE)[\s-]*([A-Z]{1,2}|[1-4])(?![A-Z])")
    poles = rest.take(r"(?<![\w.])(SP&N|SPN|SP|DP|TP&N|TPN|TP|[1-4]P(?:\+N)?)(?![\w&+])")
    rating = _rating(rest)
    kind = kind or rest.take(r"(?<![A-Z])(GG|GM|[BCDEG])(?![A-Z])")
    left = " ".join(re.findall(r"[^\W_]+", rest.left))
    found = Device(standard, kind, rating, _pole_count(poles), Decimal(rcd) if rcd else None, left)
    return _judged(rest.said, found)


def _standard(rest: _Rest) -> str:
    for pattern, name in BY_NUMBER:
        if rest.take(rf"\b(?:(?:BS|EN|IEC)[\s-]*){{0,3}}(?<!\d){pattern}(?!\d)(?:-[12](?=\s|$|[,;:]))?(?::\d{{4}})?"):
            rest.take(r"\b(?:MCB|RCBO|MCCB|FUSE)S?\b")
            return name
    for pattern, name in BY_WORD:
        if re.search(pattern, rest.left):
            rest.take(r"\b(?:RCBO|MCCB|MCB|RE-?WIR\w*|SEMI-?ENCLOSED)S?\b")
            rest.take(r"\bFUSE\b")
            return name
    return ""


def _rating(rest: _Rest) -> Decimal | None:
    pattern = r"(?<![\d.])(\d{1,4}(?:\.\d)?)\s*(?:AMPS?\b|A(?![A-Z]))?(?![\d.])"
    found = rest.take(pattern)
    if found and re.search(pattern, rest.left):
        raise Unfit(f"“{rest.said}” gives more than one rating.", EXPECTED)
    return Decimal(found) if found and Decimal(found) > 0 else None


def _pole_count(said: str) -> int | None:
    return POLES.get(said) or (int(said[0]) if said else None)


def _judged(said: str, found: Device) -> Device:
    if not (found.standard or found.kind):
        raise Unfit(f"“{said}” says neither the standard nor the type of the device.", EXPECTED)
    return fitting(found)


def fitting(found: Device) -> Device:
    """The device, if its standard has that type; Unfit otherwise."""
    allowed = KINDS.get(found.standard)
    if allowed is None or not found.kind or found.kind.upper() in allowed.split():
        return found
    have = f"types {', '.join(allowed.split())}" if allowed else "no types"
    raise Unfit(f"{found.standard} has {have}, not type {found.kind}.", EXPECTED)


def standard(value: Plain) -> str:
    """A device's standard, written by itself: 60898, BS EN 60898, BS88-3."""
    rest = _Rest(as_text(value))
    found = _standard(rest)
    if not found or re.search(r"\w", rest.left):
        raise Unfit(f"“{rest.said}” isn't a standard that is known here.", ", ".join(name for _, name in BY_NUMBER))
    return found


def kind(value: Plain) -> str:
    """A device's type, written by itself: B, type B, 2, gG."""
    found = re.fullmatch(r"(?:TYPE|CURVE)?\s*(GG|GM|[BCDEG1-4])", as_text(value).upper())
    if found is None:
        raise Unfit(f"“{as_text(value)}” isn't a type of device.", "B, C, D, a number from 1 to 4, gG or gM")
    return found[1]


def rcd(value: Plain) -> Rcd | None:
    """The RCD that a cell describes; None for "none" or "no"."""
    rest = _Rest(as_text(value))
    if re.fullmatch(r"\s*(NO|NONE|N|N/A|NIL|0|-|–|FALSE)?\s*", rest.left):
        return None
    if re.search(r"\bVOELCB\b|\bVOLTAGE[\s-]*OPERATED\b", rest.left):
        return Rcd(None, VOLTAGE, shared=True)
    if re.search(r"\d\s*(?:A|AMPS?)\b", rest.left):
        raise Unfit(f"“{rest.said}” doesn't say the RCD's rated residual current in mA.", EXPECTED_RCD)
    shared = bool(rest.take(r"\b(?:SHARED|COMMON|GROUP)\b"))
    rest.take(r"\b(?:OWN|RCBO|RCCB|RCD)\b")
    ma = rest.take(r"(?<![\d.])(\d{1,5})(?:\.0)?\s*(?:MA\b)?(?![\d.])")
    kind = rest.take(r"\b(?:TYPE[\s-]*)?(AC|A|F|B|S)\b")
    if not ma or not 0 < int(ma) <= 30_000 or re.search(r"\w", rest.left):
        raise Unfit(f"“{rest.said}” doesn't say the RCD's rated residual current.", EXPECTED_RCD)
    return Rcd(int(ma), kind or "unknown", shared)
