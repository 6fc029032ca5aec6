"""The whole job, as the people of a firm do it: from two spreadsheets of a neglected boatyard to a customer who sees
that something was put right.

Every page on the way is looked at by axe with no rule left out; nothing but a refused form's own line stands in the
browser's console, and no page asks another host for anything. Reading the spreadsheets is done by a real worker.
"""

from collections.abc import Sequence
from datetime import timedelta
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect

from inspections.models import Observation
from jobsite import clock
from jobsite.ledger.queries import faults
from jobsite.premises.models import Site
from remedials.desk.demo.pictures import after_picture, before_picture
from remedials.works.models import Proof
from tests.browser.conftest import until
from tests.browser.walk import Walk, data
from tests.browser.worker import working
from tests.factories import make_instrument

SITE = "Orrin Reach boatyard"
WELDING = "Loop impedance above the limit for the device"
FITTINGS = "Two fittings hang by their cable"
REACHED = "Blank missing from a spare way, live busbar within reach"
PILLAR = "Door of the pillar missing, terminals behind a cover"
WHY_IT_FAILS = "The run is long: the limit holds once the RCBO agreed on is fitted."
OLDER = "Circuit-breaker of an older standard beside newer ones"


@pytest.fixture
def walk(page_for, axe):
    """`walk(person, width)`: that person's own browser, signed in by the page for it; nobody's without a person."""

    def begin(person=None, *, width: int = 1280) -> Walk:
        walk = Walk(page_for(None, width=width), axe)
        if person:
            walk.sign_in(person)
        return walk

    return begin


@pytest.fixture
def photo(tmp_path):
    """`photo("before")`, `photo("after")`: the path of a picture such as a telephone takes."""

    def take(when: str) -> str:
        path = tmp_path / f"{when}.jpg"
        path.write_bytes(before_picture("cover") if when == "before" else after_picture("cover"))
        return str(path)

    return take


def test_from_two_spreadsheets_to_a_customer_who_sees_it_done(walk, office, engineer, qualified, photo) -> None:
    today = clock.local_day(clock.now())
    make_instrument(checked_on=today - timedelta(days=30), check_due=today + timedelta(days=300))
    desk, competent, phone, customer = walk(office), walk(qualified), walk(engineer, width=390), walk(width=390)

    open_the_site(desk)
    take_in_the_boards(desk)
    take_in_the_report(desk)
    address = make_a_private_link(desk)
    customer.open(address)
    assert WELDING in part(customer, "Open")

    review_three_codes(competent)
    add_a_photo(competent, photo("before"))
    for_joints = make_a_remedial(
        desk, [WELDING, FITTINGS], "Remake the joints and hang the fittings", readings=["Welding", "high bay"]
    )
    for_blanks = make_a_remedial(desk, [REACHED], "Fit a blank")
    approve(desk, for_joints)
    approve(desk, for_blanks)
    book(desk, for_joints, engineer)

    close_with_proof(phone, photo("after"))
    customer.open(address)
    assert WELDING in part(customer, "Open"), "closed, but nobody qualified has looked at the proof yet"

    review_the_proof(competent)
    customer.open(address)
    assert WELDING not in part(customer, "Open")
    assert WELDING in part(customer, "Closed")
    assert pictures_of(customer, WELDING) == ["Before", "After the work"]
    assert REACHED in part(customer, "Open")
    desk.open(f"/sites/{Site.objects.get().pk}/history/")
    desk.says("closed with proof")
    assert list(faults()) == []


def part(customer: Walk, heading: str) -> str:
    """The words of one part of the customer's page."""
    headed = customer.page.get_by_role("heading", name=heading, level=2)
    return customer.page.locator("section", has=headed).inner_text()


def pictures_of(customer: Walk, text: str) -> list[str]:
    """The words of the pictures beside one item, each of which the browser could show."""
    item = customer.page.locator("li", has=customer.page.get_by_role("heading", name=text))
    for picture in item.locator("img").all():
        picture.scroll_into_view_if_needed()
        picture.evaluate("picture => picture.decode()")
    return item.locator(".photos small").all_inner_texts()


def seen(text: str) -> Observation:
    return Observation.objects.get(text=text)


# --- office -----------------------------------------------------------------------------------------------------------


def open_the_site(desk: Walk) -> None:
    desk.follow("New site")
    desk.fill(name=SITE, address="Reach Lane, Ebbsford", postcode="QX4 9ZA", customer_name="Orrin Reach Moorings")
    desk.fill(customer_email="moorings@example.com", kind="marina", tenure="not a home", main_fuse_a="100")
    desk.fill(nation="England", phases="three-phase", earthing="TN-S")
    desk.press("Open site")
    desk.says(f"{SITE} opened.")


def take_in_the_boards(desk: Walk) -> None:
    """The file waits until a worker comes; then the page goes on by itself."""
    send(desk, "Take in boards and circuits", "orrin-reach-boards.xlsx")
    desk.look()
    desk.says("Waiting for the worker to begin.")
    with working():
        desk.page.get_by_role("heading", name="Look over").wait_for(timeout=60_000)
    desk.look()
    desk.says("Every row can be taken in. To be taken in: 7 boards and 72 circuits.")
    desk.press("Take in")
    desk.says("Taken in: 7 boards and 72 circuits.")
    assert desk.page.locator(".drawing a").count() == 7


def take_in_the_report(desk: Walk) -> None:
    send(
        desk, "Take in an earlier report", "orrin-reach-report.xlsx", firm_name="Somebody Else Electrical",
        inspected_on="2025-02-03", edition="2018+A2:2022", outcome_written="satisfactory",
        limitations="The boat store was locked",
    )  # fmt: skip
    with working():
        desk.page.get_by_role("heading", name="Look over").wait_for(timeout=60_000)
    desk.look()
    desk.says("Every row can be taken in. To be taken in: 47 observations.")
    desk.press("Take in")
    desk.says("Taken in: 47 observations.")


def send(desk: Walk, link: str, name: str, **particulars: str) -> None:
    desk.open(f"/sites/{Site.objects.get().pk}/")
    desk.follow("Take in a file")
    desk.follow(link)
    desk.fill(file=data(name), **particulars)
    desk.page.get_by_role("button", name="Send the file").click()


def make_a_private_link(desk: Walk) -> str:
    """Make the customer's link and return the address behind it, without the host."""
    desk.open(f"/sites/{Site.objects.get().pk}/")
    desk.follow("Share status")
    desk.follow("New private link")
    desk.fill(sent_to="the harbour office, by e-mail")
    desk.press("Make the link")
    return urlsplit(desk.page.locator("main :text('/s/')").last.inner_text()).path


def make_a_remedial(desk: Walk, texts: list[str], work: str, *, readings: Sequence[str] = ()) -> str:
    """Make one remedial for these observations and return its address."""
    query = "&".join(f"observation={seen(text).pk}" for text in texts)
    desk.open(f"/sites/{Site.objects.get().pk}/remedials/new/?{query}")
    desk.fill(work=work, minutes="90")
    desk.page.get_by_label("yes", exact=True).check()
    for circuit in readings:
        desk.page.locator("[name=circuits]").and_(desk.page.get_by_label(circuit)).check()
    desk.press("Make the remedial")
    desk.says("made.")
    return urlsplit(desk.page.url).path


def approve(desk: Walk, remedial: str) -> None:
    desk.open(remedial)
    desk.follow("Record the approval")
    desk.fill(given_by="Ansel Reach, harbour master", how="by telephone", given_on=str(clock.local_day(clock.now())))
    desk.page.get_by_role("button", name="Record").click()
    desk.says("Approval recorded.")
    desk.look()


def book(desk: Walk, remedial: str, engineer) -> None:
    today = clock.local_day(clock.now())
    desk.open(remedial)
    desk.follow("Book a visit")
    for box in desk.page.locator("[name=remedials]").all():
        box.check()
    desk.page.get_by_label(engineer.name).check()
    desk.fill(start=f"{today}T08:00", end=f"{today}T10:00")
    desk.fill(outage="Workshop board, agreed with the harbour master")
    desk.press("Book the visit")
    # Whatever day it is: on a weekend, or for more work than two hours hold, it is asked why all the same.
    why = desk.page.locator("textarea[name=despite]")
    expect(why.or_(desk.page.get_by_text("booked.")).first).to_be_visible()
    if why.is_visible():
        why.fill("Agreed with the harbour master")
        desk.press("Book the visit")
    desk.says("booked.")


# --- qualified person -------------------------------------------------------------------------------------------------


def review_three_codes(competent: Walk) -> None:
    competent.open(f"/inspections/{seen(OLDER).inspection_id}/codes/")
    for text, choice, reason in (
        (REACHED, "agree", ""),
        (PILLAR, "C2", "Children play on the pontoon."),
        (OLDER, "no-code", "Its age alone endangers nobody."),
    ):
        row = competent.page.locator(f"#o-{seen(text).pk}")
        row.locator(f"[name=choice][value={choice}]").check()
        competent.put(row.locator("[name=reason]"), reason)
        competent.press("Decide", within=row)
        row.get_by_text("Quentin Prover").first.wait_for()


def add_a_photo(competent: Walk, path: str) -> None:
    competent.open(f"/observations/{seen(WELDING).pk}/")
    competent.follow("Add a photo")
    competent.fill(photo=path, caption="The socket as found")
    competent.page.locator("[data-save]").click()
    competent.page.get_by_role("img", name="The socket as found").first.wait_for()
    competent.look()


def review_the_proof(competent: Walk) -> None:
    competent.open("/")
    competent.follow("Reviews")
    competent.follow("Remake the joints")
    competent.says("0.31 Ω")
    competent.says("2.63 Ω")
    competent.says(WHY_IT_FAILS)
    competent.fill(decision="accepted")
    competent.press("Record the decision")
    competent.says("Proof accepted.")


# --- engineer ---------------------------------------------------------------------------------------------------------


def close_with_proof(phone: Walk, path: str) -> None:
    phone.page.get_by_role("button", name="Menu").click()
    phone.follow("My day")
    phone.follow("Close with proof")
    page = phone.page
    phone.fill(photo=path)
    expect(page.locator("#photo-list img")).to_be_visible()
    for circuit, ohms, verdict in (("Welding", "0.31", "pass"), ("high bay", "2.63", "fail")):
        reading = page.locator("[id^=reading-]", has_text=circuit)
        phone.put(reading.locator("[name$=value]"), ohms)
        phone.press("Keep the reading", within=reading)
        expect(reading.first).to_contain_text(verdict)
    phone.press("Close with proof")
    phone.says("Not saved yet")
    phone.fill(exception_reason=WHY_IT_FAILS)
    phone.press("Close with proof")
    # After three seconds it waits no longer, and the page is My day.
    said = page.get_by_text("closed with proof.").or_(page.get_by_role("heading", name="My day"))
    expect(said.first).to_be_visible()
    until(page, Proof.objects.exists, "closed")
