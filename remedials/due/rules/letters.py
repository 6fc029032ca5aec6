"""On which days the customer is written to about an inspection. Pure.

Once at each of the days set before it is due, then once in each so many days that it is overdue, never within a week of the
letter before. Advance notice and its rhythm are common practice, no law.
"""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import NamedTuple

A_WEEK = timedelta(days=7)
MOST_LETTERS = 400


class Letter(NamedTuple):
    """A letter: the day on which it is written and the mark it was written for.

    A mark is the number of days before the inspection is due, or 0 and below for the rounds of being overdue.
    """

    on: date
    mark: int


def letters(
    due: date, *, days: Sequence[int], every: int, until: date, begin: date = date.min, said: Letter | None = None
) -> list[Letter]:
    """The letters about an inspection that is due on `due`, written up to `until`.

    `days`: those before it is due, `every`: so many days again while it is overdue. `begin`: the first day on which anybody
    could write; `said`: the last letter that was written.
    """
    found: list[Letter] = []
    last = said
    for mark, start, end in _marks(due, days, every, until):
        on = max(start, begin, *([last.on + A_WEEK] if last else []))
        if on > min(end, until) or (last is not None and last.mark <= mark):
            continue
        last = Letter(on, mark)
        found.append(last)
        if len(found) >= MOST_LETTERS:
            break
    return found


def mark_of(due: date, on: date, *, days: Sequence[int], every: int) -> int:
    """The mark for which a letter is written on `on`; one more than any of `days` where it is too early for all."""
    if on > due:
        return -((on - due).days // every)
    return min((n for n in days if (due - on).days <= n), default=max(days, default=0) + 1)


def _marks(due: date, days: Sequence[int], every: int, until: date) -> Iterator[tuple[int, date, date]]:
    """Each mark with the first and last day on which it is the nearest, in order of time."""
    ahead = sorted({n for n in days if n > 0}, reverse=True)
    for mark, following in zip(ahead, [*ahead[1:], 0], strict=True):
        last = due - timedelta(days=following + 1 if following else 0)
        yield mark, due - timedelta(days=mark), last
    number = 0
    while (start := due + timedelta(days=max(1, number * every))) <= until:
        yield -number, start, due + timedelta(days=(number + 1) * every - 1)
        number += 1
