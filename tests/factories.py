"""Small makers of test data: each names only what the test is about and fills in the rest.

They write rows directly, without the history that would lead to them: the operations have tests of their own.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from jobsite import clock

NOON = datetime(2026, 2, 3, 12, 0, tzinfo=UTC)
TODAY = clock.local_day(NOON)
PASSWORD = "a long password"
SEED = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"  # the seed of RFC 6238, appendix B, in base 32


# --- people -----------------------------------------------------------------------------------------------------------


def make_user(name: str, *roles: str, second_step: bool | None = None, **fields: Any):
    """A person of the firm with the password PASSWORD and a confirmed address, as an invitation leaves them.

    `second_step`: an authenticator app with the seed SEED. A firm asks one of its managers, so those have one unless told.
    """
    from allauth.account.models import EmailAddress

    from jobsite.people.models import User

    fields.setdefault("email", f"{name.split(maxsplit=1)[0].lower()}@example.com")
    user = User(name=name, roles=list(roles), **fields)
    user.set_password(PASSWORD)
    user.save()
    EmailAddress.objects.create(user=user, email=user.email, verified=True, primary=True)
    if "manager" in roles if second_step is None else second_step:
        make_second_step(user)
    return user


def make_second_step(user):
    """An authenticator app of `user` with the seed SEED."""
    from allauth.mfa.totp.internal.auth import TOTP

    return TOTP.activate(user, SEED).instance


def code_of_app(seed: str = SEED) -> str:
    """What an authenticator app with `seed` shows now: the step of 30 seconds (RFC 6238), whatever the service would take."""
    from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value

    return format_hotp_value(hotp_value(seed, int(clock.now().timestamp()) // 30))


def make_competence(user, *, since: date = date(2020, 1, 1), until: date | None = None):
    """That the firm records `user` as a qualified person."""
    from jobsite.people.models import Competence

    return Competence.objects.create(user=user, since=since, until=until, evidence="invented certificate")


def make_qualified(name: str = "Quentin Prover", *roles: str):
    """A qualified person, since long before NOON."""
    user = make_user(name, *(roles or ("engineer",)))
    make_competence(user)
    return user


def anybody(*roles: str):
    """The first person with just these roles, made where there is none: for a `by` that the test is not about."""
    from jobsite.people.models import User

    roles = roles or ("manager",)
    found = User.objects.filter(roles=list(roles), is_active=True, subcontractor=False).order_by("pk").first()
    return found or make_user(f"Any{''.join(roles)} Body", *roles)


def make_skill(user, name: str = "Fire alarms", *, since: date = date(2020, 1, 1), **fields: Any):
    """That `user` has a skill."""
    from jobsite.people.models import Skill
    from jobsite.sorting import sort_key

    return Skill.objects.create(user=user, name=name, sort=sort_key(name), since=since, **fields)


def make_token(user, name: str = "Bookkeeping", *, text: str = "", **fields: Any):
    """A personal token that another program shows; `text` is what it shows."""
    from jobsite.people.links import new_token, token_hash
    from jobsite.people.models import AccessToken

    usual = {"scope": "write", "made_at": NOON, "expires_at": NOON.replace(year=2999), "name": name}
    return AccessToken.objects.create(user=user, token_hash=token_hash(text or new_token()), **usual | fields)


def make_leave(user, first: date = TODAY, last: date | None = None, *, by=None):
    """Days on which `user` is away."""
    from jobsite.people.models import Leave

    return Leave.objects.create(user=user, first=first, last=last or first, recorded_by=by or anybody("office"))


def make_instrument(serial_number: str = "T-1001", *, check_due: date | None = date(2026, 12, 31), **fields: Any):
    """A loop tester, in check at NOON unless told otherwise."""
    from jobsite.people.models import Instrument

    checked = {"checked_on": date(2026, 1, 1) if check_due else None, "check_due": check_due}
    return Instrument.objects.create(**{"name": "Loop tester", "serial_number": serial_number} | checked | fields)


def make_check(instrument, checked_on: date = date(2026, 1, 1), **fields: Any):
    """A calibration of `instrument` that it passed, as a row alone."""
    from jobsite.people.models import InstrumentCheck

    usual = {"due": date(2026, 12, 31), "result": "passed", "by_whom": "Sampleton Calibration", "recorded_at": NOON}
    usual |= {"recorded_by": fields.get("recorded_by") or anybody("manager")}
    return InstrumentCheck.objects.create(instrument=instrument, checked_on=checked_on, **usual | fields)


def make_fault(instrument, found_on: date = TODAY, **fields: Any):
    """That `instrument` was found wrong, last known to be right two weeks before, as a row alone."""
    from jobsite.people.models import InstrumentFault

    usual = {"last_good_on": found_on - timedelta(days=14), "what": "0.3 Ω too low", "recorded_at": NOON}
    usual |= {"recorded_by": fields.get("recorded_by") or anybody("manager")}
    return InstrumentFault.objects.create(instrument=instrument, found_on=found_on, **usual | fields)


# --- premises ---------------------------------------------------------------------------------------------------------


def make_party(name: str = "Petra Landlady", **fields: Any):
    from jobsite.premises.models import Party

    return Party.objects.create(**{"name": name, "email": "petra@example.com", "phone": "01632 960111"} | fields)


def make_site(name: str = "Sample House", *, customer=None, phases=("L1",), **fields: Any):
    """A plain site with its one unit (kind and tenure may be given) and its one supply of `phases`."""
    from jobsite.firm.operations import take_number
    from jobsite.premises.models import Site, Supply, Unit

    of_unit = {key: fields.pop(key) for key in ("kind", "tenure") if key in fields}
    of_supply = {key: fields.pop(key) for key in ("earthing", "main_fuse_a", "ze_ohm") if key in fields}
    fields = {"address": "1 Sample Street, Sampleton", "postcode": "QX1 2AB"} | fields
    site = Site.objects.create(number=take_number("site"), name=name, customer=customer or make_party(), **fields)
    Unit.objects.create(site=site, name=name, whole_site=True, **of_unit)
    Supply.objects.create(site=site, name="Intake", phases=list(phases), **of_supply)
    return site


def unit_of(site):
    """The first unit of `site`: the only one of a plain site."""
    return site.units.order_by("pk")[0]


def supply_of(site):
    """The first supply of `site`."""
    return site.supplies.order_by("pk")[0]


def make_unit(site, name: str = "Flat 1", **fields: Any):
    from jobsite.premises.models import Unit

    return Unit.objects.create(site=site, name=name, **fields)


def make_board(site, designation: str = "Board 1", *, phases=None, fed: bool = True, **fields: Any):
    """A verified board, fed from the first supply by a verified normal feed (none with `fed=False`)."""
    from jobsite.premises.models import Board

    verified = {"designation_verified": True, "verified_on": TODAY, "verified_how": "traced"}
    if not fields.get("designation_verified", True):
        verified = {}
    supply = supply_of(site)
    board = Board.objects.create(
        site=site, designation=designation, phases=list(phases or supply.phases), **verified | fields
    )
    if fed:
        make_feed(board, supply)
    return board


def make_circuit(board, way: int | None = None, *, phase: str | None = None, **fields: Any):
    """A final circuit on the next free way with a B32 (BS EN 60898) device, unless told otherwise."""
    from jobsite.premises.models import Circuit

    if way is None:
        way = max(board.circuits.values_list("way", flat=True), default=0) + 1
    device = {"device_standard": "BS EN 60898", "device_type": "B", "rating_a": Decimal(32), "arrangement": "radial"}
    known = {"designation": f"Circuit {way}", "label_found": f"Circuit {way}"}
    return Circuit.objects.create(
        site=board.site, board=board, way=way, phase=phase or board.phases[0], **device | known | fields
    )


def make_feed(board, feeder, *, kind: str = "normal", verified: bool = True, **fields: Any):
    """A feed of `board` from `feeder`: a circuit or a supply."""
    from jobsite.premises.models import Circuit, Feed

    source = {"from_circuit": feeder} if isinstance(feeder, Circuit) else {"from_supply": feeder}
    seen = {"verified_on": TODAY, "verified_how": "traced"} if verified else {}
    return Feed.objects.create(site=board.site, board=board, kind=kind, verified=verified, **source | seen | fields)


def make_second_source(board, name: str = "Roof panels", *, kind: str = "pv", **fields: Any):
    from jobsite.premises.models import SecondSource

    fields = {"phases": [board.phases[0]], "rating_kw": Decimal("3.68")} | fields
    return SecondSource.objects.create(site=board.site, board=board, name=name, kind=kind, **fields)


def make_verification(row, designation: str = "Cooker", *, how: str = "traced", by=None):
    """That somebody verified at NOON what a board or a circuit is; the row says so."""
    from jobsite.premises.models import Board, Verification

    by = by or anybody()
    about = {"board": row} if isinstance(row, Board) else {"circuit": row}
    was = {"designation_before": row.designation, "how_before": row.verified_how}
    row.designation, row.verified_how, row.verified_by, row.verified_on = designation, how, by, TODAY
    if isinstance(row, Board):
        row.designation_verified = True
    row.save()
    return Verification.objects.create(
        site=row.site, designation=designation, how=how, by=by, at=NOON, **about, **was
    )  # fmt: skip


def make_board_document(board, *, kind: str = "chart", by=None, **fields: Any):
    """A document kept for `board`; its file is no real document."""
    from jobsite.ledger.files import store_file
    from jobsite.premises.models import BoardDocument

    usual = {"file": store_file(b"%PDF-1.7 made", media_type="application/pdf", now=NOON), "made_at": NOON}
    usual |= {"made_by": by or anybody(), "words": "A4 landscape", "fingerprint": "ab" * 32}
    return BoardDocument.objects.create(site=board.site, board=board, kind=kind, **usual | fields)


def make_paper(site, what: str = "a copy of the report", *, due_on: date = TODAY, by=None, **fields: Any):
    """Something that the law asks for since somebody moved in at NOON, not answered yet."""
    from inspections.models import OccupancyChange, Paper

    by, unit = by or anybody(), unit_of(site)
    change = OccupancyChange.objects.create(site=site, unit=unit, since=TODAY, recorded_by=by, recorded_at=NOON)
    asked = {"duty": "an-invented-rule", "to": "the tenant", "owed_by": "landlord", "basis": "An invented rule."}
    return Paper.objects.create(
        site=site, unit=unit, change=change, what=what, due_on=due_on, owner=by, **asked | fields
    )  # fmt: skip


def make_link_of_circuits(one, other, *, kind: str = "neutral", by=None):
    """That two circuits share a neutral, or that one is also fed from the other."""
    from jobsite.premises.models import CircuitLink

    one, other = sorted((one, other), key=lambda circuit: circuit.pk)
    by = by or anybody()
    return CircuitLink.objects.create(site=one.site, one=one, other=other, kind=kind, noted_by=by, noted_on=TODAY)


def make_switching_test(off, *, dead=(), alive=(), by=None, at: datetime = NOON, **fields: Any):
    """That `off` (a circuit or a supply) was switched off at NOON, and these boards were seen dead and alive."""
    from jobsite.premises.models import Circuit, SwitchingTest

    which = {"off_circuit": off} if isinstance(off, Circuit) else {"off_supply": off}
    by = by or anybody()
    test = SwitchingTest.objects.create(site=off.site, at=at, noted_at=NOON, by=by, **which | fields)
    for state, boards in (("dead", dead), ("alive", alive)):
        for board in boards:
            test.seen.create(board=board, state=state)
    return test


def grant_access(site, user):
    """Let a subcontractor see `site`."""
    from jobsite.premises.models import SiteAccess

    return SiteAccess.objects.create(site=site, user=user, granted_at=NOON)


# --- inspections and observations -------------------------------------------------------------------------------------


def make_inspection(site, *, issued: bool = True, units=(), **fields: Any):
    """A periodic inspection of the site's first unit, issued as unsatisfactory unless told otherwise."""
    from inspections.models import Inspection
    from jobsite.firm.operations import take_number

    by = fields.pop("by", None) or anybody()
    settled = {"state": "issued", "issued_at": NOON, "issued_by": by, "outcome": "unsatisfactory"} if issued else {}
    usual = {"inspected_on": TODAY, "edition": "2018+A2:2022", "recorded_by": by, "recorded_at": NOON}
    inspection = Inspection.objects.create(site=site, number=take_number("inspection"), **usual | settled | fields)
    inspection.units.set(units or [unit_of(site)])
    return inspection


def make_observation(site, text: str = "Cover missing", *, code: str = "C2", on: date = TODAY, **fields: Any):
    """An open, reviewed observation at the site's first unit, recorded on `on`; uncoded with `code=""`."""
    from inspections.models import Observation
    from jobsite.firm.operations import take_number

    by = fields.pop("by", None) or anybody()
    usual: dict[str, Any] = {"recorded_on": on, "first_recorded_on": on, "recorded_at": NOON, "recorded_by": by}
    usual |= {"owner": by, "step_by": on, "code_written": code, "reviewed": bool(code)}
    usual |= {"unit": fields.pop("unit", None) or unit_of(site)}
    return Observation.objects.create(
        site=site, number=take_number("observation"), text=text, code=code, **usual | fields
    )


def make_inspection_due(unit, *, due_on: date = date(2027, 2, 3), **fields: Any):
    """When the next inspection of a unit is due."""
    from inspections.models import InspectionDue

    return InspectionDue.objects.create(unit=unit, due_on=due_on, basis="the report", shows_from=due_on, **fields)


def make_occupancy_change(unit, *, since: date = TODAY, by=None, **fields: Any):
    """That somebody moves in, without what the law asks of it."""
    told = {"recorded_by": by or anybody(), "recorded_at": NOON}
    return unit.occupancy_changes.create(site=unit.site, since=since, **told, **fields)


def make_paper_request(report, *, by=None, **fields: Any):
    """That the council asked for a copy of a report, without the paper that comes of it."""
    usual: dict[str, Any] = {"asked_by": "authority-asks", "who": "Sample Council", "asked_on": TODAY}
    usual |= {"recorded_by": by or anybody(), "recorded_at": NOON, "unit": report.units.first()}
    return report.paper_requests.create(site=report.site, **usual | fields)


def make_comparison(observation, *, by=None, **fields: Any):
    """Two meters that agree over an hour, with what each counted."""
    usual: dict[str, Any] = {"began_at": NOON - timedelta(hours=1), "ended_at": NOON, "three_phase": False}
    usual |= {"tolerance_percent": "2", "found": "agree", "ratio": "1", "sentence": "They agree."}
    usual |= {"taken_by": by or anybody(), "taken_at": NOON, "site": observation.site}
    made = observation.meter_comparisons.create(**usual | fields)
    for relied in (True, False):
        made.figures.create(relied_on=relied, what="a meter", unit="kWh", start=1, end=2, wh=1000)
    return made


def make_correction(fact: str = "insulation.to-500-v", *, value: str = "2.0", by=None, **fields: Any):
    """What a qualified person put in the place of a fact, for good measure from a day far ahead."""
    from inspections.models import FactCorrection

    usual: dict[str, Any] = {"source": "the standard", "reason": "looked up", "holds_from": date(2199, 1, 1)}
    return FactCorrection.objects.create(fact=fact, value=value, by=by or anybody(), at=NOON, **usual | fields)


def picture(colour: str = "red", kind: str = "PNG") -> bytes:
    """A small photograph as a phone would send it."""
    from io import BytesIO

    from PIL import Image

    out = BytesIO()
    Image.new("RGB", (30, 20), colour).save(out, kind)
    return out.getvalue()


def make_reading(circuit, *, by=None, **fields: Any):
    """An insulation resistance of more than 200 MΩ at `circuit`, which passed."""
    from inspections.models import Reading

    usual = {"quantity": "insulation-resistance", "value": Decimal(200), "places": 0, "above_range": True, "unit": "MΩ"}
    usual |= {"limit_least": Decimal(1), "basis": "a test's own", "verdict": "pass", "edition": "2018+A2:2022"}
    usual |= {"instrument": fields.pop("instrument", None) or make_instrument(f"T-{circuit.pk}"), "taken_at": NOON}
    at = {"site": circuit.site, "board": circuit.board, "circuit": circuit}
    return Reading.objects.create(**at, **usual | {"instrument_in_check": True, "taken_by": by or anybody()} | fields)


# --- remedials --------------------------------------------------------------------------------------------------------


def make_remedial(*observations, stage: str = "to-price", work: str = "Fit a cover", **fields: Any):
    """A remedial for `observations` (of one site) that has come to `stage` without the history that leads there."""
    from jobsite.firm.operations import take_number
    from remedials.works.models import Remedial, Remedies

    by = fields.pop("by", None) or anybody()
    first = observations[0]
    usual = {"site": first.site, "unit": first.unit, "owner": by, "step_by": TODAY, "made_by": by, "made_at": NOON}
    remedial = Remedial.objects.create(number=take_number("remedial"), work=work, stage=stage, **usual | fields)
    Remedies.objects.bulk_create(Remedies(remedial=remedial, observation=o) for o in observations)
    return remedial


def make_item(remedial, what: str = "Blanking piece", *, cost_each="2.00", **fields: Any):
    """A material of `remedial`, below those that it has."""
    from remedials.works.models import Item

    usual = {"position": remedial.items.count(), "quantity": Decimal(1), "cost_each": Decimal(cost_each)}
    return Item.objects.create(remedial=remedial, what=what, **usual | fields)


def make_link(site, *, unit=None, by=None, **fields: Any):
    """A private link to the status of `site` and its token."""
    import hashlib
    import secrets

    from jobsite.people.models import PrivateLink

    token = secrets.token_urlsafe(32)
    usual = {"made_at": NOON, "expires_at": NOON + timedelta(days=365), "sent_to": "the customer", "purpose": "status"}
    link = PrivateLink.objects.create(
        token_hash=hashlib.sha256(token.encode()).digest(),
        site=site.pk,
        unit=unit.pk if unit else None,
        made_by=by or anybody(),
        **usual | fields,
    )
    return link, token


def make_portfolio_link(party, *, by=None, **fields: Any):
    """A private link to all that `party` answers for, and its token."""
    from jobsite.people.links import new_token, token_hash
    from jobsite.people.models import PrivateLink

    token = new_token()
    usual = {"made_at": NOON, "expires_at": NOON + timedelta(days=365), "sent_to": party.name, "purpose": "portfolio"}
    usual |= {"token_hash": token_hash(token), "party": party.pk, "made_by": by or anybody()}
    return PrivateLink.objects.create(**usual | fields), token


def make_reminder(site, *, at: datetime = NOON, **fields: Any):
    """A polite word to the customer of `site` about its inspection, not sent yet."""
    from jobsite.messages.models import Message

    usual = {
        "occasion": f"a reminder {site.pk} {at}",
        "subject": "Electrical inspection due",
        "body": "Dear customer,\n",
    }
    usual |= {"to_kind": "customer", "to_id": site.customer_id, "address": site.customer.email, "site": site.pk}
    usual |= {"reminder": True, "about": f"inspection {unit_of(site).pk}", "quiet_until": at + timedelta(days=7)}
    return Message.objects.create(**usual | {"written_at": at, "next_try_at": at} | fields)


def make_undertaking(kind: str, ref, *, by=None, until: date = TODAY + timedelta(days=3), reason: str = "I ring them"):
    """That `by` has a row of the due list in hand."""
    from remedials.due.operations.undertaking import have_it

    return have_it(kind, ref, until=until, reason=reason, by=by or anybody("office"), now=NOON)


def make_leaving(site, *, by=None, **fields: Any):
    """That a closing letter for `site` was written at NOON and is to be delivered within a week."""
    from jobsite.firm.operations import take_number
    from remedials.due.models import Leaving
    from remedials.due.queries.leaving import on_record

    by = by or anybody("office")
    usual: dict[str, Any] = {
        "why": "left",
        "to_name": site.customer.name,
        "reason": "They go elsewhere",
        "open_items": on_record(site),
    }
    usual |= {"owner": by, "deliver_by": TODAY + timedelta(days=7), "written_by": by, "written_at": NOON}
    return Leaving.objects.create(site=site, number=take_number("closing letter"), **usual | fields)


# --- quotes -----------------------------------------------------------------------------------------------------------


def make_terms(*, rates=(("", "30.00", "60.00"),), holds_from: date = date(2026, 1, 1), **fields: Any):
    """Terms in force at NOON. `rates`: skill, what an hour costs the firm, what it is charged at."""
    from remedials.quotes.models import Rate, Terms

    usual = {"call_out": Decimal("45.00"), "call_out_cost": Decimal("20.00"), "vat_number": "GB 999 9999 73"} | {
        "set_by": anybody()
    }
    terms = Terms.objects.create(holds_from=holds_from, **usual | fields)
    for skill, cost, price in rates:
        Rate.objects.create(terms=terms, skill=skill, cost_hour=Decimal(cost), price_hour=Decimal(price))
    return terms


def make_job(name: str = "Blank off an open way", *, items=(("Blanking piece", "2.00"),), **fields: Any):
    """A standard job of the price book. `items`: what, and what one costs."""
    from remedials.quotes.models import StandardItem, StandardJob

    usual = {"plain": "We close the open ways of the board.", "minutes": 30, "retests": []}
    job = StandardJob.objects.create(name=name, **usual | fields)
    for position, (what, cost) in enumerate(items):
        StandardItem.objects.create(job=job, position=position, what=what, cost_each=Decimal(cost))
    return job


def make_costing(remedial, price="120.00", *, cost="70.00", by=None, **fields: Any):
    """That `remedial` is priced at NOON: `price` was worked out, in pounds without VAT."""
    from remedials.quotes.models import Costing

    usual = {"cost": Decimal(cost), "worked_out": Decimal(price), "priced_by": by or anybody(), "priced_at": NOON}
    return Costing.objects.create(remedial=remedial, **usual | fields)


def make_offer(*remedials, sites=(), party=None, by=None, prices=None, **fields: Any):
    """A draft offer (version 1 of a new quote) with a line for each of `remedials`, £100.00 at 20 % unless told otherwise.

    `prices`: for each line its fields, as far as the test is about them. Fields of the quote: `name`, `owner`,
    `chase_on`, `variation_of`, `variation_why`. Without remedials, `sites` and `prices` (with `words`) say what it is.
    """
    from jobsite.firm.operations import take_number
    from remedials.quotes.models import Offer, Quote, QuoteSite

    by = by or anybody("office")
    of_quote = {
        key: fields.pop(key) for key in ("name", "owner", "chase_on", "variation_of", "variation_why") if key in fields
    }
    places = list(dict.fromkeys([remedial.site for remedial in remedials] + list(sites)))
    usual = {"name": "Remedial works", "owner": by, "made_by": by, "made_at": NOON}
    usual |= {"party": party or places[0].customer}
    quote = Quote.objects.create(number=take_number("quote"), **usual | of_quote)
    QuoteSite.objects.bulk_create(QuoteSite(quote=quote, site=site) for site in places)
    usual = {"consumer": True, "valid_until": TODAY + timedelta(days=30), "made_by": by, "made_at": NOON}
    offer = Offer.objects.create(quote=quote, **usual | fields)
    for position, of_line in enumerate(prices if prices is not None else [{}] * len(remedials)):
        make_line(offer, *remedials[position : position + 1], position=position, **of_line)
    return offer


def make_quote(*about, lines=None, **fields: Any):
    """A draft offer for sites or remedials, as `make_offer` makes it; `lines` are its `prices`."""
    from remedials.works.models import Remedial

    remedials = [one for one in about if isinstance(one, Remedial)]
    sites = [one for one in about if one not in remedials]
    return make_offer(*remedials, sites=sites, prices=lines, **fields)


def make_line(offer, *remedials, **fields: Any):
    """A line of `offer` at its end: £100.00 at 20 %, for `remedials`. VAT follows the price unless given."""
    from remedials.quotes.models import Line, LineRemedial

    usual: dict[str, Any] = {"price": Decimal(100), "cost": Decimal(60), "rate": Decimal(20), "made_at": NOON}
    usual |= {"words": remedials[0].work if remedials else "Something else", "position": offer.lines.count()}
    usual |= {"site": remedials[0].site} if remedials else {}
    usual |= {"code": remedials[0].observations.order_by("code").values_list("code", flat=True)[0]} if remedials else {}
    usual |= fields
    usual.setdefault("vat", (usual["price"] * usual["rate"] / 100).quantize(Decimal("0.01")))
    line = Line.objects.create(offer=offer, **usual)
    LineRemedial.objects.bulk_create(LineRemedial(line=line, remedial=remedial) for remedial in remedials)
    return line


def make_sent_offer(*remedials, at: datetime = NOON, to: str = "petra@example.com", how: str = "email", **fields: Any):
    """An offer as `make_offer` makes it that was sent at `at`: what it said is kept, its file is no real document.

    Remedials that were to price are quoted; whose answer is chased a week before it lapses.
    """
    import hashlib
    import json

    from jobsite.ledger.files import store_file
    from remedials.quotes.queries.said import offer_as_said

    offer = make_offer(*remedials, **fields)
    offer.said = offer_as_said(offer, now=at)
    offer.fingerprint = hashlib.sha256(json.dumps(offer.said, sort_keys=True).encode()).hexdigest()
    offer.file = store_file(b"%PDF-1.7 " + offer.fingerprint.encode(), media_type="application/pdf", now=at)
    offer.state, offer.sent_by, offer.sent_at, offer.sent_how, offer.sent_to = "sent", offer.made_by, at, how, to
    offer.save()
    quote = offer.quote
    if quote.chase_on is None:
        quote.chase_on = max(clock.local_day(at) + timedelta(days=1), offer.valid_until - timedelta(days=7))
        quote.save(update_fields=["chase_on"])
    for remedial in remedials:
        if remedial.stage == "to-price":
            remedial.stage, remedial.step_by, remedial.owner = "quoted", quote.chase_on, quote.owner
            remedial.save(update_fields=["stage", "step_by", "owner"])
    return offer


def make_quote_link(offer, *, by=None, **fields: Any):
    """A private link to answer the quote of `offer`, for its party, and its token."""
    usual = {"purpose": "quote", "party": offer.quote.party_id, "thing": offer.quote_id}
    return make_link(offer.quote.sites.order_by("pk")[0], by=by, **usual | fields)


def make_report_copy(report, *, by=None):
    """A copy of `report` with personal data left out, as a row alone."""
    from jobsite.ledger.files import store_file
    from jobsite.ledger.models import Document
    from remedials.status.models import ReportCopy

    by = by or anybody("office")
    file = store_file(b"%PDF-1.7 copy", media_type="application/pdf", now=NOON)
    document = Document.objects.create(
        kind="copy", site=report.site_id, subject=report.pk, title="Copy", name="copy.pdf", file=file,
        actor_kind="person", actor=by.pk, made_at=NOON,
    )  # fmt: skip
    facts = {
        "place": "",
        "extent": "",
        "complete": "",
        "number": report.number,
        "report": [],
        "items": [],
        "limits": [],
    }
    return ReportCopy.objects.create(document=document, facts=facts, changed=0)


def make_copy_link(copy, **fields: Any):
    """A private link to a copy of a report, and its token."""
    from jobsite.premises.models import Site

    usual = {"purpose": "copy", "thing": copy.pk}
    return make_link(Site.objects.get(pk=copy.document.site), **usual | fields)


def make_visit_link(visit, *, by=None, **fields: Any):
    """A private link to say whether the time of `visit` suits, for the customer of its site, and its token."""
    usual = {"purpose": "visit", "party": visit.site.customer_id, "thing": visit.pk}
    return make_link(visit.site, by=by, **usual | fields)


def make_answered(offer, *, until: datetime = NOON + timedelta(days=365)) -> dict[str, Any]:
    """What hangs on an offer that was sent, by the word of its addresses: the token of a link, an answer that said
    nothing to any line yet, a question.
    """
    from remedials.quotes.models import Answer, Question, Remark

    by, nothing = offer.made_by, Decimal(0)
    link, token = make_quote_link(offer, expires_at=until)
    answer = Answer.objects.create(
        offer=offer, party=offer.quote.party, name="Petra Landlady", how="phone", given_at=NOON, recorded_at=NOON,
        recorded_by=by, fingerprint=offer.fingerprint, net=nothing, vat=nothing, to_pay=nothing,
    )  # fmt: skip
    question = Question.objects.create(quote=offer.quote, owner=by, reply_by=TODAY, asked_at=NOON)
    Remark.objects.create(question=question, text="How long does it take?", name="Petra", link=link, at=NOON)
    return {"q": token, "quote-answers": answer, "quote-questions": question}


# --- visits and getting in --------------------------------------------------------------------------------------------


def make_visit(site, *remedials, engineers=(), start: datetime = NOON, hours: float = 2, by=None, **fields: Any):
    """A booked visit of `engineers` with a line for each of `remedials`, which stand as they are."""
    from remedials.visits.models import Attendance, Visit, VisitLine

    by, end = by or anybody("office"), start + timedelta(hours=hours)
    number = 1 + (Visit.objects.order_by("-number").values_list("number", flat=True).first() or 0)
    usual = {"number": number, "end": end, "booked_by": by, "booked_at": NOON}
    visit = Visit.objects.create(site=site, start=start, **usual | fields)
    for engineer in engineers:
        off = visit.state == "cancelled"
        Attendance.objects.create(visit=visit, engineer=engineer, start=visit.start, end=visit.end, cancelled=off)
    VisitLine.objects.bulk_create(VisitLine(visit=visit, remedial=remedial) for remedial in remedials)
    return visit


def make_visit_line(visit, **thing: Any):
    """What a visit is for besides remedials: `unit=` an inspection of it, `observation=` with `kind=` a look or a call-out."""
    from remedials.visits.models import VisitLine

    return VisitLine.objects.create(visit=visit, **{"kind": "inspection"} | thing)


def make_attempt(site, *, by=None, **fields: Any):
    """That somebody tried to get in to `site`, and was not let in."""
    from remedials.visits.models import Attempt

    usual = {"how": "visit", "at": NOON, "whom": "Tina Tenant", "recorded_at": NOON, "by": by or anybody("office")}
    return Attempt.objects.create(site=site, **usual | fields)


def make_printed_attempts(site, *, by=None, **fields: Any):
    """The attempts at `site` as they were printed, as a row alone."""
    from jobsite.ledger.files import store_file
    from jobsite.ledger.models import Document

    file = store_file(b"%PDF-1.7 attempts", media_type="application/pdf", now=NOON)
    usual = {"kind": "attempts", "title": "Attempts to get in", "name": "attempts-to-get-in.pdf", "file": file}
    who = {"actor_kind": "person", "actor": (by or anybody("office")).pk, "made_at": NOON}
    return Document.objects.create(site=site.pk, **usual | who | fields)


def make_key(site, tag: str = "K1", *, what: str = "front door", **fields: Any):
    """A key of `site` that the firm keeps."""
    from remedials.visits.models import SiteKey

    return SiteKey.objects.create(site=site, tag=tag, what=what, **fields)


def make_access_time(site, **fields: Any):
    """That people are let in on weekday mornings."""
    from remedials.visits.models import AccessTime

    usual = {"weekdays": [0, 1, 2, 3, 4], "start": time(9), "end": time(12)}
    return AccessTime.objects.create(site=site, **usual | fields)


def make_closed_days(site, *, first: date = TODAY, last: date = TODAY, why: str = "Term", **fields: Any):
    """Days on which nobody may work at `site`."""
    from remedials.visits.models import ClosedDays

    return ClosedDays.objects.create(site=site, first=first, last=last, why=why, **fields)


def make_code(site, code: str = "4711", *, place: str = "Alarm panel", **fields: Any):
    """An alarm code of `site`, sealed."""
    from remedials.visits.models import AlarmCode
    from remedials.visits.sealing import seal

    return AlarmCode.objects.create(site=site, place=place, sealed=seal(code), **fields)


def make_check_in(visit, user, **fields: Any):
    """That `user` is alone at `visit` since noon, and said to be out in an hour."""
    from remedials.visits.models import CheckIn

    usual = {"in_at": NOON, "out_by": NOON + timedelta(hours=1)}
    return CheckIn.objects.create(site=visit.site, visit=visit, user=user, **usual | fields)


def make_see_to(site, *, what: str = "Ask for the asbestos register", by: date = TODAY, **fields: Any):
    """Something to be seen to before work at `site`."""
    from remedials.visits.models import SeeTo

    usual = {"kind": "asbestos", "owner": fields.pop("owner", None) or anybody("office")}
    return SeeTo.objects.create(site=site, what=what, by=by, **usual | fields)


def make_times_offer(site, *remedials, by=None, **fields: Any):
    """Two times of tomorrow offered for `remedials`."""
    from remedials.visits.models import OfferedTime, TimesOffer

    usual = {"answer_by": TODAY + timedelta(days=2), "made_at": NOON, "made_by": by or anybody("office")}
    offer = TimesOffer.objects.create(site=site, **usual | fields)
    offer.remedials.set(remedials)
    for hours in (21, 25):
        start = NOON + timedelta(hours=hours)
        OfferedTime.objects.create(offer=offer, start=start, end=start + timedelta(hours=2))
    return offer


def make_times_link(offer, *, by=None, **fields: Any):
    """A private link to choose one of the times of `offer`, and its token."""
    return make_link(offer.site, by=by, **{"purpose": "times", "thing": offer.pk} | fields)


def make_plan(*, state: str = "ready", engineers=(), by=None, **fields: Any):
    """A plan of five days from the day after NOON, as a worker leaves it in `state`."""
    from jobsite.firm.models import Progress
    from jobsite.firm.operations import take_number
    from remedials.visits.models import Plan

    progress = Progress.objects.create(what="Plan", changed_at=NOON)
    usual = {"first": TODAY + timedelta(days=1), "days": 5, "made_by": by or anybody("office"), "made_at": NOON}
    usual |= {"asked": {"engineers": [str(engineer.pk) for engineer in engineers]}, "progress": progress.pk}
    return Plan.objects.create(number=take_number("plan"), state=state, **usual | fields)


def make_proposal(plan, *remedials, engineers=(), start: datetime | None = None, minutes: int = 60, **fields: Any):
    """That `plan` proposes a visit of `engineers` for `remedials`, an hour of the day after NOON unless told otherwise."""
    from remedials.visits.models import Proposal

    start = start or NOON + timedelta(days=1)
    usual = {"start": start, "end": start + timedelta(minutes=minutes), "drive_minutes": 12, "reason": "Near the next."}
    proposal = Proposal.objects.create(plan=plan, site=remedials[0].site, **usual | fields)
    proposal.remedials.set(remedials)
    proposal.engineers.set(engineers)
    return proposal


def make_occupier(unit, **fields: Any):
    """Whom to ask at `unit`, and what to mind there."""
    from remedials.visits.models import OccupierNote

    usual = {"contact": "Tina Tenant", "phone": "07700 900123", "mind": "Uses a hoist"}
    return OccupierNote.objects.create(site=unit.site, unit=unit, **usual | fields)


def make_diary_terms(*, holds_from: date = date(2026, 1, 1), **fields: Any):
    """Terms of the diary from a day on: the defaults, unless told otherwise."""
    from remedials.visits.models import DiaryTerms

    return DiaryTerms.objects.create(holds_from=holds_from, **fields)


def make_told(remedial, visit, *, by=None) -> dict[str, Any]:
    """What was said and done about a remedial and a visit, a row each, by the word of its address."""
    from remedials.visits.models import Confirmation, VisitMove
    from remedials.works.models import Approval, PowerStep, Stint, WayOut

    by = by or anybody("office")
    own, kept = {"remedial": remedial}, {"recorded_by": by, "recorded_at": NOON}
    later = {"to_start": visit.start, "to_end": visit.end, "from_engineers": [by.pk], "to_engineers": [by.pk]}
    stint = Stint.objects.create(**own, came="part-done", because="The part was missing", minutes=45, by=by, at=NOON)
    stint.used.create(position=0, what="Cable clips", quantity=12)
    return {
        "approvals": Approval.objects.create(
            **own, given_by="Petra", how="phone", given_on=TODAY, pounds="480.50", **kept
        ),
        "ways-out": WayOut.objects.create(**own, stage="declined", who="Petra", reason="not now", on=TODAY, **kept),
        "stints": stint,
        "power-steps": PowerStep.objects.create(**own, kind="off", where="Board 1, way 3", by=by, at=NOON),
        "visit-moves": VisitMove.objects.create(
            visit=visit, from_start=visit.start, from_end=visit.end, reason="Ill", by=by, at=NOON, **later
        ),
        "confirmations": Confirmation.objects.create(
            visit=visit, answered="confirmed", how="phone", whom="Petra", start=visit.start, recorded_by=by, at=NOON
        ),
    }


# --- drawn out of the record, and held --------------------------------------------------------------------------------


def make_bundle(site, *, made: bool = True, by=None, **fields: Any):
    """A record of `site` as of now that was asked for; unless not `made`, with a small archive in it."""
    import hashlib

    from jobsite.firm.models import Progress
    from jobsite.ledger.files import store_file
    from jobsite.ledger.models import Document
    from remedials.status.models import Bundle

    by = by or anybody("office")
    progress = Progress.objects.create(what="The record", state="done" if made else "waiting", changed_at=NOON)
    usual = {"kind": "as-of", "as_of": NOON, "reason": "The insurer asks", "asked_at": NOON} | fields
    bundle = Bundle.objects.create(site=site, progress=progress, asked_by=by, **usual)
    if made:
        file = store_file(b"PK not really", media_type="application/zip", now=NOON)
        bundle.document = Document.objects.create(
            id=bundle.pk, kind="bundle", title="Record", name="record.zip", site=site.pk if site else None, file=file,
            fingerprint=hashlib.sha256(b"manifest").hexdigest(), actor_kind="person", actor=by.pk, made_at=NOON,
        )  # fmt: skip
        bundle.save()
    return bundle


def make_hold(site=None, *, reason: str = "A claim of the insurer", by=None, **fields: Any):
    """A hold on `site`, or on the whole firm."""
    from jobsite.ledger.models import Hold

    usual = {"placed_by": (by or anybody("manager")).pk, "placed_at": NOON} | fields
    return Hold.objects.create(site=site.pk if site else None, reason=reason, **usual)


# --- the record -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Told:
    """One ledger entry as a test writes it down: digests of words left out, the words themselves beside."""

    verb: str
    subject: UUID
    facts: dict[str, Any] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)


@contextmanager
def recorded() -> Iterator[list[Told]]:
    """The entries that the ledger gained inside the block: `with recorded() as told: …` then `assert told == [...]`."""
    from jobsite.ledger.models import Entry
    from jobsite.ledger.queries import words_of

    before = set(Entry.objects.values_list("pk", flat=True))
    told: list[Told] = []
    yield told
    entries = list(Entry.objects.exclude(pk__in=before).order_by("chain", "number"))
    words = words_of(entry.pk for entry in entries)
    for entry in entries:
        facts = {name: value for name, value in entry.facts.items() if not name.endswith("_digest")}
        told.append(Told(entry.verb, entry.subject, facts, words.get(entry.pk, {})))


def besides_papers(told: list[Told]) -> list[Told]:
    """What was told but for the papers that open and lapse with it: those have tests of their own."""
    return [one for one in told if not one.verb.startswith("paper.")]


def make_take_out(*, made: bool = True, by=None, **fields: Any):
    """Everything that the firm owns, asked for; unless not `made`, with a small file that stands for it."""
    from django.core.files.base import ContentFile
    from django.core.files.storage import default_storage

    from jobsite.firm.models import Progress
    from remedials.desk.bulk.operations import path_of
    from remedials.desk.models import TakeOut

    progress = Progress.objects.create(what="All", state="done" if made else "waiting", changed_at=NOON)
    usual = {"kind": "archive", "asked_at": NOON}
    usual |= {"made_at": NOON, "fingerprint": "f" * 64, "size": 13, "rows": 7} if made else {}
    row = TakeOut.objects.create(progress=progress, asked_by=by or anybody("manager"), **usual | fields)
    if made:
        default_storage.save(path_of(row), ContentFile(b"PK not really"))
    return row
