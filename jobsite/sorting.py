"""A stored key by which names sort as people expect: "board 9" before "board 10", "apple" beside "Zebra"."""

import re
import unicodedata

DIGITS = 8


def sort_key(name: str) -> str:
    """`name` folded to lower case without accents, each run of digits padded to eight places."""
    folded = unicodedata.normalize("NFKD", name.casefold())
    plain = "".join(c for c in folded if not unicodedata.combining(c))
    return re.sub(r"\d+", lambda m: m[0].zfill(DIGITS), " ".join(plain.split()))[:400]
