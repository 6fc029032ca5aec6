"""In time by engineer. Managers only: it is about people, and few cases say little of anybody. Two statements."""

from datetime import date
from typing import Any

from django.db.models import Count, F, Q
from django.db.models.functions import TruncDate

from jobsite import clock
from jobsite.people.models import User
from jobsite.words import day
from remedials.desk.figures.queries.narrowing import Narrowed
from remedials.desk.figures.rules.shares import Share
from remedials.desk.figures.tables import PERCENT, TEXT, Column, Table
from remedials.quotes.queries.periods import instants
from remedials.works.models import Proof, Remedies

SAYS = (
    (
        "Remedials that somebody closed with proof in the period, where that proof stands today, and the items that they remedy: in time "
        "where the work was done on the item's day or before. Items without a day, such as most C3, are in no share. What was sent "
        "back or reopened counts when it is closed again."
    ),
    (
        "This is no ranking: it is in the order of names. Who is given what, how late it was booked, who was not at home and what was "
        "declined is not the engineer's doing and is not in it. Below ten items no share is shown, since one more or less would move it by ten "
        "percent or more; where the ranges of two people overlap, the difference may be chance alone."
    ),
)
COLUMNS = (
    Column("Engineer", TEXT), Column("Remedials closed"), Column("Items with a day"), Column("In time"),
    Column("Share in time", PERCENT), Column("Range from", PERCENT), Column("Range to", PERCENT), Column("Remark", TEXT),
)  # fmt: skip


def by_engineer(user: User, narrowed: Narrowed, first: date, last: date) -> list[Table]:
    """One row a person who closed anything, in the order of names. Two statements."""
    start, end = instants(first, last)
    proofs = Proof.objects.filter(state=Proof.State.STANDS, done_at__gte=start, done_at__lt=end)
    proofs = narrowed.of(proofs, user, "remedial__site")
    closed: Any = proofs.order_by("done_by__name", "done_by").values_list("done_by", "done_by__name")
    people = [(key, name, count) for key, name, count in closed.annotate(n=Count("pk"))]
    dated = _items(proofs)
    rows = [(name, count, *_cells(*dated.get(key, (0, 0)))) for key, name, count in people]
    title = f"In time by engineer, work done from {day(first)} to {day(last)}"
    return [Table("engineers", title, COLUMNS, tuple(rows), "Nobody closed a remedial in this period.", SAYS)]


def _items(proofs: Any) -> dict[Any, tuple[int, int]]:
    """How many items with a day each person's `proofs` remedy, and how many of them in time. One statement."""
    rows: Any = Remedies.objects.filter(remedial__proofs__in=proofs, observation__remedy_by__isnull=False)
    rows = rows.annotate(on=TruncDate("remedial__proofs__done_at", tzinfo=clock.LONDON))
    counts = rows.order_by().values_list("remedial__proofs__done_by").annotate(
        n=Count("pk"), kept=Count("pk", filter=Q(on__lte=F("observation__remedy_by")))
    )  # fmt: skip
    return {key: (count, kept) for key, count, kept in counts}


def _cells(count: int, kept: int) -> tuple[Any, ...]:
    share = Share(kept, count)
    return count, kept, share.percent, share.low, share.high, share.remark
