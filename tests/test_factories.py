"""The makers of test data stand on the real constraints: each of them makes a row that the database takes."""

from decimal import Decimal

import pytest
from django.db import connection

from tests import factories as make


@pytest.mark.django_db
def test_what_the_factories_make_satisfies_the_database() -> None:
    site = make.make_site(phases=("L1", "L2", "L3"), kind="marina", tenure="not-a-home")
    intake = make.make_board(site, "Intake")
    way = make.make_circuit(intake, phase="3", arrangement="distribution")
    shed = make.make_board(site, "Shed", phases=("L2",), fed=False)
    make.make_feed(shed, way, verified=False)
    lights = make.make_circuit(shed)
    make.make_link_of_circuits(lights, way)
    make.make_second_source(shed)
    observation = make.make_observation(site, board=shed, circuit=lights, inspection=make.make_inspection(site))
    remedial = make.make_remedial(observation, stage="approved")
    make.make_item(remedial)
    costing = make.make_costing(remedial, terms=make.make_terms(), job=make.make_job())
    link, _token = make.make_link(site)
    connection.cursor().execute("SET CONSTRAINTS ALL IMMEDIATE")
    assert (lights.way, lights.phase, lights.way_name) == (1, "L2", "1L2")
    assert list(remedial.observations.all()) == [observation]
    assert (costing.price, costing.cost) == (Decimal("120.00"), Decimal("70.00"))
    assert link.site == site.pk


@pytest.mark.django_db
def test_a_sent_offer_of_the_factory_says_what_it_offers() -> None:
    make.make_terms()
    site = make.make_site()
    remedial = make.make_remedial(make.make_observation(site))
    offer = make.make_sent_offer(remedial, prices=[{"danger": "A finger can touch live parts.", "needs": []}])
    link, _token = make.make_quote_link(offer)
    connection.cursor().execute("SET CONSTRAINTS ALL IMMEDIATE")
    remedial.refresh_from_db()
    assert (remedial.stage, link.thing) == ("quoted", offer.quote_id)
    assert [(line["code"], line["price"], line["to_pay"]) for line in offer.said["lines"]] == [
        ("C2", "100.00", "120.00")
    ]
    assert offer.said["totals"]["to_pay"] == "120.00"
