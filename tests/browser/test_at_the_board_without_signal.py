"""In front of a board without signal: what is said of ways waits on the phone, in its place, in its order, and goes out by
itself; a way entered there is verified before any server knows it; two people at one way both see both.
"""

from datetime import timedelta

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from jobsite import clock
from jobsite.ids import new_id
from jobsite.premises import operations
from jobsite.premises.models import Verification
from tests import factories as make
from tests.browser.between import Between
from tests.browser.kept_pages import kept_on_the_phone, wait_until_kept
from tests.browser.targets import must_be_large_enough
from tests.browser.test_premises import look

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def board(transactional_db):
    site = make.make_site("Kiln Row")
    hall = make.make_board(site, "Hall", place="under the stairs", label_found="Kitchen")
    for way, label in ((1, "Cooker"), (2, "Sockets"), (4, "")):
        make.make_circuit(hall, way, label_found=label, designation="", verified_how="", verified_on=None)
    return hall


@pytest.fixture
def page(page_for, engineer, board, between) -> Page:
    """The page as the phone keeps it, how one knows chosen; nothing that is sent arrives."""
    page = page_for("engineer", width=390, through=between)
    address = reverse("premises:at_the_board", args=[board.pk])
    kept_on_the_phone(page, address, at=clock.now() - timedelta(hours=3))
    page.goto(address)
    page.get_by_label("How do you know what a way is?").select_option("switched off and seen")
    between.fail("cut", method="POST", times=None)
    return page


def row(page: Page, way: str):
    return page.locator("#rows > li", has=page.locator(".waynumber", has_text=way))


def is_kept(place: Locator) -> None:
    """The form has let go of it: what is refused from now on stands in the list, not in the form."""
    expect(place.locator(".kept-note")).to_contain_text("It is kept on this device")


def say(page: Page, way: str, what: str) -> None:
    one = row(page, way)
    if not one.get_by_label("What it is").is_visible():
        one.locator("summary", has_text="it").first.click()
    one.get_by_label("What it is").fill(what)
    one.get_by_role("button", name="Verified", exact=True).click()
    is_kept(one)


def enter(page: Page, way: str, label: str) -> None:
    form = page.locator("#next-way")
    form.get_by_label("Way").fill(way)
    form.get_by_label("Label found").fill(label)
    form.get_by_role("button", name="Enter this way").click()
    is_kept(form)


def signal(page: Page, between: Between) -> None:
    between.mend()
    page.evaluate("dispatchEvent(new Event('online'))")


def all_sent(page: Page, between: Between) -> None:
    signal(page, between)
    wait_until_kept(page, [])
    expect(page.locator("#rows .kept-here")).to_have_count(0)


def put_right(page: Page) -> None:
    page.get_by_role("button", name="Put it right").first.click()


def test_what_is_said_waits_in_its_place_and_goes_out_in_its_order(page, board, between, axe) -> None:
    page.get_by_role("button", name="It is what the label says on way 1L1").click()
    expect(
        row(page, "1L1").get_by_text("Verified on this phone: “Cooker”, switched off and seen, waiting")
    ).to_be_visible()
    say(page, "1L1", "Cooker and hob")  # thought better of it, before any of it went out
    expect(row(page, "1L1").locator(".kept-here")).to_have_count(2)
    spare = row(page, "4L1")
    spare.locator("summary", has_text="Spare, blanked").click()
    spare.get_by_label("This way is spare").check()
    spare.get_by_role("button", name="Save for way 4L1").click()
    expect(spare.get_by_text("Said on this phone: spare, not blanked, waiting")).to_be_visible()
    expect(page.get_by_text("On this phone, waiting: 1 more verified")).to_be_visible()
    look(page, axe, "at-the-board-waiting")
    must_be_large_enough(page)
    page.reload()  # from the phone again
    expect(row(page, "1L1").locator(".kept-here")).to_have_count(2)
    expect(spare.get_by_label("This way is spare")).to_be_checked()
    all_sent(page, between)
    expect(page.get_by_text("1 of 2 ways verified")).to_be_visible()
    first, spare_way = board.circuits.get(way=1), board.circuits.get(way=4)
    assert (first.designation, first.verified_how, spare_way.spare) == ("Cooker and hob", "switched", True)
    assert [v.designation for v in Verification.objects.order_by("at")] == ["Cooker", "Cooker and hob"]


def test_a_way_entered_without_signal_is_verified_before_the_server_knows_it(page, board, between, axe) -> None:
    enter(page, "7", "Hoist")
    expect(row(page, "7L1").get_by_text("Entered on this phone, waiting")).to_be_visible()
    expect(page.locator("#next-way").get_by_label("Way")).to_have_value("8")
    enter(page, "8", "Lamp")
    page.get_by_role("button", name="It is what the label says on way 7L1").click()
    expect(row(page, "7L1").get_by_text("Verified on this phone: “Hoist”")).to_be_visible()
    say(page, "8L1", "Lamp in the yard")
    look(page, axe, "at-the-board-entered")
    must_be_large_enough(page)
    page.reload()
    expect(row(page, "8L1").get_by_text("Verified on this phone: “Lamp in the yard”")).to_be_visible()
    all_sent(page, between)
    found = {c.way: (c.label_found, c.designation, c.verified_how) for c in board.circuits.filter(way__gte=7)}
    assert found == {7: ("Hoist", "Hoist", "switched"), 8: ("Lamp", "Lamp in the yard", "switched")}
    expect(row(page, "7L1").get_by_role("button", name="Take this back")).to_be_visible()


def test_a_way_that_is_taken_meanwhile_holds_up_what_was_said_of_it_and_loses_nothing(
    page, board, between, office
) -> None:
    enter(page, "7", "Hoist")
    page.get_by_role("button", name="It is what the label says on way 7L1").click()
    expect(row(page, "7L1").locator(".kept-here")).to_have_count(2)
    operations.add_circuit(board, id=new_id(), way=7, phase="L1", label_found="Bell", by=office, now=clock.now())
    signal(page, between)
    expect(row(page, "7L1").get_by_text("not saved: ")).to_contain_text(
        "There is already a circuit on this way and phase."
    )
    expect(row(page, "7L1").get_by_text("Verified on this phone: “Hoist”")).to_be_visible()
    assert board.circuits.filter(way=7).count() == 1
    put_right(page)
    form = page.locator("#next-way")
    expect(form.get_by_label("Label found")).to_have_value("Hoist")
    form.get_by_label("Way").fill("9")
    form.get_by_role("button", name="Enter this way").click()
    expect(row(page, "9L1").get_by_role("button", name="Take this back")).to_be_visible()
    assert board.circuits.get(way=9).designation == "Hoist"


def test_two_people_at_one_way_and_the_second_chooses(page, board, between, qualified) -> None:
    say(page, "1L1", "Hob")
    way = board.circuits.get(way=1)
    operations.verify(
        way, id=new_id(), designation="Shower", how="traced", version=1, by=qualified, now=clock.now()
    )  # fmt: skip
    signal(page, between)
    one = row(page, "1L1")
    expect(one.get_by_text("not saved: ")).to_contain_text("Somebody else changed this")
    put_right(page)
    expect(one.get_by_text("Saved by somebody else: Shower")).to_be_visible()
    one.get_by_role("button", name="Save mine over theirs").click()
    all_sent(page, between)
    way.refresh_from_db()
    assert way.designation == "Hob"
    assert [v.designation for v in Verification.objects.order_by("at")] == ["Shower", "Hob"]
