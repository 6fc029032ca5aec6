"""Danger notices: what was said in writing about a danger, to whom, and their answer."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from inspections import policy
from inspections.choices import Code, NoticeAnswer, NoticeHow
from inspections.models import DangerNotice, Observation
from inspections.operations import ground
from inspections.queries.notices import as_given
from inspections.verbs import Verb
from jobsite.firm.operations import take_number
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import Refused

NOT_YOURS = "Your rights do not cover danger notices."


@operation
def give_danger_notice(
    observations: Iterable[Observation],
    *,
    id: UUID,
    why: str,
    advised: str,
    given_to: str,
    how: str,
    by: User,
    now: datetime,
) -> DangerNotice:
    """Record that somebody was told of a danger in writing: why it is one, what was advised, to whom, how.

    For any open observations of one site but C3, also of a draft, since it is left when found.
    """
    ground.must(policy.may_inspect(by), NOT_YOURS)
    about = _locked_in_order(observations)
    if made := ground.made_before(DangerNotice, id, site_id=about[0].site_id):
        return made
    _check(about, how)
    notice = DangerNotice(id=id, site_id=about[0].site_id, how=how, given_at=now, given_by=by)
    notice.why = ground.said(why, "Say why it is dangerous.", "why")
    notice.advised = ground.said(advised, "Say what was advised.", "advised")
    notice.given_to = ground.said(given_to, "Say who was told.", "given_to")
    notice.as_given = as_given(about, site=about[0].site, by=by)
    notice.number = take_number("notice")
    notice.save(force_insert=True)
    notice.observations.set(about)
    facts = {"number": notice.number, "observations": [str(o.pk) for o in about], "how": how}
    facts["codes"] = [o.code for o in about]
    words = {"why": notice.why, "advised": notice.advised, "given_to": notice.given_to}
    record(Verb.NOTICE_GIVEN, site=notice.site_id, subject=notice, by=by, now=now, facts=facts, words=words)
    return notice


@operation
def answer_notice(
    notice: DangerNotice, *, answer: str, by: User, now: datetime, answered_by: str = "", answer_note: str = ""
) -> DangerNotice:
    """Record that a danger notice was acknowledged or refused, by whom and in what words.

    It is answered once; the same answer again: no second entry.
    """
    ground.must(policy.may_inspect(by), NOT_YOURS)
    notice = ground.locked(notice)
    if notice.answer == answer and answer:
        return notice
    if answer not in (NoticeAnswer.ACKNOWLEDGED, NoticeAnswer.REFUSED):
        raise Refused("Say whether it was acknowledged or refused.", field="answer")
    if notice.answer:
        raise Refused(f"Its answer is on record: {notice.get_answer_display()}. Give a new notice if things changed.")
    notice.answer, notice.answered_at = answer, now
    notice.answered_by, notice.answer_note = answered_by.strip(), answer_note.strip()
    notice.save(update_fields=["answer", "answered_at", "answered_by", "answer_note"])
    facts, words = {"answer": answer}, {"answered_by": notice.answered_by, "answer_note": notice.answer_note}
    record(Verb.NOTICE_ANSWERED, site=notice.site_id, subject=notice, by=by, now=now, facts=facts, words=words)
    return notice


def _locked_in_order(observations: Iterable[Observation]) -> list[Observation]:
    keys = {observation.pk for observation in observations}
    rows = list(Observation.objects.select_for_update(of=("self",)).filter(pk__in=keys).order_by("pk"))
    if not rows:
        raise Refused("Choose at least one observation.", field="observations")
    if len({row.site_id for row in rows}) > 1:
        raise Refused("One notice is about one site.", field="observations")
    return rows


def _check(about: Iterable[Observation], how: str) -> None:
    for observation in about:
        ground.still_open(observation, "no notice is given for it")
        if observation.code == Code.C3:
            raise Refused(
                f"Observation {observation.number} is a C3, which is no danger: leave it out, or have it recoded first.",
                field="observations",
            )
    if how not in NoticeHow.values:
        raise Refused("Say how the notice was given.", field="how")
