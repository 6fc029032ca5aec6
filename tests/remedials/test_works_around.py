"""What whoever works on a board is told of it: what is open there, what feeds it, what must not lose power."""

import pytest
from django.urls import reverse

from remedials.works.queries.around import ground_of
from tests import factories as make
from tests.remedials.desk import hold, statements, text_of
from tests.remedials.test_visits_pages import booked
from tests.remedials.work import ask_reading

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def yard():
    """Main board, workshop fed from it by a believed feed, paint shop fed from the workshop, and an office apart."""
    site = make.make_site("Yard")
    boards = {"main": make.make_board(site, "Main board")}
    for name, above in (("workshop", "main"), ("paint shop", "workshop")):
        way = make.make_circuit(boards[above], designation=f"to the {name}", arrangement="distribution")
        boards[name] = make.make_board(site, name.capitalize(), fed=False)
        make.make_feed(boards[name], way, verified=name != "workshop")
    boards["office"] = make.make_board(site, "Office board")
    return site, boards


def around(site, *boards, **more):
    return ground_of([site.pk])[site.pk].around([board and board.pk for board in boards], **more)


def texts(found) -> list[str]:
    return [one["text"] for one in found["open"]]


def test_open_on_the_board_beside_it_and_every_c1_of_the_site(yard) -> None:
    site, boards = yard
    for text, code, name in (
        ("own", "C2", "workshop"), ("feeding", "FI", "main"), ("fed", "", "paint shop"), ("apart", "C2", "office"),
        ("improvement", "C3", "workshop"), ("far danger", "C1", "office"),
    ):  # fmt: skip
        make.make_observation(site, text, code=code, board=boards[name])
    make.make_observation(site, "ended", board=boards["workshop"], ended="remedied", ended_on=make.TODAY)
    make.make_observation(site, "draft", board=boards["workshop"], draft=True)
    assert texts(around(site, boards["workshop"])) == ["far danger", "own", "feeding", "fed"]
    assert texts(around(site, boards["office"])) == ["far danger", "apart"]


def test_two_feeds_away_is_not_beside(yard) -> None:
    site, boards = yard
    make.make_observation(site, "far", board=boards["paint shop"])
    assert texts(around(site, boards["main"])) == []


def test_what_the_work_puts_right_is_left_out(yard) -> None:
    site, boards = yard
    own = make.make_observation(site, "own", code="C1", board=boards["main"])
    assert texts(around(site, boards["main"], besides=[own.pk])) == []


def test_where_no_board_is_named_the_whole_site_counts(yard) -> None:
    site, boards = yard
    make.make_observation(site, "apart", board=boards["office"])
    make.make_circuit(boards["office"], designation="Server", must_not_lose_power="server")
    found = around(site, None)
    assert (texts(found), found["named"]) == (["apart"], False)
    assert found["loads"] == ["server: Office board, way 1L1, Server"]


def test_a_c1_says_that_it_is_not_made_safe_or_what_holds_it(yard, engineer) -> None:
    site, boards = yard
    c1 = make.make_observation(site, "bare busbar", code="C1", board=boards["main"])
    assert around(site, boards["main"])["open"][0]["bare"] is True
    hold(c1, by=engineer, lock="14", key_holder="Dirk")
    found = around(site, boards["main"])["open"][0]
    assert found["bare"] is False
    assert found["held"] == "Made safe for now: isolated and locked, off at way 3, lock 14, key with Dirk"


def test_loads_below_the_board_are_named_and_others_not(yard) -> None:
    site, boards = yard
    for name, what in (("paint shop", "fume alarm"), ("main", "freezer")):
        make.make_circuit(boards[name], 9, designation="Way nine", must_not_lose_power=what)
    assert around(site, boards["workshop"])["loads"] == ["fume alarm: Paint shop, way 9L1, Way nine"]
    assert len(around(site, boards["main"])["loads"]) == 2


def test_a_feed_is_verified_or_only_believed_or_not_recorded(yard) -> None:
    site, boards = yard
    assert around(site, boards["workshop"])["fed"] == [
        {"words": "Workshop is fed from Main board, way 1L1", "doubt": "only believed, not verified"}
    ]
    assert around(site, boards["main"])["fed"] == [{"words": "Main board is fed from Intake", "doubt": ""}]
    lone = make.make_board(site, "Shed", fed=False)
    assert around(site, lone)["fed"][0]["words"] == "What feeds Shed is not recorded"


@pytest.mark.parametrize("size", [1, 10])
def test_one_statement_at_any_size(size) -> None:
    sites = []
    for n in range(size):
        site = make.make_site(f"Site {n}")
        for board in [make.make_board(site, f"B{k}") for k in range(size)]:
            make.make_observation(site, board=board)
            make.make_circuit(board, must_not_lose_power="alarm")
        sites.append(site.pk)
    with statements() as sql:
        found = ground_of(sites)
    assert (len(sql), len(found), len(found[sites[0]].dangers)) == (1, size, size)


# --- on the pages -----------------------------------------------------------------------------------------------------


@pytest.fixture
def work(yard, engineer):
    """A remedial on the workshop, where a C1 that it does not remedy is open, and a freezer must not lose power."""
    site, boards = yard
    make.make_observation(site, "bare busbar", code="C1", board=boards["workshop"])
    make.make_circuit(boards["workshop"], designation="Cold store", must_not_lose_power="freezer")
    remedial = make.make_remedial(make.make_observation(site, board=boards["workshop"]), stage="approved")
    return remedial, booked(remedial, engineer, start=make.NOON)


DANGER = "Danger present, not made safe: C1 bare busbar Workshop"
LOAD = "freezer: Workshop, way 2L1, Cold store"
FED = "Workshop is fed from Main board, way 1L1, by the record: only believed, not verified"


def test_the_engineers_pages_show_the_danger_the_loads_and_the_feed(on_site, work) -> None:
    remedial, visit = work
    for address in (
        reverse("visits:visit", args=[visit.pk]), reverse("works:close", args=[remedial.pk]),
        reverse("desk:remedial", args=[remedial.pk]),
    ):  # fmt: skip
        said = text_of(on_site.get(address))
        assert [words in said for words in (DANGER, LOAD, FED)] == [True, True, True], address
    assert DANGER in text_of(on_site.get("/my-day/"))


def test_the_booking_page_shows_them(at_desk, work) -> None:
    remedial, _ = work
    said = text_of(at_desk.get(f"/visits/new/?remedial={remedial.pk}"))
    assert [words in said for words in (DANGER, LOAD, FED)] == [True, True, True]


@pytest.mark.parametrize("name", ["works:close", "desk:remedial"])
def test_a_remedial_for_a_c1_leads_to_making_safe(on_site, engineer, name) -> None:
    c1 = make.make_observation(make.make_site(), "bare busbar", code="C1")
    address = reverse(name, args=[make.make_remedial(c1, stage="approved").pk])
    way = reverse("inspections:make_safe", args=[c1.pk])
    shown = on_site.get(address)
    assert ("Danger present, not made safe: C1" in text_of(shown), way in shown.content.decode()) == (True, True)
    hold(c1, by=engineer)
    shown = on_site.get(address)
    assert ("not made safe" in text_of(shown), way in shown.content.decode()) == (False, False)


def test_the_isolation_caution_always_stands_on_a_remedial(at_desk) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site(), code="C3"))
    said = text_of(at_desk.get(reverse("desk:remedial", args=[remedial.pk])))
    assert "prove dead with an approved tester proved before and after" in said


def test_boards_of_required_readings_count_too(on_site, yard) -> None:
    site, boards = yard
    make.make_observation(site, "loose bar", board=boards["main"])
    remedial = make.make_remedial(make.make_observation(site), stage="approved")
    circuit = ask_reading(remedial)
    assert circuit.board == boards["main"]
    assert "On these boards, open" in text_of(on_site.get(reverse("works:close", args=[remedial.pk])))


def test_what_nobody_has_inspected_is_told_until_it_is_covered(client, office, yard) -> None:
    site, boards = yard
    report, later = make.make_inspection(site), make.make_inspection(site)
    draft = make.make_inspection(site, issued=False)
    for what, fields in (
        ("the loft", {}),
        ("inside, no key", {"board": boards["workshop"]}),
        ("behind panels", {"board": boards["office"]}),
        ("the cellar", {"covered_by": later}),
    ):
        report.limitations.create(what=what, **fields)
    draft.limitations.create(what="the drain")
    found = around(site, boards["workshop"])["limits"]
    assert [one["what"] for one in found] == ["the loft", "Workshop, inside, no key"]
    remedial = make.make_remedial(make.make_observation(site, board=boards["workshop"]))
    client.force_login(office)
    shown = text_of(client.get(reverse("desk:remedial", args=[remedial.pk])))
    assert "Not inspected yet the loft Report of 3 Feb 2026" in shown
