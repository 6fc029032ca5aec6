"""What the planner proposed for work that is booked otherwise meanwhile."""

from collections.abc import Iterable
from datetime import datetime

from remedials.visits.choices import ProposalState
from remedials.visits.models import Proposal, Visit
from remedials.works.models import Remedial


def note_overtaken(visit: Visit, work: Iterable[Remedial], *, now: datetime) -> None:
    """Inside a booking: proposals that are open for any of `work` are no longer possible, since it is on `visit` now.

    The booking's own entry tells of it. The one that is being accepted is marked as that afterwards.
    """
    mine = Proposal.objects.filter(state=ProposalState.OPEN, remedials__in=list(work)).values("pk")
    said = f"Its work is on visit {visit.number} now."
    Proposal.objects.filter(pk__in=mine).update(state=ProposalState.GONE, said=said, decided_at=now)
