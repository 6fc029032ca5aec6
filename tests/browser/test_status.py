"""A customer's page on a phone: readable, without a complaint of axe, a script or a cookie."""

from datetime import timedelta
from io import BytesIO

import pytest
from PIL import Image

from inspections.models import InspectionDue, Limitation, MadeSafe, ObservationPhoto
from jobsite import clock
from jobsite.firm.models import Firm
from jobsite.ledger.photographs import store_photograph
from tests.factories import anybody, make_inspection, make_link, make_observation, make_remedial, unit_of


def picture(now):
    out = BytesIO()
    Image.new("RGB", (1600, 1200), "brown").save(out, "JPEG")
    return store_photograph(out.getvalue(), now=now)


@pytest.fixture
def token(site):
    """A link to a site with an item of every code, one made safe, a picture, a limitation and a next inspection."""
    now = clock.now()
    Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")
    inspection = make_inspection(site)
    Limitation.objects.create(inspection=inspection, what="the loft")
    today = clock.local_day(now)
    InspectionDue.objects.create(
        unit=unit_of(site), due_on=today, basis="A sample rule.", by_law=True, shows_from=today
    )
    for code in ("C1", "C2", "C3", "FI", ""):
        item = make_observation(site, f"Defect {code}", code=code, inspection=inspection, remedy_by=today)
        make_remedial(item, stage="approved")
    held = make_observation(site, "Bare conductor", code="C1", made_safe=True)
    MadeSafe.objects.create(
        observation=held, how="covered", what="tape", agreed_with="P", at=now, by=anybody(), look_again_on=today
    )
    done = make_observation(site, "Cover missing", ended="remedied", ended_on=today)
    file, cleaned = picture(now)
    size = {"width": cleaned.width, "height": cleaned.height}
    ObservationPhoto.objects.create(observation=done, file=file, added_by=anybody(), added_at=now, **size)
    return make_link(site, made_at=now, expires_at=now + timedelta(days=30))[1]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_status_page_on_a_phone(page_for, token, axe, scheme):
    page = page_for(None, width=390, color_scheme=scheme)
    page.goto(f"/s/{token}/")
    axe(page)
    picture = page.get_by_alt_text("Before: Cover missing")
    picture.scroll_into_view_if_needed()
    assert picture.evaluate("img => img.decode().then(() => img.naturalWidth)") == 1600
    assert picture.bounding_box()["width"] <= 390
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    assert page.context.cookies() == []
    assert page.locator("script").count() == 0


def test_a_link_that_does_not_open(browser, live_server, axe):
    """Opened apart from `page_for`, to which the browser's own console line about the 404 would be a complaint."""
    with browser.new_context(viewport={"width": 390, "height": 800}) as context:
        page = context.new_page()
        assert page.goto(f"{live_server.url}/s/wrong/").status == 404
        axe(page)
        assert page.get_by_role("heading", name="This link does not open").is_visible()
        assert context.cookies() == []
