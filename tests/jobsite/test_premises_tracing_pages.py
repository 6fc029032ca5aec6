"""The pages on which feeds are traced: what they say, what they keep of what was typed, how much they ask the database."""

import pytest
from django.urls import reverse
from pytest_django.asserts import assertContains

from jobsite.ids import new_id
from jobsite.premises.models import SwitchingTest
from tests import factories as make
from tests.factories import NOON
from tests.jobsite.premises import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def cellar():
    """An intake board with four ways, a shed that ways 1 to 3 may feed, and a hut that nobody knows anything of."""
    site = make.make_site("Cellar")
    intake = make.make_board(site, "Intake board")
    ways = [make.make_circuit(intake, number) for number in range(1, 5)]
    shed = make.make_board(site, "Shed", fed=False, place="Yard")
    make.make_circuit(shed, 1)
    for way in ways[:3]:
        make.make_feed(shed, way, kind="may-be", verified=False)
    make.make_board(site, "Hut", fed=False)
    return site


def board(site, name):
    return site.boards.get(designation=name)


def way(site, number):
    return site.circuits.get(board__designation="Intake board", way=number)


def at(name, row, **query):
    from jobsite.addresses import address

    return address(f"premises:{name}", row.pk, **query)


def read(client, site) -> str:
    return text_of(client.get(at("tracing", site)))


# --- the result -------------------------------------------------------------------------------------------------------


def test_nothing_entered_yet(on_site) -> None:
    page = read(on_site, make.make_site())
    assert "No board entered yet" in page
    assert "None noted yet." in page
    assert "Note a switching test" not in page


def test_all_verified(on_site) -> None:
    site = make.make_site()
    make.make_board(site)
    assert "What feeds each board is verified Nothing is left" in read(on_site, site)


def test_what_is_open_and_what_to_switch_off_next(on_site, cellar) -> None:
    page = read(on_site, cellar)
    assert "Still open · 1 3 ways in which these boards can be fed together agree with the tests." in page
    assert "Shed Yard Intake board, ways 1L1, 2L1, 3L1" in page
    assert "Nobody knows · 1" in page
    assert "Look at Shed. It is expected to leave about 2 of 3 possibilities." in page
    assert "May lose power: Shed (1 circuit)." in page
    assert "Must not lose power" not in page


def test_load_that_must_not_lose_power_is_said_before_anything_is_switched_off(on_site, cellar) -> None:
    make.make_circuit(board(cellar, "Shed"), 2, designation="Freezer", must_not_lose_power="freezer")
    said = "Must not lose power, and may: freezer (Shed, way 2L1 · B32)."
    assert said in read(on_site, cellar)
    assert said in text_of(on_site.get(at("switching_new", cellar, off=way(cellar, 1).pk)))


@pytest.mark.parametrize("by", ["battery", "link"])
def test_board_that_power_can_come_back_to_is_not_ruled_out_by_being_alive(on_site, cellar, by) -> None:
    """Fed from way 2 in truth, the shed is alive with that off: by what comes in below it, or on one of its ways."""
    shed = board(cellar, "Shed")
    if by == "battery":
        loft = make.make_board(cellar, "Loft", fed=False)
        make.make_feed(loft, make.make_circuit(shed, 5))
        make.make_second_source(loft, "Battery", kind="battery")
    else:
        make.make_link_of_circuits(make.make_circuit(shed, 5), make.make_circuit(way(cellar, 1).board, 9), kind="feed")
    make.make_switching_test(way(cellar, 2), alive=[shed])
    assert "Intake board, ways 1L1, 2L1, 3L1" in read(on_site, cellar)
    make.make_switching_test(way(cellar, 2), alive=[shed], others_off=True)
    assert "Intake board, ways 1L1, 3L1" in read(on_site, cellar)


def test_the_networks_fuse_is_never_what_is_switched_off(on_site, cellar) -> None:
    """A supply is switched off at the customer's isolator; where none is recorded, that is said first."""
    intake = cellar.supplies.get()
    where = at("switching_new", cellar, off=intake.pk)
    said = f"No isolator of the customer's is recorded at {intake.name}. Where there is none, only the network or meter"
    assert said in text_of(on_site.get(where))
    cellar.supplies.update(isolator="100 A switch", isolator_kind="all")
    assert "No isolator of the customer's is recorded" not in text_of(on_site.get(where))


def test_board_without_ways_on_record_is_to_be_looked_into_first(on_site, cellar) -> None:
    make.make_feed(board(cellar, "Hut"), way(cellar, 1), verified=False)
    assert "What Hut supplies is not recorded: find out first." in read(on_site, cellar)


def test_what_is_ruled_out_says_by_which_test(on_site, cellar) -> None:
    make.make_switching_test(way(cellar, 2), alive=[board(cellar, "Shed")])
    assert "Intake board, ways 1L1, 3L1" in (page := read(on_site, cellar))
    assert "Intake board, way 2L1 · B32 by the test of 3 Feb 2026, 12:00" in page


def test_certain_and_seen_is_taken_over_with_one_press(on_site, cellar) -> None:
    make.make_switching_test(way(cellar, 2), dead=[board(cellar, "Shed")])
    page = on_site.get(at("tracing", cellar))
    assert "Certain and seen · 1 Shed is fed from Intake board, way 2L1 · B32" in text_of(page)
    pair = f"{board(cellar, 'Shed').pk}:{way(cellar, 2).pk}"
    assertContains(page, f'name="certain" value="{pair}"')
    done = on_site.post(at("tracing_take_over", cellar), {"certain": [pair]}, follow=True)
    assert "Recorded as verified: switched off and seen." in text_of(done)
    assert board(cellar, "Shed").feeds.get().verified_how == "switched"


def test_dead_with_the_only_feed_named_is_not_called_certain(on_site, cellar) -> None:
    """Nothing was ruled out: it may hang one board further down, or on a way that nobody named."""
    hut, feeder = board(cellar, "Hut"), way(cellar, 4)
    make.make_feed(hut, feeder, verified=False)
    make.make_switching_test(feeder, dead=[hut])
    answer = on_site.get(at("tracing", cellar))
    page = text_of(answer)
    assert "Certain and seen" not in page
    assert "Went dead with the only feed named · 1 Only feed named; other ways of that board not tried." in page
    assert "Hut went dead with Intake board, way 4L1 · B32 Name what else may feed it" in page
    assert "by whoever noted the test; only feed named; other ways of that board not tried" in page
    pair = f"{hut.pk}:{feeder.pk}"
    assertContains(answer, f'name="certain" value="{pair}"', 1)
    on_site.post(at("tracing_take_over", cellar), {"certain": [pair]})
    assert hut.feeds.get().verified_how == "switched"


@pytest.mark.parametrize("sent", ["", "damaged", "1:2"])
def test_taking_over_what_was_damaged_on_its_way(on_site, cellar, sent) -> None:
    answer = on_site.post(at("tracing_take_over", cellar), {"certain": [sent] if sent else []})
    assert answer.status_code == 422
    assert "Nothing was chosen: open the page again." in text_of(answer)


def test_taking_over_what_is_no_longer_certain_is_said_on_the_page(on_site, cellar) -> None:
    pair = f"{board(cellar, 'Shed').pk}:{way(cellar, 2).pk}"
    answer = on_site.post(at("tracing_take_over", cellar), {"certain": [pair]})
    assert answer.status_code == 422
    assert "it is no longer certain: look at it again." in text_of(answer)


def test_left_over_by_elimination_is_to_be_seen(on_site, cellar) -> None:
    for number in (1, 2):
        make.make_switching_test(way(cellar, number), alive=[board(cellar, "Shed")])
    page = read(on_site, cellar)
    assert "One left, not seen yet" in page
    assert "Intake board, way 3L1 · B32 Look at Shed." in page
    assert "Certain and seen" not in page


def test_clash_names_the_tests_and_offers_to_withdraw_each(on_site, cellar) -> None:
    make.make_switching_test(way(cellar, 1), dead=[board(cellar, "Shed")])
    wrong = make.make_switching_test(way(cellar, 1), alive=[board(cellar, "Shed")])
    page = on_site.get(at("tracing", cellar))
    assert "Tests that contradict each other" in text_of(page)
    assertContains(page, at("switching_withdraw", wrong), 2)  # in the clash, and in the list
    assert "Certain and seen" not in text_of(page)


def test_board_that_went_dead_with_a_way_not_named_leads_to_naming_it(on_site, cellar) -> None:
    make.make_switching_test(way(cellar, 4), dead=[board(cellar, "Shed")])
    page = on_site.get(at("tracing", cellar))
    assert "A test that nothing on record explains" in text_of(page)
    assertContains(page, at("candidates", board(cellar, "Shed"), also=way(cellar, 4).pk))


def test_withdrawn_and_taken_out_stay_on_the_list(on_site, cellar, engineer) -> None:
    fields = {"withdrawn_at": NOON, "withdrawn_by": engineer, "withdrawn_why": "wrong way"}
    make.make_switching_test(way(cellar, 1), alive=[board(cellar, "Shed"), board(cellar, "Hut")], **fields)
    make.make_switching_test(
        make.make_circuit(board(cellar, "Intake board"), 9, retired_at=NOON), alive=[board(cellar, "Shed")]
    )
    cellar.boards.filter(designation="Hut").update(retired_at=NOON)
    page = read(on_site, cellar)
    assert "Withdrawn by Edwin Wireman on 3 Feb 2026, 12:00: wrong way" in page
    assert "Hut (taken out), Shed" in page
    assert "way 9L1 · B32 (taken out since: it says nothing now)" in page
    assert "Still open · 1" in page


def test_too_many_possibilities_are_said_to_be_too_many(on_site) -> None:
    """Eight boards, each of which may hang on any other: 9 ** 7 arrangements at least."""
    site = make.make_site()
    boards = [make.make_board(site, f"Board {n}", fed=False) for n in range(8)]
    ways = [make.make_circuit(one, 1) for one in boards]
    for one in boards:
        for feeder in [make.supply_of(site), *(w for w in ways if w.board_id != one.pk)]:
            make.make_feed(one, feeder, kind="may-be", verified=False)
    page = read(on_site, site)
    assert (
        "There are too many ways in which these boards can be fed together (up to 16,777,216) to try out each." in page
    )
    assert "Switch off next" in page


def test_boards_named_only_as_feeding_each_other(on_site, cellar) -> None:
    hut, barn = board(cellar, "Hut"), make.make_board(cellar, "Barn", fed=False)
    for child, feeder in ((hut, barn), (barn, hut)):
        make.make_feed(child, make.make_circuit(feeder), kind="may-be", verified=False)
    page = read(on_site, cellar)
    assert "Nobody knows · 2" in page
    assert page.count("What is named would only feed itself by it: something is missing.") == 2


def test_somebody_who_may_only_read_gets_no_buttons(client, cellar) -> None:
    make.make_switching_test(way(cellar, 2), dead=[board(cellar, "Shed")])
    lent = make.make_user("Sid Lent", "engineer", subcontractor=True)
    make.grant_access(cellar, lent)
    client.force_login(lent)
    cellar.archived_at = NOON
    cellar.save()
    page = read(client, cellar)
    assert "Certain and seen · 1" in page
    assert not [
        words for words in ("Record as verified", "Note a switching test", "It does not count") if words in page
    ]


@pytest.mark.parametrize("how_many", [1, 3])
def test_statements_of_the_result(on_site, cellar, django_assert_num_queries, how_many) -> None:
    for number in range(how_many):
        more = make.make_board(cellar, f"More {number}", fed=False)
        make.make_feed(more, way(cellar, 1), verified=False)
        make.make_second_source(more, f"Panels {number}")
        make.make_switching_test(way(cellar, 1), dead=[more], alive=[board(cellar, "Shed")])
    read(on_site, cellar)
    with django_assert_num_queries(11):
        read(on_site, cellar)


# --- noting a test ----------------------------------------------------------------------------------------------------


def test_device_is_chosen_first_those_in_question_on_top(on_site, cellar) -> None:
    page = on_site.get(at("switching_new", cellar))
    groups = page.context["devices"]
    assert [head for head, _ in groups] == ["May feed a board that is in question", "Supplies", "Intake board", "Shed"]
    assert [words for _, words in groups[0][1]] == [f"Intake board, way {n}L1 · B32" for n in (1, 2, 3)]


def test_device_that_is_no_longer_there(on_site, cellar) -> None:
    page = on_site.get(at("switching_new", cellar, off=new_id()))
    assert page.status_code == 422
    assert "What was chosen is no longer there: choose again." in text_of(page)


def test_form_says_who_loses_power_and_asks_of_each_board(on_site, cellar) -> None:
    page = on_site.get(at("switching_new", cellar, off=way(cellar, 1).pk))
    assert "May lose power: Shed (1 circuit)." in text_of(page)
    assert "Nobody knows what feeds Hut: that may lose power too." in text_of(page)
    form = page.context["form"]
    assert [field.label for field in form.asked_fields] == ["Hut", "Shed, Yard"]
    assert [field.label for field in form.verified_fields] == ["Intake board"]


def typed(site, **seen):
    return {"id": str(new_id()), "at": "2026-02-03T11:30"} | {
        f"seen-{board(site, name).pk}": state for name, state in seen.items()
    }


def test_note_what_was_seen(on_site, cellar) -> None:
    where = at("switching_new", cellar, off=way(cellar, 1).pk)
    done = on_site.post(where, typed(cellar, Shed="dead", Hut="") | {"together_with": "Sam"}, follow=True)
    assert "Noted. Switch on again what was off; what the test tells stands below." in text_of(done)
    test = SwitchingTest.objects.get()
    assert ([(row.board.designation, row.state) for row in test.seen.all()], test.together_with) == (
        [("Shed", "dead")],
        "Sam",
    )


def test_sent_twice_makes_one_test(on_site, cellar) -> None:
    where, form = at("switching_new", cellar, off=way(cellar, 1).pk), typed(cellar, Shed="dead")
    assert [on_site.post(where, form).status_code for _ in range(2)] == [302, 302]
    assert SwitchingTest.objects.count() == 1


def test_refused_form_keeps_what_was_typed(on_site, cellar) -> None:
    where = at("switching_new", cellar, off=way(cellar, 1).pk)
    form = typed(cellar, Shed="dead", Hut="alive") | {"at": "2027-02-03T11:30", "note": "tenant warned"}
    answer = on_site.post(where, form)
    assert answer.status_code == 422
    assert "A test is noted once it was done, not before." in text_of(answer)
    assertContains(answer, "tenant warned", status_code=422)
    assertContains(answer, "checked", 3, status_code=422)  # two boards as chosen, the third not looked at


def test_board_is_dead_or_alive_and_nothing_else(on_site, cellar) -> None:
    where = at("switching_new", cellar, off=way(cellar, 1).pk)
    answer = on_site.post(where, typed(cellar, Shed="asleep"))
    assert answer.status_code == 422
    assert "Choose one of those offered." in text_of(answer)


@pytest.mark.parametrize("how_many", [1, 3])
def test_statements_of_the_form(on_site, cellar, django_assert_num_queries, how_many) -> None:
    for number in range(how_many):
        make.make_feed(make.make_board(cellar, f"More {number}", fed=False), way(cellar, 1), verified=False)
    where = at("switching_new", cellar, off=way(cellar, 1).pk)
    on_site.get(where)
    with django_assert_num_queries(10):  # no test, nothing seen
        on_site.get(where)


# --- withdrawing, naming candidates -----------------------------------------------------------------------------------


def test_withdraw_with_a_reason(on_site, cellar) -> None:
    test = make.make_switching_test(way(cellar, 1), alive=[board(cellar, "Shed")])
    where = at("switching_withdraw", test)
    assert "Intake board, way 1L1 · B32, switched off on 3 Feb 2026, 12:00, at Cellar." in text_of(on_site.get(where))
    assert on_site.post(where, {"why": ""}).status_code == 422
    done = on_site.post(where, {"why": "noted at the wrong board"}, follow=True)
    assert "Withdrawn. It stays on record with your reason." in text_of(done)


def test_candidates_fit_and_are_new(on_site, cellar) -> None:
    offered = on_site.get(at("candidates", board(cellar, "Shed"))).context["form"].offered
    assert [(group["name"], len(group["ways"]), bool(group["any"])) for group in offered] == [
        ("From the network", 1, False),
        ("Intake board", 1, False),  # the other three are named already; its own ways and spare ones never
    ]


def test_name_any_way_of_a_board(on_site, cellar) -> None:
    hut, intake = board(cellar, "Hut"), board(cellar, "Intake board")
    make.make_circuit(intake, 5, spare=True)
    done = on_site.post(at("candidates", hut), {"feeders": [f"any:{intake.pk}"]}, follow=True)
    assert "Hut: 4 more named that may feed it." in text_of(done)
    assert sorted(hut.feeds.values_list("from_circuit__way", flat=True)) == [1, 2, 3, 4]


def test_nothing_ticked(on_site, cellar) -> None:
    answer = on_site.post(at("candidates", board(cellar, "Hut")), {})
    assert answer.status_code == 422
    assert "Tick one at least." in text_of(answer)


def test_candidate_from_a_test_is_ticked_beforehand(on_site, cellar) -> None:
    page = on_site.get(at("candidates", board(cellar, "Shed"), also=way(cellar, 4).pk))
    ticked = [option for group in page.context["form"].groups for option in group["options"] if option["ticked"]]
    assert [option["value"] for option in ticked] == [str(way(cellar, 4).pk)]


def test_board_that_is_verified_needs_no_candidates(on_site, cellar) -> None:
    answer = on_site.post(at("candidates", board(cellar, "Intake board")), {"feeders": [str(way(cellar, 4).pk)]})
    assert answer.status_code == 422


# --- the way there ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "leads"), [("Shed", True), ("Hut", True), ("Intake board", False)])
def test_board_whose_feed_is_not_verified_leads_there(on_site, cellar, name, leads) -> None:
    page = on_site.get(reverse("desk:board", args=[board(cellar, name).pk]))
    assert ("Find it by switching off" in text_of(page)) is leads


def test_site_leads_there(on_site, cellar) -> None:
    for name in ("desk:site", "premises:premises"):
        assertContains(on_site.get(reverse(name, args=[cellar.pk])), reverse("premises:tracing", args=[cellar.pk]))
