"""Whom the firm holds to be a qualified person, from when until when."""

from datetime import date, datetime
from uuid import UUID

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.people.models import Competence, User
from jobsite.people.operations.ground import must_keep_people, save_new
from jobsite.people.verbs import Verb
from jobsite.refused import Refused


@operation
def record_competence(
    user: User, *, id: UUID, since: date, evidence: str, by: Actor, now: datetime, until: date | None = None
) -> Competence:
    """Record that the firm holds `user` to be a qualified person from `since`, until a date or for good."""
    must_keep_people(by)
    alone(id)
    if made := made_before(Competence, id, user_id=user.pk):
        return made
    if until and until < since:
        raise Refused("It cannot end before it begins.", field="until")
    if not evidence.strip():
        raise Refused("Say what shows it: a certificate, an assessment.", field="evidence")
    recorded_by = by if isinstance(by, User) else None
    row = Competence(id=id, user=user, since=since, until=until, evidence=evidence.strip(), recorded_by=recorded_by)
    save_new(row)
    facts = {"person": str(user.pk), "since": since.isoformat(), "until": until.isoformat() if until else None}
    record(Verb.COMPETENCE, site=None, subject=row, by=by, now=now, facts=facts, words={"evidence": evidence})
    return row


@operation
def end_competence(competence: Competence, *, until: date, by: Actor, now: datetime) -> Competence:
    """Set the last day on which a competence holds. A day that is not ahead ends it: nobody is asked to renew it."""
    must_keep_people(by)
    competence = locked(competence)
    if until < competence.since:
        raise Refused("It cannot end before it begins.", field="until")
    ended = until <= clock.local_day(now)
    if (competence.until, competence.ended) == (until, ended):
        return competence
    competence.until, competence.ended = until, ended
    competence.save(update_fields=["until", "ended"])
    record(Verb.COMPETENCE_ENDED, site=None, subject=competence, by=by, now=now, facts={"until": until.isoformat()})
    return competence
