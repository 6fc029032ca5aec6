"""The pages of premises: what they show, what they refuse in place, and what they cost."""

import re

import pytest
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.premises.models import Party, Site
from tests import factories as make
from tests.jobsite.premises import address, posted, rows_of, text_of

pytestmark = pytest.mark.django_db


SHOWN = [
    ("parties", ""),
    ("party_new", ""),
    ("party", "party"),
    ("party_edit", "party"),
    ("site_new", ""),
    ("premises", "site"),
    ("site_edit", "site"),
    ("unit_new", "site"),
    ("unit_edit", "unit"),
    ("role_new", "unit"),
    ("role_end", "role"),
    ("supply_new", "site"),
    ("supply_edit", "supply"),
    ("board_new", "site"),
    ("board", "board"),
    ("board_edit", "board"),
    ("feed_new", "board"),
    ("feed_edit", "feed"),
    ("circuit_new", "board"),
    ("circuit_edit", "circuit"),
    ("link_new", "circuit"),
    ("source_new", "board"),
    ("source_edit", "source"),
]


@pytest.mark.parametrize(("name", "kind"), SHOWN)
def test_page_opens(at_desk, yard, name, kind) -> None:
    response = at_desk.get(address(name, kind, yard))
    assert (response.status_code, response.content.count(b"<h1>")) == (200, 1)


EDITED = [(name, kind) for name, kind in SHOWN if name.endswith("_edit")]


@pytest.mark.parametrize(("name", "kind"), EDITED)
def test_form_sent_back_unchanged_changes_nothing(at_desk, yard, name, kind) -> None:
    """What a form shows is what the row holds: a page that is opened and saved leaves no entry."""
    where = address(name, kind, yard)
    with make.recorded() as told:
        response = at_desk.post(where, posted(at_desk.get(where)))
    assert (response.status_code, told) == (302, [])


@pytest.mark.parametrize(("name", "kind"), EDITED)
def test_row_of_a_site_out_of_sight_is_not_there(client, subcontractor, yard, name, kind) -> None:
    subcontractor.roles = ["engineer", "office"]
    subcontractor.save()
    client.force_login(subcontractor)
    assert client.get(address(name, kind, yard)).status_code == 404


# --- entering a site --------------------------------------------------------------------------------------------------


def site_form(at_desk, **changes) -> dict[str, object]:
    form = posted(at_desk.get(reverse("premises:site_new")))
    form |= {"name": "12 Sample Lane", "address": "12 Sample Lane", "nation": "wales", "kind": "house"}
    form |= {"tenure": "private-rented", "phases": "L1", "earthing": "TN-C-S", "main_fuse_a": "80"} | changes
    return form


def new_site(at_desk, **changes):
    return at_desk.post(reverse("premises:site_new"), site_form(at_desk, **changes))


def test_open_a_site_for_a_new_customer(at_desk) -> None:
    response = new_site(at_desk, customer_name="Ada Invented", customer_phone="01632 960001")
    site = Site.objects.get()
    assert response["Location"] == reverse("premises:premises", args=[site.pk])
    assert (site.customer.name, site.customer.phone, site.nation) == ("Ada Invented", "01632 960001", "wales")
    unit, supply = site.units.get(), site.supplies.get()
    assert (unit.tenure, supply.phases, supply.earthing, supply.main_fuse_a) == ("private-rented", ["L1"], "TN-C-S", 80)


def test_open_a_three_phase_site_for_a_customer_on_the_list(at_desk) -> None:
    party = make.make_party()
    new_site(at_desk, customer=str(party.pk), phases="L1,L2,L3")
    site = Site.objects.get()
    assert (site.customer, site.supplies.get().phases) == (party, ["L1", "L2", "L3"])


@pytest.mark.parametrize("both", [True, False])
def test_site_has_one_customer(at_desk, both) -> None:
    party = make.make_party()
    chosen = {"customer": str(party.pk), "customer_name": "Ada Invented"} if both else {}
    response = new_site(at_desk, **chosen)
    assert response.status_code == 422
    assert ("not both" if both else "Choose the customer") in text_of(response)
    assert Site.objects.count() == 0


def test_nothing_typed_is_lost(at_desk) -> None:
    response = new_site(at_desk, name="", access_notes="Beware of the goose", main_fuse_a="eighty")
    assert response.status_code == 422
    shown = response.content.decode()
    assert "Beware of the goose" in shown
    assert 'value="eighty"' in shown


def test_site_form_sent_twice_makes_one_site(at_desk) -> None:
    form = site_form(at_desk, customer_name="Ada Invented")
    answers = [at_desk.post(reverse("premises:site_new"), form)["Location"] for _ in range(2)]
    assert answers[0] == answers[1]
    assert (Site.objects.count(), Party.objects.count()) == (1, 1)


# --- a plain house ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["premises", "site_edit", "board_new", "board_edit", "circuit_edit"])
def test_plain_house_shows_neither_unit_nor_supply(at_desk, site, name) -> None:
    board = make.make_board(site)
    row = {"board_edit": board, "circuit_edit": make.make_circuit(board)}.get(name, site)
    main = text_of(at_desk.get(reverse(f"premises:{name}", args=[row.pk]))).lower()
    assert re.findall(r"\b(?:units?|suppl(?:y|ies))\b", main) == []


def test_site_in_parts_shows_its_units(at_desk, yard) -> None:
    shown = text_of(at_desk.get(address("premises", "site", yard)))
    assert "Units and who answers for them" in shown
    assert "Slip 2" in shown


def test_plain_house_is_changed_in_one_form(at_desk, site) -> None:
    where = reverse("premises:site_edit", args=[site.pk])
    form = posted(at_desk.get(where)) | {"name": "New Name", "kind": "shop", "phases": "L1,L2,L3", "main_fuse_a": "100"}
    assert at_desk.post(where, form).status_code == 302
    site.refresh_from_db()
    unit, supply = site.units.get(), site.supplies.get()
    assert (site.name, unit.name, unit.kind) == ("New Name", "New Name", "shop")
    assert (supply.phases, supply.main_fuse_a) == (["L1", "L2", "L3"], 100)


def test_house_on_an_odd_phase_keeps_it(at_desk, site) -> None:
    site.supplies.update(phases=["L3"])
    where = reverse("premises:site_edit", args=[site.pk])
    form = posted(at_desk.get(where)) | {"name": "New Name"}
    assert (at_desk.post(where, form).status_code, site.supplies.get().phases) == (302, ["L3"])


# --- two people -------------------------------------------------------------------------------------------------------


def test_second_of_two_people_sees_both_versions_and_may_then_overwrite(on_site, site) -> None:
    board = make.make_board(site, place="Hall")
    where = reverse("premises:board_edit", args=[board.pk])
    mine = posted(on_site.get(where)) | {"place": "Cellar", "phases": ["L1"]}
    on_site.post(where, mine | {"place": "Attic", "notes": "theirs"})
    refused = on_site.post(where, mine)
    shown = text_of(refused)
    assert refused.status_code == 422
    assert "Somebody else changed this while you had it open." in shown
    assert "Saved by somebody else: Attic" in shown
    assert "Saved by somebody else: theirs" in shown
    assert "Save mine over theirs" in shown
    assert on_site.post(where, posted(refused)).status_code == 302
    board.refresh_from_db()
    assert (board.place, board.version) == ("Cellar", 3)


def test_two_people_at_a_plain_house_meet_over_its_earthing(at_desk, site) -> None:
    where = reverse("premises:site_edit", args=[site.pk])
    mine = posted(at_desk.get(where)) | {"earthing": "TT"}
    at_desk.post(where, mine | {"earthing": "TN-S"})
    refused = at_desk.post(where, mine)
    assert refused.status_code == 422
    assert "Saved by somebody else: TN-S" in text_of(refused)
    assert at_desk.post(where, posted(refused)).status_code == 302
    assert site.supplies.get().earthing == "TT"


def test_two_people_at_a_feed_see_the_feeder_by_name(on_site, yard) -> None:
    feed = rows_of(yard)["feed"]
    where = reverse("premises:feed_edit", args=[feed.pk])
    mine = posted(on_site.get(where)) | {"changeover": "mine"}
    supply = f"supply:{make.supply_of(yard).pk}"
    on_site.post(where, mine | {"feeder": supply, "changeover": ""})
    refused = on_site.post(where, mine)
    assert refused.status_code == 422
    assert "Saved by somebody else: Intake" in text_of(refused)


# --- who sees which button --------------------------------------------------------------------------------------------


def test_engineer_keeps_boards_but_not_customers(on_site, yard) -> None:
    shown = on_site.get(address("premises", "site", yard)).content.decode()
    assert reverse("premises:board_new", args=[yard.pk]) in shown
    for name in ("site_edit", "unit_new", "site_archive"):
        assert reverse(f"premises:{name}", args=[yard.pk]) not in shown
        assert on_site.get(reverse(f"premises:{name}", args=[yard.pk])).status_code in {403, 405}


# --- the list of customers --------------------------------------------------------------------------------------------


def test_customers_by_part_of_their_name(at_desk) -> None:
    for name in ("Ada Invented", "Bob Imagined", "Zoë Invented"):
        make.make_party(name)
    response = at_desk.get(reverse("premises:parties"), {"q": "inventéd"})
    assert [row["name"] for row in response.context["rows"]] == ["Ada Invented", "Zoë Invented"]


def test_archived_customers_are_found_when_asked_for(at_desk) -> None:
    make.make_party("Ada Invented", archived_at=make.NOON)
    make.make_party("Bob Imagined")
    shown = [at_desk.get(reverse("premises:parties"), query).context["rows"] for query in ({}, {"archived": "yes"})]
    assert [[row["name"] for row in rows] for rows in shown] == [["Bob Imagined"], ["Ada Invented"]]


def test_site_keeps_a_customer_who_was_archived(at_desk, site) -> None:
    Party.objects.update(archived_at=make.NOON)
    where = reverse("premises:site_edit", args=[site.pk])
    assert at_desk.post(where, posted(at_desk.get(where)) | {"name": "New Name"}).status_code == 302


def test_customers_as_a_file(at_desk) -> None:
    make.make_party("=Ada", email="", phone="01632 960001")
    rows = at_desk.get(reverse("premises:parties"), {"as": "csv"}).content.decode("utf-8-sig").splitlines()
    assert rows == ["Name,Telephone,E-mail,Address", "'=Ada,01632 960001,,"]


def test_customers_page_by_page(at_desk) -> None:
    for number in range(60):
        make.make_party(f"Customer {number}")
    first = at_desk.get(reverse("premises:parties"))
    second = at_desk.get(first.context["pager"]["next"])
    names = [row["name"] for page in (first, second) for row in page.context["rows"]]
    assert names == [f"Customer {number}" for number in range(60)]


# --- what pages cost --------------------------------------------------------------------------------------------------


def ways(board, count: int) -> None:
    for _ in range(count):
        shed = make.make_board(board.site, f"Shed {new_id()}", fed=False)
        make.make_feed(shed, make.make_circuit(board, phase="3" if len(shed.phases) == 3 else None))
        make.make_link_of_circuits(make.make_circuit(shed), board.circuits.first())
        make.make_second_source(board, f"Panels {new_id()}")


@pytest.mark.parametrize("count", [1, 8])
def test_statements_of_a_board(on_site, site, django_assert_num_queries, count) -> None:
    board = make.make_board(site)
    ways(board, count)
    # ten for the board and its ways, three for what is open there, eight for what to switch off
    with django_assert_num_queries(21):
        on_site.get(reverse("premises:board", args=[board.pk]))


@pytest.mark.parametrize("count", [1, 8])
def test_statements_of_what_is_there(at_desk, yard, django_assert_num_queries, count) -> None:
    ways(yard.boards.get(designation="Intake board"), count)
    for number in range(count):
        make.make_unit(yard, f"Flat {number}").parties.create(party=yard.customer, role="owner", since=make.TODAY)
    with django_assert_num_queries(9):
        at_desk.get(reverse("premises:premises", args=[yard.pk]))


@pytest.mark.parametrize("count", [1, 40])
def test_statements_of_the_customers(at_desk, django_assert_num_queries, count) -> None:
    for number in range(count):
        make.make_party(f"Customer {number}")
    with django_assert_num_queries(4):
        at_desk.get(reverse("premises:parties"))
