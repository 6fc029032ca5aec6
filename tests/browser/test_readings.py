"""A board's readings typed through with the keyboard: judged at once, kept together, nothing lost."""

from decimal import Decimal

import pytest
from playwright.sync_api import expect

from inspections.models import Reading
from tests import factories as make
from tests.browser.conftest import session_cookie
from tests.browser.kept_pages import until_typed


@pytest.mark.parametrize("width", [1280, 390])
def test_type_through_a_board(page_for, axe, engineer, db, width) -> None:
    board = make.make_board(make.make_site("Kiln Cottage", earthing="TN-S"), "Hall")
    way = make.make_circuit(board, way=1, designation="Lights", rating_a=Decimal(6))
    make.make_instrument()
    page = page_for(engineer, width=width)
    page.goto(f"/boards/{board.pk}/readings/")
    axe(page)
    page.get_by_label("Way 1L1: insulation resistance in MΩ").fill("2.60")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")  # polarity is looked at, not read today
    page.keyboard.type("640")
    row = page.locator(f"#way-{way.pk}")
    page.keyboard.press("Tab")
    expect(row.get_by_text("did you mean 0.64 Ω?")).to_be_visible()
    expect(row.get_by_text("pass", exact=True)).to_be_visible()
    axe(page)
    zs = page.get_by_label("Way 1L1: earth fault loop impedance in Ω")
    zs.fill("0.64")
    zs.press("Control+Enter")
    expect(page.get_by_text("2 readings kept.")).to_be_visible()
    assert sorted(reading.words for reading in Reading.objects.all()) == ["0.64 Ω", "2.60 MΩ"]
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def type_resistance(page, value: str) -> None:
    page.get_by_label("Way 1L1: insulation resistance in MΩ").fill(value)


@pytest.mark.parametrize("width", [1280, 390])
def test_a_second_sheet_in_the_same_tab_is_one_of_its_own(page_for, engineer, db, width) -> None:
    """Saved, typed again, saved: two readings, and the second page begins empty."""
    board = make.make_board(make.make_site("Kiln Cottage", earthing="TN-S"), "Hall")
    make.make_circuit(board, way=1, designation="Lights", rating_a=Decimal(6))
    make.make_instrument()
    page = page_for(engineer, width=width)
    page.goto(f"/boards/{board.pk}/readings/")
    for value in ("2.60", "3.10"):
        expect(page.get_by_label("Way 1L1: insulation resistance in MΩ")).to_have_value("")
        type_resistance(page, value)
        page.get_by_role("button", name="Keep the readings").click()
        expect(page.locator(".said")).to_contain_text(f"{value} MΩ: pass")
    assert sorted(reading.words for reading in Reading.objects.all()) == ["2.60 MΩ", "3.10 MΩ"]


def test_on_a_shared_tab_nobody_sees_what_another_typed(page_for, engineer, qualified, live_server) -> None:
    """What one person typed waits on the device for that person alone."""
    board = make.make_board(make.make_site("Kiln Cottage", earthing="TN-S"), "Hall")
    make.make_circuit(board, way=1, designation="Lights", rating_a=Decimal(6))
    page = page_for(engineer)
    page.goto(f"/boards/{board.pk}/readings/")
    type_resistance(page, "2.60")
    expect(page.locator(".judged .code.ok")).to_be_visible()
    until_typed(page, "2.60")
    page.reload()  # of the same person it is still there
    field = page.get_by_label("Way 1L1: insulation resistance in MΩ")
    expect(field).to_have_value("2.60")
    page.context.add_cookies([session_cookie(qualified, live_server.url)])
    page.goto(f"/boards/{board.pk}/readings/")
    expect(field).to_have_value("")
    page.context.add_cookies([session_cookie(engineer, live_server.url)])
    page.goto(f"/boards/{board.pk}/readings/")
    expect(field).to_have_value("2.60")


def test_judged_and_kept_without_signal_and_sent_once_when_there_is(page_for, engineer, between) -> None:
    board = make.make_board(make.make_site("Kiln Cottage", earthing="TN-S"), "Hall")
    make.make_circuit(board, way=1, designation="Lights", rating_a=Decimal(6))
    make.make_instrument()
    page = page_for(engineer, width=390, through=between)
    page.goto(f"/boards/{board.pk}/readings/")
    between.cut()
    field = page.get_by_label("Way 1L1: insulation resistance in MΩ")
    field.fill("0.40")
    expect(page.get_by_text("0.40 MΩ is below 1.0 MΩ")).to_be_visible()
    page.get_by_role("button", name="Keep the readings").click()
    expect(page.locator(".kept-note")).to_contain_text("kept on this device")
    assert Reading.objects.count() == 0
    expect(page.locator("#not-sent")).to_be_visible()
    between.mend()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#not-sent")).to_have_count(0)
    assert [row.words for row in Reading.objects.all()] == ["0.40 MΩ"]
