"""How much of a spreadsheet is read."""

from jobsite.refused import Refused

MOST_ROWS = 20_000
MOST_COLUMNS = 100
MOST_AT_DESK = 500
"""Rows that are taken in or judged again while a person waits for the page; more are the worker's."""
LAST_ROW = 1_048_576
"""Rows that a sheet can have at most (ECMA-376 as spreadsheet programs apply it)."""


def count_row(kept: int) -> int:
    """One row more than `kept`; refuses above the limit, before the rest is read."""
    if kept >= MOST_ROWS:
        raise Refused(
            f"This file has more than {MOST_ROWS:,} rows. Split it into one file a site, and send them one by one."
        )
    return kept + 1
