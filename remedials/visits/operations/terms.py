"""Setting what the firm has decided for its diary, from a day on."""

from datetime import date, datetime
from typing import Any
from urllib.parse import urlsplit

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.people.rights import Right
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.visits.models import DiaryTerms
from remedials.visits.rules.checks import FIXED, NEVER_SILENT, Check, Severity
from remedials.visits.verbs import Verb
from remedials.works.operations.ground import person


@operation
def set_diary_terms(
    *, holds_from: date, severities: dict[str, str], reason: str, by: Actor, now: datetime, version: int | None = None,
    **figures: Any,
) -> DiaryTerms:  # fmt: skip
    """Set how strictly bookings are looked at, the usual hours and how driving is reckoned, from the day `holds_from`.

    `figures`: the other fields of `DiaryTerms`. Set again for the same day, it takes the place of what was set; `version` is
    the one that the person saw. The same again: nothing happens. Raises NotAllowed, ChangedMeanwhile, Refused.
    """
    if not by.may(Right.KEEP_FIRM):
        raise NotAllowed("Only a manager sets the terms of the diary.")
    alone(FIRM_CHAIN)
    _sensible(severities, figures)
    row = DiaryTerms.objects.select_for_update().filter(holds_from=holds_from).first()
    given = figures | {"severities": severities, "reason": reason.strip()}
    if row and all(getattr(row, name) == value for name, value in given.items()):
        return row
    if row and version is not None and row.version != version:
        raise ChangedMeanwhile("Somebody set the terms of this day meanwhile.", theirs=row)
    row = row or DiaryTerms(holds_from=holds_from, version=0)
    for name, value in given.items():
        setattr(row, name, value)
    row.set_by, row.version = person(by), row.version + 1
    row.save()
    facts = {name: str(value) for name, value in figures.items() if name != "matrix_address"}
    facts |= {"holds_from": holds_from.isoformat(), "severities": severities}  # type: ignore[dict-item]
    words = {"reason": row.reason, "matrix_address": row.matrix_address}
    record(Verb.TERMS_SET, site=None, subject=row, by=by, now=now, facts=facts, words=words)
    return row


def _sensible(severities: dict[str, str], figures: dict[str, Any]) -> None:
    for name, value in severities.items():
        if Check(name) in FIXED or value not in set(Severity):
            raise Refused("Somebody can be hurt: this one is always refused.", field=f"how_{name}")
        if value == Severity.SILENT and Check(name) in NEVER_SILENT:
            raise Refused("Somebody can be hurt: this one is warned of or refused.", field=f"how_{name}")
    if figures.get("day_end") and figures["day_end"] <= figures["day_start"]:
        raise Refused("The day must end after it begins.", field="day_end")
    if address := figures.get("matrix_address"):
        parts = urlsplit(address)
        if parts.scheme not in {"http", "https"} or not parts.hostname or parts.username or parts.password:
            raise Refused(
                "Write an address that begins with https:// or http://, without a password.", field="matrix_address"
            )
        if parts.query or parts.fragment:  # a key in it would stand in the history for good
            raise Refused("Write the address without anything after “?” or “#”.", field="matrix_address")
