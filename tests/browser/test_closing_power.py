"""Power off and on again on a phone whose network is cut: what stands beside the tests follows from what waits there."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from remedials.works.models import PowerStep
from tests import factories as make
from tests.browser.targets import must_be_large_enough
from tests.remedials.work import ask_reading, on_the_way

pytestmark = pytest.mark.django_db(transaction=True)

AFTER_ON = "energised again on this phone: isolate, lock off and prove dead again before a dead test"
NOT_ON = "not recorded as energised again"


def test_what_to_mind_before_a_test_follows_from_the_step_that_waits(page_for, between, axe, engineer) -> None:
    make.make_instrument()
    remedial = on_the_way("C2", power_off=True)
    ask_reading(remedial, quantity="insulation-resistance")
    ask_reading(remedial, designation="Lift")
    page = page_for(engineer, width=390, height=844, through=between)
    page.goto(reverse("works:close", args=[remedial.pk]))
    expect(page.get_by_role("region", name="Live tests")).to_contain_text(NOT_ON)
    between.cut()
    page.get_by_label("Off and locked at").fill("Way 1, lock 14")
    page.get_by_role("button", name="Isolated, locked off and proved dead").click()
    expect(page.locator("#power-off-said")).to_contain_text("not sent yet")
    expect(page.locator("#live-said-here")).to_be_visible()
    expect(page.locator("#dead-said-here")).to_be_hidden()
    page.get_by_role("button", name="Energised again").click()
    expect(page.locator("#power-on-said")).to_contain_text("not sent yet")
    expect(page.locator("#dead-said-here")).to_contain_text(AFTER_ON)
    expect(page.locator("#dead-said-here")).to_be_visible()
    expect(page.locator("#live-said-here")).to_be_hidden()
    expect(page.locator("#live-said")).to_be_hidden()
    axe(page)
    must_be_large_enough(page)
    assert not PowerStep.objects.exists()
