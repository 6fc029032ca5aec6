"""How the electricity gets here, in a customer's words: nothing of the trade's, and nothing of anybody else's."""

import re
from html import unescape

import pytest
import time_machine

from jobsite.firm.models import Firm
from tests.factories import (
    NOON,
    make_board,
    make_circuit,
    make_feed,
    make_inspection,
    make_link,
    make_observation,
    make_second_source,
    make_unit,
    supply_of,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")
        yield


def body_of(client, site, more: str = "", **link) -> str:
    _, token = make_link(site, **link)
    answer = client.get(f"/s/{token}/{more}")
    assert answer.status_code == 200
    return answer.content.decode()


def listed(body: str) -> str:
    """The list's words, a level of it in brackets."""
    found = re.search(r'<ul class="supply-list">.*?</ul>(?=\n<p class="soft">From the record)', body, re.DOTALL)[0]
    words = found.replace("<ul>", " [").replace("</ul>", "]").replace("<li>", " ")
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", words))).strip(" ]")


def drawn(body: str) -> list[str]:
    """All words in the drawing."""
    svg = re.search(r'<svg class="drawing.*?</svg>', body, re.DOTALL)
    return re.findall(r"<text[^>]*>([^<]+)</text>", svg[0]) if svg else []


@pytest.fixture
def barn(site):
    """A main board, one behind it that is believed only and bears a wrong label, panels on it, a standby feed, items."""
    main = make_board(site, "Main board", place="under the stairs")
    barn = make_board(
        site, "Barn", fed=False, designation_verified=False, label_found="DB 7", place="by the door", phases=["L1"]
    )
    make_feed(barn, make_circuit(main, 4), verified=False)
    make_feed(barn, supply_of(site), kind="alternative", changeover="key is with Fred")
    make_second_source(barn, "Roof panels", rating_kw="4.2", isolate_supply_side="AC isolator in the loft")
    make_observation(site, "Cover missing", board=barn)
    make_observation(site, "Bare", code="C1", board=main, made_safe=False)
    make_observation(site, "Buzzing", code="", board=main)
    make_observation(site, "Long gone", board=main, ended="no-code", ended_on=NOON.date())
    return barn


def test_the_list_says_where_things_are_and_what_is_open_there(client, site, barn):
    assert listed(body_of(client, site)) == (
        "Intake; the supply comes in here [ Main board; under the stairs; open: C1 ×1, not coded ×1 [ "
        "“Barn”; name not verified; by the door; open: C2 ×1; fed from Main board, as we believe: not verified; "
        "can also be fed from Intake [ Roof panels; solar panels: their cables stay live in daylight"
    )


def test_the_drawing_says_the_same_and_explains_its_signs(client, site, barn):
    body = body_of(client, site)
    words = drawn(body)
    for said in ("Intake", "Main board", "under the stairs", "“Barn”", "C2 ×1", "C1 ×1", "Roof panels"):
        assert said in words
    for sign in (
        "Dashed line: believed, and not verified yet.",
        "Name in quotes: not verified.",
        "Open contact on a line: a second way in which a board can be fed.",
        "Double border: a source besides the mains.",
    ):
        assert sign in body
    assert "it is no guide to what to switch off" in body


def test_nothing_of_the_trade_and_nothing_that_opens_a_door(client, site, barn):
    supply = supply_of(site)
    supply.main_fuse_a, supply.ze_ohm, supply.earthing = 80, "0.21", "TN-S"
    supply.save()
    for more in ("", "?drawing"):
        body = body_of(client, site, more)
        for jargon in (
            "80 A",
            "TN-S",
            "0.21",
            "Ze",
            "way 4",
            "B32",
            "DB 7",
            "Fred",
            "4.2",
            "AC isolator",
            "/boards/",
            "L1",
        ):
            assert jargon not in body


def test_a_large_supply_is_drawn_on_a_page_of_its_own(client, site):
    for n in range(13):
        make_board(site, f"Board {n}")
    body = body_of(client, site)
    assert drawn(body) == []
    assert '<a href="?drawing">See it as a drawing</a>' in body
    assert "Board 12" in listed(body)
    assert {f"Board {n}" for n in range(13)} <= set(drawn(body_of(client, site, "?drawing")))


def test_without_a_board_there_is_no_drawing(client, site):
    assert "How the electricity gets here" not in body_of(client, site)
    _, token = make_link(site)
    assert client.get(f"/s/{token}/?drawing").status_code == 404


# --- a unit of several ------------------------------------------------------------------------------------------------


@pytest.fixture
def flats(site):
    """Two flats, each with a board of its own behind the landlord's."""
    first, second, common = (
        make_unit(site, "Flat 1"),
        make_unit(site, "Flat 2"),
        make_unit(site, "Stairs", common_parts=True),
    )
    site.units.filter(whole_site=True).delete()
    landlords = make_board(site, "Landlord's board", place="in the hall")
    landlords.units.add(common)
    boards = []
    for n, flat in enumerate((first, second), 1):
        board = make_board(site, f"Board of Flat {n}", fed=False, place=f"cupboard {n}")
        make_feed(board, make_circuit(landlords, n))
        board.units.add(flat)
        make_observation(site, f"Cover missing in flat {n}", board=board, unit=flat)
        boards.append(board)
    make_observation(site, "Stair light", code="C1", board=landlords, unit=common)
    make_second_source(boards[1], "Neighbour's battery", kind="battery")
    return first, second, boards


def test_of_a_unit_only_what_serves_it(client, site, flats):
    first, _, _ = flats
    body = body_of(client, site, unit=first)
    assert listed(body) == (
        "Intake; the supply comes in here [ Landlord's board; in the hall [ Board of Flat 1; cupboard 1; open: C2 ×1"
    )
    assert "Flat 2" not in body
    assert "cupboard 2" not in body
    assert "Neighbour" not in body
    assert "C1" not in body


def test_a_board_of_somebody_else_on_the_way_is_not_named(client, site, flats):
    first, _, (_, others) = flats
    behind = make_board(site, "Sockets", fed=False)
    make_feed(behind, make_circuit(others, 9))
    behind.units.add(first)
    for more in ("", "?drawing"):
        body = body_of(client, site, more, unit=first)
        assert "a board in another part of the building" in listed(body)
        assert "Sockets" in listed(body)
        for private in ("Flat 2", "cupboard 2", "Neighbour"):
            assert private not in body


def test_a_unit_that_no_board_is_known_to_serve_has_no_drawing(client, site, flats):
    third = make_unit(site, "Flat 3")
    make_inspection(site, units=[third])
    assert "How the electricity gets here" not in body_of(client, site, unit=third)


def test_the_whole_site_says_which_units_a_board_serves(client, site, flats):
    said = listed(body_of(client, site))
    assert "Board of Flat 1; cupboard 1; serves Flat 1; open: C2 ×1" in said
    assert "Landlord's board; in the hall; serves Stairs; open: C1 ×1" in said
