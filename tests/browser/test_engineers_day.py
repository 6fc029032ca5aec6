"""The engineer's day on a phone: My day, a visit, what is said there, something else found; with signal and without."""

import re
from datetime import timedelta
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.templatetags.static import static
from django.urls import reverse
from playwright.sync_api import expect

from inspections.models import DangerNotice, MadeSafe, Observation
from inspections.operations import add_photo
from jobsite import clock
from remedials.visits.models import Attempt, CheckIn, OccupierNote
from tests import factories as make
from tests.browser.conftest import look
from tests.browser.kept_pages import kept_on_the_phone, wait_until_kept
from tests.browser.targets import must_be_large_enough
from tests.remedials.work import photo_bytes

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def visit(transactional_db, engineer):
    """A visit of now, about a circuit with a picture and a reading, to a site with a key and somebody to ring."""
    now = clock.now()
    site = make.make_site(
        "Old Pottery", earthing="TN-C-S", latitude="50.12345", longitude="-4.5", access_notes="Ring twice"
    )
    board = make.make_board(site, "Board 1", place="cellar")
    circuit = make.make_circuit(board, 3, designation="Kiln")
    make.make_circuit(make.make_board(site, "Board 2"), 1, designation="Loft")
    seen = make.make_observation(site, "Cover cracked", board=board, circuit=circuit, on=clock.local_day(now))
    add_photo(seen, data=photo_bytes(), by=engineer, now=now)
    make.make_reading(circuit)
    make.make_key(site, "T-7", what="yard door")
    OccupierNote.objects.create(site=site, unit=make.unit_of(site), contact="Tess Tenant", phone="07700 900123")
    remedial = make.make_remedial(seen, stage="booked", work="Renew the cover", power_off=True, photo_required=False)
    row = make.make_visit(
        site, remedial, engineers=[engineer], start=now - timedelta(minutes=5), outage="Kiln", outage_with="Tess"
    )
    make.make_visit_line(row, unit=make.unit_of(site))
    return row


@pytest.fixture
def picture(tmp_path) -> Path:
    path = tmp_path / "scorched.jpg"
    path.write_bytes(photo_bytes(200))
    return path


def at(name: str, visit) -> str:
    return reverse(f"visits:{name}", args=[visit.pk])


def found_at(visit) -> str:
    return reverse("inspections:found", args=[visit.site_id])


def kept_pages(page, visit, server: str) -> None:
    """The pages of the visit as the phone keeps them, with their scripts."""
    page.route(
        "**/static/**",
        lambda asked: asked.fulfill(response=page.request.get(server + urlsplit(asked.request.url).path)),
    )
    for address in ("/my-day/", at("visit", visit), at("check_in", visit), at("no_access", visit)):
        kept_on_the_phone(page, address, at=clock.now())


# --- how it looks -----------------------------------------------------------------------------------------------------


def test_each_page_of_the_day_is_for_everybody_and_for_gloves(page_for, axe, visit, engineer) -> None:
    page = page_for(engineer, width=390, height=844)
    line = visit.lines.exclude(kind="remedial").get()
    remedial = visit.lines.get(kind="remedial").remedial_id
    pages = {
        "my_day": "/my-day/",
        "visit": at("visit", visit),
        "check_in": at("check_in", visit),
        "no_access": at("no_access", visit),
        "settle": f"{at('settle', visit)}?line={line.pk}",
        "attempt": f"{reverse('visits:attempt_new', args=[visit.site_id])}?visit={visit.pk}",
        "found": f"{found_at(visit)}?visit={visit.pk}&remedial={remedial}",
    }
    for name, address in pages.items():
        page.goto(address)
        axe(page)
        must_be_large_enough(page)
        look(page, name)
    page.get_by_label("C1").check()
    page.get_by_label("I made it safe for now").check()
    page.get_by_label("I told them in writing").check()
    axe(page)
    must_be_large_enough(page)
    look(page, "found_dangerous")
    for address in ("/my-day/", at("visit", visit)):
        wide = page_for(engineer)
        wide.goto(address)
        axe(wide)


def test_the_day_leads_to_the_visit_and_back(page_for, visit, engineer) -> None:
    page = page_for(engineer, width=390, height=844)
    page.goto("/my-day/")
    expect(page.get_by_role("link", name="Ring Tess Tenant")).to_have_attribute("href", "tel:07700900123")
    expect(page.get_by_role("link", name="Map")).to_have_attribute("href", re.compile("^geo:50.12345"))
    page.get_by_role("link", name=f"Open visit {visit.number}").click()
    expect(page.get_by_text("Before you touch it", exact=True)).to_be_visible()
    expect(page.get_by_role("img", name="as found")).to_be_visible()
    page.go_back()
    expect(page.get_by_role("heading", name="My day")).to_be_visible()


# --- something else found ---------------------------------------------------------------------------------------------


def test_a_danger_is_noted_with_all_that_belongs_to_it(page_for, visit, engineer, picture) -> None:
    page = page_for(engineer, width=390, height=844)
    page.goto(at("visit", visit))
    page.get_by_role("link", name="Found something else at remedial").click()
    expect(page.get_by_label("Board", exact=True)).to_have_value(str(visit.site.boards.get(designation="Board 1").pk))
    expect(page.get_by_label("I made it safe for now")).to_be_hidden()
    page.locator("input[name=photos]").first.set_input_files(picture)
    page.get_by_label("What is wrong").fill("Bare conductor behind the kiln")
    page.get_by_label("C1").check()
    expect(page.get_by_text("Make it safe now, with the duty-holder's agreement")).to_be_visible()
    page.get_by_label("I made it safe for now").check()
    page.get_by_label("What exactly, and where").fill("Way 3 locked off")
    page.get_by_label("Agreed with").fill("Tess Tenant")
    page.get_by_label("Or why there can be no photo").fill("dark")
    page.get_by_label("I told them in writing").check()
    page.get_by_role("button", name="Save what was found").dblclick()
    expect(page.get_by_role("heading", name="Found at this visit")).to_be_visible()
    expect(page.get_by_role("region", name="Found at this visit")).to_contain_text("Bare conductor behind the kiln")
    wait_until_kept(page, [])
    made = Observation.objects.get(text="Bare conductor behind the kiln")
    assert (made.code, made.made_safe, made.circuit.designation, made.photos.count()) == ("C1", True, "Kiln", 1)
    assert (MadeSafe.objects.get().key_holder, DangerNotice.objects.get().given_to) == (engineer.name, "Tess Tenant")
    page.go_back()  # to the form that was sent: it is empty again, and sending nothing makes nothing
    page.reload()
    assert Observation.objects.filter(text__startswith="Bare").count() == 1


def test_a_circuit_brings_its_board_along_and_the_board_its_circuits(page_for, visit, engineer) -> None:
    page = page_for(engineer, width=390, height=844)
    page.goto(found_at(visit))
    page.get_by_label("Circuit").select_option(label="1L1 Loft")
    expect(page.get_by_label("Board", exact=True)).to_have_value(str(visit.site.boards.get(designation="Board 2").pk))
    page.get_by_label("Board", exact=True).select_option(label="Board 1, cellar")
    expect(page.get_by_label("Circuit")).to_have_value("")
    assert page.get_by_label("Circuit").evaluate("one => one.querySelector('optgroup').label") == "Board 1, cellar"


def test_without_signal_it_waits_and_goes_out_once_with_its_photo(
    page_for, between, live_server, visit, engineer, picture
) -> None:
    page = page_for(engineer, width=390, height=844, through=between)
    kept_pages(page, visit, live_server.url)
    found = f"{found_at(visit)}?visit={visit.pk}"
    kept_on_the_phone(page, found, at=clock.now())
    page.goto(at("visit", visit))
    between.cut()
    page.goto(found)
    page.locator("input[name=photos]").first.set_input_files(picture)
    page.get_by_label("What is wrong").fill("Earth missing")
    page.get_by_label("C2").check()
    page.get_by_role("button", name="Save what was found").dblclick()
    expect(page.get_by_role("heading", name="Old Pottery")).to_be_visible()
    expect(page.locator(".on-phone").first).to_contain_text("1 thing found: waiting for signal")
    between.mend()
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_until_kept(page, [])
    expect(page.locator(".on-phone").first).to_be_hidden()
    made = Observation.objects.get(text="Earth missing")
    assert (made.code, made.photos.count()) == ("C2", 1)


# --- what is said at a visit ------------------------------------------------------------------------------------------


def test_in_and_out_without_signal_reach_us_in_order(page_for, between, live_server, visit, engineer) -> None:
    page = page_for(engineer, width=390, height=844, through=between)
    kept_pages(page, visit, live_server.url)
    page.goto(at("visit", visit))
    between.cut()
    page.goto(at("check_in", visit))
    expect(page.get_by_text("nobody knows yet that you are in")).to_be_visible()
    page.get_by_role("button", name="Check in").click()
    expect(page.get_by_role("heading", name="Old Pottery")).to_be_visible()
    expect(page.locator(".on-phone").first).to_contain_text(
        "Checked in on this phone, nobody knows yet: waiting for signal"
    )
    page.goto(at("check_in", visit))
    page.get_by_role("button", name="Check out: I am out and well").click()
    expect(page.get_by_role("heading", name="Old Pottery")).to_be_visible()
    expect(page.locator(".on-phone").first).to_contain_text("checked out on this phone")
    assert not CheckIn.objects.exists()
    between.mend()
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_until_kept(page, [], field="out_by")
    row = CheckIn.objects.get()
    assert row.in_at <= row.out_at <= clock.now()


def test_nobody_let_us_in_waits_with_its_photo(page_for, between, live_server, visit, engineer, picture) -> None:
    page = page_for(engineer, width=390, height=844, through=between)
    kept_pages(page, visit, live_server.url)
    page.goto(at("visit", visit))
    between.cut()
    page.goto(at("no_access", visit))
    page.get_by_label("What you found").fill("Rang twice, waited 20 minutes")
    page.get_by_label("Photograph").set_input_files(picture)
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_role("heading", name="Old Pottery")).to_be_visible()
    page.goto("/my-day/")
    expect(page.locator(".on-phone").first).to_contain_text("That nobody let us in: waiting for signal")
    between.mend()
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_until_kept(page, [], field="note")
    attempt = Attempt.objects.get()
    assert (attempt.said, attempt.photo is not None) == ("Rang twice, waited 20 minutes", True)
    assert visit.lines.get(kind="remedial").remedial.stage == "approved"


def test_what_waits_is_told_by_what_it_is_the_closing_first(page_for, visit, engineer) -> None:
    page = page_for(engineer, width=390, height=844)
    page.goto("/my-day/")
    one = visit.lines.get(kind="remedial").remedial_id
    kinds = ["photo", "reading", "closing", "photo", "note"]
    page.evaluate(
        """async ([device, person, group, kinds]) => {
          const { keep } = await import(device);
          for (const [n, kind] of kinds.entries()) {
            await keep({ key: `${person}:test:${n}`, person, form: `test:${n}`, action: "/nowhere/", page: "/my-day/", what: "x",
              fields: [], photos: [], state: "refused", why: "No", at: n, turn: n, group, kind, once: `${n}`, made: n, label: "x" });
          }
        }""",
        [static("jobsite/device.js"), str(engineer.pk), f"remedial:{one}", kinds],
    )
    page.reload()
    said = "Closed on this phone, 2 photos, 1 reading, 1 form: not saved, see above what is wrong"
    expect(page.locator(".on-phone").first).to_have_text(said)
