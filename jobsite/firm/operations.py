"""Changes to the firm's settings; numbers; the state of long work.

Numbers, progress and heartbeats are the machine's own notes: they leave no entry in the ledger.
"""

import logging
from datetime import date, datetime
from threading import Thread
from typing import Any
from uuid import UUID

from django.db import DatabaseError, connection, transaction

from jobsite.firm.models import FIRST_START, Firm, Heartbeat, Policy, Progress
from jobsite.firm.verbs import Verb
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.refused import ChangedMeanwhile, NotAllowed

log = logging.getLogger(__name__)
KEEP_FIRM = "keep-firm"  # the right's name as people.rights spells it; that room is above this one


def take_number(name: str) -> int:
    """The next number of the sequence `name`, starting at 1001; the same one is never given twice."""
    return take_numbers(name, 1)[0]


def take_numbers(name: str, count: int) -> range:
    """The next `count` numbers of the sequence `name`, for a list of new rows."""
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO firm_sequence AS s (name, last) VALUES (%(name)s, 1000 + %(count)s)"
            " ON CONFLICT (name) DO UPDATE SET last = s.last + %(count)s RETURNING last",
            {"name": name, "count": count},
        )
        last = int(cursor.fetchone()[0])
    return range(last - count + 1, last + 1)


@operation
def describe_firm(
    *, by: Actor, now: datetime, version: int | None = None, surnames: bool | None = None, **fields: str
) -> Firm:
    """Set the firm's name, address, phone and e-mail as customers see them, and whether they read its people's surnames.

    `surnames`: None leaves that as it is.
    `version`: the one the person saw; another person's change in between raises ChangedMeanwhile.
    """
    if not by.may(KEEP_FIRM):
        raise NotAllowed("Only a manager may change the firm's details.")
    alone(FIRM_CHAIN)
    firm = Firm.objects.select_for_update().first() or Firm(version=0)
    new: dict[str, Any] = {**fields} if surnames is None else {**fields, "surnames": surnames}
    if firm.version and all(getattr(firm, name) == value for name, value in new.items()):
        return firm
    if version is not None and firm.version not in (0, version):
        raise ChangedMeanwhile("Somebody else changed the firm's details meanwhile.", theirs=firm)
    for name, value in new.items():
        setattr(firm, name, value)
    firm.version += 1
    firm.save()
    facts = {} if surnames is None else {"surnames": surnames}
    record(Verb.DESCRIBED, site=None, subject=firm, by=by, now=now, facts=facts, words=fields)
    return firm


@operation
def set_policy(*, holds_from: date, by: Actor, now: datetime, reason: str, **figures: Any) -> Policy:
    """Set the firm's own limits from a day on; what was decided before keeps the policy of its day."""
    if not by.may(KEEP_FIRM):
        raise NotAllowed("Only a manager may change the firm's limits.")
    same = Policy.objects.filter(holds_from=holds_from, reason=reason, **figures).first()
    if same is not None:
        return same
    policy, _ = Policy.objects.update_or_create(holds_from=holds_from, defaults={**figures, "reason": reason})
    facts = {name: str(value) for name, value in figures.items()} | {"holds_from": holds_from.isoformat()}
    record(Verb.POLICY_SET, site=None, subject=policy, by=by, now=now, facts=facts, words={"reason": reason})
    return policy


def note_progress(progress_id: UUID, *, now: datetime, **fields: Any) -> None:
    """Say how far a piece of long work has come."""
    Progress.objects.filter(pk=progress_id).update(changed_at=now, **fields)


def note_progress_apart(progress_id: UUID, *, now: datetime, **fields: Any) -> None:
    """As `note_progress`, but seen by others at once, also from inside a transaction that is still running.

    By a connection of its own, in a thread of its own, since Django keeps one a thread. The running transaction must not
    have written that row: this would wait for it for ever, so it gives up after a moment instead.
    """

    def note() -> None:
        try:
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute("SET LOCAL lock_timeout = '2s'")
                note_progress(progress_id, now=now, **fields)
        except DatabaseError:
            log.exception("Progress %s could not be told", progress_id)
        finally:
            connection.close()

    thread = Thread(target=note)
    thread.start()
    thread.join()


def note_first_start(*, now: datetime) -> None:
    """Note when this database was first served; later starts leave it, so that they never excuse a stopped clockwork."""
    Heartbeat.objects.get_or_create(name=FIRST_START, defaults={"at": now})


def beat(name: str, *, now: datetime) -> None:
    """Note that a part of the clockwork ran to its end at `now`."""
    Heartbeat.objects.update_or_create(name=name, defaults={"at": now})
