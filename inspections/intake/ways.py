"""Reads ways and phases: 5, 5L1, 5/L1, L1/5, way 5, three phase."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from .table import Plain, as_text
from .trouble import Unfit

LINES = ("L1", "L2", "L3")
THREE = "3"
SINGLE = "single"
"""Single phase, without saying which."""
EXPECTED_WAY = "a way such as 5 or 5L1 (5TPN where it takes all three phases)"
EXPECTED_PHASE = "L1, L2, L3, three phase or single phase"
COLOURS = {"R": "L1", "Y": "L2", "B": "L3", "RED": "L1", "YELLOW": "L2", "BLUE": "L3"} | {
    "BROWN": "L1",
    "BLACK": "L2",
    "GREY": "L3",
}
"""Phases by their colours; red, yellow and blue are those used before 2006 (common practice)."""
THREE_SAID = {"TP", "TPN", "TP&N", "TP+N", "3P", "3PN", "3PH", "3PHASE", "3PHASES", "THREEPHASE", "THREE"} | {
    "L1L2L3",
    "L1L3",
    "L123",
    "RYB",
}
SINGLE_SAID = {"SP", "SPN", "SP&N", "SP+N", "1P", "1PN", "1PH", "1PHASE", "SINGLE", "SINGLEPHASE"}
SUFFIX = r"L1L2L3|L1L3|L[123]|TPN|TP|RYB|[RYB]"


@dataclass(frozen=True, slots=True, order=True)
class Way:
    """A way's number and its phase: L1, L2, L3, THREE for all of them, or empty where it wasn't said."""

    number: int
    phase: str = ""

    def __str__(self) -> str:
        """As it is written at the board: 5, 5L1, 5 three-phase."""
        return f"{self.number} three-phase" if self.phase == THREE else f"{self.number}{self.phase}"


def way(value: Plain) -> Way:
    """The way that a cell names. A cell that the spreadsheet program made a date of is refused."""
    if isinstance(value, date):
        raise Unfit(
            "has been turned into a date by the spreadsheet program.", f"{EXPECTED_WAY}, in a column formatted as text"
        )
    said = as_text(value)
    if said.startswith("-"):
        raise Unfit(f"“{said}” isn't a way.", EXPECTED_WAY)
    if turned := re.fullmatch(r"(L[123])[\s/.\-]+0*(\d{1,3})", said.upper()):
        return _made(said, turned[2], turned[1])
    plain = re.sub(r"^(WAY|CIRCUIT|CCT|NUMBER|NO)(?=\d)", "", _plain(said))
    found = re.fullmatch(rf"0*(\d{{1,3}})({SUFFIX})?", plain)
    if found is None or re.search(r"\d\s*[./,\-]\s*\d", said):
        raise Unfit(f"“{said}” isn't a way.", EXPECTED_WAY)
    return _made(said, found[1], found[2] or "")


def _made(said: str, number: str, suffix: str) -> Way:
    if int(number) == 0:
        raise Unfit(f"“{said}” isn't a way: ways count from 1.", EXPECTED_WAY)
    return Way(int(number), _phase_named(suffix) or "")


def _plain(said: str) -> str:
    return re.sub(r"[\s/.\-_(),;]+", "", said.upper())


def _phase_named(plain: str) -> str | None:
    if plain in THREE_SAID:
        return THREE
    if plain in SINGLE_SAID:
        return SINGLE
    return plain if plain in LINES else COLOURS.get(plain)


def circuit_phase(value: Plain) -> str:
    """The phase of a circuit: L1, L2, L3, THREE or SINGLE. A bare number is refused: 3 may be L3 or three phase."""
    phase = _phase_named(_plain(as_text(value)))
    if phase is None:
        raise Unfit(f"“{as_text(value)}” isn't the phase of a circuit.", EXPECTED_PHASE)
    return phase


def board_phases(value: Plain) -> tuple[str, ...]:
    """The phases of a board, (SINGLE,) where it isn't said which. Here a bare 1 or 3 is how many there are."""
    plain = _plain(re.sub(r"(?i)\band\b|[&+](?!\s*n)", " ", as_text(value)))
    phase = {"1": SINGLE, "3": THREE}.get(plain) or _phase_named(plain)
    if phase is not None:
        return LINES if phase == THREE else (phase,)
    found = re.findall(r"L[123]", plain)
    if not found or "".join(found) != plain:
        raise Unfit(f"“{as_text(value)}” doesn't say the board's phases.", EXPECTED_PHASE)
    return tuple(sorted(set(found)))
