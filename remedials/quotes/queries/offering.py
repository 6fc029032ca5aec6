"""What a line is made of: remedials with their observations and their price; and which stand in an open quote."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db.models import Q

from inspections.models import Observation
from jobsite.premises.choices import RoleAtUnit, Tenure
from jobsite.premises.models import Party, PartyAtUnit
from remedials.quotes.choices import Treatment
from remedials.quotes.models import Costing, LineRemedial, Offer, Terms
from remedials.quotes.rules.alike import Like
from remedials.quotes.rules.danger import rank, worst
from remedials.quotes.states import State
from remedials.works.models import Remedial, Remedies

OPEN = (State.DRAFT, State.SENT)


@dataclass(frozen=True)
class Work:
    """A remedial as it is offered: what it puts right, the most dangerous first, and what it costs (None: not priced)."""

    remedial: Remedial
    costing: Costing | None
    observations: list[Observation] = field(default_factory=list)

    @property
    def code(self) -> str:
        """The worst code that is still open."""
        return worst(o.code for o in self.observations if not o.ended)

    @property
    def rank(self) -> int:
        """Where it stands when what is most dangerous comes first."""
        return rank(self.code)

    @property
    def words(self) -> str:
        """What is done, for the customer."""
        return (self.costing.plain if self.costing else "") or self.remedial.work

    @property
    def price(self) -> Decimal:
        """What is asked for it, net; 0 where it is not priced."""
        return self.costing.price if self.costing else Decimal(0)

    @property
    def treatment(self) -> str:
        """How VAT falls on it."""
        return self.costing.treatment if self.costing else str(Treatment.STANDARD)

    @property
    def found(self) -> list[str]:
        """The open observations as they were recorded, with where they are."""
        return [_found(o) for o in self.observations if not o.ended]

    @property
    def where(self) -> str:
        """Where the first of its observations is."""
        return next(filter(None, (_spot(o) for o in self.observations)), "")

    @property
    def like(self) -> Like:
        """What decides with which others it is one line."""
        job = self.costing.job_id if self.costing else None
        return Like(self.remedial.pk, self.words, job, self.remedial.site_id, self.treatment, self.code)


def _spot(o: Observation) -> str:
    return ", ".join(filter(None, [o.board.designation if o.board else "", o.place]))


def _found(o: Observation) -> str:
    return f"{o.text} ({spot})" if (spot := _spot(o)) else o.text


def works_of(remedials: Iterable[Remedial]) -> list[Work]:
    """`remedials` as they are offered, in the order given. Two statements."""
    remedials = list(remedials)
    keys = [remedial.pk for remedial in remedials]
    costings = {costing.remedial_id: costing for costing in Costing.objects.filter(remedial__in=keys)}
    found: dict[UUID, list[Observation]] = {}
    rows = Remedies.objects.filter(remedial__in=keys).select_related("observation__board")
    for row in rows.order_by("observation__number"):
        found.setdefault(row.remedial_id, []).append(row.observation)
    return [Work(r, costings.get(r.pk), found.get(r.pk, [])) for r in remedials]


def standing_in(remedials: Iterable[UUID], *, besides: UUID | None = None) -> dict[UUID, Offer]:
    """In which open version (draft, or sent) each of `remedials` stands; those of the quote `besides` are left out.

    A line that was answered no longer holds its remedials. One statement.
    """
    rows = LineRemedial.objects.filter(remedial__in=list(remedials), line__offer__state__in=OPEN)
    rows = rows.exclude(line__answers__stands=True).exclude(line__offer__quote=besides)
    found = rows.select_related("line__offer__quote").order_by("line__offer__made_at")
    return {row.remedial_id: row.line.offer for row in found}


def terms_of(day: date) -> Terms | None:
    """The terms that hold on `day`, None where the firm has set none. One statement."""
    return Terms.objects.filter(holds_from__lte=day).order_by("-holds_from").first()


IN_TRADE = (Tenure.PRIVATE_RENTED, Tenure.SOCIAL_RENTED, Tenure.NOT_A_HOME)


def is_consumer(party: Party, *, on: date) -> bool:
    """Whether a quote to `party` is one to a consumer, unless somebody says otherwise. One statement.

    An organisation is none, and neither is who owns, manages or pays for a let home or for what is no home: letting is
    a business. Common practice; the law asks what the contract is for (Consumer Rights Act 2015, section 2).
    """
    roles = PartyAtUnit.objects.filter(Q(until=None) | Q(until__gte=on), party=party, unit__tenure__in=IN_TRADE)
    return not party.organisation and not roles.exclude(role=RoleAtUnit.OCCUPIER).exists()
