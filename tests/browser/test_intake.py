"""A spreadsheet from its sending to its taking in, as the office does it, with the page that waits for the worker."""

from pathlib import Path

import pytest
from playwright.sync_api import expect

from inspections.intake import operations
from inspections.models import Intake, Observation
from jobsite import clock
from jobsite.premises.models import Board
from tests import factories as make
from tests.browser.conftest import look
from tests.inspections.intake.books import OBSERVATION_HEADS, workbook

pytestmark = pytest.mark.django_db(transaction=True)

WRONG = workbook(
    OBSERVATION_HEADS,
    [1, "C2", "No RCD for the pillar sockets", "Pontoon B", None, "14/03/2022"],
    [2, "C2/C3", "Blank missing from a spare way", "Pontoon B", "9"],
    [3, "3", "Label on the lid names another load", "Pontoon C"],
)


@pytest.fixture
def site(transactional_db):
    return make.make_site("Orrin Reach boatyard", phases=("L1", "L2", "L3"), kind="commercial", tenure="not-a-home")


def test_boards_are_sent_waited_for_looked_over_and_taken_in(page_for, axe, site, office) -> None:
    page = page_for(office)
    page.goto(f"/intake/new/?site={site.pk}")
    axe(page)
    look(page, "kinds")
    page.get_by_role("link", name="Take in boards and circuits").click()
    axe(page)
    page.get_by_label("The spreadsheet").set_input_files(Path(__file__).parents[1] / "data" / "orrin-reach-boards.xlsx")
    page.get_by_role("button", name="Send the file").click()
    expect(page.get_by_text("Waiting for the worker to begin.")).to_be_visible()
    axe(page)
    look(page, "waiting")
    operations.read(Intake.objects.get().pk, now=clock.now())  # what the worker does
    expect(page.get_by_text("To be taken in: 7 boards and 72 circuits.")).to_be_visible()
    axe(page)
    look(page, "over")
    page.get_by_role("button", name="Take in").click()
    page.wait_for_url(f"**/sites/{site.pk}/")
    assert Board.objects.filter(site=site).count() == 7


@pytest.mark.parametrize("width", [1280, 390])
def test_refused_rows_are_left_out_with_reasons(page_for, axe, site, office, width: int) -> None:
    make.make_board(site, "Pontoon B", phases=["L2"])
    page = page_for(office, width=width)
    page.goto("/intake/new/")
    axe(page)
    page.get_by_role("textbox", name="For which site").fill("orrin")
    page.get_by_role("link", name="Orrin Reach boatyard").click()
    page.get_by_role("link", name="Take in an earlier report").click()
    axe(page)
    look(page, f"report-{width}")
    page.get_by_label("The spreadsheet").set_input_files(
        {"name": "report.xlsx", "mimeType": "application/octet-stream", "buffer": WRONG}
    )
    page.get_by_label("Firm that wrote it").fill("Sample Inspections")
    page.get_by_label("Day of the inspection").fill("2025-02-03")
    page.get_by_label("Edition of BS 7671").select_option("2018+A2:2022")
    page.get_by_role("button", name="Send the file").click()
    expect(page.get_by_text("Waiting for the worker to begin.")).to_be_visible()
    operations.read(Intake.objects.get().pk, now=clock.now())
    expect(page.get_by_text("2 rows refused. To be taken in: 1 observation.")).to_be_visible()
    axe(page)
    look(page, f"refused-{width}")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.get_by_label("Why Sheet, row 3 is left out").fill("asked")
    page.get_by_role("button", name="Correct Sheet, row 2").click()  # what was typed is saved first
    expect(page.get_by_label("Observation")).to_have_value("No RCD for the pillar sockets")
    axe(page)
    look(page, f"row-{width}")
    page.get_by_role("link", name="Leave it").click()
    expect(page.get_by_label("Why Sheet, row 3 is left out")).to_have_value("asked")
    page.get_by_role("button", name="Leave these out and take in the rest").click()
    expect(page.get_by_text("Say why Sheet, row 4, is left out").first).to_be_visible()
    axe(page)
    look(page, f"missing-{width}")
    page.get_by_label("Code of Sheet, row 4").fill("C3")
    page.get_by_label("Board of Sheet, row 4").fill("Pontoon B")
    page.get_by_role("button", name="Save and judge again").click()
    expect(page.get_by_text("Saved and judged again: 1 row refused.")).to_be_visible()
    expect(page.get_by_role("button", name="As it was in the file")).to_be_visible()
    axe(page)
    look(page, f"corrected-{width}")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.get_by_role("button", name="Leave these out and take in the rest").click()
    page.wait_for_url("**/codes/")
    assert [(o.code, o.text) for o in Observation.objects.order_by("number")] == [
        ("C2", "No RCD for the pillar sockets"), ("C3", "Label on the lid names another load"),
    ]  # fmt: skip
    page.goto(f"/intake/{Intake.objects.get().pk}/")
    axe(page)
    look(page, f"ended-{width}")


@pytest.mark.parametrize("width", [1280, 390])
def test_observations_are_pasted_and_what_has_no_place_is_put_right(page_for, axe, site, office, width: int) -> None:
    page = page_for(office, width=width)
    page.goto(f"/intake/new/?site={site.pk}")
    page.get_by_role("link", name="Paste it as text").click()
    axe(page)
    look(page, f"paste-{width}")
    page.get_by_label("The observations, as text").fill(
        "Dear Olive,\n\n1. No RCD for the pillar sockets C2\n\nWe also saw a loose lid.\n\n2. Label faded C3\n\nKind regards"
    )
    page.get_by_label("Firm that wrote it").fill("Sample Inspections")
    page.get_by_label("Day of the inspection").fill("2025-02-03")
    page.get_by_label("Edition of BS 7671").select_option("2018+A2:2022")
    page.get_by_role("button", name="Read the text").click()
    expect(page.get_by_text("Waiting for the worker to begin.")).to_be_visible()
    operations.read(Intake.objects.get().pk, now=clock.now())
    expect(page.get_by_text("1 row refused. To be taken in: 2 observations.")).to_be_visible()
    axe(page)
    look(page, f"pasted-{width}")
    page.get_by_label("Item of Pasted text, row 5").fill("1a")
    page.get_by_label("Code of Pasted text, row 5").fill("C3")
    page.get_by_label("Code of Pasted text, row 5").press("Enter")
    expect(page.get_by_text("Every row can be taken in.")).to_be_visible()
    page.get_by_role("button", name="Take in").click()
    page.wait_for_url("**/codes/")
    assert [o.item for o in Observation.objects.order_by("number")] == ["1", "1a", "2"]


def test_the_list_of_heads_is_readable(page_for, axe, office) -> None:
    page = page_for(office)
    page.goto("/intake/columns/")
    axe(page)
    look(page, "columns")
