"""What the customer's page asks for by its own address: one item, the rest of a list, the drawing, small pictures."""

import re
from html import unescape
from io import BytesIO

import pytest
import time_machine
from PIL import Image

from inspections.choices import PaperAnswer
from inspections.models import Limitation, ObservationPhoto
from jobsite.firm.models import Firm
from remedials.works.models import Proof, ProofPhoto
from tests.factories import (
    NOON,
    TODAY,
    anybody,
    make_board,
    make_inspection,
    make_link,
    make_observation,
    make_paper,
    make_remedial,
    make_unit,
    make_user,
)
from tests.remedials.customers import stored

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")
        yield


@pytest.fixture
def page(client, site):
    """`page("?item=1")`: the answer to the site's link with that behind it."""
    link, token = make_link(site)
    page = lambda more="": client.get(f"/s/{token}/{more}")  # noqa: E731 - a name for a call
    page.link = link
    return page


def text_of(response) -> str:
    body = response.content.decode().split("<main", 1)[1]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))).replace(" .", ".").replace(" ,", ",")


def pictured(site, before: int, after: int):
    item = make_observation(site, "Cover missing", ended="remedied", ended_on=TODAY)
    for n in range(before):
        ObservationPhoto.objects.create(observation=item, **stored(n))
    remedial = make_remedial(item, stage="reviewed")
    proof = Proof.objects.create(remedial=remedial, state="stands", done_by=anybody("engineer"), done_at=NOON)
    for n in range(after):
        ProofPhoto.objects.create(remedial=remedial, proof=proof, **stored(100 + n))
    return item


def captions(response) -> list[str]:
    return re.findall(r"</a><small>([^<]+)</small>", response.content.decode())


# --- one item ---------------------------------------------------------------------------------------------------------


def test_a_page_of_many_shows_one_before_beside_one_after_and_the_items_own_page_all(page, site):
    item = pictured(site, 3, 2)
    first = page()
    assert captions(first) == ["Before", "After the work"]
    assert f'<a href="?item={item.number}">More pictures of item {item.number}: 3</a>' in first.content.decode()
    own = page(f"?item={item.number}")
    assert captions(own) == ["Before", "After the work", "Before", "After the work", "Before"]
    assert "More pictures" not in text_of(own)
    assert f"Item {item.number}" in text_of(own)


def test_without_pictures_after_two_from_before_stand_side_by_side(page, site):
    pictured(site, 3, 0)
    assert captions(page()) == ["Before", "Before"]


def test_a_long_text_is_cut_and_stands_whole_on_its_own_page(page, site):
    item = make_observation(site, "Bare conductor " * 60 + "at the end")
    assert "at the end" not in text_of(page())
    assert f'<a href="?item={item.number}">All of item {item.number}</a>' in page().content.decode()
    assert "at the end" in text_of(page(f"?item={item.number}"))


def test_the_ways_from_item_to_item_follow_the_order_of_the_page(page, site):
    one, other = make_observation(site, "Worse", code="C2"), make_observation(site, "Better", code="C3")
    last = make_observation(site, "Closed", ended="no-code", ended_on=TODAY)
    body = page(f"?item={other.number}").content.decode()
    assert f'<a href="?item={one.number}">Before</a> <a href="?item={last.number}">Next</a>' in body
    assert "Before</a>" not in page(f"?item={one.number}").content.decode()


@pytest.mark.parametrize(
    "more",
    ["?item=", "?item=abc", "?item=-1", "?item=99999999999999999999", "?item=²", "?open=0", "?open=2", "?closed=1"],
)
def test_what_is_not_on_the_page_is_said_with_a_way_back(page, site, more):
    make_observation(site)
    answer = page(more)
    assert answer.status_code == 404
    assert "That is not on this page" in text_of(answer)
    assert '<a href=".">The whole page</a>' in answer.content.decode()
    assert "Ask Sample Sparks: 01632 960123" in text_of(answer)


def test_an_item_of_another_unit_or_site_is_not_there(client, site):
    own, other = make_unit(site, "Flat 1"), make_unit(site, "Flat 2")
    item = make_observation(site, "Of the other", unit=other)
    draft = make_observation(site, "Half written", unit=own, draft=True)
    _, token = make_link(site, unit=own)
    answers = [client.get(f"/s/{token}/?item={o.number}") for o in (item, draft)]
    assert [a.status_code for a in answers] == [404, 404]
    assert "Of the other" not in text_of(answers[0])


def test_a_danger_is_said_on_every_one_of_the_pages(page, site):
    make_observation(site, "Bare conductor", code="C1", board=make_board(site, "Board 1"))
    item = make_observation(site, "No labels", code="C3")
    make_inspection(site)
    for more in (f"?item={item.number}", "?open=1", "?drawing", "?reports"):
        said = text_of(page(more))
        assert "Danger now: Bare conductor (Board 1), not recorded as made safe. Keep away from it." in said
        assert "ring 999" in said


def test_only_the_page_itself_counts_as_opened(page, site):
    make_board(site)
    item = make_observation(site)
    for more in (f"?item={item.number}", "?open=1", "?drawing", "?reports", "?item=0"):
        page(more)
    page.link.refresh_from_db()
    assert page.link.uses == 0
    page("?from=mail")
    page.link.refresh_from_db()
    assert page.link.uses == 1


# --- pictures ---------------------------------------------------------------------------------------------------------


def test_a_picture_is_small_on_the_page_and_whole_when_tapped(page, site):
    pictured(site, 1, 0)
    whole, small = re.search(r'<a href="(photos/[^"]+)"><img src="([^"]+)"', page().content.decode()).groups()
    sizes = []
    for address in (whole, small, small):
        answer = page(address)
        assert (answer["Content-Type"], answer["Cache-Control"]) == ("image/jpeg", "no-store")
        sizes.append((Image.open(BytesIO(answer.content)).size, len(answer.content)))
    assert [size for size, _ in sizes] == [(1600, 1200), (480, 360), (480, 360)]
    assert sizes[1] == sizes[2]
    assert sizes[1][1] < 40_000


# --- beside a report --------------------------------------------------------------------------------------------------


def test_the_confirmation_of_completed_work_stands_beside_the_outcome(page, site):
    inspection = make_inspection(site)
    fields = {"duty": "england.confirmation.tenants", "inspection": inspection, "due_on": TODAY}
    done = {"answer": PaperAnswer.DONE, "answered_on": TODAY, "how": "by post", "answered_by": anybody()}
    make_paper(site, "written confirmation", to="each existing tenant", **fields | done)
    make_paper(site, "written confirmation", to="the local housing authority", **fields | {"duty": "england.confirmation.authority"})  # fmt: skip
    make_paper(site, "a copy of the report", **fields | {"duty": "england.copy"})
    said = text_of(page())
    assert "Written confirmation of that To each existing tenant: recorded as done on 3 February 2026." in said
    assert "To the local housing authority: not recorded as done yet; due by 3 February 2026." in said
    assert "A legal limit can change: check the current law." in said
    assert "a copy of the report" not in said
    assert "by post" not in said


# --- names ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("surnames", [False, True])
def test_the_firms_people_are_named_as_the_firm_chooses(page, site, surnames):
    Firm.objects.update(surnames=surnames)
    make_user("Mina Vale", "engineer")
    item = make_observation(site, "Bare, seen by Mina Vale", code="C1", place="ask MINA VALE")
    make_remedial(item, work="Key with Mina Vale")
    Limitation.objects.create(
        inspection=make_inspection(site, extent="As agreed with Mina Vale"), what="Mina Vale's loft"
    )
    for more in ("", f"?item={item.number}", "?reports"):
        assert ("vale" in page(more).content.decode().lower()) == surnames
    assert "Danger now: Bare, seen by Mina" in text_of(page())
