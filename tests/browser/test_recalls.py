"""An instrument, its checks and its recall in a browser: nobody is shut out, and one decision leads to the next."""

import os
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.urls import reverse

from tests import factories as make
from tests.remedials.work import ask_reading, close, on_the_way, take


@pytest.mark.parametrize("width", [390, 1280])
def test_every_page_of_a_recall(page_for, axe, engineer, manager, qualified, width):
    tester = make.make_instrument("T-9")
    make.make_check(tester)
    for _ in range(2):
        remedial = on_the_way("C2")
        reading = take(ask_reading(remedial), "0.9", by=engineer, instrument=tester)
        close(remedial, by=engineer, readings=[reading])
    fault = make.make_fault(tester)
    page = page_for(qualified, width=width, height=844)
    one = reverse("works:recall_decide", args=[fault.pk, reading.pk])
    instrument = reverse("works:instrument", args=[tester.pk])
    for name, where in {
        "instrument": instrument,
        "recalls": reverse("works:recalls"),
        "recall": reverse("works:recall", args=[fault.pk]),
        "decide": one,
    }.items():
        page.goto(where)
        axe(page)
        if folder := os.environ.get("PICTURES"):
            page.screenshot(path=Path(folder) / f"{name}-{width}.png", full_page=True)
    page.get_by_label("Keep it, with the reason").check()
    page.get_by_role("textbox", name="Reason").fill("Read beside a second tester: both 0.9 Ω")
    page.get_by_role("button", name="Record the decision").click()
    page.get_by_text("Kept. Recorded with your reason.").wait_for()
    assert urlsplit(page.url).path != one
    axe(page)
