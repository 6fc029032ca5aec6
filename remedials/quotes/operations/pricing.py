"""Pricing a remedial: what it takes, what that costs, and what is asked for it."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import NotAllowed, Refused
from remedials.quotes import policy
from remedials.quotes.choices import Treatment
from remedials.quotes.models import Costing, StandardJob, Terms
from remedials.quotes.queries.terms import terms_on
from remedials.quotes.rules import costing as rules
from remedials.quotes.rules.money import in_bounds
from remedials.quotes.verbs import Verb
from remedials.works.models import Remedial
from remedials.works.operations.ground import as_seen, change, locked, person
from remedials.works.operations.taking import (
    Take,
    fact_of,
    must_be_possible,
    plain_number,
    say_what_it_takes,
    taken,
    takes_already,
)

NO_RATES = "Nothing can be priced by time before the firm's rates are entered: set its rates and terms first."
NO_MARKUP = "The firm's own mark-up is not set yet: write one here, or set the firm's rates and terms first."
NOTHING = "Say how long it takes or what it takes, or set a price by hand."
KEPT = ("job", "plain", "treatment", "call_out", "cost", "worked_out", "set_price", "set_why", "terms")


def work_out(terms: Terms | None, *, minutes: int | None, crew: int, skill: str, items: Sequence[Take]) -> rules.Worked:
    """What work costs and is charged at by `terms`. Raises Refused where they don't say, or for a sum beyond reason."""
    hour = rules.hour_of(hours(terms), skill)
    if minutes and hour is None:
        sentence = f"No rate is set for “{skill}”, nor one for any other skill." if terms else NO_RATES
        raise Refused(sentence, field="minutes")
    for number, one in enumerate(items):
        if terms is None and one.markup_percent is None and one.kind != rules.FIXED:
            raise Refused(NO_MARKUP, field=f"items-{number}-markup_percent")
    markup = terms.markup_percent if terms else Decimal(0)
    worked = rules.work_out(minutes=minutes, crew=crew, hour=hour, items=items, firms_markup=markup)
    for number, part in enumerate(worked.items):
        if rules.too_much([part.price]):
            raise Refused("This comes to more than £1,000,000.", field=f"items-{number}-cost_each")
    if rules.too_much([worked.cost, worked.price]):
        raise Refused("This comes to more than £1,000,000 in all.")
    return worked


def hours(terms: Terms | None) -> Mapping[str, rules.Hour]:
    """The rates of `terms` by skill, as the rules take them."""
    return {rate.skill: rules.Hour(rate.cost_hour, rate.price_hour) for rate in terms.rates.all()} if terms else {}


@operation
def price_remedial(
    remedial: Remedial,
    *,
    minutes: int | None,
    crew: int,
    skill: str,
    items: Sequence[Take],
    treatment: str,
    plain: str,
    call_out: bool,
    set_price: Decimal | None = None,
    set_why: str = "",
    job: StandardJob | None = None,
    by: Actor,
    now: datetime,
    version: int | None = None,
) -> Costing:
    """Say what a remedial takes and what is asked for it: worked out by the terms of today, or `set_price` with a reason.

    `items` takes the place of all before. `version` is the remedial's: it counts on with every change of its price too.
    What was sent to a customer stays as it was sent. Raises NotAllowed, ChangedMeanwhile, and Refused for a remedial that
    is done or out of the list, for numbers that can't be, and for time where no rate is set.
    """
    if not policy.may_price(by):
        raise NotAllowed(policy.NOT_YOURS)
    remedial = locked(remedial)
    _must_be_said(minutes, items, treatment, set_price, set_why)
    must_be_possible(minutes, crew, items)
    terms = terms_on(clock.local_day(now))
    worked = work_out(terms, minutes=minutes, crew=crew, skill=skill, items=items)
    values: dict[str, Any] = {"job": job, "plain": plain.replace("\r\n", "\n").strip(), "treatment": treatment}
    values |= {"call_out": call_out, "cost": worked.cost, "worked_out": worked.price, "terms": terms}
    values |= {"set_price": set_price, "set_why": "" if set_price is None else set_why.strip()}
    costing = Costing.objects.select_for_update(of=("self",)).filter(remedial=remedial).first()
    priced_so = costing is not None and all(getattr(costing, name) == values[name] for name in KEPT)
    if costing and priced_so and takes_already(remedial, minutes=minutes, crew=crew, skill=skill, items=items):
        return costing
    as_seen(remedial, version)
    before = remedial.version
    remedial = say_what_it_takes(remedial, minutes=minutes, crew=crew, skill=skill, items=items, by=by, now=now)
    if costing and priced_so:
        return costing
    costing = _kept(costing, remedial, values, by=person(by), now=now)
    if remedial.version == before:
        change(remedial)
    costing.remedial = remedial
    _note(costing, worked, items, by=by, now=now)
    return costing


def _must_be_said(
    minutes: int | None, items: Sequence[Take], treatment: str, set_price: Decimal | None, set_why: str
) -> None:
    if treatment not in Treatment.values:
        raise Refused("Choose one of those offered.", field="treatment")
    if set_price is None:
        if not minutes and not items:
            raise Refused(NOTHING, field="minutes")
        return
    if wrong := in_bounds(set_price, what="The price"):
        raise Refused(wrong, field="set_price")
    if not set_why.strip():
        raise Refused("Say why this price was set by hand.", field="set_why")


def _kept(costing: Costing | None, remedial: Remedial, values: dict[str, Any], *, by: User, now: datetime) -> Costing:
    """The costing with `values`, its version counted on."""
    if costing is None:
        return Costing.objects.create(remedial=remedial, **values, priced_by=by, priced_at=now)
    for name, value in values.items():
        setattr(costing, name, value)
    costing.priced_by, costing.priced_at = by, now
    costing.version += 1
    costing.save(update_fields=[*values, "priced_by", "priced_at", "version"])
    return costing


def _note(costing: Costing, worked: rules.Worked, items: Sequence[Take], *, by: Actor, now: datetime) -> None:
    remedial = costing.remedial
    facts: dict[str, Any] = {"cost": f"{costing.cost:.2f}", "labour": f"{worked.labour.price:.2f}"}
    facts |= {"items": f"{worked.items_price:.2f}", "worked_out": f"{costing.worked_out:.2f}"}
    facts |= {"price": f"{costing.price:.2f}", "treatment": str(costing.treatment), "call_out": costing.call_out}
    facts |= {"minutes": remedial.minutes, "crew": remedial.crew}
    facts |= {"terms": str(costing.terms_id) if costing.terms_id else None}
    facts |= {"job": str(costing.job_id)} if costing.job_id else {}
    facts["takes"] = [priced_fact(one) for one in items]
    words = {"plain": costing.plain, "set_why": costing.set_why, "skill": remedial.skill}
    record(Verb.PRICED, site=remedial.site_id, subject=remedial, by=by, now=now, facts=facts, words=words)


def priced_fact(one: Take) -> dict[str, str]:
    """An item with its cost, as the ledger keeps it."""
    markup = {} if one.markup_percent is None else {"markup_percent": plain_number(one.markup_percent)}
    return fact_of(one) | {"cost_each": f"{one.cost_each:.2f}"} | markup


def items_of(remedial: Remedial) -> list[Take]:
    """What a remedial takes besides time, as the operation takes it."""
    return taken(list(remedial.items.all()))
