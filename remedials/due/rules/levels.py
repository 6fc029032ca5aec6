"""Who hears of a row of the due list on which day. Pure; counted in whole calendar days from the row's date.

The habit of passing on what nobody acts upon is common practice, no law; the figures are the firm's (`sorts.SHIPPED`).
"""

from datetime import date
from enum import IntEnum

from remedials.due.rules.sorts import Days


class Level(IntEnum):
    """How far up a row is heard of: each hears of it besides those before."""

    NOBODY = 0
    OWNER = 1
    QUALIFIED = 2
    MANAGER = 3


def heard_by(*, due: date | None, loose: bool, in_hand_until: date | None, days: Days, today: date) -> frozenset[Level]:
    """All who hear of a row on `today`: its owner from `before` days ahead, the others so long after it is due.

    A loose end, or what has no date, is heard of by its owner and the managers whatever the day (the office hears of it too:
    it stands in for an owner who is missing). Nobody hears of a row that somebody has in hand until `today` or later. Danger
    is never quietened: for a C1 that is not made safe, pass no `in_hand_until`.
    """
    if in_hand_until is not None and in_hand_until >= today:
        return frozenset()
    if due is None or loose:
        return frozenset({Level.OWNER, Level.MANAGER})
    late = (today - due).days
    found = {Level.OWNER} if late >= -days.before else set()
    if days.qualified_after is not None and late >= days.qualified_after:
        found.add(Level.QUALIFIED)
    if days.manager_after is not None and late >= days.manager_after:
        found.add(Level.MANAGER)
    return frozenset(found)


def level_on(*, due: date | None, loose: bool, in_hand_until: date | None, days: Days, today: date) -> Level:
    """The highest that hears of a row on `today`; see `heard_by`."""
    return max(
        heard_by(due=due, loose=loose, in_hand_until=in_hand_until, days=days, today=today), default=Level.NOBODY
    )


def said_on(*, due: date | None, loose: bool, in_hand_until: date | None, days: Days, today: date, since: date) -> bool:
    """Whether the digest of `today` has a row; `since` is the day of the digest before it.

    Its days are: each from `before` days ahead until it is due; then every `every` days; the day on which it is passed on
    to somebody else; and the day after it was in hand. What fell on days without a digest (after `since`) is made good on
    `today`. A loose end is said every time; what has no date, as a C3 may, in the rhythm of `every` by the calendar: weekly is
    on Mondays. Raises ValueError where `since` is not before `today`.
    """
    if since >= today:
        raise ValueError(f"the digest before that of {today} cannot be of {since}")
    if level_on(due=due, loose=loose, in_hand_until=in_hand_until, days=days, today=today) is Level.NOBODY:
        return False
    if loose or (in_hand_until is not None and in_hand_until >= since):
        return True
    if due is None:
        return _rounds(today, days.every) > _rounds(since, days.every)
    late, before = (today - due).days, (since - due).days
    ahead = max(before + 1, -days.before) <= min(late, 0)
    again = late > 0 and late // days.every > max(before, 0) // days.every
    passed_on = any(
        after is not None and before < after <= late for after in (days.qualified_after, days.manager_after)
    )
    return ahead or again or passed_on


def _rounds(day: date, every: int) -> int:
    """How many rounds of `every` days the calendar has had before `day`, from Monday 1 January of the year 1 on."""
    return (day.toordinal() - 1) // every
