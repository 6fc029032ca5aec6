"""Entering a site from nothing, at the desk and in front of the board, by people of the firm."""

import os

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests import factories as make

SHOTS = os.environ.get("SHOTS", "")  # a folder to keep pictures of each page in, for whoever looks at them


def look(page, axe, name: str) -> None:
    """No complaint of axe, nothing wider than the window."""
    axe(page)
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/{name}-{page.viewport_size['width']}.png", full_page=True, caret="initial")
    width = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    assert width[0] <= width[1], page.url


def test_enter_a_site_with_its_boards(page_for, office, axe):
    page = page_for("office")
    page.goto(reverse("premises:site_new"))
    look(page, axe, "site-new")
    page.get_by_label("Name of the site").fill("Kiln Row")
    page.get_by_role("textbox", name="Address", exact=False).first.fill("3 Kiln Row\nSampleton")
    page.get_by_label("Phases").select_option("three-phase")
    page.get_by_role("button", name="Open site").click()
    expect(page.get_by_role("alert").get_by_text("Choose the customer")).to_be_visible()
    look(page, axe, "site-new-refused")
    page.get_by_label("Or a new customer: name").fill("Ada Invented")
    page.get_by_label("Nation").select_option("Wales")
    page.get_by_label("Kind of premises").select_option("house or flat")
    page.get_by_label("Lived in or let").select_option("owner-occupied")
    page.get_by_role("button", name="Open site").click()
    page.get_by_role("heading", name="Kiln Row: what is there").wait_for()
    look(page, axe, "premises-empty")
    page.get_by_role("link", name="Add a board").click()
    look(page, axe, "board-new")
    page.get_by_label("Designation needed").fill("Intake board")
    page.get_by_label("How the feed was verified").select_option("traced")
    page.keyboard.press("Control+Enter")
    page.get_by_role("heading", name="“Intake board”").wait_for()
    for label in ("Kiln 1", "Kiln 2"):
        page.get_by_label("Label found").fill(label)
        page.get_by_label("Device type").fill("C")
        page.get_by_label("Rating in A").fill("32 A")
        page.get_by_label("Rating in A").press("Enter")
        page.get_by_role("cell", name=f"“{label}”").wait_for()
    look(page, axe, "board")


@pytest.fixture
def yard(db):
    """A site in parts, with everything that a page can show."""
    site = make.make_site("Sample Yard", phases=("L1", "L2", "L3"), earthing="TN-C-S", main_fuse_a=100)
    make.make_unit(site, "Slip 2")
    site.units.update(whole_site=False)
    make.unit_of(site).parties.create(party=site.customer, role="owner", since=make.TODAY)
    intake = make.make_board(site, "Intake board", label_found="MAIN", place="Under the stairs")
    shed = make.make_board(site, "Shed", phases=("L2",), fed=False, designation_verified=False)
    way = make.make_circuit(intake, 1, phase="L2", arrangement="distribution")
    make.make_feed(shed, way, verified=False)
    make.make_circuit(intake, 2, rcd_kind="A", rcd_ma=30, line_mm2="2.5", cpc_mm2="1.5", must_not_lose_power="freezer")
    make.make_circuit(intake, 3, spare=True, designation="", label_found="")
    make.make_link_of_circuits(way, make.make_circuit(shed, 1))
    make.make_second_source(shed, isolate_source_side="loft", wait_minutes=5)
    return site


PAGES = [
    ("premises", "site"),
    ("site_edit", "site"),
    ("unit_new", "site"),
    ("role_new", "unit"),
    ("supply_edit", "supply"),
    ("board", "intake"),
    ("board", "shed"),
    ("board_edit", "shed"),
    ("feed_edit", "feed"),
    ("circuit_edit", "circuit"),
    ("link_new", "circuit"),
    ("source_edit", "source"),
    ("party", "party"),
    ("links", "site"),
    ("link_make", "site"),
    ("parties", ""),
]


@pytest.mark.parametrize("width", [1280, 390])
def test_every_page_of_premises(page_for, axe, yard, width):
    shed, intake = yard.boards.get(designation="Shed"), yard.boards.get(designation="Intake board")
    rows = {"site": yard, "unit": make.unit_of(yard), "supply": make.supply_of(yard), "shed": shed, "intake": intake}
    rows |= {"feed": shed.feeds.get(), "circuit": shed.circuits.get(), "source": shed.second_sources.get()}
    rows |= {"party": yard.customer}
    make.make_link(yard)
    page = page_for("office", width=width, height=844)
    for name, kind in PAGES:
        page.goto(reverse(f"premises:{name}", args=[rows[kind].pk] if kind else []))
        look(page, axe, f"{name}-{kind}")


@pytest.mark.parametrize("width", [1280, 390])
def test_every_page_of_people_and_messages(page_for, axe, qualified, manager, width):
    from jobsite.messages.models import Message

    usual = {"to_kind": "staff", "to_id": manager.pk, "address": "m@example.com", "body": "Words.", "danger": True}
    times = {"written_at": make.NOON, "next_try_at": make.NOON, "settled_at": make.NOON}
    message = Message.objects.create(
        occasion="x", subject="C1 open", state="unknown", error="It broke.", **usual, **times
    )
    instrument = make.make_instrument(check_due=None)
    page = page_for("manager", width=width, height=844)
    addresses = {
        "people": reverse("people:people"),
        "person": reverse("people:person", args=[qualified.pk]),
        "person-edit": reverse("people:person_edit", args=[qualified.pk]),
        "competence": reverse("people:competence_new", args=[qualified.pk]),
        "instruments": reverse("people:instruments"),
        "check": reverse("people:instrument_check", args=[instrument.pk]),
        "firm": reverse("people:firm"),
        "policy": reverse("people:policy_new"),
        "messages": reverse("messages:messages"),
        "message": reverse("messages:message", args=[message.pk]),
        "invite": reverse("people:invite"),
    }
    for name, address in addresses.items():
        page.goto(address)
        look(page, axe, name)
    page.get_by_label("Name").fill("Una Newcomer")
    page.get_by_label("E-mail").fill("una@example.com")
    page.get_by_label("office:", exact=False).check()
    page.get_by_role("button", name="Invite").click()
    page.get_by_role("heading", name="Una Newcomer is invited").wait_for()
    look(page, axe, "invited")
