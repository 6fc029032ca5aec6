"""The firm's table of driving times: taken in from a file as a whole, or taken away."""

from collections.abc import Sequence
from datetime import datetime

from jobsite.firm.models import Firm
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.refused import NotAllowed, Refused
from remedials.visits import policy
from remedials.visits.driving.table import Drive
from remedials.visits.models import DrivingTime
from remedials.visits.verbs import Verb

NOT_YOURS = "Only the office may keep the driving times."


@operation
def replace_driving_times(drives: Sequence[Drive], *, file_hash: str, by: Actor, now: datetime) -> int:
    """Have the table say what `drives` say, and nothing else; how many rows it has. The same again changes nothing.

    Raises NotAllowed, and Refused where there is none: taking the table away is another act.
    """
    if not policy.may_book(by):
        raise NotAllowed(NOT_YOURS)
    if not drives:
        raise Refused("This file has no row with a driving time.", field="file")
    alone(FIRM_CHAIN)
    if _as_kept() == {(d.start, d.end, d.minutes, d.km) for d in drives}:
        return len(drives)
    DrivingTime.objects.all().delete()
    DrivingTime.objects.bulk_create(
        [DrivingTime(from_district=d.start, to_district=d.end, minutes=d.minutes, km=d.km) for d in drives],
        batch_size=1000,
    )
    _note(Verb.DRIVING_TIMES, {"rows": len(drives), "file": file_hash}, by=by, now=now)
    return len(drives)


@operation
def drop_driving_times(*, by: Actor, now: datetime) -> None:
    """Take the table away: driving is reckoned from the distance again. Raises NotAllowed."""
    if not policy.may_book(by):
        raise NotAllowed(NOT_YOURS)
    alone(FIRM_CHAIN)
    count, _ = DrivingTime.objects.all().delete()
    if count:
        _note(Verb.DRIVING_TIMES_DROPPED, {"rows": count}, by=by, now=now)


def _as_kept() -> set[tuple[object, ...]]:
    return set(DrivingTime.objects.values_list("from_district", "to_district", "minutes", "km"))


def _note(verb: Verb, facts: dict[str, object], *, by: Actor, now: datetime) -> None:
    firm = Firm.objects.first() or Firm.objects.create()
    record(verb, site=None, subject=firm, by=by, now=now, facts=facts)
