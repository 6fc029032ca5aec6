"""Quotes in the API: who sees them, what they show, what may be asked for, what they cost."""

from decimal import Decimal

import pytest

from tests.factories import make_line, make_offer, make_party, make_site
from tests.remedials.desk import statements
from tests.remedials.quoted import answered, next_version, remedial_at, sent

pytestmark = pytest.mark.django_db
WHERE = "/api/v1/quotes/"


@pytest.fixture
def reader(client, office):
    client.force_login(office)
    return client


@pytest.fixture
def house():
    return make_site("Mill Cottage", customer=make_party("Petra Landlady"))


def numbers(client, **query) -> list[int]:
    answer = client.get(WHERE, query)
    assert answer.status_code == 200, answer.content
    return [row["number"] for row in answer.json()["results"]]


def test_a_quote_with_its_versions_lines_and_answers(reader, house):
    work = remedial_at(house)
    first = sent(work, remedial_at(house), prices=[{"price": Decimal("80.05"), "vat": Decimal("16.01")}, {}])
    one, two = first.lines.all()
    answered(first, yes=[one], order_number="PO 17")
    next_version(first, two)
    shown = reader.get(f"{WHERE}{first.quote_id}/").json()
    assert (shown["number"], shown["party"], shown["sites"]) == (
        first.quote.number, str(house.customer_id), [str(house.pk)],
    )  # fmt: skip
    assert [(o["number"], o["state"], o["net"], o["to_pay"]) for o in shown["offers"]] == [
        (1, "superseded", "180.05", "216.06"), (2, "sent", "100.00", "120.00"),
    ]  # fmt: skip
    line = shown["offers"][0]["lines"][0]
    assert (line["price"], line["rate"], line["vat"], line["remedials"]) == ("80.05", "20.00", "16.01", [str(work.pk)])
    assert [(a["says"], a["name"], a["how"], a["order_number"]) for a in line["answers"]] == [
        ("yes", "Petra Landlady", "phone", "PO 17")
    ]
    assert shown["offers"][0]["lines"][1]["answers"] == []
    assert "cost" not in line


def test_the_list_has_the_versions_without_their_lines(reader, house):
    sent(remedial_at(house))
    (row,) = reader.get(WHERE).json()["results"]
    assert "lines" not in row["offers"][0]
    assert row["offers"][0]["net"] == "100.00"


def test_only_those_who_see_prices(client, engineer, subcontractor, house):
    offer = sent(remedial_at(house))
    for user, status in ((engineer, 403), (subcontractor, 403)):
        client.force_login(user)
        assert client.get(WHERE).status_code == client.get(f"{WHERE}{offer.quote_id}/").status_code == status
    subcontractor.roles = ["office"]
    subcontractor.save()
    client.force_login(subcontractor)
    assert numbers(client) == []
    assert client.get(f"{WHERE}{offer.quote_id}/").status_code == 404


def test_filtered_by_customer_site_remedial_and_state(reader, house):
    other = make_site("Boat House", customer=make_party("Ann"))
    work = remedial_at(house)
    one, two, draft = sent(work).quote, sent(remedial_at(other)).quote, make_offer(remedial_at(other)).quote
    assert numbers(reader, party=house.customer_id) == [one.number]
    assert numbers(reader, site=other.pk) == [two.number, draft.number]
    assert numbers(reader, remedial=work.pk) == [one.number]
    assert numbers(reader, state="draft") == [draft.number]
    assert numbers(reader, state=["sent", "draft"]) == [one.number, two.number, draft.number]
    assert reader.get(WHERE, {"stat": "sent"}).status_code == 400


def test_a_quote_superseded_is_in_the_state_of_its_last_version(reader, house):
    offer = sent(remedial_at(house))
    next_version(offer, *offer.lines.all())
    assert numbers(reader, state="superseded") == []
    assert numbers(reader, state="sent") == [offer.quote.number]


def test_pages_by_key_lose_and_repeat_nothing(reader, house):
    made = [make_offer(remedial_at(house)).quote.number for _ in range(5)]
    address, seen = f"{WHERE}?page_size=2", []
    while address:
        answer = reader.get(address).json()
        seen += [row["number"] for row in answer["results"]]
        address = answer["next"]
    assert seen == made


@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_quotes_are_only_read(reader, method):
    assert getattr(reader, method)(WHERE, {}, content_type="application/json").status_code == 405


def test_the_schema_describes_them(reader):
    schema = reader.get("/api/v1/schema/").json()
    assert {"/api/v1/quotes/", "/api/v1/quotes/{id}/"} <= set(schema["paths"])
    line = schema["components"]["schemas"]["QuoteLineShown"]["properties"]
    assert {"key", "price", "vat", "answers"} <= set(line)


@pytest.mark.parametrize("size", [1, 12])
def test_a_list_costs_five_statements_and_one_quote_eight_at_any_size(reader, house, size):
    """Session, person, quotes, sites, versions; for one besides its lines, their remedials, their answers."""
    for _ in range(size):
        offer = sent(*[remedial_at(house) for _ in range(2)])
        answered(offer, yes=offer.lines.all()[:1])
        make_line(make_offer(remedial_at(house)), words="Besides", position=5)
    with statements() as listed:
        reader.get(WHERE)
    with statements() as one:
        reader.get(f"{WHERE}{offer.quote_id}/")
    assert (len(listed), len(one)) == (5, 8)
