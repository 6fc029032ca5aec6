"""Reading the due list. Pages, digests, reminders and the API ask here what is due, and nowhere else."""

from remedials.due.queries.clockwork import STALE_AFTER, SWEEP, clockwork_banner, last_ran
from remedials.due.queries.reminding import active_staff, danger_now, lines_for_digest, still_due, why_not_archive
from remedials.due.queries.rows import (
    GROUPS,
    HEAP_WORDS,
    NO_DATE,
    DuePage,
    address_of,
    all_rows,
    as_dicts,
    first_things,
    group_of,
    mark_of,
    narrowed,
    owner_words,
    page_of_rows,
    rows_due,
    rows_to_read,
)

__all__ = [
    "GROUPS",
    "HEAP_WORDS",
    "NO_DATE",
    "STALE_AFTER",
    "SWEEP",
    "DuePage",
    "active_staff",
    "address_of",
    "all_rows",
    "as_dicts",
    "clockwork_banner",
    "danger_now",
    "first_things",
    "group_of",
    "last_ran",
    "lines_for_digest",
    "mark_of",
    "narrowed",
    "owner_words",
    "page_of_rows",
    "rows_due",
    "rows_to_read",
    "still_due",
    "why_not_archive",
]
