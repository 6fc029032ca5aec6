"""The pages of premises: what they show, what they refuse in place, and what they cost."""

import re
from html import unescape

import pytest
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.premises.models import Board, Circuit, Feed, Party, SecondSource, Site
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard():
    """A site with two units, two boards, a link, a second source: every kind of row that a page can be about."""
    site = make.make_site("Yard", phases=("L1", "L2", "L3"))
    make.make_unit(site, "Slip 2")
    intake = make.make_board(site, "Intake board")
    shed = make.make_board(site, "Shed", phases=("L2",), fed=False, designation_verified=False)
    way = make.make_circuit(intake, 1, phase="L2")
    make.make_feed(shed, way, verified=False)
    make.make_link_of_circuits(way, make.make_circuit(shed, 1))
    make.make_second_source(shed)
    site.units.update(whole_site=False)
    role = {"party": site.customer, "role": "owner", "since": make.TODAY}
    make.unit_of(site).parties.create(**role)
    return site


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


@pytest.fixture
def on_site(client, engineer):
    client.force_login(engineer)
    return client


def text_of(response) -> str:
    """What a person reads: no tags, single spaces."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def rows_of(site) -> dict[str, object]:
    """For each kind of page, the row that it is about."""
    shed = site.boards.get(designation="Shed")
    return {
        "site": site,
        "unit": make.unit_of(site),
        "role": make.unit_of(site).parties.get(),
        "supply": make.supply_of(site),
        "board": shed,
        "circuit": shed.circuits.get(),
        "feed": shed.feeds.get(),
        "source": shed.second_sources.get(),
        "party": site.customer,
    }


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


def address(name: str, kind: str, site) -> str:
    return reverse(f"premises:{name}", args=[rows_of(site)[kind].pk] if kind else [])


def posted(response) -> dict[str, object]:
    """What a browser would send from the form on this page, unchanged."""
    form = response.context["form"]
    values = {name: form[name].value() for name in form.fields}
    return {form.add_prefix(name): value for name, value in values.items() if value not in (None, False)}


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


# --- boards -----------------------------------------------------------------------------------------------------------


def test_first_board_of_a_house_is_offered_its_intake(on_site, site) -> None:
    where = reverse("premises:board_new", args=[site.pk])
    form = posted(on_site.get(where)) | {"designation": "Consumer unit", "feed_verified_how": "traced"}
    assert form["feeder"] == f"supply:{make.supply_of(site).pk}"
    response = on_site.post(where, form)
    board = Board.objects.get()
    assert response["Location"] == reverse("premises:board", args=[board.pk])
    assert (board.phases, board.feeds.get().verified) == (["L1"], True)


def test_refused_board_says_where(on_site, site) -> None:
    make.make_board(site, "DB A")
    where = reverse("premises:board_new", args=[site.pk])
    response = on_site.post(where, posted(on_site.get(where)) | {"designation": "db a", "place": "Hall"})
    assert response.status_code == 422
    assert response.context["form"].errors["designation"] == ["Another board of this site has this designation."]
    assert response.context["form"]["place"].value() == "Hall"


def test_board_shows_what_is_believed_in_quotes(on_site, yard) -> None:
    shown = text_of(on_site.get(address("board", "board", yard)))
    assert "“Shed”" in shown
    assert "believed, not verified" in shown
    assert "Intake board, way 1L2 · B32" in shown
    assert "shares a neutral with Intake board 1L2" in shown


def test_board_without_a_feed_says_so(on_site, site) -> None:
    board = make.make_board(site, fed=False)
    assert "nobody can say what makes this board dead" in text_of(
        on_site.get(reverse("premises:board", args=[board.pk]))
    )


def test_next_way_after_next_way(on_site, site) -> None:
    board = make.make_board(site)
    where = reverse("premises:board", args=[board.pk])
    for label in ("Cooker", "Lights"):
        form = posted(on_site.get(where)) | {"label_found": label, "device_type": "B", "rating_a": "6"}
        assert on_site.post(where, form)["Location"] == f"{where}#next-way"
    assert list(board.circuits.order_by("way").values_list("way", "label_found")) == [(1, "Cooker"), (2, "Lights")]


def test_next_way_that_is_taken_is_refused_on_the_board(on_site, site) -> None:
    board = make.make_board(site)
    make.make_circuit(board, 1)
    where = reverse("premises:board", args=[board.pk])
    response = on_site.post(where, posted(on_site.get(where)) | {"way": "1", "label_found": "Kept"})
    shown = response.content.decode()
    assert response.status_code == 422
    assert "There is already a circuit on this way and phase." in shown
    assert 'value="Kept"' in shown


def test_refused_button_is_answered_on_the_board(on_site, yard) -> None:
    intake = yard.boards.get(designation="Intake board")
    response = on_site.post(reverse("premises:board_retire", args=[intake.pk]))
    assert response.status_code == 422
    assert "Intake board still feeds Shed: move that feed first." in text_of(response)


def test_board_taken_out_and_brought_back(on_site, site) -> None:
    board = make.make_board(site)
    for sent, gone in (({}, True), ({}, True), ({"back": "yes"}, False), ({"back": "yes"}, False)):  # each sent twice
        on_site.post(reverse("premises:board_retire", args=[board.pk]), sent)
        board.refresh_from_db()
        assert bool(board.retired_at) is gone


@pytest.mark.parametrize("name", ["site", "party"])
def test_archiving_sent_twice_does_not_undo_itself(at_desk, site, name) -> None:
    row = site if name == "site" else make.make_party("Ada Invented")
    for sent, gone in (({}, True), ({}, True), ({"back": "yes"}, False), ({"back": "yes"}, False)):
        at_desk.post(reverse(f"premises:{name}_archive", args=[row.pk]), sent)
        row.refresh_from_db()
        assert bool(row.archived_at) is gone


def test_board_taken_out_is_still_found(on_site, site) -> None:
    board = make.make_board(site, "Old board")
    on_site.post(reverse("premises:board_retire", args=[board.pk]))
    shown = on_site.get(reverse("premises:premises", args=[site.pk]))
    assert "Taken out: Old board" in text_of(shown)
    assert reverse("premises:board", args=[board.pk]) in shown.content.decode()


@pytest.mark.parametrize(
    ("name", "kind"), [("circuit", "circuit"), ("source", "source"), ("unit", "unit"), ("supply", "supply")]
)
def test_page_of_a_row_has_the_button_that_takes_it_out(at_desk, yard, name, kind) -> None:
    yard.supplies.create(name="Yard", phases=["L1"])
    shown = at_desk.get(address(f"{name}_edit", kind, yard)).content.decode()
    assert address(f"{name}_retire", kind, yard) in shown


def test_only_supply_has_no_button_to_take_it_out(at_desk, site) -> None:
    supply = make.supply_of(site)
    shown = at_desk.get(reverse("premises:supply_edit", args=[supply.pk])).content.decode()
    assert reverse("premises:supply_retire", args=[supply.pk]) not in shown


def test_feed_form_offers_no_circuit_of_the_board_itself(on_site, yard) -> None:
    response = on_site.get(address("feed_new", "board", yard))
    groups = [group for group, _ in response.context["form"].fields["feeder"].choices if group]
    assert groups == ["From the network", "Intake board"]


def test_feed_that_lacks_a_phase_is_refused_with_a_sentence(on_site, yard) -> None:
    shed = rows_of(yard)["board"]
    wrong = make.make_circuit(yard.boards.get(designation="Intake board"), 5, phase="L3")
    where = reverse("premises:feed_new", args=[shed.pk])
    response = on_site.post(
        where, posted(on_site.get(where)) | {"feeder": f"circuit:{wrong.pk}", "kind": "alternative"}
    )
    assert response.status_code == 422
    assert "Shed has a phase that its feed lacks." in text_of(response)
    assert Feed.objects.filter(board=shed).count() == 1


def test_feed_is_verified_by_saying_how(on_site, engineer, yard) -> None:
    feed = rows_of(yard)["feed"]
    where = reverse("premises:feed_edit", args=[feed.pk])
    on_site.post(where, posted(on_site.get(where)) | {"verified_how": "traced"})
    feed.refresh_from_db()
    assert (feed.verified, feed.verified_by) == (True, engineer)


@pytest.mark.parametrize(
    ("name", "kind", "model"), [("feed_remove", "feed", Feed), ("source_retire", "source", SecondSource)]
)
def test_button_takes_off(on_site, yard, name, kind, model) -> None:
    key = rows_of(yard)[kind].pk
    assert on_site.post(address(name, kind, yard)).status_code == 302
    kept = model.objects.filter(pk=key)
    assert not (kept.current() if model is SecondSource else kept).exists()


def test_link_and_its_removal(on_site, yard) -> None:
    link = yard.circuit_links.get()
    on_site.post(reverse("premises:link_remove", args=[link.pk]))
    assert yard.circuit_links.count() == 0
    one, other = Circuit.objects.order_by("pk")
    where = reverse("premises:link_new", args=[one.pk])
    form = posted(on_site.get(where)) | {"other": str(other.pk), "kind": "feed"}
    assert on_site.post(where, form).status_code == 302
    assert yard.circuit_links.get().kind == "feed"


def test_second_source_is_entered_with_its_caution(on_site, yard) -> None:
    where = address("source_new", "board", yard)
    page = on_site.get(where)
    assert "live on their direct-current side in daylight" in text_of(page)
    form = posted(page) | {"name": "Battery", "kind": "battery", "phases": ["L2"], "rating_kw": "5 kW"}
    assert on_site.post(where, form).status_code == 302
    assert str(yard.second_sources.get(name="Battery").rating_kw) == "5.00"


@pytest.mark.parametrize("value", ["\0", "2" * 400, "9" * 40, "1e400", "NaN", "-5", "½"])
def test_hostile_numbers_are_refused_never_an_error(on_site, site, value) -> None:
    where = reverse("premises:circuit_new", args=[make.make_board(site).pk])
    response = on_site.post(where, posted(on_site.get(where)) | {"way": value, "rating_a": value, "points": value})
    assert response.status_code == 422
    assert Circuit.objects.count() == 0


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
    with django_assert_num_queries(12):  # nine for the board and its ways, three for what is open there
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
