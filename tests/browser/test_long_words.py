"""One word of three thousand letters: it breaks, and no page becomes wider than the phone it is read on."""

from datetime import timedelta

import pytest
from django.urls import reverse

from jobsite import clock
from jobsite.firm.models import Firm
from jobsite.ids import new_id
from tests import factories as make

LONG = "Wolfram" * 429


@pytest.fixture
def addresses(office):
    """The pages of a site on which everything that people can name is one long word."""
    now = clock.now()
    Firm.objects.create(name=LONG, phone="01632 960123")
    site = make.make_site(LONG, address=LONG, access_notes=LONG)
    make.make_unit(site, f"Flat {LONG}")
    board = make.make_board(site, LONG, place=LONG, label_found=LONG)
    circuit = make.make_circuit(board, 1, designation=LONG, label_found=LONG)
    board.second_sources.create(id=new_id(), site=site, name=LONG, kind="pv", phases=["L1"], isolate_supply_side=LONG)
    seen = make.make_observation(site, LONG, code="C1", board=board, circuit=circuit, place=LONG, owner=office)
    make.make_observation(site, f"{LONG} again", code="", place=LONG, owner=office)
    remedial = make.make_remedial(seen, work=LONG, owner=office)
    _, token = make.make_link(site, made_at=now, expires_at=now + timedelta(days=1))
    of = {"site": site.pk, "remedial": remedial.pk, "observation": seen.pk, "history": site.pk}
    found = {name: reverse(f"desk:{name}", args=[pk]) for name, pk in of.items()}
    found |= {name: reverse(f"desk:{name}") for name in ("due", "sites")}
    found |= {"premises": reverse("premises:premises", args=[site.pk])}
    return found | {"board": reverse("premises:board", args=[board.pk]), "status": f"/s/{token}/"}


PAGES = ["site", "remedial", "observation", "history", "due", "sites", "premises", "board", "status"]
# The outermost elements that stand out to the right, except in boxes that scroll by themselves.
TOO_WIDE = """() => [...document.querySelectorAll('main *, header *')].filter(one =>
    one.getBoundingClientRect().right > innerWidth + 1 && !one.closest('.scroll, .drawing, svg, .vh, [class*=scroll]')
).slice(0, 3).map(one => one.outerHTML.slice(0, 120))"""


@pytest.mark.parametrize("name", PAGES)
def test_a_long_word_makes_no_page_wider_than_the_phone(page_for, office, addresses, name):
    page = page_for(office, width=390)
    page.goto(addresses[name])
    assert page.get_by_text("WolframWolfram").count() > 0
    assert page.evaluate(TOO_WIDE) == []
    assert page.evaluate("document.documentElement.scrollWidth") == 390


@pytest.mark.parametrize("name", ["site", "remedial", "due", "board"])
def test_nor_wider_than_a_desk(page_for, office, addresses, name):
    page = page_for(office)
    page.goto(addresses[name])
    assert page.evaluate(TOO_WIDE) == []
    assert page.evaluate("document.documentElement.scrollWidth") == 1280
