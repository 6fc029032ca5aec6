"""What the firm puts in the place of a published fact that the program is not sure of, or has wrong."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from inspections import policy
from inspections.models import FactCorrection
from inspections.operations import ground
from inspections.standards.registry import FACTS
from inspections.verbs import Verb
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone
from jobsite.people.models import User
from jobsite.refused import Refused

NO_FACT = "The program has no such fact any more."
WHY = "Say why: what was looked up, and what the program has wrong or is not sure of."
WHERE = "Say where the value is from: the standard with edition and table, the regulation, or the maker's data."


@operation
def correct_fact(
    key: str, *, id: UUID, value: str, source: str, reason: str, holds_from: date, by: User, now: datetime
) -> FactCorrection:
    """Put `value`, as a qualified person looked it up in `source`, in the place of a fact from a day on.

    What was judged before keeps the limit of its day; dates that were counted stay until they are counted again. Raises
    NotAllowed, and Refused for a value that the fact cannot have (field "value"), for no source, and for no reason.
    """
    ground.must(policy.may_correct_facts(by, now=now), policy.why_not_correct(by, now=now))
    alone(id)
    if made := ground.made_before(FactCorrection, id, fact=key):
        return made
    fact: Any = FACTS.get(key)
    if fact is None:
        raise Refused(NO_FACT)
    try:
        text = fact.text(fact.read(value))
    except ValueError as wrong:
        raise Refused(str(wrong), field="value") from wrong
    row = FactCorrection(id=id, fact=key, value=text, holds_from=holds_from, by=by, at=now)
    row.source, row.reason = ground.said(source, WHERE, "source"), ground.said(reason, WHY, "reason")
    return _keep(row, Verb.FACT_CORRECTED, {"value": text, "shipped": fact.text(fact.value)})


@operation
def put_back_fact(key: str, *, id: UUID, reason: str, holds_from: date, by: User, now: datetime) -> FactCorrection:
    """Use a fact as the program ships it again, from a day on. Raises NotAllowed, and Refused where none is corrected."""
    ground.must(policy.may_correct_facts(by, now=now), policy.why_not_correct(by, now=now))
    alone(id)
    if made := ground.made_before(FactCorrection, id, fact=key):
        return made
    latest = FactCorrection.objects.filter(fact=key).order_by("-holds_from", "-at", "-pk").first()
    if latest is None or latest.puts_back:
        raise Refused("This fact stands as the program has it: there is nothing to put back.")
    row = FactCorrection(id=id, fact=key, holds_from=holds_from, by=by, at=now)
    row.reason = ground.said(reason, WHY, "reason")
    return _keep(row, Verb.FACT_PUT_BACK, {})


def _keep(row: FactCorrection, verb: Verb, facts: dict[str, Any]) -> FactCorrection:
    row.save(force_insert=True)
    facts |= {"fact": row.fact, "holds_from": row.holds_from.isoformat()}
    words = {"source": row.source, "reason": row.reason}
    record(verb, site=None, subject=row, by=row.by, now=row.at, facts=facts, words=words)
    return row
