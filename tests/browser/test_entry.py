"""Observations typed one after another; nothing typed is lost when the network or the browser goes."""

import re

import pytest
from playwright.sync_api import expect

from inspections import operations
from inspections.models import Inspection, Observation, ObservationPhoto
from jobsite import clock
from jobsite.ids import new_id
from tests import factories as make
from tests.browser.conftest import look, session_cookie
from tests.browser.kept_pages import until_typed

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def site(transactional_db):
    return make.make_site("Kiln Cottage", tenure="private-rented", earthing="TN-S")


@pytest.fixture
def board(site):
    board = make.make_board(site, "Hall")
    make.make_circuit(board, 5, designation="Cooker")
    make.make_board(site, "Garage")
    return board


@pytest.fixture
def draft(site, board, qualified) -> Inspection:
    now = clock.now()
    return operations.start_inspection(
        site, id=new_id(), units=[make.unit_of(site)], boards=[board], kind="periodic", other_firm=False,
        inspected_on=clock.local_day(now), edition="2018+A2:2022", by=qualified, now=now,
    )  # fmt: skip


def type_one(page, *, board: str = "", way: str = "", place: str = "", text: str, key: str) -> None:
    """One observation with the keyboard alone, as it stands in the form: board, way, place, what, code."""
    expect(page.get_by_label("Board", exact=True)).to_be_focused()
    expect(page.get_by_label("What was observed")).to_have_value("")
    for typed in (board, way, place, text):
        if typed:
            page.keyboard.type(typed)
        page.keyboard.press("Tab")
    page.keyboard.press(key)
    page.keyboard.press("Control+Enter")


def test_observations_are_typed_without_leaving_the_form(page_for, axe, draft, qualified) -> None:
    page = page_for(qualified)
    page.goto(f"/inspections/{draft.pk}/")
    expect(page.get_by_label("Board", exact=True)).to_be_focused()
    axe(page)
    type_one(page, board="ha", way="cook", place="by the door", text="Burnt neutral", key="1")
    expect(page.get_by_role("cell", name="Burnt neutral")).to_be_visible()
    expect(page.get_by_text("is a C1: not made safe and no danger notice given.")).to_be_visible()
    expect(page.locator("#counts")).to_have_text("1 × C1")
    expect(page.get_by_label("Board", exact=True)).to_be_focused()
    expect(page.get_by_label("Board", exact=True)).to_have_value("Hall")
    type_one(page, text="No label", key="3")
    expect(page.locator("#counts")).to_have_text("1 × C1, 1 × C3")
    seen = Observation.objects.order_by("number")
    assert [(o.code, str(o.board), o.text) for o in seen] == [
        ("C1", "Hall", "Burnt neutral"),
        ("C3", "Hall", "No label"),
    ]
    assert str(seen[0].circuit) == "Cooker"
    axe(page)
    look(page, "entry")


def test_what_is_wrong_is_said_in_place_and_put_right(page_for, draft, qualified) -> None:
    page = page_for(qualified)
    page.goto(f"/inspections/{draft.pk}/")
    type_one(page, board="Attic", text="Loose", key="2")
    expect(page.get_by_text("No board here is called “Attic”. Those here: Garage, Hall.").first).to_be_visible()
    expect(page.get_by_label("What was observed")).to_have_value("Loose")
    page.get_by_label("Board", exact=True).fill("Gar")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_role("cell", name="Loose")).to_be_visible()
    assert str(Observation.objects.get().board) == "Garage"


def test_a_row_is_changed_where_it_stands(page_for, axe, draft, qualified) -> None:
    now = clock.now()
    for item in ("2", "10"):
        operations.note_observation(
            draft, id=new_id(), unit=draft.units.get(), text=f"Item {item}", code="C3", item=item, by=qualified, now=now
        )
    page = page_for(qualified)
    page.goto(f"/inspections/{draft.pk}/")
    page.get_by_role("link", name="Change observation").last.click()
    row = page.locator("#rows tr").last
    expect(row.get_by_label("What was observed")).to_be_focused()
    axe(page)
    look(page, "entry-change")
    row.get_by_label("What was observed").fill("Moved to the front")
    row.get_by_label("Item").fill("1")
    page.keyboard.press("Control+Enter")
    expect(page.locator("#rows tr").first).to_contain_text("Moved to the front")
    expect(page.locator("#rows tr")).to_have_count(2)


def test_without_a_network_all_is_kept_and_sent_after_a_crash(page_for, draft, qualified) -> None:
    page = page_for(qualified, width=390)
    page.goto(f"/inspections/{draft.pk}/")
    page.context.set_offline(True)
    type_one(page, board="Hall", text="Typed in the cellar", key="2")
    expect(page.get_by_text("It is kept on this device and goes out by itself")).to_be_visible()
    expect(page.get_by_text("Kept on this device, not saved yet")).to_be_visible()
    expect(page.get_by_label("What was observed")).to_have_value("")
    page.get_by_label("What was observed").fill("Half a sent")
    page.locator("input[type=file]").last.set_input_files(
        {"name": "x.png", "mimeType": "image/png", "buffer": make.picture("blue")}
    )
    expect(page.get_by_role("img", name="Photo 1, not saved yet")).to_be_visible()
    until_typed(page, "Half a sent", photos=1)
    context = page.context
    page.close(run_before_unload=False)
    assert Observation.objects.count() == 0
    context.set_offline(False)
    page = context.new_page()
    page.goto(f"/inspections/{draft.pk}/")
    expect(page.get_by_role("cell", name="Typed in the cellar")).to_be_visible()
    expect(page.get_by_label("What was observed")).to_have_value("Half a sent")
    expect(page.get_by_text("is here again")).to_be_visible()
    expect(page.get_by_role("img", name="Photo 1, not saved yet")).to_be_visible()
    look(page, "entry-kept-390")
    page.get_by_label("What was observed").fill("Half a sentence, whole now")
    page.get_by_label("C3 improvement recommended").check()
    page.get_by_role("button", name="Save and next").click()
    expect(page.get_by_role("cell", name="Half a sentence, whole now")).to_be_visible()
    assert [o.text for o in Observation.objects.order_by("number")] == [
        "Typed in the cellar",
        "Half a sentence, whole now",
    ]
    assert ObservationPhoto.objects.get().observation.text == "Half a sentence, whole now"
    page.reload()
    expect(page.get_by_label("What was observed")).to_have_value("")
    expect(page.get_by_text("Kept on this device")).to_have_count(0)


def test_what_was_kept_and_is_refused_later_is_put_right(page_for, axe, draft, qualified) -> None:
    page = page_for(qualified)
    page.goto(f"/inspections/{draft.pk}/")
    page.context.set_offline(True)
    type_one(page, board="Attic", text="Loose in the attic", key="2")
    expect(page.locator("#not-sent li")).to_have_count(1)
    type_one(page, board="Hall", text="Loose in the hall", key="2")
    expect(page.locator("#not-sent li")).to_have_count(2)
    page.context.set_offline(False)
    # A busy machine takes its time until the network is noticed and both have gone out.
    expect(page.get_by_role("cell", name="Loose in the hall")).to_be_visible(timeout=30_000)
    expect(page.get_by_text("goes out by itself")).to_have_count(0)
    wrong = page.locator("#not-sent li")
    expect(wrong).to_have_count(1)
    expect(wrong).to_contain_text("Not saved: Board: No board here is called “Attic”.")
    axe(page)
    look(page, "entry-refused-later")
    wrong.get_by_role("button", name="Put it right").click()
    expect(page.get_by_label("What was observed")).to_have_value("Loose in the attic")
    page.get_by_label("Board", exact=True).fill("Garage")
    page.get_by_role("button", name="Save and next").click()
    expect(page.get_by_role("cell", name="Loose in the attic")).to_be_visible()
    expect(page.locator("#not-sent")).to_have_count(0)
    assert [str(o.board) for o in Observation.objects.order_by("number")] == ["Hall", "Garage"]


def test_on_a_shared_phone_nobody_sees_or_sends_what_another_typed(
    page_for, axe, draft, qualified, engineer, live_server
) -> None:
    page = page_for(qualified, width=390)
    page.goto(f"/inspections/{draft.pk}/")
    page.get_by_label("What was observed").fill("Typed by Quentin")
    until_typed(page, "Typed by Quentin")
    page.get_by_role("button", name="Sign out").click()
    asked = page.get_by_role("dialog")
    expect(asked).to_contain_text("1 form is kept on this device and not saved")
    axe(page)
    look(page, "entry-sign-out-390")
    asked.get_by_role("button", name="Sign out, keep them here").click()
    expect(page).to_have_url(re.compile("/accounts/login/"))
    page.context.add_cookies([session_cookie(engineer, live_server.url)])
    page.goto(f"/inspections/{draft.pk}/")
    expect(page.get_by_label("What was observed")).to_have_value("")
    page.get_by_role("button", name="Sign out").click()
    expect(page).to_have_url(re.compile("/accounts/login/"))  # nothing of theirs is kept: nobody is asked
    page.context.add_cookies([session_cookie(qualified, live_server.url)])
    page.goto(f"/inspections/{draft.pk}/")
    expect(page.get_by_label("What was observed")).to_have_value("Typed by Quentin")
    page.get_by_role("button", name="Throw it away").click()
    expect(page.get_by_label("What was observed")).to_have_value("")
    assert Observation.objects.count() == 0


def test_limitations_are_typed_one_after_another(page_for, axe, draft, qualified) -> None:
    page = page_for(qualified)
    page.goto(f"/inspections/{draft.pk}/")
    page.get_by_role("link", name="Add a limitation").click()
    for what in ("The loft", "The cellar"):
        expect(page.get_by_label("What was not covered")).to_be_focused()
        expect(page.get_by_label("What was not covered")).to_have_value("")
        page.keyboard.type(what)
        page.keyboard.press("Control+Enter")
        expect(page.locator("#limits")).to_contain_text(what)
    axe(page)
    assert draft.limitations.count() == 2


def test_a_report_is_reissued(page_for, axe, draft, qualified) -> None:
    now = clock.now()
    operations.note_observation(
        draft, id=new_id(), unit=draft.units.get(), text="Lid off", code="C2", by=qualified, now=now
    )
    operations.issue_inspection(draft, by=qualified, now=now)
    page = page_for(qualified)
    page.goto(f"/inspections/{draft.pk}/")
    page.get_by_role("link", name="Reissue it").click()
    axe(page)
    page.get_by_label("What is wrong in the report as issued").fill("The board was named wrongly")
    page.get_by_role("button", name="Begin the reissue").click()
    expect(page.get_by_role("button", name="Issue report")).to_be_visible()
    axe(page)
    look(page, "reissue-draft")
    page.get_by_role("button", name="Issue report").click()
    expect(page.get_by_text("Overall assessment: unsatisfactory.")).to_be_visible()
    look(page, "reissued")
    page.goto(f"/inspections/{draft.pk}/")
    expect(page.get_by_text("Replaced on")).to_be_visible()
    axe(page)
    look(page, "replaced")
