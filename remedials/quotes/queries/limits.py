"""How far a party may approve at each unit, what an answer would come to there, and who may approve more."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.db.models import Q

from jobsite import clock
from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import Party, PartyAtUnit, Unit
from remedials.quotes.choices import Says
from remedials.quotes.models import LineAnswer, Offer
from remedials.quotes.queries.answering import LineNow, to_pay
from remedials.quotes.rules.choosing import by_unit, limit_of, over_limit

Held = dict[UUID, list[PartyAtUnit]]
CUSTOMER = "customer"
DECIDE = (RoleAtUnit.OWNER, RoleAtUnit.APPROVER)


def units_of(offer: Offer, lines: Iterable[LineNow]) -> dict[UUID, Unit]:
    """The units that the lines are about; where none has a remedial, those of the quote's sites that are in use."""
    wanted = {r.unit_id for line in lines for r in line.remedials}
    units = Unit.objects.select_related("site__customer")
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


def limit_at(unit: Unit, rows: Iterable[PartyAtUnit], party: UUID, *, addressed: bool) -> Decimal | None:
    """What `party` may approve at `unit` by the roles held there (`rows`); None: as much as it likes.

    A site's customer may approve anything, except where a limit was agreed with them as approver.
    """
    rows = list(rows)
    own = [(str(row.role), row.limit_pounds) for row in rows if row.party_id == party]
    if unit.site.customer_id == party and not any(role == RoleAtUnit.APPROVER for role, _ in own):
        own.append((CUSTOMER, None))
    approves = any(row.role == RoleAtUnit.APPROVER for row in rows)
    return limit_of(own, somebody_approves=approves, addressed=addressed)


def limits_of(
    offer: Offer, units: Mapping[UUID, Unit], held: Held, party: UUID, *, linked: bool
) -> dict[UUID, Decimal | None]:
    """What `party` may approve at each of `units`. `linked`: the offer was passed on to it by a link of its own."""
    addressed = linked or party == offer.quote.party_id
    return {pk: limit_at(unit, held[pk], party, addressed=addressed) for pk, unit in units.items()}


def beyond_limits(
    offer: Offer, lines: Iterable[LineNow], yes: set[UUID], *, party: UUID, linked: bool, now: datetime
) -> list[str]:
    """A sentence for each unit where `yes`, with what was accepted before, goes beyond what `party` may approve.

    A line counts in full at each unit that it is about; one without a remedial at all of them.
    """
    lines = list(lines)
    units = units_of(offer, lines)
    limits = limits_of(offer, units, roles_held(units, now=now), party, linked=linked)
    taken = [line for line in lines if line.line.key in yes or line.accepted]
    new = {unit for line in lines if line.line.key in yes for unit in _units(line, units)}
    sums = [(to_pay(line.line, reverse_charge=offer.reverse_charge), _units(line, units)) for line in taken]
    chosen = by_unit([*sums, *_accepted_before(offer, units)])
    names = {pk: unit.site.name if unit.whole_site else unit.name for pk, unit in units.items()}
    return over_limit({pk: pounds for pk, pounds in chosen.items() if pk in new}, limits, names)


def _accepted_before(offer: Offer, units: Mapping[UUID, Unit]) -> list[tuple[Decimal, list[UUID]]]:
    """What was accepted in other versions of the quote, in pounds, and where: it uses up a limit too. Two statements."""
    said = LineAnswer.objects.filter(line__offer__quote=offer.quote_id, stands=True, says=Says.YES)
    rows = said.exclude(line__offer=offer).select_related("line__offer").prefetch_related("line__remedials")
    return [
        (
            to_pay(row.line, reverse_charge=row.line.offer.reverse_charge),
            [r.unit_id for r in row.line.remedials.all() if r.unit_id in units] or list(units),
        )
        for row in rows
    ]


def _units(line: LineNow, units: Iterable[UUID]) -> list[UUID]:
    """The units that a line counts at."""
    return [r.unit_id for r in line.remedials] or list(units)


def may_be_passed_to(offer: Offer, lines: Iterable[LineNow], *, besides: UUID, now: datetime) -> list[Party]:
    """Who could approve the whole offer at every unit that it is about: owners, customers, approvers with limit enough."""
    lines = list(lines)
    units = units_of(offer, lines)
    held = roles_held(units, now=now)
    parties = {row.party_id: row.party for rows in held.values() for row in rows if row.role in DECIDE}
    parties |= {unit.site.customer_id: unit.site.customer for unit in units.values()}
    asked = [line for line in lines if line.answerable or line.accepted]
    mine = [(to_pay(line.line, reverse_charge=offer.reverse_charge), _units(line, units)) for line in asked]
    sums = by_unit([*mine, *_accepted_before(offer, units)])
    found = []
    for pk, party in parties.items():
        limits = limits_of(offer, units, held, pk, linked=False)
        if pk != besides and not party.archived_at and not over_limit(sums, limits):
            found.append(party)
    return found
