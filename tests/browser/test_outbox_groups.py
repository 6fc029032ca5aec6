"""What belongs together goes in its order; what is refused is put right or thrown away, and holds up nothing else.

Also: a phone that is full, records of the store's first version, photos on their own.
"""

import json

import pytest
from django.templatetags.static import static
from django.urls import reverse
from playwright.sync_api import Page, expect

from inspections import operations
from inspections.models import Inspection, Observation, ObservationPhoto
from jobsite import clock
from jobsite.ids import new_id
from tests import factories as make
from tests.browser.between import Between
from tests.browser.conftest import until
from tests.browser.kept_pages import wait_until_kept

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def draft(transactional_db, qualified) -> Inspection:
    site, now = make.make_site("Kiln Cottage"), clock.now()
    return operations.start_inspection(
        site, id=new_id(), units=[make.unit_of(site)], boards=[make.make_board(site, "Hall")], kind="periodic",
        other_firm=False, inspected_on=clock.local_day(now), edition="2018+A2:2022", by=qualified, now=now,
    )  # fmt: skip


def texts() -> list[str]:
    return [o.text for o in Observation.objects.order_by("number")]


def grouped(page: Page, group: str) -> None:
    """What is typed from now on belongs to `group`."""
    page.locator("form[data-hold]").first.evaluate("(form, group) => { form.dataset.holdGroup = group; }", group)


def type_one(page: Page, text: str, *, board: str = "") -> None:
    expect(page.get_by_label("What was observed")).to_have_value("")  # the one before has left the form
    page.get_by_label("Board", exact=True).fill(board)
    page.get_by_label("What was observed").fill(text)
    page.get_by_label("C3 improvement recommended").check()
    page.get_by_role("button", name="Save and next").click()
    expect(page.locator("#not-sent li", has_text=text)).to_have_count(1)


def typed_without_signal(page: Page, between: Between, draft: Inspection) -> None:
    """Two of one group, the first of which will be refused, and one of another."""
    page.goto(f"/inspections/{draft.pk}/")
    between.cut()
    grouped(page, "one")
    type_one(page, "Loose in the attic", board="Attic")
    type_one(page, "Then this", board="Hall")
    grouped(page, "other")
    type_one(page, "Apart from that", board="Hall")
    expect(page.get_by_label("What was observed")).to_have_value("")
    between.mend()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.get_by_role("cell", name="Apart from that")).to_be_visible()


def test_what_is_refused_holds_the_later_ones_of_its_group_alone(page_for, axe, between, draft, qualified) -> None:
    page = page_for(qualified, width=390, through=between)
    typed_without_signal(page, between, draft)
    left = page.locator("#not-sent li")
    expect(left).to_have_count(2)
    expect(page.locator("[data-waits]")).to_have_text("1 waiting, 1 refused")
    expect(left.first).to_contain_text("Not saved: Board: No board here is called “Attic”.")
    expect(left.last).to_contain_text("Waits for the one before it.")
    axe(page)
    assert texts() == ["Apart from that"]
    left.first.get_by_role("button", name="Put it right").click()
    expect(page.get_by_label("What was observed")).to_have_value("Loose in the attic")
    expect(page.locator(".field.wrong")).to_contain_text("No board here is called “Attic”.")  # said where it is
    page.get_by_label("Board", exact=True).fill("Hall")
    page.get_by_role("button", name="Save and next").click()
    expect(page.get_by_role("cell", name="Then this")).to_be_visible()
    wait_until_kept(page, [])
    assert texts() == ["Apart from that", "Loose in the attic", "Then this"]


def test_what_is_thrown_away_holds_nothing_up_any_more(page_for, between, draft, qualified) -> None:
    page = page_for(qualified, through=between)
    typed_without_signal(page, between, draft)
    first = page.locator("#not-sent li").first
    first.get_by_role("button", name="Throw it away").click()
    first.get_by_role("button", name="Throw it away for good").click()
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_role("cell", name="Then this")).to_be_visible()
    assert texts() == ["Apart from that", "Then this"]


def test_the_list_stands_still_under_the_finger(page_for, between, draft, qualified) -> None:
    """What comes or goes leaves the other lines alone: how far they were pressed, and that they are in sight."""
    page = page_for(qualified, width=390, through=between)
    typed_without_signal(page, between, draft)
    left = page.locator("#not-sent li")
    left.first.get_by_role("button", name="Throw it away").click()
    between.cut()
    type_one(page, "One more")
    expect(left).to_have_count(3)
    left.first.get_by_role("button", name="Throw it away for good").click()
    expect(left).to_have_count(2)
    expect(left.first).to_contain_text("Then this")
    expect(page.get_by_role("button", name="Send now")).to_be_visible()


def test_what_somebody_else_changed_meanwhile_shows_both_values_from_the_list_too(
    page_for, axe, between, draft, qualified
) -> None:
    row = operations.note_observation(
        draft, id=new_id(), unit=draft.units.get(), text="Lid off", code="C3", by=qualified, now=clock.now()
    )
    page = page_for(qualified, width=390, through=between)
    page.goto(reverse("inspections:change", args=[row.pk]))
    between.cut()
    page.get_by_label("What was observed").fill("Lid cracked")
    page.get_by_role("button", name="Save").first.click()
    expect(page.locator("[data-waits]")).to_have_text("1 waiting")
    fields = {"unit": row.unit, "board": None, "circuit": None, "place": "", "text": "Lid missing", "code": "C3"}
    operations.change_observation(row, version=row.version, by=qualified, now=clock.now(), **fields)
    between.mend()
    page.goto(f"/sites/{draft.site_id}/")
    left = page.locator("#not-sent li")
    expect(left).to_contain_text("Somebody else changed this observation meanwhile.")
    assert Observation.objects.get(pk=row.pk).text == "Lid missing"
    left.get_by_role("button", name="Put it right").click()
    expect(page.get_by_label("What was observed")).to_have_value("Lid cracked")
    expect(page.locator("#main")).to_contain_text("Lid missing")
    axe(page)
    page.get_by_role("button", name="Save mine over theirs").click()
    wait_until_kept(page, [])
    assert Observation.objects.get(pk=row.pk).text == "Lid cracked"


FULL = "() => { IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"


def test_a_full_phone_says_so_and_sends_straight_or_keeps_the_page(page_for, between, draft, qualified) -> None:
    page = page_for(qualified, width=390, through=between)
    page.goto(f"/inspections/{draft.pk}/")
    page.evaluate(FULL)
    between.cut()
    page.get_by_label("What was observed").fill("Cracked lid")
    page.get_by_label("C3 improvement recommended").check()
    page.locator("input[type=file]").last.set_input_files(
        {"name": "x.png", "mimeType": "image/png", "buffer": make.picture("blue")}
    )
    expect(page.locator(".kept-note")).to_contain_text("This device keeps nothing (a private window, or it is full)")
    page.get_by_role("button", name="Save and next").click()
    expect(page.locator(".kept-note")).to_contain_text("all of it stands on this page alone")
    expect(page.get_by_label("What was observed")).to_have_value("Cracked lid")
    expect(page.get_by_role("img", name="Photo 1, not saved yet")).to_be_visible()
    between.mend()
    page.get_by_role("button", name="Save and next").click()
    expect(page.get_by_role("cell", name="Cracked lid")).to_be_visible()
    assert (texts(), ObservationPhoto.objects.count()) == (["Cracked lid"], 1)


FIRST_VERSION = """async (record) => {
    await new Promise((done) => { indexedDB.deleteDatabase("kept").onsuccess = done; });
    await new Promise((done) => {
        const asked = indexedDB.open("kept", 1);
        asked.onupgradeneeded = () => asked.result.createObjectStore("kept", { keyPath: "key" }).createIndex("person", "person");
        asked.onsuccess = () => {
            const change = asked.result.transaction("kept", "readwrite");
            change.objectStore("kept").put({ ...record, at: Date.now(), photos: [] });
            change.oncomplete = () => { asked.result.close(); done(); };
        };
    });
}"""


def test_what_an_older_page_kept_goes_out_after_the_update(page_for, draft, qualified) -> None:
    page = page_for(qualified)
    page.goto(f"/inspections/{draft.pk}/")
    key, address = str(new_id()), f"/inspections/{draft.pk}/"
    fields = [["id", key], ["unit", str(draft.units.get().pk)], ["text", "Kept before"], ["code", "C3"]]
    plain = page.context.new_page()
    plain.goto("/accounts/password/change/")
    page.close()
    plain.goto(static("jobsite/shell.css"))  # ours, without any script that holds the store open
    hold = f"observation:{draft.pk}"
    record = {"key": f"{qualified.pk}:{hold}:{key}", "person": str(qualified.pk), "form": hold, "action": address}
    plain.evaluate(
        FIRST_VERSION, record | {"page": address, "what": "Kept before", "fields": fields, "state": "waiting"}
    )
    plain.goto(address)
    expect(plain.get_by_role("cell", name="Kept before")).to_be_visible()
    wait_until_kept(plain, [])
    assert texts() == ["Kept before"]


PUT = """async ([device, sending, record]) => {
    const { keep, newId } = await import(device);
    const { sendAll } = await import(sending);
    const canvas = Object.assign(document.createElement("canvas"), { width: 9, height: 9 });
    const file = await new Promise((done) => canvas.toBlob(done, "image/png"));
    const photos = record.photos.map((to) => ({ name: "photo", to, file: new File([file, record.form], "p.png", { type: "image/png" }) }));
    await keep({ ...record, photos, once: newId(), made: Date.now(), at: Date.now(), turn: Date.now() });
    sendAll();
}"""


def test_photos_follow_what_they_belong_to_once_that_is_saved(page_for, between, draft, qualified) -> None:
    page = page_for(qualified, through=between)
    page.goto(f"/inspections/{draft.pk}/")
    key, hold = str(new_id()), f"observation:{draft.pk}"
    fields = [["id", key], ["unit", str(draft.units.get().pk)], ["text", "Cracked lid"], ["code", "C3"]]
    record = {"key": f"{qualified.pk}:{hold}:{key}:1", "person": str(qualified.pk), "form": hold, "state": "waiting"}
    record |= {
        "action": f"/inspections/{draft.pk}/",
        "page": "/",
        "what": "Cracked lid",
        "fields": fields,
        "group": "g",
    }
    record |= {"photos": ["/observations/{id}/photos/new/"]}
    cut = between.fail("cut", method="POST", path="/photos/new/", times=None)
    page.evaluate(PUT, [static("jobsite/device.js"), static("jobsite/sending.js"), json.loads(json.dumps(record))])
    waits = page.locator("#not-sent li")
    expect(waits).to_contain_text("Photo: Cracked lid")
    assert cut.met.wait(20)
    assert (texts(), ObservationPhoto.objects.count()) == (["Cracked lid"], 0)
    lost = between.fail("lost", method="POST", path="/photos/new/", times=None)
    between.end(cut)
    page.evaluate("dispatchEvent(new Event('online'))")
    assert lost.met.wait(20)
    until(page, ObservationPhoto.objects.exists, "the photo arrived, but not the answer")
    expect(page.locator("[data-waits]")).to_have_text("1 waiting")
    between.mend()
    page.reload()
    wait_until_kept(page, [])
    expect(page.locator("[data-waits]")).to_be_hidden()
    assert ObservationPhoto.objects.get().observation.text == "Cracked lid"
    assert between.count("POST", "/photos/new/") > 1  # done, and told again under the same key
