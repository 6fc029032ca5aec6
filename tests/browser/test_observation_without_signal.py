"""Making safe, the danger notice and its photo without signal: each waits with its own time and goes out once."""

from datetime import timedelta

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspections.models import DangerNotice, MadeSafe, ObservationPhoto
from jobsite import clock
from tests import factories as make
from tests.browser.kept_pages import kept_on_the_phone, wait_until_kept
from tests.browser.targets import must_be_large_enough
from tests.remedials.pages import photo_file

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def danger(transactional_db):
    return make.make_observation(make.make_site("Kiln Row"), code="C1", text="Live parts within reach")


def kept_page(page, name: str, row) -> None:
    address = reverse(f"inspections:{name}", args=[row.pk])
    kept_on_the_phone(page, address, at=clock.now())
    page.goto(address)


def test_made_safe_notice_and_photo_wait_and_go_out_once(page_for, engineer, danger, between, axe) -> None:
    page = page_for(engineer, width=390, through=between)
    kept_page(page, "make_safe", danger)
    between.fail("cut", method="POST", times=None)
    page.locator("[name=how]").select_option("covered")
    page.get_by_label("What exactly, and where").fill("Cover screwed on")
    page.get_by_label("Agreed with").fill("Mrs Kiln")
    page.locator("input[type=file]").first.set_input_files(
        [{"name": "one.jpg", "mimeType": "image/jpeg", "buffer": photo_file().read()}]
    )
    axe(page)
    must_be_large_enough(page)
    page.get_by_role("button", name="Made safe").click()
    expect(page.get_by_text("It is kept on this device")).to_be_visible()
    kept_page(page, "notice", danger)
    expect(page.get_by_text("write the notice by hand on the firm's form")).to_be_visible()
    page.get_by_label("Why it is dangerous").fill("Somebody can touch it")
    page.get_by_label("What was advised").fill("Leave the cover on")
    page.get_by_label("Given to").fill("Mrs Kiln, tenant")
    axe(page)
    must_be_large_enough(page)
    page.get_by_role("button", name="Notice given").click()
    expect(page.get_by_text("It is kept on this device")).to_be_visible()
    kept_page(page, "photo_add", danger)
    for shade in (20, 200):  # one after the other: neither takes the other's place
        photo = {"name": f"{shade}.jpg", "mimeType": "image/jpeg", "buffer": photo_file(shade).read()}
        page.locator("input[type=file]").first.set_input_files([photo])
        page.get_by_role("button", name="Add photo").click()
        expect(page.get_by_text("It is kept on this device")).to_be_visible()
    between.mend()
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_until_kept(page, [])
    safe, notice = MadeSafe.objects.get(), DangerNotice.objects.get()
    assert safe.photo is not None
    assert clock.now() - safe.at < timedelta(minutes=5)  # not when the page was put on the phone
    assert notice.given_to == "Mrs Kiln, tenant"
    assert ObservationPhoto.objects.count() == 2
