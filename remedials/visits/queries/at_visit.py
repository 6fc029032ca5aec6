"""What the engineer at a visit needs to know of getting in there."""

from datetime import datetime
from typing import Any

from jobsite import clock
from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.words import london, when
from remedials.visits.models import AlarmCode, CheckIn, SeeTo, SiteKey, Visit
from remedials.visits.queries.getting_in import key_row, occupiers, see_to_rows
from remedials.visits.queries.held import held_check_out
from remedials.visits.rules.times import there_for


def of_visit(visit: Visit, user: User, now: datetime) -> dict[str, Any]:
    """Occupiers and what to mind (for whoever may see it), keys, where codes are (never a code), what must be seen to, and
    who is checked in. Seven statements.
    """
    today = clock.local_day(now)
    keys = (
        SiteKey.objects.filter(site=visit.site_id, given_back_at=None).select_related("out_to", "site").order_by("tag")
    )
    codes = AlarmCode.objects.filter(site=visit.site_id, retired_at=None).order_by("place", "pk")
    goes = visit.attendances.filter(engineer=user, cancelled=False).exists()
    return {
        "page": address("visits:getting_in", visit.site_id),
        "occupiers": [row for row in occupiers(visit.site, user, now=now) if row["known"]],
        "keys": [key_row(key, today) for key in keys],
        "codes": [{"place": code.place, "look": address("visits:code", code.pk)} for code in codes] if goes else [],
        "see_to": [row for row in see_to_rows(SeeTo.objects.filter(site=visit.site_id), today) if row["open"]],
        "alone": _alone(visit, user, goes, now),
        "attempt": address("visits:attempt_new", visit.site_id, visit=visit.pk),
    }


def _alone(visit: Visit, user: User, goes: bool, now: datetime) -> dict[str, Any]:
    """Who is in there alone, and what `user` may do about it; one checks in about the time of the visit only."""
    rows = CheckIn.objects.filter(visit=visit, out_at=None).select_related("user").order_by("in_at")
    booked = visit.state == Visit.State.BOOKED and there_for(visit.start, visit.end, now)
    mine, others = None, []
    for row in rows:
        heard = f", heard of at {london(row.heard_at):%H:%M}" if row.heard_at else ""
        said = f"{row.user} is in, since {when(row.in_at)}, out by {london(row.out_by):%H:%M}{heard}"
        if row.user_id == user.pk:
            mine = said
        else:
            safe = address("visits:found_safe", row.pk) if user.may(Right.BOOK) else ""
            others.append({"words": said, "safe": safe})
    at = address("visits:check_in", visit.pk) if goes and user.may(Right.DO_WORK) and (booked or mine) else ""
    return {"mine": mine, "others": others, "address": at, "out": held_check_out(visit.pk)}
