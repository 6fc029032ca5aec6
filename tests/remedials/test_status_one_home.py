"""A report on several homes, read behind the link of one of them: its free words may tell of a neighbour."""

from html import unescape

import pytest

from inspections.models import Limitation
from tests import factories as make
from tests.factories import NOON

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
EXTENT = "Flats 1 and 2; Mrs Brown of Flat 2 refused the bedroom"


@pytest.fixture
def house(engineer):
    """Two flats, and one report on both that left something out without laying it to either."""
    site = make.make_site("The House")
    flats = [make.make_unit(site, name) for name in ("Flat 1", "Flat 2")]
    site.units.exclude(pk__in=[flat.pk for flat in flats]).delete()
    report = make.make_inspection(site, by=engineer, units=flats, extent=EXTENT)
    Limitation.objects.create(inspection=report, what="no access to Flat 2, Mrs Brown is in hospital", why="nobody in")
    Limitation.objects.create(inspection=report, what="the loft hatch", why="stuck", unit=flats[0])
    return site, flats


def read(client, address: str) -> str:
    return unescape(client.get(address).content.decode())


def test_one_home_reads_that_something_was_left_out_and_no_word_of_a_neighbour(client, house):
    site, (flat, _) = house
    _, token = make.make_link(site, unit=flat)
    for page in ("", "?reports"):
        said = read(client, f"/s/{token}/{page}")
        assert "Brown" not in said
    said = read(client, f"/s/{token}/")
    assert "the loft hatch" in said
    assert "a part of the building that the report does not lay to one home" in said
    assert "what it was to cover stands in the report itself" in said


def test_the_list_of_an_owner_of_one_home_says_no_more(client, house):
    _, (flat, _) = house
    owner = make.make_party("Olga Owner")
    flat.parties.create(party=owner, role="owner", since=NOON.date())
    _, token = make.make_portfolio_link(owner)
    said = read(client, f"/p/{token}/")
    assert "Flat 1" in said
    assert "Brown" not in said


def test_whoever_has_the_whole_site_reads_it_all(client, house):
    site, _ = house
    _, token = make.make_link(site)
    said = read(client, f"/s/{token}/")
    assert EXTENT in said
    assert "Mrs Brown is in hospital" in said
