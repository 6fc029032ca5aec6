"""How long items stay unremedied, counted with those that are still open. Days are whole days from 0.

`kaplan_meier` says how many of a hundred would be unremedied after so many days if nothing but remedying ended an item:
whoever leaves for another reason, or is still open today, counts until that day and no longer. `incidence` says how many of
a hundred were in fact remedied, and ended otherwise, by then (Aalen and Johansen): other ends are no remedies, and the two
with those still open are a hundred. Items that are still open count in both: leaving them out would make the firm look fast.

Sources, from memory: Kaplan and Meier 1958; Greenwood 1926; Kalbfleisch and Prentice, The Statistical Analysis of Failure Time
Data, on the log-log band; Brookmeyer and Crowley 1982 on the band of the median. Checked in tests/outside/test_survival.py.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

Z95 = 1.959963984540054
"""The 97.5th percentile of the normal distribution: the band holds the curve at a day in 95 of 100 such samples."""


@dataclass(frozen=True)
class Ends:
    """What came of items after so many days: `remedied`, `otherwise` ended, `open` still (seen no longer than that)."""

    remedied: int = 0
    otherwise: int = 0
    open: int = 0

    @property
    def all(self) -> int:
        """How many left the count on that day, for whatever reason."""
        return self.remedied + self.otherwise + self.open


Spans = Mapping[int, Ends]
"""What came of a group of items, by days from the start of each."""


@dataclass(frozen=True)
class Step:
    """The curve on a day on which something was remedied, and until the next: shares from 0 to 1.

    `low`, `high`: the band of 95 %; None where it can't be computed, which is while nothing is left. `at_risk`: items counted
    just before.
    """

    day: int
    at_risk: int
    remedied: int
    share: float
    low: float | None
    high: float | None


def spans(items: Iterable[tuple[int, str]]) -> dict[int, Ends]:
    """`Spans` of items, each a count of days and "remedied", "otherwise" or "open". A day before 0 counts as 0."""
    found: dict[int, Ends] = {}
    for days, came in items:
        add(found, days, came)
    return found


def add(found: dict[int, Ends], days: int, came: str, count: int = 1) -> None:
    """Count `count` items more in `found`. KeyError for an end that is none."""
    before = found.get(max(0, days), Ends())
    more = {"remedied": Ends(remedied=count), "otherwise": Ends(otherwise=count), "open": Ends(open=count)}[came]
    found[max(0, days)] = Ends(
        before.remedied + more.remedied, before.otherwise + more.otherwise, before.open + more.open
    )


def total(found: Spans) -> Ends:
    """All of them, whatever the day."""
    return Ends(
        sum(ends.remedied for ends in found.values()),
        sum(ends.otherwise for ends in found.values()),
        sum(ends.open for ends in found.values()),
    )


def at_risk(found: Spans, day: int) -> int:
    """How many were still counted just before the end of `day`: seen for at least so many days."""
    return sum(ends.all for days, ends in found.items() if days >= day)


def few_from(found: Spans, few: int) -> int:
    """The first day on which fewer than `few` are still counted."""
    left, day = total(found).all, 0
    for days in sorted(found):
        if left < few:
            break
        left, day = left - found[days].all, days + 1
    return day


def kaplan_meier(found: Spans, *, z: float = Z95) -> list[Step]:
    """The steps of the curve, one for each day on which something was remedied. None of no remedy: the curve stays at 1.

    What left the count on the day of a remedy was still counted there. The band is Greenwood's on the log-log scale, which
    stays between 0 and 1.
    """
    left, share, greenwood = total(found).all, 1.0, 0.0
    steps = []
    for day in sorted(found):
        ends = found[day]
        if ends.remedied:
            share *= 1 - ends.remedied / left
            if ends.remedied < left:
                greenwood += ends.remedied / (left * (left - ends.remedied))
            steps.append(Step(day, left, ends.remedied, share, *_band(share, greenwood, z)))
        left -= ends.all
    return steps


def _band(share: float, greenwood: float, z: float) -> tuple[float | None, float | None]:
    if not 0 < share < 1:
        return None, None
    spread = exp(z * sqrt(greenwood) / log(share))
    return share ** (1 / spread), share**spread


def on_day(steps: Sequence[Step], day: int) -> Step | None:
    """The step that holds on `day`: the last one up to it; None before the first."""
    return max((step for step in steps if step.day <= day), key=lambda step: step.day, default=None)


def incidence(found: Spans, day: int) -> tuple[float, float]:
    """The shares, 0 to 1, that were remedied and that ended otherwise by the end of `day`, of all that began."""
    left, still, remedied, otherwise = total(found).all, 1.0, 0.0, 0.0
    for at in sorted(found):
        if at > day:
            break
        ends = found[at]
        remedied += still * ends.remedied / left
        otherwise += still * ends.otherwise / left
        still *= 1 - (ends.remedied + ends.otherwise) / left
        left -= ends.all
    return remedied, otherwise


@dataclass(frozen=True)
class Median:
    """By which day half were remedied, and the band of it; None where the curve, or the edge of its band, never gets there."""

    day: int | None
    low: int | None
    high: int | None


def median(steps: Sequence[Step]) -> Median:
    """The first day on which no more than half are unremedied; its band by where the edges of the curve's band pass a half."""
    half = 0.5 + 1e-12  # so that an exact half is one, whatever the last digit of the product
    day = next((step.day for step in steps if step.share <= half), None)
    low = next((step.day for step in steps if step.low is not None and step.low <= half), day)
    high = next((step.day for step in steps if step.high is not None and step.high <= half), None)
    return Median(day, low, high)
