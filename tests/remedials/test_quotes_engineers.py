"""Engineers see what to bring and never what it costs, what is charged or what is left: no page of theirs says it."""

from decimal import Decimal

import pytest
from django.urls import reverse

from remedials.quotes.operations.pricing import price_remedial
from remedials.works.operations import Take
from tests import factories as make
from tests.faults.world import all_routes, everything
from tests.jobsite.papers import words_of
from tests.remedials.desk import text_of

# Sums that nothing else on a page could be: cost each, price set by hand, rates, mark-up, call-out.
EACH, ASKED, HOUR_COST, HOUR, CALL_OUT, CALL_OUT_COST, MARKUP = map(
    Decimal, ("4711.13", "86753.09", "311.17", "977.43", "613.37", "217.19", "43.21")
)
ITEM = Take("Unmistakable cover", quantity=Decimal(3), unit="m", cost_each=EACH, supplier="Shop", reference="XQ-77")
WHY = "Agreed at 86753.09 by telephone"


@pytest.fixture
def priced(office, now):
    """A world in which the remedial of every address is priced: the sums that may not be told."""
    rows = everything(office)
    make.make_terms(
        rates=[("", HOUR_COST, HOUR)], call_out=CALL_OUT, call_out_cost=CALL_OUT_COST, markup_percent=MARKUP
    )
    from remedials.works.models import Remedial

    sums = {EACH, ASKED, HOUR_COST, HOUR, CALL_OUT, CALL_OUT_COST, MARKUP}
    for remedial in Remedial.objects.filter(stage__in=["to-price", "quoted", "approved", "booked"]):
        costing = price_remedial(
            remedial, minutes=90, crew=1, skill="", items=[ITEM], treatment="standard", plain="A cover.", call_out=True,
            set_price=ASKED, set_why=WHY, by=office, now=now,
        )  # fmt: skip
        sums |= {costing.cost, costing.worked_out, costing.price - costing.cost}
    return rows, {form for amount in sums for form in (f"{amount:.2f}", f"{amount:,.2f}")} | {WHY}


def _words(response) -> str:
    """What the answer says: of a document its words on all pages, else its text."""
    if response["Content-Type"] == "application/pdf" and response.content.startswith(b"%PDF-1.7\n%"):
        return words_of(response.content)
    return response.content.decode(errors="replace")


@pytest.mark.usefixtures("at_noon")
def test_no_page_of_an_engineer_tells_a_sum(client, engineer, office, priced) -> None:
    rows, sums = priced
    told, seen = {}, set()
    for who in (engineer, office):
        client.force_login(who)
        for route in all_routes(rows, "A" * 43):
            if getattr(route.view, "needs", "private-link") == "private-link":
                continue
            name, response = route.where, client.get(route.path)
            if response.status_code != 200 or response.streaming:
                continue
            body = _words(response)
            if found := sorted(one for one in sums if one in body):
                told.setdefault(who, {})[name] = found
            seen.add((who, name))
    assert told.get(engineer, {}) == {}
    remedial, site = "remedials/<uuid:pk>/", "sites/<uuid:pk>/"
    looked_at = {name for who, name in seen if who == engineer}
    visit = "visits/<uuid:pk>/"
    assert {visit, f"{visit}bring/", f"{visit}job-sheet/", "my-day/bring/", "remedials/parts/"} <= looked_at
    assert {remedial, f"{remedial}close/", site, f"{site}history/", f"api/v1/{remedial}"} <= looked_at
    assert {remedial, f"{remedial}price/"} <= set(told[office])  # the sums would be found where they are told


@pytest.mark.usefixtures("at_noon")
def test_an_engineer_sees_what_to_bring(client, engineer, priced) -> None:
    rows, _ = priced
    client.force_login(engineer)
    for name in ("desk:remedial", "works:close"):
        shown = text_of(client.get(reverse(name, args=[rows["remedials"]])))
        assert "3 m × Unmistakable cover" in shown
        assert "Shop, XQ-77" in shown
