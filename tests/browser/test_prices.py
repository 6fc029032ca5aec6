"""Pricing a remedial in a browser: the sums follow what is typed; the pages of prices looked over by axe."""

import pytest
from django.urls import reverse

from tests import factories as make
from tests.browser.conftest import look
from tests.remedials.work import on_the_way

pytestmark = pytest.mark.django_db(transaction=True)


def test_price_while_typing_at_both_widths(page_for, axe, manager) -> None:
    make.make_terms(rates=[("", "30.00", "60.00"), ("tester", "40.00", "75.00")])
    remedial = on_the_way("C2", "C3", stage="to-price")
    make.make_item(
        remedial, "A cover with a rather long name, grey", supplier="Invented Supplies", reference="C-100-20"
    )
    job = make.make_job(retests=["rcd"])
    page = page_for(manager, width=1280)
    page.goto(reverse("quotes:price", args=[remedial.pk]))
    page.get_by_label("Time it takes").fill("90")
    page.locator("#sums").get_by_text("£92.40").first.wait_for()
    page.get_by_label("Cost each, row 2").fill("1.005")
    page.get_by_role("button", name="Save the price").click()
    page.get_by_text("Say what it is").first.wait_for()
    page.get_by_label("What, row 2").fill("Clip")
    page.get_by_label("Cost each, row 2").fill("1.05")
    page.get_by_role("button", name="Save the price").click()
    page.get_by_text("is priced at £93.66").wait_for()
    addresses = [
        reverse("quotes:price", args=[remedial.pk]),
        reverse("quotes:pile", args=[remedial.site_id]),
        reverse("quotes:book"),
        reverse("quotes:job", args=[job.pk]),
        reverse("quotes:job_edit", args=[job.pk]),
        reverse("quotes:book_take_in"),
        reverse("quotes:terms"),
        reverse("quotes:terms_set"),
    ]
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 844})
        for number, address in enumerate(addresses):
            page.goto(address)
            axe(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            look(page, f"prices-{number}-{width}")
