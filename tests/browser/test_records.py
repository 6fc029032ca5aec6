"""A site's record drawn out in a browser, a hold, the assessor's pack: read by axe at both widths, light and dark."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobsite import clock
from remedials.status.bundles import operations
from remedials.status.models import Bundle
from tests import factories as make
from tests.browser.conftest import look

WIDTHS = [1280, 390]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_record_is_asked_for_waited_for_and_taken_away(page_for, axe, db, width, scheme) -> None:
    site = make.make_site("Kiln Row")
    page = page_for("manager", width=width)
    page.emulate_media(color_scheme=scheme)
    page.goto(reverse("proof:site_record", args=[site.pk]))
    page.get_by_role("button", name="Draw it out").click()
    expect(page.get_by_text("Not saved yet: put this right")).to_be_visible()
    axe(page)
    page.get_by_label("For whom, and why").fill("For the insurer")
    page.get_by_role("button", name="Draw it out").click()
    expect(page.get_by_text("You can leave this page; the work goes on.")).to_be_visible()
    axe(page)
    look(page, f"records-waiting-{width}-{scheme}")
    operations.draw(Bundle.objects.get().pk, now=clock.now())  # what the worker does
    expect(page.get_by_role("link", name="Take it away")).to_be_visible()  # the page leads on by itself
    axe(page)
    look(page, f"records-made-{width}-{scheme}")
    with page.expect_download() as taken:
        page.get_by_role("link", name="Take it away").click()
    assert taken.value.suggested_filename.startswith(f"record-site-{site.number}-")


@pytest.mark.parametrize("width", WIDTHS)
def test_it_is_held_and_the_pack_is_put_together(page_for, axe, db, width) -> None:
    site = make.make_site("Kiln Row")
    job = make.make_remedial(make.make_observation(site), stage="approved")
    page = page_for("manager", width=width)
    page.goto(reverse("desk:site", args=[site.pk]))
    page.get_by_role("link", name="Record as of a date, holds").click()
    page.get_by_role("link", name="Hold the record").click()
    page.get_by_label("What for").fill("Claim 12 of the insurer")
    axe(page)
    page.get_by_role("button", name="Hold it").click()
    expect(page.get_by_text("Held. Nothing of it is erased")).to_be_visible()
    axe(page)
    page.goto(reverse("desk:site", args=[site.pk]))
    expect(page.get_by_text("Held: nothing of it is erased. Claim 12 of the insurer.")).to_be_visible()
    axe(page)
    page.goto(reverse("proof:holds"))
    expect(page.get_by_role("heading", name="All holds")).to_be_visible()
    axe(page)
    look(page, f"records-holds-{width}")
    page.goto(reverse("proof:assessor"))
    page.get_by_label("Numbers of remedials").fill(f"{job.number}, 999999")
    page.get_by_label("For whom, and why").fill("The yearly assessment")
    page.get_by_role("button", name="Put it together").click()
    expect(page.get_by_text("There is no remedial 999999.").first).to_be_visible()
    axe(page)
    page.get_by_label("Numbers of remedials").fill(f"{job.number}")
    page.get_by_role("button", name="Put it together").click()
    expect(page.get_by_text("You can leave this page")).to_be_visible()
    operations.draw(Bundle.objects.get().pk, now=clock.now())
    expect(page.get_by_role("link", name="Take it away")).to_be_visible()
    axe(page)
    look(page, f"records-pack-{width}")
