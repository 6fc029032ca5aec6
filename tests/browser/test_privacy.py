"""What is kept about people, erasing, and a copy of a report, in a browser: at both widths, light, dark and printed."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspections.models import Limitation
from inspections.operations import issue_inspection
from jobsite import clock
from jobsite.firm.models import Firm
from jobsite.ids import new_id
from jobsite.ledger.models import Hold
from remedials.status.copies.operations import make_copy, state_of
from remedials.status.copies.queries import said_of, texts_in
from remedials.status.copies.rules import telling_names, without
from tests import factories as make

WIDTHS = [1280, 390]


@pytest.fixture
def report(db):
    """An issued report whose words name a tenant."""
    Firm.objects.create(
        name="Sample Sparks", address="3 Works Lane\nSampleton", phone="01632 960123", email="o@example.com"
    )
    site = make.make_site("Kiln Row", address="4 Kiln Row\nEbbsford", postcode="QX4 9ZA", tenure="private-rented")
    tenant = make.make_party("Ann Archer", email="ann@example.com", phone="01632 960777")
    make.make_unit(site, "Flat 1").parties.create(party=tenant, role="occupier", since=make.TODAY)
    row = make.make_inspection(site, issued=False, extent="All but the loft, agreed with Ann Archer", by=make.anybody())
    Limitation.objects.create(inspection=row, what="The loft", why="locked")
    board = make.make_board(site, "Hall board")
    for code, text in (("C1", "Cover missing; rang Ann Archer on 01632 960777"), ("C2", "No RCD"), ("C3", "No label")):
        make.make_observation(site, text, code=code, inspection=row, draft=True, board=board)
    issue_inspection(row, by=make.make_qualified("Ida Issuer"), now=clock.now())
    row.refresh_from_db()
    return row


def shared(report) -> str:
    """The address of a copy behind its private link."""
    texts = {key: without(words, telling_names(["Ann Archer"])) for key, _, words in texts_in(said_of(report, None))}
    document = make_copy(
        report, id=new_id(), unit=None, texts=texts, seen=state_of(said_of(report, None)), by=make.anybody("office"),
        now=clock.now(),
    )  # fmt: skip
    token = make.make_link(report.site, purpose="copy", thing=document.pk, expires_at=clock.now().replace(year=2999))[1]
    return reverse("status:copy", args=[token])


@pytest.mark.parametrize("width", WIDTHS)
def test_a_copy_is_looked_over_made_and_handed_out_by_keyboard(page_for, axe, report, width) -> None:
    page = page_for("office", width=width)
    page.goto(reverse("proof:copy_new", args=[report.pk]))
    expect(page.locator("mark").first).to_have_text("Ann Archer (a name on record)")
    axe(page)
    field = page.get_by_label(f"Observation {report.observations.order_by('number')[0].number}: what")
    expect(field).to_have_value("Cover missing; rang [left out] on [left out]")
    field.fill("Cover missing")
    page.get_by_role("button", name="Make the copy").press("Enter")
    expect(page.get_by_text("Read it through first, then say so here.").first).to_be_visible()
    expect(field).to_have_value("Cover missing")
    axe(page)
    page.get_by_label("I have read all of it").check()
    page.get_by_role("button", name="Make the copy").press("Enter")
    expect(page.get_by_role("heading", name=f"Copy of report {report.number}, personal data left out")).to_be_visible()
    axe(page)
    page.get_by_role("link", name="Private link, or by e-mail").click()
    page.get_by_label("Given to").fill("The council, by post")
    axe(page)
    page.get_by_role("button", name="Make the link").click()
    address = page.locator("code").inner_text()
    customer = page_for(None, width=width)
    customer.goto(address[address.index("/copy/") :])
    expect(customer.get_by_role("heading", name="Cover missing")).to_be_visible()
    assert "Archer" not in customer.content()
    assert customer.context.cookies() == []
    axe(customer)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("how", ["light", "dark", "print"])
def test_the_pages_for_anybody_are_read_by_all(page_for, axe, report, width, how) -> None:
    page = page_for(None, width=width)
    page.emulate_media(media="print" if how == "print" else "screen", color_scheme="dark" if how == "dark" else "light")
    for where in (shared(report), reverse("status:privacy")):
        page.goto(where)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.goto(shared(report))
    page.get_by_role("link", name="What we keep about you, and why").click()
    expect(page.get_by_role("heading", name="What we keep about you, and why")).to_be_visible()


@pytest.mark.parametrize("width", WIDTHS)
def test_a_manager_sets_how_long_and_erases_a_customer(page_for, axe, report, manager, width) -> None:
    Hold.objects.create(
        id=new_id(), site=make.make_site("Held House").pk, reason="A claim", placed_by=manager.pk, placed_at=clock.now()
    )
    party = make.make_party("Zebedee Quill", email="zeb@example.com")
    page = page_for("manager", width=width)
    page.goto(reverse("people:firm"))
    page.get_by_role("link", name="What is kept, and why").click()
    expect(page.get_by_text("since", exact=False).first).to_contain_text("A claim")
    axe(page)
    page.locator('a[href$="/kept/attempts/"]').click()
    page.get_by_label("Kept for").fill("0")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Write 1 or more.").first).to_be_visible()
    axe(page)
    page.get_by_label("Kept for").fill("84")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("7 years")).to_be_visible()
    page.goto(reverse("premises:party", args=[party.pk]))
    page.get_by_role("link", name="What is kept about Zebedee Quill").click()
    axe(page)
    page.get_by_role("link", name="Erase it").click()
    axe(page)
    page.get_by_label("they asked for it").check()
    page.get_by_label("I have read what is erased").check()
    page.get_by_role("button", name="Erase it for good").click()
    expect(page.get_by_role("heading", name="What is kept about Erased customer 1001")).to_be_visible()
    axe(page)


def test_a_customers_data_are_downloaded(page_for, report) -> None:
    party = make.make_party("Zebedee Quill", email="zeb@example.com")
    page = page_for("manager")
    page.goto(reverse("proof:export", args=[party.pk]))
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Make the archive").click()
    assert waiting.value.suggested_filename == "personal-data.zip"
