"""Hours, days of the week and letters by which people are reminded: what can be used of them. Pure."""

from collections.abc import Callable, Mapping, Sequence
from datetime import time
from itertools import pairwise
from typing import Any

FIGURES = (
    "digest_at", "working_days", "bank_holidays_off", "quiet_from", "quiet_until", "inspection_days",
    "inspection_overdue_every",
)  # fmt: skip
LATEST_DIGEST = time(12, 0)
LEAST_OPEN = 60  # minutes of a day for polite messages: the worker may be late
MOST_LETTERS = 6
A_WEEK = 7
A_DAY = 24 * 60


def faults_of(figures: Mapping[str, Any]) -> dict[str, str]:
    """What is wrong with those of FIGURES that are given: a sentence by the field's name."""
    checks: dict[str, Callable[[Any], str]] = {
        "digest_at": _digest_fault,
        "working_days": _week_fault,
        "inspection_days": _letters_fault,
        "inspection_overdue_every": _overdue_fault,
    }
    found = {name: wrong for name, check in checks.items() if name in figures and (wrong := check(figures[name]))}
    if {"quiet_from", "quiet_until"} <= set(figures) and (wrong := _quiet_fault(figures)):
        found["quiet_until"] = wrong
    return found


def _digest_fault(at: time) -> str:
    return "" if at <= LATEST_DIGEST else "Choose a time of the morning, 12:00 at the latest."


def _week_fault(week: Sequence[int]) -> str:
    if not week:
        return "Tick at least one day: without one nobody would get a digest."
    return "" if set(week) <= set(range(1, 8)) and len(set(week)) == len(week) else "Choose from the days of the week."


def _letters_fault(days: Sequence[int]) -> str:
    if not 1 <= len(days) <= MOST_LETTERS:
        return f"Write from 1 to {MOST_LETTERS} numbers of days, such as 90, 30, 7."
    if not all(1 <= n <= 365 for n in days):
        return "Write numbers of days from 1 to 365."
    ordered = sorted(days)
    if any(later - earlier < A_WEEK for earlier, later in pairwise(ordered)):
        return "A customer hears of the same thing at most once a week: leave 7 days or more between two letters."
    return ""


def _overdue_fault(every: int) -> str:
    return "" if A_WEEK <= every <= 90 else "Write a number of days from 7 to 90: a customer hears at most once a week."


def _quiet_fault(figures: Mapping[str, Any]) -> str:
    first, last = figures["quiet_from"], figures["quiet_until"]
    quiet = (_minutes(last) - _minutes(first)) % A_DAY
    if A_DAY - quiet < LEAST_OPEN:
        return "Leave at least one hour of the day in which customers may be written to."
    return ""


def _minutes(at: time) -> int:
    return at.hour * 60 + at.minute
