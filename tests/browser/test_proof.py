"""Documents taken from a customer's page and checked by whoever holds them; readable on a phone, in the dark, printed."""

import pytest
from playwright.sync_api import expect

from jobsite import clock
from jobsite.firm.models import Firm
from tests.browser.conftest import look
from tests.factories import make_link, make_unit
from tests.remedials.proven import whole_site

WIDTHS = [1280, 390]


@pytest.fixture(autouse=True)
def firm(db):
    return Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")


@pytest.mark.parametrize("width", WIDTHS)
def test_a_document_is_taken_from_the_page_and_checked_by_somebody_else(page_for, axe, tmp_path, width):
    now = clock.now()
    _, token = make_link(whole_site(), made_at=now, expires_at=now.replace(year=now.year + 1))
    phone = page_for(None, width=width, answered=(413,))
    phone.goto(f"/s/{token}/")
    with phone.expect_download() as taken:
        phone.get_by_role("link", name="Completion record").click()
    ours, altered = tmp_path / taken.value.suggested_filename, tmp_path / "altered.pdf"
    taken.value.save_as(ours)
    assert ours.name.startswith("completion-record-heron-wharf-")
    assert ours.read_bytes().startswith(b"%PDF-1.7")
    altered.write_bytes(ours.read_bytes().replace(b"Heron", b"Heran") + b" ")

    other = page_for(None, width=width)
    other.goto("/check/")
    axe(other)
    other.get_by_label("The file").set_input_files(ours)
    other.get_by_role("button", name="Check this file").press("Enter")
    answer = other.get_by_role("status")
    expect(answer).to_contain_text("This is ours, unaltered to the last byte: Completion record: Heron Wharf, made")
    expect(answer).to_contain_text("The ledger that tells of it was recomputed and holds")
    axe(other)
    look(other, f"check-ours-{width}")
    other.get_by_label("The file").set_input_files(altered)
    other.get_by_role("button", name="Check this file").click()
    expect(other.get_by_role("status")).to_contain_text("altered, or not one that we made")
    axe(other)
    look(other, f"check-altered-{width}")
    assert other.evaluate("document.documentElement.scrollWidth") <= width
    assert other.context.cookies() == []


@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_of_checking_in_the_dark_and_printed(page_for, axe, width):
    page = page_for(None, width=width, color_scheme="dark")
    page.goto("/check/")
    axe(page)
    look(page, f"check-dark-{width}")
    page.emulate_media(media="print", color_scheme="light")
    axe(page)
    expect(page.get_by_role("heading", name="Is this document ours?")).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
def test_the_offices_page_of_documents(page_for, office, axe, width, scheme):
    site = whole_site()
    make_unit(site, "Flat 1")
    page = page_for(office, width=width, color_scheme=scheme)
    page.goto(f"/sites/{site.pk}/")
    page.get_by_role("link", name="Documents for customers").click()
    expect(page.get_by_role("heading", name="Documents of Heron Wharf")).to_be_visible()
    axe(page)
    look(page, f"documents-{width}-{scheme}")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    with page.expect_download() as taken:
        page.get_by_role("link", name="Schedule of outstanding works").click()
    assert taken.value.suggested_filename.startswith("schedule-of-outstanding-works-heron-wharf-")
    page.get_by_role("link", name="Flat 1").click()
    expect(page.get_by_role("heading", name="Documents of Flat 1, Heron Wharf")).to_be_visible()
    axe(page)
