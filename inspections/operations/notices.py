"""Danger notices: what was said in writing about a danger, to whom, and their answer."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from inspections import policy
from inspections.choices import Code, NoticeAnswer, NoticeHow
from inspections.models import DangerNotice, Observation
from inspections.operations import ground
from inspections.queries.notices import Wording, as_given, set_notice, wording
from inspections.verbs import Verb
from jobsite.documents import PDF
from jobsite.firm.operations import take_number
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.documents import About, kept_document
from jobsite.ledger.models import Document
from jobsite.ledger.operations import operation, record
from jobsite.ledger.operations_documents import keep_document
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
    made_at: datetime | None = None,
) -> DangerNotice:
    """Record that somebody was told of a danger in writing: why it is one, what was advised, to whom, how.

    For any open observations of one site but C3, also of a draft, since it is left when found. `made_at`: when it was
    given (`now`, unless it is recorded later, from a phone without signal).
    """
    ground.must(policy.may_inspect(by), NOT_YOURS)
    about = _locked_in_order(observations)
    if made := ground.made_before(DangerNotice, id, site_id=about[0].site_id):
        return made
    _check(about, how)
    notice = DangerNotice(id=id, site_id=about[0].site_id, how=how, given_at=made_at or now, given_by=by)
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
    notice: DangerNotice,
    *,
    answer: str,
    by: User,
    now: datetime,
    made_at: datetime | None = None,
    answered_by: str = "",
    answer_note: str = "",
) -> DangerNotice:
    """Record that a danger notice was acknowledged or refused, by whom, in what words, at `made_at` (`now`, unless given).

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
    notice.answer, notice.answered_at = answer, max(made_at or now, notice.given_at)
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


def keep_notice_document(notice: DangerNotice, *, by: Actor, now: datetime, copy: bool = False) -> Document:
    """The document of `notice`, kept as it is handed out, so that whoever holds it can have it checked.

    The same notice with the same answer is the same file, however often it is asked for, and is set once. The caller has
    asked whether `by` may see it. It is set before anything is locked. `copy`: see `wording`; a document of its own kind.
    """
    says = wording(notice, copy=copy)
    about = _about(notice, says)
    if kept := kept_document(about):
        return kept
    made = set_notice(says)
    title = f"Danger notice {notice.number}: {notice.site.name}"
    return keep_document(
        about, made.pdf, id=new_id(), title=title, name=f"danger-notice-{notice.number}.pdf", media_type=PDF,
        fingerprint=made.fingerprint, by=by, now=now,
    )  # fmt: skip


def kept_notice_document(notice: DangerNotice, *, copy: bool = False) -> Document | None:
    """The document of `notice` as it stands, where it was handed out before; nothing is set."""
    return kept_document(_about(notice, wording(notice, copy=copy)))


def _about(notice: DangerNotice, says: Wording) -> About:
    kind = "danger-notice-copy" if "copy" in says.facts else "danger-notice"
    return About(kind, says.said, site=notice.site_id, subject=notice.pk)
