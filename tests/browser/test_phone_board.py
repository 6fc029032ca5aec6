"""With the worker: the board of today's work opens with the network cut, a way is verified there, and it arrives once."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobsite.premises.models import Circuit, Verification
from tests.browser.kept_pages import wait_until_kept
from tests.browser.phones import a_day, packed

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_way_is_verified_on_the_page_that_the_phone_keeps(page_for, engineer, between) -> None:
    visit = a_day(engineer, visits=1)[0]
    way = Circuit.objects.filter(board__site=visit.site).order_by("way").first()
    Circuit.objects.filter(pk=way.pk).update(label_found="Cooker", designation="", verified_how="", verified_on=None)
    page = packed(page_for(engineer, width=390, phone=True, through=between))
    between.cut()
    for designation in ("Cooker", "Cooker and hob"):  # opened anew each time: neither takes the other's place
        page.goto(reverse("premises:at_the_board", args=[way.board_id]))
        expect(page.locator("body[data-packed]")).to_be_visible()
        page.get_by_label("How do you know what a way is?").select_option("switched off and seen")
        row = page.locator("#rows > li").first
        row.locator("summary", has_text="Say what it is").click()
        row.get_by_label("What it is").fill(designation)
        row.get_by_role("button", name="Verified", exact=True).click()
        expect(row.get_by_text(f"“{designation}”, switched off and seen, waiting")).to_be_visible()
    between.mend()
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_until_kept(page, [])
    way.refresh_from_db()
    assert (way.designation, way.verified_by) == ("Cooker and hob", engineer)
    assert [v.designation for v in Verification.objects.order_by("at")] == ["Cooker", "Cooker and hob"]
