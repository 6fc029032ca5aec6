"""The same defect again, as people meet it: proposed while it is typed, answered for before the issue, seen afterwards."""

from datetime import timedelta

import pytest
from playwright.sync_api import expect

from inspections.models import Observation
from jobsite import clock
from tests import factories as make
from tests.browser.conftest import look

pytestmark = pytest.mark.django_db(transaction=True)


def test_what_is_typed_may_be_an_earlier_one_and_the_rest_is_answered_for(transactional_db, page_for, axe, qualified):
    today = clock.local_day(clock.now())
    long_ago = today - timedelta(days=700)
    site = make.make_site("Kiln Cottage")
    hall = make.make_board(site, "Hall")
    isolator = make.make_observation(site, "Cover missing at the isolator", on=long_ago, board=hall)
    blank = make.make_observation(site, "Blank missing at way 5", code="C1", on=long_ago, board=hall)
    label = make.make_observation(site, "Labels faded", code="C3", on=long_ago, board=hall)
    fi = make.make_observation(site, "Signs of heat at the neutral bar", code="FI", on=long_ago, board=hall)
    draft = make.make_inspection(site, issued=False, inspected_on=today, by=qualified)
    page = page_for(qualified)
    page.goto(f"/inspections/{draft.pk}/")
    page.get_by_label("Board", exact=True).fill("Hall")
    page.get_by_label("What was observed").press_sequentially("Isolator without its cover")
    page.get_by_role("button", name="It is this one").click()
    expect(page.get_by_label("Same as an earlier one")).to_have_value(str(isolator.pk))
    axe(page)
    look(page, "same-typed")
    page.get_by_role("radio", name="C2").check()
    page.keyboard.press("Control+Enter")
    expect(page.get_by_role("cell", name="Isolator without its cover")).to_be_visible()
    expect(page.get_by_role("button", name="It is this one")).to_have_count(0)
    page.get_by_label("What was observed").fill("Way 5: blank missing")
    page.get_by_role("radio", name="C1").check()
    photo = {"name": "way-5.png", "mimeType": "image/png", "buffer": make.picture()}
    page.get_by_label("Photos from the album").set_input_files(photo)
    page.get_by_role("button", name="Save and next").click()
    expect(page.get_by_text(f"Is it one of these? {blank.number}").first).to_be_visible()
    expect(page.get_by_text("The file that you chose is kept and goes with it when you save again.")).to_be_visible()
    expect(page.get_by_text("Choose your files again")).to_have_count(0)
    axe(page)
    look(page, "same-asked")
    page.get_by_label("Same as an earlier one").select_option("new")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_role("cell", name="Way 5: blank missing")).to_be_visible()
    assert [o.continues for o in draft.observations.order_by("number")] == [isolator, None]
    assert [o.photos.count() for o in draft.observations.order_by("number")] == [0, 1]

    page.get_by_role("link", name="Answer for them").click()
    axe(page)
    page.get_by_role("button", name=f"Still there {blank.number}").click()
    page.get_by_role("button", name=f"Not looked at {fi.number}").click()
    page.locator(f"#o-{label.pk}").get_by_role("link", name="Not there any more").click()
    page.get_by_label("What was seen there instead").fill("New printed labels at every way")
    axe(page)
    page.get_by_role("button", name="It is not there any more").click()
    expect(page.get_by_text("Every one is answered.")).to_be_visible()
    look(page, "still-there")
    page.set_viewport_size({"width": 390, "height": 800})
    axe(page)
    look(page, "still-there-390")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.get_by_role("link", name="Back to the report").click()
    look(page, "draft-390")
    page.get_by_role("button", name="Issue report").click()
    expect(page.get_by_text("Report issued.")).to_be_visible()
    page.goto(f"/sites/{site.pk}/")
    expect(page.get_by_text("Not confirmed by the inspection of").first).to_be_visible()
    look(page, "site-390")
    ended = dict(Observation.objects.filter(inspection=None).values_list("text", "ended"))
    assert ended == {isolator.text: "continued", blank.text: "continued", label.text: "gone", fi.text: ""}
