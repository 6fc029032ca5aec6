"""Reads classification codes. The codes are those of BS 7671's model condition report (Appendix 6)."""

from __future__ import annotations

import re

from .table import Plain, as_text
from .trouble import Unfit

CODES = ("C1", "C2", "C3", "FI")
EXPECTED = "one of C1, C2, C3, FI"
NOT_CODES = {"n/a", "na", "n/v", "nv", "lim", "ok", "pass", "✓", "✔", "tick"}
"""Outcomes of a schedule of inspections, which are no classification codes (FACTS 1.1: from memory)."""


def code(value: Plain) -> str:
    """C1, C2, C3 or FI, however it is spaced or cased; Unfit for a bare number, two codes, or anything else.

    A bare number is never guessed: reports made before the letters came in used 1 to 4 with other meanings
    (from memory: 3 then asked for further investigation).
    """
    said = as_text(value)
    plain = re.sub(r"[\s.\-_:()\[\]]+", "", said).upper()
    if found := re.fullmatch(r"(?:C|CODE|CODEC|CLASS|CLASSIFICATIONC?)([1-3])", plain):
        return f"C{found[1]}"
    if plain in {"FI", "CODEFI", "F/I", "FURTHERINVESTIGATION", "FURTHERINVESTIGATIONREQUIRED"}:
        return "FI"
    raise Unfit(_wrong(said, plain), EXPECTED)


def in_words(value: Plain) -> bool:
    """Whether the code was written "Code 2" and not "C2": older reports meant something else by that."""
    return re.match(r"(?i)\s*(code|class)", as_text(value)) is not None


def _wrong(said: str, plain: str) -> str:
    if not said:
        return "has no code."
    if re.fullmatch(r"[1-4](?:0)?|CODE4|C4", plain):
        return (
            f"“{said}” may be a number of the older scale, whose meanings differ. Write the code that the report means."
        )
    if len(re.findall(r"C[1-3]|FI", plain)) > 1:
        return f"“{said}” gives more than one code. Write one row for each."
    if said.casefold() in NOT_CODES:
        return f"“{said}” isn't a classification code."
    return f"“{said}” isn't a code."
