"""The list of sites: what it says, how it is narrowed and sorted, what it costs, and as a file."""

import csv
import io
from datetime import date

import pytest
import time_machine

from inspections.models import InspectionDue
from tests.factories import NOON, TODAY, grant_access, make_observation, make_party, make_site, unit_of
from tests.remedials.desk import hrefs, read, statements, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


def due(site, on: date):
    return InspectionDue.objects.create(unit=unit_of(site), due_on=on, basis="as recommended", shows_from=on)


def names(client, **query) -> list[str]:
    found = list(csv.reader(io.StringIO(client.get("/sites/", {"as": "csv", **query}).content.decode("utf-8-sig"))))
    return [row[1] for row in found[1:]]


def test_a_row_says_where_whose_what_is_open_and_what_is_next(at_desk, office):
    site = make_site("Mill Cottage", customer=make_party("Petra Landlady"), postcode="QX1 2AB")
    for code in ("C2", "C2", "C1", ""):
        make_observation(site, code=code, by=office)
    make_observation(site, code="C3", ended="remedied", ended_on=TODAY, by=office)
    make_observation(site, code="C3", draft=True, by=office)
    due(site, date(2026, 1, 30))
    response = at_desk.get("/sites/")
    row = f"{site.number} Mill Cottage 1 Sample Street, Sampleton, QX1 2AB Petra Landlady C1 1 C2 2 not coded 1 Fri 30 Jan 4 days late"
    assert row in text_of(response)
    assert f"/sites/{site.pk}/" in hrefs(response)


def test_names_sort_as_people_expect(at_desk):
    for name in ("10 High Street", "9 High Street", "élan House", "Zebra House", "Elder House"):
        make_site(name)
    assert names(at_desk) == ["9 High Street", "10 High Street", "élan House", "Elder House", "Zebra House"]


def test_sorted_by_number_customer_and_next_inspection(at_desk):
    one = make_site("One", customer=make_party("Zoe"))
    two = make_site("Two", customer=make_party("Ann"))
    due(one, date(2026, 5, 1))
    due(two, date(2026, 6, 1))
    assert names(at_desk, sort="number") == ["Two", "One"]
    assert names(at_desk, sort="customer") == ["Two", "One"]
    assert names(at_desk, sort="inspection") == ["One", "Two"]
    assert names(at_desk, sort="nonsense") == ["One", "Two"]


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"q": "mill"}, ["Mill Cottage"]),
        ({"q": "harbour lane"}, ["Boat House"]),
        ({"q": "petra"}, ["Boat House", "Mill Cottage"]),
        ({"q": "qx9"}, ["Boat House"]),
        ({"q": "petra nowhere"}, []),
        ({"standing": "danger"}, ["Boat House"]),
        ({"standing": "inspection"}, ["Mill Cottage"]),
        ({"standing": "archived"}, ["Old Barn"]),
    ],
)
def test_narrowed_by_words_and_standing(at_desk, office, query, found):
    petra = make_party("Petra")
    mill = make_site("Mill Cottage", customer=petra)
    boat = make_site("Boat House", customer=petra, address="Harbour Lane", postcode="QX9 1ZZ")
    make_site("Old Barn", customer=make_party("Ann"), archived_at=NOON)
    make_observation(boat, code="C2", by=office)
    make_observation(mill, code="C3", by=office)
    due(mill, date(2026, 2, 2))
    due(boat, TODAY)
    assert names(at_desk, **query) == found


def test_found_by_its_number(at_desk):
    make_site("One")
    two = make_site("Two")
    assert names(at_desk, q=str(two.number)) == ["Two"]
    assert names(at_desk, q="99999999999999999999") == []


def test_pages_by_the_last_row_seen(at_desk):
    for n in range(51):
        make_site(f"House {n}")
    response = at_desk.get("/sites/")
    assert "House 49" in text_of(response)
    assert "House 50" not in text_of(response)
    (onward,) = [href for href in hrefs(response) if "after=" in href]
    words = text_of(at_desk.get(onward))
    assert "House 50" in words
    assert "House 49" not in words


@pytest.mark.parametrize("sort", ["name", "number", "customer", "inspection"])
def test_every_order_pages_without_loss(at_desk, sort):
    for n in range(60):
        make_site(f"House {n}", customer=make_party(f"Customer {n % 3}"))
    seen, address = [], f"/sites/?sort={sort}"
    while address:
        response = at_desk.get(address)
        seen += [row["name"] for row in response.context["rows"]]
        address = response.context["pager"]["next"]
    assert sorted(seen) == sorted(f"House {n}" for n in range(60))


def test_the_file_has_a_column_for_each_code(at_desk, office):
    site = make_site("Mill Cottage")
    make_observation(site, code="C2", by=office)
    due(site, date(2027, 3, 1))
    rows = list(csv.reader(io.StringIO(at_desk.get("/sites/", {"as": "csv"}).content.decode("utf-8-sig"))))
    assert rows == [
        ["Number", "Site", "Address", "Customer", "C1", "C2", "FI", "C3", "Not coded", "Next inspection"],
        [str(site.number), "Mill Cottage", "1 Sample Street, Sampleton, QX1 2AB", "Petra Landlady", "0", "1", "0", "0", "0", "2027-03-01"],
    ]  # fmt: skip


def test_a_subcontractor_sees_own_sites(client, subcontractor):
    make_site("Elsewhere")
    grant_access(make_site("Here"), subcontractor)
    client.force_login(subcontractor)
    assert names(client) == ["Here"]


def test_an_empty_list_says_what_to_do_first(at_desk):
    assert "There is no site yet. Open a site" in read(at_desk, "/sites/")
    assert "No site fits this." in read(at_desk, "/sites/", q="nowhere")


@pytest.mark.parametrize("size", [1, 10, 100])
def test_the_page_costs_five_statements_at_any_size(at_desk, office, size):
    """Session, person, when the reminders ran, the sites, what is open at those shown."""
    for n in range(size):
        make_observation(make_site(f"House {n}"), by=office)
    with statements() as sql:
        at_desk.get("/sites/")
    assert len(sql) == 5
