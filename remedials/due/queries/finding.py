"""Finding the few rows of the due list that a page shows without working out the many that it does not.

The view says of each row what the indexes of its tables know: `not_before`, `own_owner`, `lacking`.
"""

import base64
import json
from collections.abc import Collection
from datetime import date
from typing import Any
from uuid import UUID

from django.contrib.postgres.expressions import ArraySubquery
from django.db import connection
from django.db.models import BooleanField, Exists, F, Func, OuterRef, Q, QuerySet

from inspections.models import Observation
from jobsite.people.models import User
from remedials.due.models import DueRow, Undertaking
from remedials.visits.models import VisitLine
from remedials.works.models import Remedial, Remedies
from remedials.works.states import Stage

NO_DATE = date(9999, 12, 31)
MOST_OF_A_HEAP = 100

DAY = """
SELECT (
    SELECT max(y.on) FROM (
        SELECT x.on FROM (
            (SELECT step_by AS on FROM inspections_observation
            WHERE ended = '' AND NOT draft AND step_by >= %(begin)s {of_owner} ORDER BY step_by LIMIT %(many)s)
            UNION ALL
            (SELECT step_by FROM works_remedial
            WHERE stage IN ('to-price', 'quoted', 'approved', 'booked', 'done') AND step_by >= %(begin)s {of_owner}
            ORDER BY step_by LIMIT %(many)s)
        ) x ORDER BY x.on LIMIT %(many)s
    ) y HAVING count(*) = %(many)s
), ARRAY(SELECT ref FROM due_undertaking WHERE ended_at IS NULL AND due_was = %(no_date)s)
"""


def day_with(many: int, *, after: str = "", owner: UUID | None = None) -> tuple[date | None, list[UUID]]:
    """A day by which about `many` steps are to be taken, of `owner` if given, from that of the token `after` on; None where
    there are fewer. And the keys of what has no date but is in hand until a day. One statement.
    """
    of_owner = "AND owner_id = %(owner)s" if owner else ""
    given: dict[str, Any] = {"many": many, "begin": _day_in(after), "owner": owner, "no_date": NO_DATE}
    with connection.cursor() as cursor:
        cursor.execute(DAY.format(of_owner=of_owner), given)
        day, held = cursor.fetchone()
    return day, held


def _day_in(token: str) -> date:
    """The day at which a page begins; the first of all where `token` says none, or was not made by us."""
    try:
        return date.fromisoformat(json.loads(base64.urlsafe_b64decode(token + "=" * (-len(token) % 4)))[0])
    except (ValueError, TypeError, LookupError, RecursionError):
        return date.min


def due_until(rows: QuerySet[DueRow], day: date, held: list[UUID]) -> Any:
    """Those of `rows` that are due on `day` or before; `held` as `day_with` gives it. No statement.

    Both ends of the range are given: whose plan is kept is planned without regard to the day.
    """
    early = Q(not_before__range=(date.min, day))
    return rows.filter(early | Q(ref__in=held) if held else early, due__range=(date.min, day))


def of_owner(rows: QuerySet[DueRow], owner: UUID) -> Any:
    """Those of `rows` that `owner` has, by themselves or in hand. No statement of its own."""
    held = Undertaking.objects.filter(by=owner, ended_at=None).values("ref")
    return rows.filter(Q(own_owner=owner) | _any("ref", held), owner=owner)


def maybe_urgent(leavers: Collection[UUID], user: User | None = None) -> Q:
    """A condition that every C1 not made safe, loose end and uncoded report fulfils, and few others.

    `leavers`: the keys of all who have left. Of the C1 (those that `user` sees) the first `MOST_OF_A_HEAP` by date, and so many
    remedials. No statement of its own.
    """
    seen = Observation.objects.visible_to(user) if user else Observation.objects.all()
    bare = seen.bare()
    return ~Q(code="C3") & (
        Q(not_before=date.min)
        | Q(lacking=True)
        | Q(own_owner__in=leavers)
        | _any("ref", bare.order_by("step_by").values("pk")[:MOST_OF_A_HEAP])
        | _any("ref", _with_bare(bare))
        | _any("ref", _unbooked())
        | _any("ref", Undertaking.objects.filter(by__is_active=False, ended_at=None).values("ref"))
    )


def _with_bare(bare: QuerySet[Observation]) -> Any:
    """Open remedials that are to put one of `bare` right."""
    of_these = Remedies.objects.filter(observation__in=bare).values("remedial")
    rows = Remedial.objects.filter(pk__in=of_these, stage__in=[*OPEN])
    return rows.order_by("step_by").values("pk")[:MOST_OF_A_HEAP]


OPEN = (Stage.TO_PRICE, Stage.QUOTED, Stage.APPROVED, Stage.BOOKED, Stage.DONE)


def _unbooked() -> Any:
    """Remedials that count as booked and are on no visit."""
    lines = VisitLine.objects.filter(remedial=OuterRef("pk"), active=True)
    return Remedial.objects.filter(~Exists(lines), stage=Stage.BOOKED).values("pk")


def _any(column: str, keys: Any) -> Q:
    """`column` = ANY(ARRAY(keys)): unlike `IN (SELECT …)` within an OR, it reaches the index."""
    of = {"template": "(%(expressions)s))", "arg_joiner": " = ANY(", "output_field": BooleanField()}
    return Q(Func(F(column), ArraySubquery(keys), **of))
