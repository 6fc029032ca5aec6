"""What the fixed font can print. Pure.

A character that it lacks would stop the whole document (PDF/UA allows none without its glyph), so it is shown as `[?]`:
one emoji in a note must not keep a danger notice from being printed.
"""

import re
import unicodedata
from typing import Any

MISSING = "[?]"
# All in each of the faces used; tests/jobsite/test_documents.py prints every one of them.
PRINTABLE = (
    " -~\u00a0-\u017e\u0180\u018f\u0192\u0193\u01a0\u01a1\u01af\u01b0\u0218-\u021b\u0237\u0243"
    "\u0374\u0375\u037a\u0384-\u038a\u038c\u038e-\u03a1\u03a3-\u03ce\u0400-\u045f\u0490-\u0493"
    "\u1e80-\u1e85\u1e9e\u1ea0-\u1ef9\u2007\u2012-\u2015\u2018-\u201a\u201c-\u201e\u2020-\u2022\u2026\u202f\u2030"
    "\u2032\u2033\u2039\u203a\u2044\u2070\u2074-\u2079\u207d-\u2089\u20ac\u2113\u2116\u2122\u2126"
    "\u2150-\u215e\u2190-\u2193\u2202\u2206\u2211\u2212\u2215\u2219-\u221a\u221e\u222b\u2248\u2260\u2264\u2265"
    "\u25a0\u25b2\u25b3\u25b6\u25b7\u25bc\u25bd\u25c6\u25ca\u2610\u2611\u2713"
)
UNPRINTABLE = re.compile(f"[^\n{PRINTABLE}]")
# Other spellings of what it has; and what shows nothing, or turns the direction of what follows: left out.
OTHERWISE = str.maketrans(
    {"\r": "\n", "\t": " ", "\u2009": "\u202f", "\u2011": "-", "\u2010": "-"}
    | dict.fromkeys(
        "\u00ad\u200b\u200c\u200d\u200e\u200f\u2060\ufe0e\ufe0f\ufeff\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
    )
)


def printable(value: Any) -> Any:
    """`value` with every text in it as the font can print it; lists and dicts are gone through."""
    if isinstance(value, str):
        composed = unicodedata.normalize("NFC", value.replace("\r\n", "\n")).translate(OTHERWISE)
        return UNPRINTABLE.sub(MISSING, composed)
    if isinstance(value, dict):
        return {name: printable(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [printable(inner) for inner in value]
    return value
