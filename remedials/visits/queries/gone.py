"""Whether what a plan proposed can still be done: seen when it is shown, and again under the lock when it is accepted."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from jobsite.people.rights import Right
from jobsite.words import span, when
from remedials.visits.models import Attendance, Proposal, VisitLine
from remedials.works.states import WORDS, Stage


def why_gone(proposals: Iterable[Proposal], *, now: datetime) -> dict[UUID, str]:
    """For each of `proposals` that is no longer possible, a sentence that says why. Four statements at most."""
    rows = list(proposals)
    if not rows:
        return {}
    keys = [row.pk for row in rows]
    found = {row.pk: f"Its time is past: {when(row.start)}." for row in rows if row.start <= now}
    for key, sentence in (*_work_taken(keys), *_people_taken(rows)):
        found.setdefault(key, sentence)
    return found


def _work_taken(keys: list[UUID]) -> list[tuple[UUID, str]]:
    """Proposals with a remedial that is on a visit now, or needs none any more. Two statements."""
    links = list(
        Proposal.remedials.through.objects.filter(proposal__in=keys)
        .select_related("remedial")
        .order_by("remedial__number")
    )
    # What is approved again keeps the line of the visit at which it was not done: that visit is over.
    work = [link.remedial_id for link in links]
    lines = VisitLine.objects.filter(remedial__in=work, remedial__stage=Stage.BOOKED, active=True)
    visits = {line.remedial_id: line.visit for line in lines.select_related("visit")}
    found = []
    for link in links:
        remedial = link.remedial
        if visit := visits.get(remedial.pk):
            found.append((link.proposal_id, f"Remedial {remedial.number} is on visit {visit.number} now."))
        elif remedial.stage != Stage.APPROVED:
            stage = WORDS[Stage(remedial.stage)]
            found.append((link.proposal_id, f"Remedial {remedial.number} is no longer to be booked: it is {stage}."))
    return found


def _people_taken(rows: list[Proposal]) -> list[tuple[UUID, str]]:
    """Proposals one of whose engineers has left, or is elsewhere at that time now. Two statements."""
    links = list(
        Proposal.engineers.through.objects.filter(proposal__in=[row.pk for row in rows])
        .select_related("user")
        .order_by("user__name")
    )
    begin, end = min(row.start for row in rows), max(row.end for row in rows)
    there: dict[UUID, list[Attendance]] = {}
    busy = Attendance.objects.filter(
        engineer__in=[link.user_id for link in links], cancelled=False, start__lt=end, end__gt=begin
    )
    for one in busy.select_related("visit__site").order_by("start"):
        there.setdefault(one.engineer_id, []).append(one)
    by_key = {row.pk: row for row in rows}
    found = []
    for link in links:
        row, person = by_key[link.proposal_id], link.user
        if not person.may(Right.DO_WORK):
            found.append((row.pk, f"{person} is no engineer of the firm now."))
        for one in there.get(person.pk, []):
            if one.start < row.end and one.end > row.start:
                where = f"{person} is at {one.visit.site} then: {span(one.start, one.end)} (visit {one.visit.number})."
                found.append((row.pk, where))
    return found
