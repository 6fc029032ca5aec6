"""What the firm notifies once a remedial is done: handed down, so that it stands among the papers with its day."""

from datetime import datetime

from inspections.operations import settle_notices
from inspections.standards.notifications import Told
from jobsite import clock
from jobsite.ledger.actor import Actor
from remedials.works.models import Remedial


def notices_owed(remedial: Remedial, *, done_at: datetime, by: Actor, now: datetime) -> None:
    """Inside the closing of `remedial`: the notifications that the work asks for, counted from the day it was done."""
    told = [Told.NOTIFIABLE] if remedial.notifiable else []
    told += [Told(remedial.network)] if remedial.network else []
    if told:
        _settle(remedial, told, done_at, by=by, now=now)


def no_notices_owed(remedial: Remedial, *, by: Actor, now: datetime) -> None:
    """Inside an operation after which `remedial` is not done any more: its notifications lapse, or are owed anew later."""
    if remedial.notifiable or remedial.network:
        _settle(remedial, [], now, by=by, now=now)


def _settle(remedial: Remedial, told: list[Told], at: datetime, *, by: Actor, now: datetime) -> None:
    about = f"remedial {remedial.number}: {remedial.work}"
    day = clock.local_day(at)
    settle_notices(remedial.unit, work=remedial.pk, about=about, told=told, done_on=day, by=by, now=now)
