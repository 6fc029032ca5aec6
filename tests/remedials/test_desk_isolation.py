"""The page of what should go dead, and its words on the pages of a board and a remedial."""

import pytest
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.premises.models import Board
from remedials.desk.queries.phone_pack import pack
from remedials.works.models import RequiredReading
from tests import factories as make
from tests.factories import NOON
from tests.remedials.desk import hold, hrefs, read, statements, text_of
from tests.remedials.test_visits_pages import booked

TAKEN_OUT = "Something that this is about was taken out of the record, which cannot say what to switch off for it."

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def farm():
    """A TN-S farm: the house board feeds a dairy by way 1 and, it is only believed, a plant by way 2."""
    site = make.make_site("Farm", earthing="TN-S")
    make.make_unit(site, "Cottage")
    house = make.make_board(site, "House", main_switch="100 A", main_switch_kind="all")
    dairy = make.make_board(site, "Dairy", fed=False, main_switch_kind="all")
    plant = make.make_board(site, "Plant", fed=False)
    make.make_feed(dairy, make.make_circuit(house, 1, poles=1))
    make.make_feed(plant, make.make_circuit(house, 2, poles=2), verified=False)
    make.make_circuit(dairy, 1, designation="Cooling", must_not_lose_power="milk cooling", verified_how="traced")
    dairy.units.add(site.units.get(name="Cottage"))
    return site


def board(site, name: str) -> Board:
    return site.boards.get(designation=name)


def page(site, **asked) -> str:
    query = "&".join(f"{name}={value}" for name, value in asked.items())
    return f"{reverse('premises:isolation', args=[site.pk])}?{query}"


def test_inside_a_board_all_that_must_be_known_is_said(on_site, farm):
    said = read(on_site, page(farm, board=board(farm, "Dairy").pk, work="inside"))
    for words in (
        "What should go dead, by the record",
        "Work inside Dairy",
        "Switch off and lock · 1 House, way 1 · B32 (“Circuit 1”) feeds Dairy",
        "single-pole: it does not isolate the neutral",
        "May stay live House the supply side of way 1 · B32",
        "Should go dead, by the record Dairy with its circuits House, way 1 · B32 (“Circuit 1”)",
        "Must not lose power , by the record: milk cooling: Dairy, way 1L1 · B32 (Cooling)",
        "Units: Cottage.",
        "prove dead at the point of work with an approved tester proved before and after",
        "A contactor, a timer, a thermostat or any electronic control does not isolate",
    ):
        assert words.replace("way 1 ·", "way 1L1 ·") in said


def test_a_believed_feed_is_a_point_and_names_the_first_verified_one(on_site, farm):
    said = read(on_site, page(farm, inside=board(farm, "Plant").pk))
    assert "may feed Plant: believed, not verified" in said
    assert "The first verified point upstream of Plant is House: it lies before every candidate." in said
    assert "A feed of Plant is believed, not verified: it can be fed from elsewhere." in said


def test_at_the_origin_only_the_network_or_meter_operator_isolates(on_site, farm):
    said = read(on_site, page(farm, supply=board(farm, "House").pk))
    assert "No isolation point here: network or meter operator. Nothing of the customer's isolates Intake." in said
    assert "By the record there is no point at which the customer can isolate this." in said
    assert "Nothing: by the record, power reaches all of it." in said


def test_a_circuit_is_chosen_from_those_of_its_board(on_site, farm):
    dairy = board(farm, "Dairy")
    answer = on_site.get(page(farm, board=dairy.pk, work="circuit"))
    there = page(farm, circuit=dairy.circuits.get().pk)
    assert "Which circuit of Dairy?" in text_of(answer)
    assert there in hrefs(answer)
    assert "Work on Dairy, way 1L1 · B32 (Cooling)" in read(on_site, there)


def test_choosing_a_circuit_of_a_board_without_ways_says_so(on_site, farm):
    said = read(on_site, page(farm, board=board(farm, "Plant").pk, work="circuit"))
    assert "Plant has no way entered yet" in said


def test_drawing_asks_the_same_of_another_board(on_site, farm):
    answer = on_site.get(page(farm, supply=board(farm, "House").pk))
    assert page(farm, board=board(farm, "Dairy").pk, work="inside") in hrefs(answer)
    drawn = on_site.get(page(farm, board=board(farm, "House").pk, work="supply"))
    assert page(farm, supply=board(farm, "Dairy").pk) in hrefs(drawn)


def test_lock_and_key_stand_at_the_point_they_are_on(on_site, farm, engineer):
    way = board(farm, "House").circuits.get(way=1)
    seen = make.make_observation(farm, "scorched", board=way.board, circuit=way)
    hold(seen, by=engineer, lock="14")
    said = read(on_site, page(farm, inside=board(farm, "Dairy").pk))
    lock = f"locked off already: off at way 3, lock 14, key with Dirk, for observation {seen.number}"
    assert f"it does not isolate the neutral {lock}" in said
    elsewhere = read(on_site, page(farm, inside=board(farm, "Plant").pk))
    assert f"Locked off elsewhere at this site {lock}" in elsewhere


@pytest.mark.parametrize(
    "asked", [{"circuit": new_id()}, {"inside": "x"}, {"board": new_id(), "work": "circuit"}, {"supply": "9" * 40}]
)
def test_what_is_not_there_is_told_and_may_be_chosen_again(on_site, farm, asked):
    answer = on_site.get(page(farm, **asked))
    assert answer.status_code == 422
    said = text_of(answer)
    assert "What was asked about is not at this site, or it was taken out. Choose again." in said
    assert "Which work?" in said


def test_a_board_of_another_site_is_not_there(on_site, farm):
    elsewhere = make.make_board(make.make_site("Elsewhere"), "Stable")
    assert on_site.get(page(farm, inside=elsewhere.pk)).status_code == 422


def test_asking_without_a_board_says_what_to_choose(on_site, farm):
    answer = on_site.get(page(farm, board="", work="inside"))
    assert (answer.status_code, "Choose a board, and what is to be done there." in text_of(answer)) == (422, True)


@pytest.mark.parametrize(("more", "status"), [(19, 200), (20, 422)])
def test_work_beyond_what_is_answered_at_once_is_never_passed_over_in_silence(on_site, farm, more, status):
    house = board(farm, "House")
    ways = [house.circuits.first(), *(make.make_circuit(house) for _ in range(more))]
    answer = on_site.get(f"{page(farm)}{'&'.join(f'circuit={way.pk}' for way in ways)}")
    assert answer.status_code == status
    assert ("Only the first 20 pieces of work are answered here" in text_of(answer)) == (status == 422)


def test_site_without_boards_says_what_to_do_first(on_site):
    said = read(on_site, page(make.make_site("Bare")))
    assert "No board entered yet" in said
    assert "Which work?" not in said


@pytest.mark.parametrize("boards", [2, 6])
def test_statements_stay_the_same_at_two_sizes(on_site, farm, boards):
    house = board(farm, "House")
    for n in range(boards):
        more = make.make_board(farm, f"Barn {n}", fed=False)
        make.make_feed(more, make.make_circuit(house))
    on_site.get(page(farm, inside=house.pk))
    with statements() as sql:
        assert on_site.get(page(farm, inside=house.pk)).status_code == 200
    assert len(sql) == 11


# --- on other pages ---------------------------------------------------------------------------------------------------


def test_board_page_says_what_to_mind(on_site, farm):
    barn = make.make_board(farm, "Barn", fed=False)
    said = read(on_site, reverse("premises:board", args=[barn.pk]))
    assert "What feeds Barn is not recorded: look for it before anything is isolated." in said
    assert "Competent people only." in said


def test_board_page_says_what_to_switch_off_and_leads_on(on_site, farm):
    dairy = board(farm, "Dairy")
    answer = on_site.get(reverse("premises:board", args=[dairy.pk]))
    said = text_of(answer)
    assert "What to switch off, by the record" in said
    assert "Work inside Dairy: House, way 1L1 · B32 (“Circuit 1”) feeds Dairy" in said
    assert {page(farm, inside=dairy.pk), page(farm, board=dairy.pk, work="supply")} <= hrefs(answer)


def test_site_page_leads_to_it(on_site, farm):
    assert reverse("premises:isolation", args=[farm.pk]) in hrefs(on_site.get(reverse("desk:site", args=[farm.pk])))


def test_remedial_page_says_what_to_switch_off_for_all_it_is_about(on_site, farm):
    way = board(farm, "House").circuits.get(way=1)
    one = make.make_observation(farm, "scorched", board=way.board, circuit=way)
    other = make.make_observation(farm, "no cover", board=board(farm, "Plant"))
    remedial = make.make_remedial(one, other)
    answer = on_site.get(reverse("desk:remedial", args=[remedial.pk]))
    said = text_of(answer)
    assert "Work on House, way 1L1 · B32 (“Circuit 1”); Work inside Plant:" in said
    assert page(farm, circuit=way.pk, inside=board(farm, "Plant").pk) in hrefs(answer)


def test_remedial_that_leaves_the_power_on_names_no_point(on_site, farm):
    seen = make.make_observation(farm, "no label", board=board(farm, "Plant"))
    remedial = make.make_remedial(seen, power_off=False)
    assert "What to switch off" not in read(on_site, reverse("desk:remedial", args=[remedial.pk]))


def test_visit_leads_to_what_to_switch_off_for_each_remedial(on_site, farm, engineer):
    way = board(farm, "House").circuits.get(way=1)
    seen = make.make_observation(farm, "scorched", board=way.board, circuit=way)
    live = make.make_observation(farm, "no label", board=way.board)
    off = make.make_remedial(seen, stage="approved", power_off=True)
    on = make.make_remedial(live, stage="approved", power_off=False)
    answer = on_site.get(reverse("visits:visit", args=[booked(off, engineer, remedials=[off, on]).pk]))
    asked = {href for href in hrefs(answer) if "/isolation/" in href}
    assert asked == {page(farm, circuit=way.pk)}
    assert "Before you touch it Switch off, by the record:" in text_of(answer)
    assert f"The whole of it, with the drawing for remedial {off.number}" in text_of(answer)


def test_every_page_asks_the_same_of_a_remedial_and_the_phone_keeps_that_page(on_site, farm, engineer, now):
    """What it must read on counts, not only what was found; in the order of numbers, however they were chosen."""
    house = board(farm, "House")
    one, other = house.circuits.get(way=1), house.circuits.get(way=2)
    first = make.make_observation(farm, "scorched", board=house, circuit=other)
    second = make.make_observation(farm, "loose", board=house, circuit=one)
    gone = make.make_circuit(house, 3, retired_at=NOON)
    third = make.make_observation(farm, "cut", board=house, circuit=gone)
    remedial = make.make_remedial(third, second, first, stage="approved")
    dairy = board(farm, "Dairy")
    read_on = [make.make_circuit(dairy, 2), dairy.circuits.get(way=1)]
    for circuit in read_on:
        RequiredReading.objects.create(remedial=remedial, circuit=circuit, quantity="loop-impedance")
    visit = booked(remedial, engineer, remedials=[remedial])
    pages = {
        "remedial": reverse("desk:remedial", args=[remedial.pk]),
        "closing": reverse("works:close", args=[remedial.pk]),
        "visit": reverse("visits:visit", args=[visit.pk]),
    }
    shown = {name: on_site.get(at) for name, at in pages.items()}
    assert [name for name, answer in shown.items() if TAKEN_OUT not in text_of(answer)] == []
    asks = {name: {href for href in hrefs(answer) if "/isolation/?" in href} for name, answer in shown.items()}
    wanted = f"{reverse('premises:isolation', args=[farm.pk])}?" + "&".join(
        f"circuit={way.pk}" for way in (other, one, *reversed(read_on))
    )
    assert asks == {name: {wanted} for name in pages}
    kept = {page for group in pack(engineer, now=now)["groups"] for page in group.get("pages", ())}
    assert wanted in kept


def test_work_at_nothing_that_still_stands_says_so_and_names_no_point(on_site, farm, engineer):
    old = board(farm, "Plant")
    remedial = make.make_remedial(make.make_observation(farm, "no cover", board=old), stage="approved", power_off=True)
    visit = booked(remedial, engineer, remedials=[remedial])
    Board.objects.filter(pk=old.pk).update(retired_at=NOON)
    for at in (reverse("desk:remedial", args=[remedial.pk]), reverse("works:close", args=[remedial.pk]),
               reverse("visits:visit", args=[visit.pk])):  # fmt: skip
        said = read(on_site, at)
        assert TAKEN_OUT in said, at
        assert "no point at which" not in said
