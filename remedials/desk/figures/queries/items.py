"""The items that figures count: each defect once, with the day from which we knew of it and what came of it.

What each end means is said once for all figures in `remedials.desk.figures`.
"""

from datetime import date
from typing import Any

from django.db.models import Case, CharField, DateField, F, Q, QuerySet, Subquery, Value, When
from django.db.models.expressions import OuterRef, RawSQL
from django.db.models.functions import Coalesce, Least, TruncDate

from inspections.choices import Ended
from inspections.models import Observation
from jobsite import clock
from jobsite.people.models import User
from remedials.desk.figures.queries.narrowing import Narrowed
from remedials.works.models import Remedies, WayOut
from remedials.works.states import CARRYING, Stage

NO_ITEM = (Ended.CONTINUED, Ended.WITHDRAWN, Ended.NO_CODE)
"""Observations that ended so are no item: a later record stands for them, or there was no defect."""
OURS = (Ended.REMEDIED, Ended.FINDING)
"""Ends that are our work; the second is that of an FI."""
REMEDIED, OTHERWISE, OPEN = "remedied", "otherwise", "open"

# The earliest day on which we knew of a record that this one continues. A finding is no such record: its own clock begins.
EARLIEST = """(
    WITH RECURSIVE earlier (continues, known) AS (
        SELECT o.continues_id, {known} FROM inspections_observation o
        LEFT JOIN inspections_inspection i ON i.id = o.inspection_id
        WHERE o.id = inspections_observation.continues_id AND o.ended = 'continued'
      UNION
        SELECT o.continues_id, {known} FROM earlier e
        JOIN inspections_observation o ON o.id = e.continues AND o.ended = 'continued'
        LEFT JOIN inspections_inspection i ON i.id = o.inspection_id
    ) SELECT min(known) FROM earlier)"""
KNOWN = "CASE WHEN i.other_firm THEN (o.recorded_at AT TIME ZONE 'Europe/London')::date ELSE o.recorded_on END"


def items(user: User, narrowed: Narrowed) -> QuerySet[Observation]:
    """Every item that `user` may see. No statement."""
    rows = Observation.objects.visible_to(user).filter(draft=False).exclude(ended__in=NO_ITEM)
    found: QuerySet[Observation] = narrowed.of(rows, user)
    return found


def own_day() -> Case:
    """The day from which we knew of this very record: that of the record; of another firm's report, of our taking it in."""
    taken_in = TruncDate("recorded_at", tzinfo=clock.LONDON)
    return Case(When(inspection__other_firm=True, then=taken_in), default=F("recorded_on"), output_field=DateField())


def first_day() -> Least:
    """The day from which we knew of a defect that was seen before: of the first record that we had of it.

    Only for items that continue another. It walks their history, so ask for it once a row.
    """
    earliest = RawSQL(EARLIEST.format(known=KNOWN), [], output_field=DateField())  # noqa: S611 - no value from outside in it
    return Least(own_day(), earliest)


def with_end(rows: Any, *, today: date) -> tuple[Any, Any]:
    """`rows` in two parts, whose work isn't declined and is; both with `came` and `end_on`. No statement.

    `came`: "remedied", "otherwise" or "open"; `end_on`: the day of it, of what is open today. In two parts because the database
    asks about declined work once for each part, and not for each mention of it in each row.
    """
    archived_on = TruncDate("site__archived_at", tzinfo=clock.LONDON)
    gone, left = ~Q(ended=""), Q(site__archived_at__isnull=False)
    plain = rows.exclude(said_no()).annotate(
        came=Case(
            When(ended__in=OURS, then=Value(REMEDIED)), When(gone | left, then=Value(OTHERWISE)), default=Value(OPEN),
            output_field=CharField(),
        ),
        end_on=Case(
            When(gone, then=Coalesce("done_on", "ended_on")), When(left, then=archived_on), default=Value(today),
            output_field=DateField(),
        ),
    )  # fmt: skip
    refused = rows.filter(said_no()).annotate(
        came=Value(OTHERWISE, output_field=CharField()),
        end_on=Least(Coalesce(declined_day(), Value(today)), archived_on, output_field=DateField()),
    )
    return plain, refused


def said_no() -> Q:
    """Open items on which the work stands declined, with none to be done for them."""
    to_come = Remedies.objects.filter(remedial__stage__in=list(CARRYING)).values("observation")
    work = Remedies.objects.filter(remedial__stage=Stage.DECLINED).exclude(observation__in=to_come)
    return Q(ended="", pk__in=work.values("observation"))


def declined_day() -> Subquery:
    """The day of the last no that stands."""
    noes = WayOut.objects.filter(
        remedial__remedies__observation=OuterRef("pk"), remedial__stage=Stage.DECLINED, stage=Stage.DECLINED,
        taken_back_at=None,
    )  # fmt: skip
    return Subquery(noes.order_by("-on").values("on")[:1])
