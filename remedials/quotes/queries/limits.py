"""How far a party may approve at each unit, what an answer would come to there, and who may approve more."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.db.models import Q

from jobsite import clock
from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import Party, PartyAtUnit, Unit
from jobsite.words import money
from remedials.quotes.models import Offer
from remedials.quotes.queries.answering import LineNow, to_pay
from remedials.quotes.rules.choosing import limit_of

Held = dict[UUID, list[PartyAtUnit]]
DECIDE = (RoleAtUnit.OWNER, RoleAtUnit.APPROVER)


def units_of(offer: Offer, lines: Iterable[LineNow]) -> dict[UUID, Unit]:
    """The units that the lines are about; where none has a remedial, those of the quote's sites that are in use."""
    wanted = {r.unit_id for line in lines for r in line.remedials}
    units = Unit.objects.select_related("site")
    if wanted:
        return {unit.pk: unit for unit in units.filter(pk__in=wanted)}
    sites = offer.quote.at_sites.values("site")
    return {unit.pk: unit for unit in units.filter(site__in=sites, retired_at=None)}


def roles_held(units: Iterable[UUID], *, now: datetime) -> Held:
    """Who is what at each of `units` today. One statement."""
    today = clock.local_day(now)
    rows = PartyAtUnit.objects.filter(
        Q(until__isnull=True) | Q(until__gte=today), unit__in=list(units), since__lte=today
    )
    held: Held = {unit: [] for unit in units}
    for row in rows.select_related("party").order_by("party__sort", "pk"):
        held[row.unit_id].append(row)
    return held


def limit_at(rows: Iterable[PartyAtUnit], party: UUID) -> Decimal | None:
    """What `party` may approve at the unit of `rows`; None: as much as it likes."""
    rows = list(rows)
    own = [(str(row.role), row.limit_pounds) for row in rows if row.party_id == party]
    return limit_of(own, approver_there=any(row.role == RoleAtUnit.APPROVER for row in rows))


def beyond_limits(offer: Offer, lines: Iterable[LineNow], yes: set[UUID], *, party: Party, now: datetime) -> list[str]:
    """A sentence for each unit where `yes`, with what was accepted before, goes beyond what `party` may approve.

    A line counts in full at each unit that it is about; one without a remedial at all of them.
    """
    lines = list(lines)
    units = units_of(offer, lines)
    taken = [line for line in lines if line.line.key in yes or line.accepted]
    new = [line for line in lines if line.line.key in yes]
    held = roles_held(units, now=now)
    found = []
    for pk, unit in units.items():
        limit = limit_at(held[pk], party.pk)
        if limit is None or not any(_is_at(line, pk) for line in new):
            continue
        sums = (to_pay(line.line, reverse_charge=offer.reverse_charge) for line in taken if _is_at(line, pk))
        if (comes_to := sum(sums, Decimal(0))) > limit:
            found.append(
                f"{unit.name}: what is accepted comes to {money(comes_to)}, and {party.name} may approve "
                f"up to {money(limit)} there. Accept less, or pass the quote on to who may approve it."
            )
    return found


def _is_at(line: LineNow, unit: UUID) -> bool:
    return not line.remedials or any(r.unit_id == unit for r in line.remedials)


def may_be_passed_to(offer: Offer, lines: Iterable[LineNow], *, besides: UUID, now: datetime) -> list[Party]:
    """Who could approve the whole offer at every unit it is about: owners, approvers without or with enough limit."""
    lines = list(lines)
    held = roles_held(units_of(offer, lines), now=now)
    parties = {row.party_id: row.party for rows in held.values() for row in rows if row.role in DECIDE}
    open_lines = [line for line in lines if line.answerable or line.accepted]
    return [
        party
        for pk, party in parties.items()
        if pk != besides and not party.archived_at and all(_covers(offer, open_lines, held, unit, pk) for unit in held)
    ]


def _covers(offer: Offer, lines: list[LineNow], held: Held, unit: UUID, party: UUID) -> bool:
    own = any(row.party_id == party for row in held[unit])
    limit = limit_at(held[unit], party)
    sums = (to_pay(line.line, reverse_charge=offer.reverse_charge) for line in lines if _is_at(line, unit))
    return own and (limit is None or sum(sums, Decimal(0)) <= limit)
