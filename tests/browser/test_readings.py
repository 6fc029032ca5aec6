"""A board's readings typed through with the keyboard: judged at once, kept together, nothing lost."""

from decimal import Decimal

import pytest
from playwright.sync_api import expect

from inspections.models import Reading
from tests import factories as make


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
