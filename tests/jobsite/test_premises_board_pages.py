"""The pages of boards, circuits and feeds: what they show and what they refuse in place."""

from decimal import Decimal

import pytest
from django.urls import reverse

from jobsite.premises.models import Board, Circuit, Feed, SecondSource
from tests import factories as make
from tests.jobsite.premises import address, posted, rows_of, text_of

pytestmark = pytest.mark.django_db


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


def test_a_device_that_breaks_less_than_may_flow_is_named_on_its_board(on_site, site) -> None:
    board = make.make_board(site, fault_current_ka=Decimal("3.20"))
    make.make_circuit(board, 1, breaking_capacity_ka=Decimal("1.5"))
    make.make_circuit(board, 2, breaking_capacity_ka=Decimal(6), length_m=Decimal("18.5"), line_mm2=Decimal("2.5"))
    make.make_circuit(board, 3)
    said = text_of(on_site.get(reverse("premises:board", args=[board.pk]))).replace("\u202f", " ")
    assert (
        "Prospective fault current 3.20 kA; more than the device breaks at way 1L1: a qualified person decides" in said
    )
    assert "B32, breaks 6 kA" in said
    assert "2.5 mm², 18.5 m" in said


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
    assert "What was taken out · 1 board" in text_of(on_site.get(reverse("premises:premises", args=[site.pk])))
    shown = on_site.get(reverse("premises:taken_out", args=[site.pk]))
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


def test_removing_a_feed_asks_first(on_site, yard) -> None:
    feed = rows_of(yard)["feed"]
    where = reverse("premises:feed_remove", args=[feed.pk])
    assert f'href="{where}"' in on_site.get(reverse("premises:board", args=[feed.board_id])).content.decode()
    asked = text_of(on_site.get(where))
    assert "Remove this feed? “Shed”, fed from Intake board, way" in asked
    assert Feed.objects.filter(pk=feed.pk).exists()


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
