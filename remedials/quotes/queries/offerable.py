"""What a new quote can hold, and to whom it can go: the tables and choices of the pages that begin and add."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Q

from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import Party, PartyAtUnit, Site
from jobsite.words import joined, many, money
from remedials.quotes.models import LineRemedial, Offer
from remedials.quotes.queries.building import HEADINGS
from remedials.quotes.queries.offering import Work, standing_in, works_of
from remedials.quotes.queries.quote import address_of
from remedials.quotes.rules.alike import groups
from remedials.works.models import Remedial
from remedials.works.states import Stage

MOST = 500
# Who is thought of first: whoever may approve, then who owns, pays, manages. An occupier comes last.
FIRST = (RoleAtUnit.APPROVER, RoleAtUnit.OWNER, RoleAtUnit.PAYER, RoleAtUnit.AGENT, RoleAtUnit.OCCUPIER)


def offerable(sites: Iterable[Site], *, offer: Offer | None = None) -> dict[str, Any]:
    """The remedials at `sites` that can be offered, grouped by danger; those that stand elsewhere; those declined.

    `offer`: the draft they would be added to; what stands in it already is marked so. Five statements.
    """
    sites = list(sites)
    rows = Remedial.objects.filter(site__in=[s.pk for s in sites], stage__in=[Stage.TO_PRICE, Stage.DECLINED])
    found = list(rows.select_related("site", "unit").order_by("number")[:MOST])
    works = works_of(found)
    elsewhere = standing_in([r.pk for r in found], besides=offer.quote_id if offer else None)
    here: set[UUID] = set()
    if offer:
        here = set(LineRemedial.objects.filter(line__offer=offer).values_list("remedial", flat=True))
    likes = [work.like for work in works if work.remedial.stage == Stage.TO_PRICE]
    alike = {key: len(group) for group in groups(likes) for key in group}
    shown = [_row(w, elsewhere, here, alike, several=len(sites) > 1) for w in sorted(works, key=lambda w: w.rank)]
    offered = [row for row in shown if not row["declined"]]
    return {
        "groups": [
            {"code": code, "heading": heading, "rows": group}
            for code, heading in HEADINGS.items()
            if (group := [row for row in offered if row["code"] == code])
        ],
        "declined": [row for row in shown if row["declined"]],
        "free": [row["id"] for row in offered if not row["stands"] and not row["here"]],
        "all": [row["id"] for row in offered if not row["stands"]],
        "more": f"Only the first {MOST} are shown." if len(found) == MOST else "",
    }


def _row(
    work: Work, elsewhere: dict[UUID, Offer], here: set[UUID], alike: dict[UUID, int], *, several: bool
) -> dict[str, Any]:
    remedial = work.remedial
    other = elsewhere.get(remedial.pk)
    unit = "" if remedial.unit.whole_site else remedial.unit.name
    return {
        "id": str(remedial.pk),
        "number": str(remedial.number),
        "address": address("desk:remedial", remedial.pk),
        "code": work.code,
        "mark": code_mark(work.code) if work.code else "",
        "words": work.words,
        "found": "; ".join(work.found[:2]) + (f"; and {len(work.found) - 2} more" if len(work.found) > 2 else ""),
        "where": joined(remedial.site.name if several else "", unit),
        "price": money(work.price) if work.costing else "",
        "to_price": address_of("quotes:price", remedial.pk),
        "stands": f"in quote {other.quote.number}" if other else "",
        "stands_at": address("quotes:quote", other.quote_id) if other else "",
        "here": remedial.pk in here,
        "alike": f"{many(alike[remedial.pk], 'alike', 'alike')}" if alike.get(remedial.pk, 1) > 1 else "",
        "declined": remedial.stage == Stage.DECLINED,
        "again": address("works:offer_again", remedial.pk),
    }


def parties_of(sites: Iterable[Site], *, today: date, besides: Party | None = None) -> list[tuple[str, str]]:
    """Who a quote at `sites` can go to, with what they are there and up to what sum they approve; who may, first.

    `besides`: a party that is asked for by name. Two statements.
    """
    sites = list(sites)
    roles = PartyAtUnit.objects.filter(Q(until=None) | Q(until__gte=today), unit__site__in=[s.pk for s in sites])
    roles = roles.filter(since__lte=today, party__archived_at=None).select_related("party", "unit")
    parties: dict[UUID, Party] = {besides.pk: besides} if besides else {}
    said: dict[UUID, list[str]] = {}
    order: dict[UUID, tuple[int, Decimal]] = {}
    for role in roles.order_by("unit__sort", "party__sort"):
        parties[role.party_id] = role.party
        said.setdefault(role.party_id, []).append(_role_words(role))
        limit = Decimal("Infinity") if role.limit_pounds is None else role.limit_pounds
        order[role.party_id] = min(
            order.get(role.party_id, (99, Decimal(0))), (FIRST.index(RoleAtUnit(role.role)), -limit)
        )
    for customer in Party.objects.filter(sites__in=[s.pk for s in sites], archived_at=None).distinct().order_by("sort"):
        parties[customer.pk] = customer
        said.setdefault(customer.pk, []).append("customer")
        order.setdefault(customer.pk, (FIRST.index(RoleAtUnit.PAYER), Decimal(0)))
    keys = sorted(parties, key=lambda key: (*order.get(key, (98, Decimal(0))), parties[key].sort))
    return [(str(key), joined(parties[key].name, *dict.fromkeys(said.get(key, [])))) for key in keys]


def _role_words(role: PartyAtUnit) -> str:
    words = str(role.get_role_display())
    limit = f" up to {money(role.limit_pounds)}" if role.limit_pounds is not None else ""
    return words + limit + ("" if role.unit.whole_site else f" ({role.unit.name})")
