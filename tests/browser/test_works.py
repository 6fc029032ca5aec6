"""The engineer's close page on a phone, and every page of remedials and visits looked over by axe."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobsite import clock
from jobsite.ids import new_id
from remedials.visits.operations import book_visit
from remedials.works.models import Proof
from tests import factories as make
from tests.remedials.work import ask_reading, close, on_the_way, photo_bytes

pytestmark = pytest.mark.django_db(transaction=True)


def in_check(**fields):
    """A loop tester in its check on the day the test is run."""
    today = clock.local_day(clock.now())
    return make.make_instrument(checked_on=today, check_due=today + timedelta(days=30), **fields)


def booked(remedial, engineer):
    """A visit today, from now on."""
    now = clock.now()
    return book_visit(
        remedial.site, id=new_id(), remedials=[remedial], engineers=[engineer], start=now + timedelta(minutes=1),
        end=now + timedelta(minutes=2), by=make.anybody("office"), now=now, outage="Ring 1", despite="Agreed",
    )  # fmt: skip


def picture(name: str, shade: int) -> dict:
    return {"name": name, "mimeType": "image/jpeg", "buffer": photo_bytes(shade)}


def test_close_on_a_phone_with_a_failing_then_a_passing_reading(page_for, axe, engineer) -> None:
    """The list of what is missing shrinks as photos and readings come, and what was typed below stays."""
    site = make.make_site("Old Pottery", earthing="TN-C-S")
    remedial = on_the_way("C2", "C3", site=site, photo_required=True, certificate_kind="minor works certificate")
    ask_reading(remedial)
    tool = in_check()
    booked(remedial, engineer)
    page = page_for(engineer, width=390, height=844)

    page.goto(reverse("visits:my_day"))
    axe(page)
    page.get_by_role("link", name="Close with proof").first.click()
    missing = page.locator("#missing")
    expect(missing.locator("li")).to_have_count(4)
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390

    page.get_by_label("Number of the minor works certificate").fill("MW 12")
    missing.locator("li").nth(3).wait_for(state="detached")
    page.set_input_files("#id_photo", picture("after.jpg", 90))
    page.locator("#photo-list img").wait_for()
    expect(missing.locator("li")).to_have_text(["The loop impedance reading of Board 1, way 1L1 (Kitchen sockets)."])

    page.get_by_label("Earth fault loop impedance").fill("640")
    page.get_by_role("button", name="Keep the reading").click()
    page.get_by_text("did you mean").first.wait_for()
    axe(page)
    page.get_by_label("Earth fault loop impedance").fill("1.30")
    page.get_by_role("button", name="Keep the reading").click()
    page.get_by_text("put the circuit right and read again").wait_for()
    page.get_by_role("button", name="Read again").wait_for()  # the form stands there anew
    axe(page)
    page.get_by_label("Earth fault loop impedance").fill("0.64")
    page.get_by_role("button", name="Read again").click()
    page.get_by_text("Nothing is missing to close.").wait_for()
    expect(page.get_by_label("Number of the minor works certificate")).to_have_value("MW 12")

    page.get_by_role("button", name="Close with proof").click()
    page.get_by_text(f"Remedial {remedial.number} closed with proof.").wait_for()
    proof = Proof.objects.get()
    assert (proof.certificate_number, proof.photos.count(), proof.readings.get().instrument) == ("MW 12", 1, tool)


def test_pages_of_the_office(page_for, axe, office, engineer) -> None:
    site = make.make_site("Old Pottery", earthing="TN-C-S")
    make.make_unit(site, "Kiln yard")
    open_one = make.make_observation(site, code="C1", board=make.make_board(site))
    make.make_circuit(open_one.board)
    remedial, approved = on_the_way("C2", site=site, stage="to-price"), on_the_way("C3", site=site)
    declined, away = on_the_way("C3", site=site, stage="declined"), on_the_way("C3", site=site, stage="cancelled")
    visit = booked(on_the_way("C2", site=site), engineer)
    page = page_for(office)
    names = ("edit", "approve", "decline", "cancel", "by_others", "wait", "take_on")
    pages = [reverse(f"works:{name}", args=[remedial.pk]) for name in names]
    pages += [
        reverse("works:remedials"),
        reverse("works:make", args=[site.pk]),
        f"{reverse('works:make', args=[site.pk])}?observation={open_one.pk}",
        reverse("works:wait_observation", args=[open_one.pk]),
        reverse("works:offer_again", args=[declined.pk]),
        reverse("works:reopen", args=[away.pk]),
        f"{reverse('visits:book')}?remedial={approved.pk}",
        reverse("visits:book"),
        reverse("visits:visit", args=[visit.pk]),
        reverse("visits:cancel", args=[visit.pk]),
        reverse("visits:diary"),
    ]
    for address in pages:
        assert page.goto(address).status == 200, address
        axe(page)


def test_narrowing_the_list_keeps_the_address(page_for, axe, office) -> None:
    site = make.make_site("Old Pottery")
    make.make_remedial(make.make_observation(site), work="Fit a cover")
    make.make_remedial(make.make_observation(site), work="Lock it off", stage="approved")
    page = page_for(office, width=390)
    page.goto(reverse("works:remedials"))
    axe(page)
    page.get_by_text("Narrow the list").click()
    page.get_by_label("Stage").select_option("approved")
    page.get_by_text("Fit a cover").wait_for(state="detached")
    expect(page).to_have_url(re.compile("stage=approved"))
    expect(page.get_by_text("Lock it off")).to_be_visible()
    page.reload()
    expect(page.get_by_text("Lock it off")).to_be_visible()
    assert page.get_by_text("Fit a cover").count() == 0


def test_the_reviewer_sees_proof_and_records_findings(page_for, axe, engineer, qualified) -> None:
    remedial = on_the_way("FI", "C2")
    close(remedial, by=engineer)
    page = page_for(qualified)
    page.goto(reverse("works:reviews"))
    axe(page)
    page.get_by_role("link", name=remedial.work).click()
    axe(page)
    page.get_by_label("Accept the proof").check()
    page.get_by_role("button", name="Record the decision").click()
    page.get_by_text("say what the investigation found").first.wait_for()
    axe(page)
    page.get_by_label("found").select_option("nothing")
    page.get_by_label("in words").fill("Sound: the label was wrong")
    page.get_by_role("button", name="Record the decision").click()
    page.get_by_text("Proof accepted.").wait_for()
    remedial.refresh_from_db()
    assert remedial.stage == "reviewed"
