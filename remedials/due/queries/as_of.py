"""The due list in plain text, as its rows of today would stand on a day: for a terminal, and to be looked through."""

from collections.abc import Iterator
from datetime import date
from itertools import groupby

from django.utils.html import strip_tags

from jobsite.words import day as in_words
from jobsite.words import joined, late, many
from remedials.due.models import DueRow
from remedials.due.queries.rows import NO_DATE, ORDER, as_dicts, group_of
from remedials.due.queries.rows import _read as ready_to_show

# Name and width of each column; what is longer is cut. The last one is for `manage.py messages --explain`.
COLUMNS = (
    ("Code", 4),
    ("By", 27),
    ("Mark", 30),
    ("Who", 24),
    ("Next step", 38),
    ("What", 38),
    ("Where", 30),
    ("Row", 0),
)
AT_ONCE = 500


def lines_as_of(today: date) -> Iterator[str]:
    """Every row that stands in the list on `today`, a line each, under the heading of its group. One statement.

    Read in parts, since a large firm's list is long.
    """
    rows = ready_to_show(DueRow.objects.filter(shows_from__lte=today, shows_until__gte=today)).order_by(*ORDER)
    yield f"The due list as of {in_words(today)}."
    count = 0
    for group, found in groupby(rows.iterator(chunk_size=AT_ONCE), key=lambda row: group_of(row.due, today)):
        yield from ("", group, _columns(*(name for name, _ in COLUMNS)))
        for row in found:
            count += 1
            yield _line(row, today)
    yield from ("", f"{many(count, 'row')}." if count else "Nothing is due.")


def _line(row: DueRow, today: date) -> str:
    shown = as_dicts([row], today=today)[0]
    behind = late(row.due, today)
    mark = strip_tags(shown["mark"])
    return _columns(
        row.code,
        "no date" if row.due == NO_DATE else joined(in_words(row.due), behind),
        joined("" if mark == behind else mark, strip_tags(shown["overdue"]), _in_hand(row, today)),
        shown["who"],
        row.next_step,
        row.subject,
        joined(shown["site"], shown["place"]),
        f"{row.kind}:{row.ref}",
    )


def _in_hand(row: DueRow, today: date) -> str:
    held = row.in_hand_until is not None and row.in_hand_until >= today
    return f"in hand until {in_words(row.in_hand_until)}" if held else ""


def _columns(*cells: str) -> str:
    """`cells` in columns, cut where they are too long for theirs."""
    line = ""
    for cell, (_, width) in zip(cells, COLUMNS, strict=True):
        text = " ".join(cell.split())
        if width:
            text = text if len(text) <= width else f"{text[: width - 1]}…"
        line += f"{text:<{width}}  " if width else text
    return line.rstrip()
