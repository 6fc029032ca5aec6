"""How much of a spreadsheet is read."""

from jobsite.refused import Refused

MOST_ROWS = 20_000
MOST_COLUMNS = 100
MOST_AT_ONCE = 3_000
"""Rows taken in by one operation: a row costs about 3 ms, and a person waits for it."""
LAST_ROW = 1_048_576
"""Rows that a sheet can have at most (ECMA-376 as spreadsheet programs apply it)."""


def count_row(kept: int) -> int:
    """One row more than `kept`; refuses above the limit, before the rest is read."""
    if kept >= MOST_ROWS:
        raise Refused(
            f"This file has more than {MOST_ROWS:,} rows. Split it into one file a site, and send them one by one."
        )
    return kept + 1


def too_many(rows: int) -> str:
    """The sentence for a file with more rows than are taken in at once; empty where it has not."""
    if rows <= MOST_AT_ONCE:
        return ""
    return f"{rows:,} rows are more than the {MOST_AT_ONCE:,} that are taken in at once. Split the file by board and send the parts."
