"""Ages of open items in bands of days."""

from itertools import pairwise

BANDS = (0, 28, 91, 365, 1096)
"""The first day of each band: four weeks, a quarter, a year, three years, longer. Our own choice."""
BAND_WORDS = ("under 4 weeks", "4 weeks to 3 months", "3 months to a year", "1 to 3 years", "over 3 years")
EDGES = dict(zip(BAND_WORDS, [*pairwise(BANDS), (BANDS[-1], None)], strict=True))
"""From which day, up to but not on which, by the words of the band."""


def band_of(days: int) -> str:
    """The band in words of an age in whole days; below nothing counts as nothing."""
    return next(words for words, (_, end) in EDGES.items() if end is None or days < end)
