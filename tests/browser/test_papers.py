"""Papers in a browser: the report that opens one, its letter, the e-mail, who has it; a request; the firm's own notification."""

import os
from datetime import date, timedelta
from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspections.models import Paper, PaperDocument
from inspections.operations import issue_inspection
from jobsite import clock
from jobsite.firm.models import Firm
from jobsite.ledger.files import read_file, store_file
from remedials.works.operations import review_proof
from tests import factories as make
from tests.browser.conftest import look
from tests.remedials.work import close

WIDTHS = [1280, 390]
DAYS = timedelta(days=1)


@pytest.fixture
def let(db):
    """Two let flats with their tenants, another firm's report whose file is kept, its works done and reviewed."""
    now = clock.now()
    Firm.objects.create(
        name="Sample Sparks", address="3 Works Lane\nSampleton", phone="01632 960123", email="office@example.com"
    )
    landlady = make.make_party("Petra Landlady", email="petra@example.com")
    site = make.make_site(
        "Kiln Row", customer=landlady, address="4 Kiln Row\nEbbsford", postcode="QX4 9ZA", tenure="private-rented"
    )
    board, flat = make.make_board(site, "Hall board"), make.unit_of(site)
    since = date(2020, 1, 1)
    for name, role in (("Ann Archer", "occupier"), ("Bo Brook", "occupier")):
        party = make.make_party(name, email=f"{name.split()[0].lower()}@example.com")
        flat.parties.create(party=party, role=role, since=since)
    flat.parties.create(party=landlady, role="owner", since=since)
    inspected = clock.local_day(now) - 20 * DAYS
    file = store_file(b"%PDF-1.7 the report as it came", media_type="application/pdf", now=now)
    report = make.make_inspection(
        site, issued=False, inspected_on=inspected, file=file, file_name="report.pdf", firm_name="Invented Sparks",
        inspector_name="Ivor Inspector", reference="IS-2041", next_due_on=inspected + 5 * 365 * DAYS, other_firm=True,
        outcome_written="unsatisfactory", by=make.anybody("office"),
    )  # fmt: skip
    found = [
        make.make_observation(
            site, text, code=code, inspection=report, draft=True, item=item, on=inspected, board=board
        )
        for text, code, item in (
            ("A blank is missing and live parts can be touched", "C1", "4.4"),
            ("No RCD where sockets may supply equipment outdoors", "C2", "4.11"),
            ("Sign of heat at the neutral bar", "FI", "4.16"),
            ("The chart is not complete", "C3", "4.2"),
        )
    ]
    issue_inspection(report, by=make.anybody("office"), now=now)
    engineer, prover = make.make_user("Ed Wirewright", "engineer"), make.make_qualified("Quinn Prover")
    for observation, work, more in (
        (found[0], "Fit a blank to the open way", {}),
        (found[1], "Fit a residual current breaker to way 5", {"notifiable": True, "certificate_kind": ""}),
        (found[2], "Take the bar apart, clean and tighten it", {"network": "generation"}),
    ):
        observation.refresh_from_db()
        remedial = make.make_remedial(observation, stage="approved", work=work, photo_required=False, **more)
        proof = close(remedial, by=engineer, now=now - 2 * DAYS)
        review_proof(
            proof, decision="accepted", by=prover, now=now, finding_code="",
            finding_text="One loose screw; tightened, no damage",
        )  # fmt: skip
    make.make_second_source(board, rating_kw="3.68")
    return site


def kept(document: PaperDocument, name: str) -> None:
    """The PDF, where somebody wants to look at it."""
    if folder := os.environ.get("PICTURES"):
        (Path(folder) / f"{name}.pdf").write_bytes(read_file(document.file))


@pytest.mark.parametrize("width", WIDTHS)
def test_a_copy_from_the_report_to_the_tenants(page_for, axe, let, width) -> None:
    page = page_for("office", width=width)
    report = Paper.objects.filter(trigger="inspection").get().inspection
    page.goto(reverse("inspections:inspection", args=[report.pk]))
    expect(page.get_by_role("heading", name="Papers due by law")).to_be_visible()
    axe(page)
    look(page, f"papers-report-{width}")
    page.get_by_role("link", name="a copy of the report", exact=True).click()
    expect(page.get_by_role("heading", name="A copy of the report")).to_be_visible()
    axe(page)
    page.get_by_role("button", name="Make it").click()
    expect(page.get_by_role("link", name="covering-letter.pdf")).to_be_visible()
    kept(PaperDocument.objects.latest("made_at"), "papers-covering")
    page.get_by_role("link", name="Send it by e-mail").click()
    expect(page.get_by_role("heading", name="Send by e-mail")).to_be_visible()
    axe(page)
    look(page, f"papers-mail-{width}")
    page.get_by_role("button", name="Send it").click()
    expect(page.get_by_text("2 messages written.")).to_be_visible()
    axe(page)
    look(page, f"papers-paper-{width}")
    page.get_by_label("Bo Brook, occupier").uncheck()
    page.get_by_label("How").first.select_option("email")
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_text("It did not reach them by e-mail").first).to_be_visible()
    page.get_by_label("How").first.select_option("door")
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_text("Not recorded for Bo Brook").first).to_be_visible()
    axe(page)
    page.get_by_label("That settles it").uncheck()
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_text("The paper stays open.")).to_be_visible()
    page.get_by_label("they would not take it").check()
    page.get_by_label("How").first.select_option("hand")
    page.get_by_label("Note").fill("At the door with the letter; he shut it again.")
    page.get_by_label("That settles it").check()
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_text("Recorded: the paper is met.")).to_be_visible()
    axe(page)
    look(page, f"papers-met-{width}")
    page.goto(reverse("inspections:papers", args=[let.pk]))
    expect(page.get_by_role("heading", name="Papers", exact=True)).to_be_visible()
    axe(page)
    look(page, f"papers-site-{width}")


@pytest.mark.parametrize("width", WIDTHS)
def test_a_confirmation_a_notification_and_a_request(page_for, axe, let, width) -> None:
    page = page_for("office", width=width)
    for trigger, name in (
        ("completion", "confirmation"),
        ("notifiable-work", "notification"),
        ("connection", "network"),
    ):
        paper = Paper.objects.filter(trigger=trigger).order_by("-duty").first()
        page.goto(reverse("inspections:paper", args=[paper.pk]))
        page.get_by_role("button", name="Make it").click()
        expect(page.get_by_text("Made and kept")).to_be_visible()
        axe(page)
        look(page, f"papers-{name}-{width}")
        kept(PaperDocument.objects.get(paper=paper), f"papers-{name}")
    report = Paper.objects.filter(trigger="inspection").get().inspection
    page.goto(reverse("inspections:asked_for", args=[report.pk]))
    axe(page)
    look(page, f"papers-asked-{width}")
    page.get_by_label("the local authority").check()
    page.get_by_label("Their name").fill("Ebbsford Council")
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_text("A copy is due by")).to_be_visible()
    page.goto(reverse("desk:site", args=[let.pk]))
    expect(page.get_by_role("heading", name="Owed in writing")).to_be_visible()
    axe(page)
    look(page, f"papers-at-site-{width}")
