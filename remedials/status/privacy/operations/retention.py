"""How long what is kept, as the firm sets it."""

from datetime import datetime
from uuid import UUID

from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.status.models import Retention
from remedials.status.privacy.rules import BY_KEY, LEAST, MOST
from remedials.status.verbs import Verb

ONE_AT_A_TIME = UUID("7b6c1f6e-6a0a-4a43-9d5a-2f5f3c1b9f10")  # of our own: the lock of these settings
NOT_YOURS = "Only a manager may say how long data are kept."


@operation
def set_retention(kind: str, *, months: int | None, why: str, version: int, by: User, now: datetime) -> Retention:
    """Keep the data of `kind` (a key of rules.BY_KEY) so many months, for a reason; None: until somebody asks.

    What is past its time by then is shed by the next run, for good. The same again: nothing more. Raises NotAllowed, Refused
    for a kind that there is none of, months that make no sense and a missing reason, ChangedMeanwhile.
    """
    if not by.may(Right.KEEP_PRIVACY):
        raise NotAllowed(NOT_YOURS)
    if kind not in BY_KEY:
        raise Refused("There is no such kind of data.")
    if months is not None and not LEAST <= months <= MOST:
        raise Refused(f"Write {LEAST} to {MOST} months, or nothing.", field="months")
    if not (why := why.strip()):
        raise Refused("Say why: it stands on the page that anybody may ask to see.", field="why")
    alone(ONE_AT_A_TIME)
    row = Retention.objects.select_for_update().filter(kind=kind).first() or Retention(kind=kind, version=0)
    if row.version and (row.months, row.why) == (months, why):
        return row
    if row.version != version:
        raise ChangedMeanwhile("Somebody else changed this meanwhile.", theirs=row)
    row.months, row.why, row.version = months, why, row.version + 1
    row.save()
    record(
        Verb.RETENTION_SET, site=None, subject=row, by=by, now=now, facts={"kind": kind, "months": months},
        words={"why": why},
    )  # fmt: skip
    return row
