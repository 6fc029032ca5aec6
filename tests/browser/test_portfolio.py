"""All units of a customer on a phone, on a desk and on paper: readable, without a complaint of axe, a script or a cookie."""

from datetime import timedelta

import pytest
from openpyxl import load_workbook
from playwright.sync_api import expect
from pypdf import PdfReader

from inspections.models import InspectionDue, MadeSafe
from jobsite import clock
from jobsite.firm.models import Firm
from tests.browser.conftest import look
from tests.factories import (
    anybody,
    make_attempt,
    make_board,
    make_inspection,
    make_observation,
    make_party,
    make_portfolio_link,
    make_remedial,
    make_site,
    make_unit,
    unit_of,
)


@pytest.fixture
def agent(transactional_db):
    """An agent with a unit of every kind: a block of twelve flats, a house, a workshop that nobody has inspected."""
    now = clock.now()
    today = clock.local_day(now)
    Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")
    party = make_party("Tern & Plover Lettings", organisation=True)
    block = make_site("Mill Court", customer=party)
    block.units.filter(whole_site=True).delete()
    flats = [make_unit(block, f"Flat {n}") for n in range(1, 13)]
    make_inspection(block, units=flats, outcome="satisfactory", inspected_on=today - timedelta(days=200))
    for flat in flats[3:]:
        due = today + timedelta(days=1600)
        InspectionDue.objects.create(unit=flat, due_on=due, basis="A sample rule.", shows_from=due)
    InspectionDue.objects.create(unit=flats[0], due_on=today - timedelta(days=20), basis="A rule.", shows_from=today)
    board = make_board(block, "Riser board")
    make_observation(block, "Cover missing over live parts", unit=flats[6], code="C1", board=board, remedy_by=today)
    held = make_observation(block, "Bare conductor", unit=flats[1], code="C1", made_safe=True)
    MadeSafe.objects.create(
        observation=held, how="covered", what="tape", agreed_with="P", at=now, by=anybody(), look_again_on=today
    )
    late = make_observation(block, "Cracked socket", unit=flats[2], code="C2", remedy_by=today - timedelta(days=70))
    make_remedial(late, stage="quoted", unit=flats[2])
    make_observation(block, "No labels", unit=flats[2], code="C3")
    make_observation(block, "No earth found at the light", unit=flats[8], code="FI")
    make_observation(block, "Buzzing box", unit=flats[9], code="")
    for days in (30, 12):
        make_attempt(block, unit=flats[10], at=now - timedelta(days=days))
    make_site("The old workshop", customer=party)
    make_inspection(make_site("3 Lantern Row", customer=party), inspected_on=today - timedelta(days=20))
    return party


@pytest.fixture
def at(agent):
    now = clock.now()
    return f"/p/{make_portfolio_link(agent, made_at=now, expires_at=now + timedelta(days=30))[1]}/"


def names(page) -> list[str]:
    return page.locator("tbody th a").all_inner_texts()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_the_list_and_the_summary_are_readable(page_for, at, axe, scheme, width):
    page = page_for(None, width=width, color_scheme=scheme)
    for path, lines in (("", 14), ("summary/", 0)):
        page.goto(f"{at}{path}")
        axe(page)
        look(page, f"portfolio-{path.strip('/') or 'list'}-{width}-{scheme}")
        assert len(names(page)) == lines
        assert page.evaluate("document.documentElement.scrollWidth") == width
        assert page.locator("script").count() == 0
    assert page.context.cookies() == []


def test_on_paper_the_list_has_its_heads_and_nothing_to_press(page_for, at, axe):
    page = page_for(None, width=1280)
    for path in ("", "summary/"):
        page.goto(f"{at}{path}")
        page.emulate_media(media="print")
        axe(page)
        look(page, f"portfolio-{path.strip('/') or 'list'}-print")
        expect(page.get_by_role("button", name="Show")).to_be_hidden()
        expect(page.get_by_role("link", name="In short")).to_be_hidden()
    page.goto(at)
    expect(page.get_by_role("columnheader", name="How it stands")).to_be_visible()


def test_a_person_finds_a_flat_narrows_and_takes_away_what_they_need(page_for, at, tmp_path):
    """Ten seconds on a phone: what is dangerous, then the flat itself, its attempts, the list and the board's page."""
    page = page_for(None, width=390)
    page.goto(at)
    assert names(page)[0] == "Flat 7, Mill Court"
    assert page.locator("p.say").inner_text().startswith("Danger now in 1 of 14 units: Flat 7, Mill Court.")
    page.get_by_text("Narrow the list").click()
    page.get_by_label("Getting in").select_option("shut-out")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_text("1 of 14 units fit")).to_be_visible()
    assert names(page) == ["Flat 11, Mill Court"]
    with page.expect_download() as taken:
        page.get_by_role("link", name="2 attempts on record").click()
    taken.value.save_as(tmp_path / "attempts.pdf")
    said = " ".join(sheet.extract_text() for sheet in PdfReader(tmp_path / "attempts.pdf").pages)
    assert "Flat 11, Mill Court" in " ".join(said.split())
    with page.expect_download() as taken:
        page.get_by_role("link", name="spreadsheet").click()
    taken.value.save_as(tmp_path / "list.xlsx")
    rows = list(load_workbook(tmp_path / "list.xlsx").active.iter_rows(values_only=True))
    assert [row[0] for row in rows] == ["Unit", "Flat 11, Mill Court"]
    page.get_by_role("link", name="Show all").click()
    expect(page.get_by_text("14 units, the most dangerous first")).to_be_visible()
    page.get_by_role("link", name="Flat 7, Mill Court").click()
    expect(page.get_by_role("heading", name="Flat 7, Mill Court")).to_be_visible()
    expect(page.get_by_text("Cover missing over live parts").first).to_be_visible()
    page.get_by_role("link", name="All units").first.click()
    page.get_by_role("link", name="In short, on one page").click()
    expect(page.get_by_role("heading", name="Tern & Plover Lettings: in short")).to_be_visible()
    with page.expect_download() as taken:
        page.get_by_role("link", name="This page as a PDF").click()
    taken.value.save_as(tmp_path / "summary.pdf")
    assert len(PdfReader(tmp_path / "summary.pdf").pages) == 1


def test_the_list_works_by_keyboard_and_is_read_as_a_table(page_for, at):
    page = page_for(None, width=1280)
    page.goto(at)
    row = page.get_by_role("row", name="Flat 7, Mill Court")
    expect(row.get_by_role("rowheader")).to_contain_text("Flat 7, Mill Court")
    page.locator("summary").focus()
    page.keyboard.press("Enter")
    page.get_by_label("Name or address holds").focus()
    page.keyboard.type("lantern")
    page.keyboard.press("Enter")
    expect(page.get_by_text("1 of 14 units fit")).to_be_visible()
    assert names(page) == ["3 Lantern Row"]


@pytest.mark.parametrize("width", [390, 1280])
def test_the_office_reads_the_same(page_for, agent, axe, width):
    page = page_for("office", width=width)
    page.goto(f"/customers/{agent.pk}/")
    page.get_by_role("link", name="How all units of Tern & Plover Lettings stand").click()
    expect(page.get_by_role("heading", name="Tern & Plover Lettings: all units")).to_be_visible()
    axe(page)
    look(page, f"portfolio-office-{width}")
    assert names(page)[0] == "Flat 7, Mill Court"
    assert page.evaluate("document.documentElement.scrollWidth") == width
    page.get_by_role("link", name="In short, on one page").click()
    expect(page.get_by_role("heading", name="Tern & Plover Lettings: in short")).to_be_visible()
    axe(page)
    assert unit_of(agent.sites.get(name="3 Lantern Row")).whole_site
