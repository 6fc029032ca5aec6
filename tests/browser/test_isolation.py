"""Asking what should go dead, on a phone, at a desk and on paper: by the form and by the drawing, axe content with each."""

import os
from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests import factories as make

PICTURES = os.environ.get("WALK_PICTURES")


@pytest.fixture
def yard():
    """A yard with a hoist and a chandlery that share a neutral, solar panels, and a pontoon of believed feed."""
    site = make.make_site("Yard", phases=("L1", "L2", "L3"), earthing="TN-S", main_fuse_a=100)
    intake = make.make_board(site, "Main intake", main_switch="100 A, 4-pole", main_switch_kind="all")
    names = ("Workshop", "Slip hoist", "Chandlery", "Pontoon A", "Pontoon B")
    boards = {name: make.make_board(site, name, phases=("L2",), fed=False, main_switch_kind="all") for name in names}
    for name in names[:3]:
        make.make_feed(boards[name], make.make_circuit(intake, phase="L2", designation=name, poles=1))
    for name in names[3:]:
        way = make.make_circuit(boards["Slip hoist"], designation=name)
        make.make_feed(boards[name], way, verified=name == "Pontoon A")
    make.make_feed(boards["Pontoon B"], make.make_circuit(boards["Chandlery"]), kind="alternative")
    lights = make.make_circuit(boards["Slip hoist"], designation="Slip lighting")
    make.make_link_of_circuits(lights, make.make_circuit(boards["Chandlery"], designation="Yard lights"))
    solar = make.make_circuit(boards["Workshop"], designation="Solar inverter")
    where = {"isolate_supply_side": "rotary isolator beside the board", "isolate_source_side": "DC isolator"}
    make.make_second_source(boards["Workshop"], "Solar panels", circuit=solar, wait_minutes=15, **where)
    make.make_circuit(boards["Pontoon A"], designation="Pump", must_not_lose_power="bilge alarm")
    return site


def keep(page, name: str) -> None:
    """A picture to look at, where a folder for them is named."""
    if PICTURES:
        page.screenshot(path=Path(PICTURES, f"{name}.png"), full_page=True, caret="initial")


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "light"), (1280, "dark")])
def test_asking_by_form_and_by_drawing(page_for, engineer, axe, yard, width, scheme):
    page = page_for(engineer, width=width, color_scheme=scheme)
    page.goto(reverse("premises:isolation", args=[yard.pk]))
    page.get_by_label("Board", exact=True).select_option("Slip hoist")
    page.get_by_label("Work", exact=True).select_option("inside the board")
    page.get_by_role("button", name="Show what should go dead").click()
    expect(page.get_by_role("heading", name="Work inside Slip hoist")).to_be_visible()
    expect(page.locator(".drawing .hatched")).to_have_count(3)
    expect(page.locator(".drawing text.live").first).to_be_attached()
    axe(page)
    keep(page, f"isolation-{width}-{scheme}")
    assert page.evaluate("() => document.documentElement.scrollWidth") == width
    page.locator(".drawing a", has_text="Workshop").first.click()
    expect(page.get_by_role("heading", name="Work inside Workshop")).to_be_visible()
    expect(page.get_by_text("the direct-current side is live in daylight").first).to_be_visible()
    keep(page, f"isolation-solar-{width}-{scheme}")


def test_on_paper_the_answer_stands_without_the_form(page_for, engineer, yard):
    page = page_for(engineer)
    board = yard.boards.get(designation="Main intake")
    page.goto(f"{reverse('premises:isolation', args=[yard.pk])}?inside={board.pk}")
    page.emulate_media(media="print")
    assert page.get_by_text("No isolation point here: network or meter operator.").is_visible()
    assert page.get_by_text("prove dead at the point of work").is_visible()
    assert not page.get_by_role("button", name="Show what should go dead").is_visible()
    keep(page, "isolation-paper")


def test_the_pages_of_a_board_and_a_remedial_lead_to_it(page_for, engineer, axe, yard):
    page = page_for(engineer, width=390)
    board = yard.boards.get(designation="Pontoon B")
    remedial = make.make_remedial(make.make_observation(yard, "no cover", board=board))
    for where in (reverse("premises:board", args=[board.pk]), reverse("desk:remedial", args=[remedial.pk])):
        page.goto(where)
        axe(page)
        keep(page, f"isolation-from-{where.split('/')[1]}")
        page.get_by_role("link", name="What should go dead").click()
        expect(page.get_by_role("heading", name="Work inside Pontoon B")).to_be_visible()
