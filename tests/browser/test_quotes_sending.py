"""A quote is sent and followed up in a browser, on a screen and on a phone, without a complaint of axe."""

from datetime import timedelta

import pytest

from jobsite import clock
from jobsite.firm.models import Firm
from remedials.quotes.models import Offer
from tests import factories as make
from tests.browser.conftest import look


@pytest.fixture
def draft(site, office) -> Offer:
    today = clock.local_day(clock.now())
    Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")
    make.make_terms(vat_number="GB 999 9999 73")
    remedials = [make.make_remedial(make.make_observation(site, code=code)) for code in ("C1", "C2")]
    free = {"price": 0, "cost": 0}
    return make.make_offer(*remedials, prices=[{}, free], by=office, valid_until=today + timedelta(days=30))


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_quote_is_sent_printed_and_a_link_handed_over(page_for, axe, draft, width, scheme) -> None:
    page = page_for("office", width=width, color_scheme=scheme)
    page.goto(f"/quotes/{draft.quote_id}/send/")
    axe(page)
    look(page, f"quote-send-{width}-{scheme}")
    page.get_by_label("printed and handed over or posted").check()
    page.locator("#id_to").fill("Petra, by hand")
    page.get_by_role("button", name="Send it").click()
    page.get_by_text("is ready: print its document and hand it over.").wait_for()
    axe(page)
    page.get_by_role("link", name="Make a link to hand over").click()
    page.get_by_label("Given to").fill("Petra, with the paper")
    page.get_by_role("button", name="Make the link").click()
    page.get_by_role("heading", name=f"Private link to quote {draft.quote.number}").wait_for()
    axe(page)
    look(page, f"quote-link-{width}-{scheme}")
    code = page.get_by_role("img", name="The same address as a code to photograph")
    assert code.bounding_box()["width"] <= width
    assert page.evaluate("document.documentElement.scrollWidth") == width
    page.get_by_role("link", name="Go on").click()
    axe(page)
    look(page, f"quote-sent-{width}-{scheme}")
    for act in ("Chase the answer", "Give to somebody", "Withdraw it"):
        page.get_by_role("link", name=act).click()
        axe(page)
        look(page, f"quote-{act.split(maxsplit=1)[0].lower()}-{width}-{scheme}")
        page.go_back()
