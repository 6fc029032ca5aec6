"""What a customer's page weighs over the wire: with its style at most 14 kB, whatever the site holds; pictures apart.

14 kB is what a server may send before the first answer of the other side: the initial window of ten segments of 1460 bytes
(RFC 6928, section 2). The size that is counted is that of RFC 1952's gzip, as the service sends it.
"""

import gzip
import re
from datetime import date
from pathlib import Path

import pytest
import time_machine

from inspections.models import InspectionDue, Limitation
from jobsite.firm.models import Firm
from tests.factories import NOON, TODAY, make_board, make_inspection, make_link, make_unit
from tests.remedials.customers import large_site

pytestmark = pytest.mark.django_db
SHEET = Path(__file__).parents[2] / "jobsite" / "static" / "jobsite" / "status.css"
MOST = 14_000


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")
        yield


def weight(response) -> int:
    return len(gzip.compress(response.content)) + len(gzip.compress(SHEET.read_bytes()))


def test_a_site_of_47_open_items_and_all_of_them_can_be_reached(client, site):
    _, token = make_link(large_site(site))
    page = client.get(f"/s/{token}/")
    assert weight(page) <= MOST
    shown, address = set(), ""
    for _ in range(9):
        body = client.get(f"/s/{token}/{address}").content.decode()
        shown |= set(re.findall(r'<li id="i(\d+)">', body.split('id="closed"')[0]))
        following = re.search(r'href="(\?open=\d+)">(?:The other|Next)', body)
        if following is None:
            break
        address = following[1]
    assert len(shown) == 47


@pytest.mark.parametrize("letters", [10, 90, 400, 5000])
def test_words_that_nothing_makes_smaller(client, site, letters):
    """As many items as the page takes, of letters by chance: hardly any of it repeats."""
    _, token = make_link(large_site(site, 30, 12, letters=letters))
    assert weight(client.get(f"/s/{token}/")) <= MOST


def test_a_house_of_sixty_flats_each_with_its_report(client, site):
    """Reports, what they did not cover, dates and boards stand on pages of their own where they are many."""
    for n in range(60):
        flat = make_unit(site, f"Flat {n}")
        make_board(site, f"Flat {n}", place=f"hall of flat {n}").units.add(flat)
        inspection = make_inspection(site, units=[flat], extent=f"Fixed wiring of flat {n}")
        Limitation.objects.create(inspection=inspection, unit=flat, what=f"Loft above flat {n}")
        InspectionDue.objects.create(unit=flat, due_on=date(2031, 2, 3), basis=f"For flat {n}.", shows_from=TODAY)
    _, token = make_link(large_site(site, 30, 12, boards=0))
    page = client.get(f"/s/{token}/")
    assert weight(page) <= MOST
    body = page.content.decode()
    assert '<a class="button" href="?reports">' in body
    assert body.count("Outcome, as it was on that day") == 8
    assert body.count("hall of flat") == 0
    assert client.get(f"/s/{token}/?reports").content.decode().count("Outcome, as it was on that day") == 61
    assert client.get(f"/s/{token}/?drawing").content.decode().count("; hall of flat") == 60
