"""Pricing a remedial: by the terms of the day, by hand, from the price book; what the record says of it."""

from datetime import timedelta
from decimal import Decimal

import pytest

from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.quotes.models import Costing
from remedials.quotes.operations.filling import fill_from_job, fill_several
from remedials.quotes.operations.pricing import price_remedial
from remedials.works.models import Remedial, RequiredReading
from remedials.works.operations import Take, edit_remedial
from tests.factories import (
    Told,
    make_board,
    make_circuit,
    make_job,
    make_observation,
    make_remedial,
    make_site,
    make_terms,
    recorded,
)
from tests.remedials.work import on_the_way

COVER = Take("Cover", quantity=Decimal("2.5"), unit="m", cost_each=Decimal("3.33"), supplier="Shop", reference="C-1")


def price(remedial, by, now, **more):
    usual = {"minutes": 90, "crew": 1, "skill": "", "items": [], "treatment": "standard", "plain": "", "call_out": True}
    return price_remedial(remedial, **usual | {"by": by, "now": now} | more)


def to_price(**more):
    return on_the_way("C2", stage="to-price", **more)


def test_price_remedial_by_the_terms_of_the_day(office, now) -> None:
    make_terms(rates=[("", "1.00", "2.00")], holds_from=now.date() - timedelta(days=9))
    terms = make_terms(rates=[("", "30.00", "60.00"), ("Tester", "40.00", "75.50")], holds_from=now.date())
    make_terms(rates=[("", "90.00", "99.00")], holds_from=now.date() + timedelta(days=1))
    remedial = to_price(version=4)
    with recorded() as told:
        costing = price(remedial, office, now, crew=2, skill="tester", items=[COVER], plain="A new cover.", version=4)
    # labour 3 person-hours: 120.00 and 226.50; 2.5 × 3.33 = 8.325 → 8.33, with 20 % → 1.67 more
    assert (costing.cost, costing.worked_out, costing.price) == (
        Decimal("128.33"),
        Decimal("236.50"),
        costing.worked_out,
    )
    remedial.refresh_from_db()
    assert (remedial.minutes, remedial.crew, remedial.skill, remedial.version) == (90, 2, "tester", 5)
    item = remedial.items.get()
    assert (item.what, item.supplier, item.reference, item.markup_percent) == ("Cover", "Shop", "C-1", None)
    facts = {"kind": "material", "quantity": "2.5"}
    changed = {"changed": ["crew", "items", "minutes", "skill"], "minutes": 90, "crew": 2, "items": [facts]}
    sums = {"cost": "128.33", "labour": "226.50", "items": "10.00", "worked_out": "236.50", "price": "236.50"}
    rest = {"treatment": "standard", "call_out": True, "minutes": 90, "crew": 2, "terms": str(terms.pk)}
    rest["takes"] = [facts | {"cost_each": "3.33"}]
    assert told == [
        Told("remedial.edited", remedial.pk, changed, {"skill": "tester", "items": "Cover"}),
        Told("remedial.priced", remedial.pk, sums | rest, {"plain": "A new cover.", "skill": "tester"}),
    ]


def test_pricing_the_same_again_leaves_no_second_entry(office, now) -> None:
    make_terms()
    remedial = to_price()
    first = price(remedial, office, now, items=[COVER])
    with recorded() as told:
        again = price(remedial, office, now, items=[COVER])
    assert (told, again.version, first.version) == ([], 1, 1)


def test_a_change_of_the_price_alone_counts_the_remedials_version_on(office, now) -> None:
    make_terms()
    remedial = to_price()
    price(remedial, office, now)
    remedial.refresh_from_db()
    seen = remedial.version
    with recorded() as told:
        costing = price(
            remedial, office, now, set_price=Decimal("50.00"), set_why="As agreed by telephone", version=seen
        )
    assert (costing.price, costing.worked_out, costing.version) == (Decimal("50.00"), Decimal("90.00"), 2)
    assert [one.verb for one in told] == ["remedial.priced"]
    with pytest.raises(ChangedMeanwhile):
        price(remedial, office, now, version=seen)
    with pytest.raises(ChangedMeanwhile):
        edit_remedial(remedial, version=seen, minutes=5, by=office, now=now)


@pytest.mark.parametrize(
    ("given", "field", "sentence"),
    [
        ({"minutes": None}, "minutes", "Say how long it takes"),
        ({"minutes": -1}, "minutes", "Write the minutes"),
        ({"crew": 21}, "crew", "from 1 to 20"),
        ({"set_price": Decimal(5)}, "set_why", "Say why"),
        ({"set_price": Decimal(-5), "set_why": "x"}, "set_price", "less than nothing"),
        ({"set_price": Decimal("5.005"), "set_why": "x"}, "set_price", "parts of a penny"),
        ({"set_price": Decimal(10**9), "set_why": "x"}, "set_price", "more than £1,000,000"),
        ({"treatment": "none"}, "treatment", "Choose one"),
        ({"minutes": 100_000, "crew": 20}, None, "more than £1,000,000 in all"),
        ({"items": [COVER, COVER._replace(what=" ")]}, "items-1-what", "Say what it is"),
        ({"items": [COVER._replace(kind="wine")]}, "items-0-kind", "Choose one"),
        ({"items": [COVER._replace(quantity=Decimal(0))]}, "items-0-quantity", "above 0"),
        ({"items": [COVER._replace(quantity=Decimal("0.0001"))]}, "items-0-quantity", "3 digits"),
        ({"items": [COVER._replace(cost_each=Decimal("-0.01"))]}, "items-0-cost_each", "from £0"),
        ({"items": [COVER._replace(cost_each=Decimal(10**9))]}, "items-0-cost_each", "£1,000,000"),
        ({"items": [COVER._replace(cost_each=Decimal("1.001"))]}, "items-0-cost_each", "whole pence"),
        ({"items": [COVER._replace(cost_each=Decimal(900_000))]}, "items-0-cost_each", "more than £1,000,000"),
        ({"items": [COVER._replace(markup_percent=Decimal(1001))]}, "items-0-markup_percent", "from 0 to 1000"),
        ({"items": [COVER._replace(kind="fixed", markup_percent=Decimal(5))]}, "items-0-markup_percent", "no mark-up"),
        ({"items": [COVER] * 201}, None, "At most 200 items"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(office, now, given, field, sentence) -> None:
    make_terms()
    remedial = to_price()
    with recorded() as told, pytest.raises(Refused, match=sentence) as refused:
        price(remedial, office, now, **given)
    assert (refused.value.field, told, Costing.objects.count(), remedial.items.count()) == (field, [], 0, 0)


def test_before_rates_are_entered_time_has_no_price(office, now) -> None:
    remedial = to_price()
    with pytest.raises(Refused, match="before the firm's rates are entered"):
        price(remedial, office, now)
    with pytest.raises(Refused, match="mark-up is not set yet") as refused:
        price(remedial, office, now, minutes=None, items=[COVER])
    assert refused.value.field == "items-0-markup_percent"
    fixed = Take("Skip", kind="fixed", cost_each=Decimal("80.00"))
    assert price(remedial, office, now, minutes=None, items=[fixed]).price == Decimal("80.00")


def test_a_skill_without_a_rate_is_named(office, now) -> None:
    make_terms(rates=[("tester", "40.00", "75.00")])
    with pytest.raises(Refused, match="No rate is set for “joiner”"):
        price(to_price(), office, now, skill="joiner")


def test_only_the_office_prices_and_only_what_is_not_done(office, engineer, now) -> None:
    make_terms()
    with pytest.raises(NotAllowed):
        price(to_price(), engineer, now)
    for stage in ("to-price", "quoted", "approved", "booked"):
        assert price(on_the_way("C3", stage=stage), office, now).price == Decimal("90.00")
    for stage in ("done", "reviewed", "declined", "cancelled", "by-others"):
        with pytest.raises(Refused, match="not changed any more"):
            price(on_the_way("C3", stage=stage), office, now)


def test_fill_from_job_multiplies_and_asks_for_its_retests(office, now) -> None:
    make_terms()
    site = make_site()
    board = make_board(site)
    plain, with_rcd = make_circuit(board), make_circuit(board, rcd_ma=30)
    observations = [make_observation(site, board=board, circuit=one) for one in (plain, with_rcd)]
    remedial = make_remedial(*observations)
    RequiredReading.objects.create(
        remedial=remedial, circuit=plain, quantity="loop-impedance", limit_entered=Decimal(1), limit_source="a source"
    )
    job = make_job(retests=["rcd"], certificate_kind="minor works certificate", minutes=20, crew=2)
    costing = fill_from_job(remedial, job=job, times=3, by=office, now=now)
    remedial = Remedial.objects.get(pk=remedial.pk)
    assert (remedial.minutes, remedial.crew, remedial.certificate_kind) == (60, 2, "minor works certificate")
    assert remedial.items.get().quantity == 3
    assert (costing.job, costing.plain, costing.price) == (job, job.plain, Decimal("127.20"))
    asked = {(row.circuit_id, row.quantity, row.limit_entered) for row in remedial.required_readings.all()}
    assert asked == {
        (plain.pk, "loop-impedance", Decimal(1)),
        (plain.pk, "functional-check", None),
        (with_rcd.pk, "loop-impedance", None),
        (with_rcd.pk, "rcd-time", None),
        (with_rcd.pk, "functional-check", None),
    }
    with recorded() as told:
        fill_from_job(remedial, job=job, times=3, by=office, now=now)
    assert told == []


def test_fill_several_is_all_or_none(office, now) -> None:
    make_terms()
    one, done = to_price(), on_the_way("C3", stage="done")
    job = make_job()
    with pytest.raises(Refused):
        fill_several([one, done], job=job, times={}, by=office, now=now)
    assert Costing.objects.count() == 0
    two = to_price()
    costings = fill_several([one, two], job=job, times={two.pk: 4}, by=office, now=now)
    assert sorted(c.price for c in costings) == [Decimal("32.40"), Decimal("129.60")]


def test_a_retired_job_fills_nothing(office, now) -> None:
    make_terms()
    with pytest.raises(Refused, match="is retired"):
        fill_from_job(to_price(), job=make_job(retired_at=now), by=office, now=now)
