"""What is folded away on a phone or on the screen: shown where there is room, and always on paper."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspections.models import ObservationPhoto
from jobsite.firm.models import Firm
from jobsite.ledger.photographs import store_photograph
from tests import factories as make
from tests.remedials.test_status_page import picture


@pytest.fixture
def house(site):
    """A house with improvements below dangers, a photograph, and a drawing."""
    Firm.objects.create(name="Sample Sparks")
    board = make.make_board(site, "Main board")
    make.make_board(site, "Shed", place="behind the house, beside the water butt", fed=False)
    seen = make.make_observation(site, "Cracked socket", code="C2", board=board)
    make.make_observation(site, "No labels", code="C3")
    file, cleaned = store_photograph(picture("red"), now=make.NOON)
    size = {"width": cleaned.width, "height": cleaned.height}
    ObservationPhoto.objects.create(observation=seen, file=file, added_by=make.anybody(), added_at=make.NOON, **size)
    make.make_remedial(seen, work="Fit a new socket")
    return site


def test_paper_shows_what_is_folded_and_whose_record_it_is(page_for, office, house):
    page = page_for(office)
    page.goto(reverse("desk:site", args=[house.pk]))
    folded = page.get_by_text("No labels").first
    assert not folded.is_visible()
    assert not page.get_by_text("Sample Sparks, printed").is_visible()
    page.emulate_media(media="print")
    assert folded.is_visible()
    assert page.get_by_text("Sample Sparks, printed").is_visible()
    assert not page.get_by_role("button", name="Sign out").is_visible()


def test_a_printed_remedial_says_where_and_its_photographs_do_not_wait_for_scrolling(page_for, office, house):
    page = page_for(office)
    page.goto(reverse("desk:remedial", args=[house.remedials.get().pk]))
    page.emulate_media(media="print")
    assert page.get_by_text("1 Sample Street, Sampleton, QX1 2AB").is_visible()
    page.goto(reverse("desk:observation", args=[house.observations.get(code="C2").pk]))
    assert page.locator(".photos img").count() == 1
    assert page.locator(".photos img[loading=lazy]").count() == 0


@pytest.mark.parametrize("name", ["due", "sites"])
def test_the_filter_is_folded_on_a_phone_and_says_what_is_chosen(page_for, office, house, axe, name):
    page = page_for(office, width=390)
    page.goto(reverse(f"desk:{name}"))
    field = page.locator(".filter select").first
    assert not field.is_visible()
    axe(page)
    page.get_by_text("Narrow the list").click()
    expect(field).to_be_visible()
    field.select_option(index=1)
    chosen = field.evaluate("field => field.selectedOptions[0].textContent")
    page.wait_for_url("**?**")
    expect(page.locator("[data-chosen]")).to_contain_text(chosen)
    page.reload()
    expect(page.locator("[data-chosen]")).to_contain_text(chosen)


def test_the_filter_stands_open_at_a_desk(page_for, office, house):
    page = page_for(office)
    page.goto(reverse("desk:due"))
    assert page.locator(".filter select").first.is_visible()
    assert not page.get_by_text("Narrow the list").is_visible()
    page.locator(".filter select").nth(1).select_option("C2")
    page.wait_for_url("**code=C2**")


def test_a_drawing_that_is_wider_than_the_phone_says_so(page_for, office, house):
    words = "Move the drawing sideways to see all of it."
    page = page_for(office, width=390)
    page.goto(reverse("desk:site", args=[house.pk]))
    expect(page.get_by_text(words)).to_be_visible()
    assert page.locator(".drawing-box").evaluate("box => box.scrollWidth > box.clientWidth")
    desk = page_for(office)
    desk.goto(reverse("desk:site", args=[house.pk]))
    assert not desk.get_by_text(words).is_visible()
