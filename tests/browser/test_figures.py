"""Figures for managers in a browser: drawings that a reader tells, at both widths, light and dark, and on paper in black."""

from datetime import timedelta

import pytest

from tests import factories as make
from tests.factories import NOON, TODAY
from tests.remedials.quoted import remedial_at, sent
from tests.remedials.test_figures_counting import closed, due, item

PAGES = ("", "remedy/", "in-time/", "engineers/", "quotes/", "access/", "inspections/")
OF_THE_TEST = f"?since={TODAY - timedelta(days=364)}&until={TODAY}"


@pytest.fixture
def firm(manager, engineer):
    """Something for each figure to count."""
    from inspections.models import InspectionDue

    site = make.make_site("Long Meadow Court")
    for n in range(12):
        item(
            site,
            20 + 30 * n,
            code=("C1", "C2", "FI", "C3")[n % 4],
            remedy_by=TODAY - timedelta(days=1) if n < 6 else None,
        )
        closed(due(site, 5 + n, ended="remedied", after=3 + n), engineer, 5)
        make.make_visit(site, start=NOON - timedelta(days=3 + 9 * n))
    sent(remedial_at(site))
    InspectionDue.objects.create(unit=make.make_unit(site), due_on=TODAY, basis="so", shows_from=TODAY, by_law=True)
    return manager


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "light"), (390, "dark")])
def test_every_page_of_figures(page_for, axe, firm, width, scheme):
    page = page_for(firm, width=width, height=844, color_scheme=scheme)
    for where in PAGES:
        page.goto(f"/figures/{where}{OF_THE_TEST}")
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.goto(f"/figures/remedy/{OF_THE_TEST}")
    for code in ("C1", "C2", "FI", "C3"):
        assert page.get_by_role("img", name=f"{code}, ").bounding_box()["width"] <= width


def test_on_paper_the_drawings_stand_and_nothing_to_press(page_for, firm):
    page = page_for(firm)
    page.goto(f"/figures/{OF_THE_TEST}")
    page.emulate_media(media="print")
    assert page.get_by_role("img", name="C2, ").is_visible()
    assert not page.get_by_role("navigation", name="Figures").is_visible()
    filled, outlined = (page.locator(f"svg.c2 .{part}").first for part in ("part", "past"))
    fills = [one.evaluate("e => getComputedStyle(e).fill") for one in (filled, outlined)]
    assert fills[0] != "none"
    assert fills[1] == "none"
