"""Supplies, boards, circuits, feeds and second sources over the API: done as on the pages, refused as on the pages."""

import pytest

from jobsite.ids import new_id
from jobsite.premises.models import Board, Circuit, CircuitLink, Feed, SecondSource, Supply
from tests.factories import (
    NOON,
    Told,
    grant_access,
    make_board,
    make_circuit,
    make_feed,
    make_link_of_circuits,
    make_second_source,
    make_site,
    make_unit,
    recorded,
    supply_of,
    unit_of,
)
from tests.remedials.test_api_verbs import post, refusal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
AT_NOON = "2026-02-03T12:00:00Z"


def verbs(told: list[Told]) -> list[tuple]:
    return [(entry.verb, entry.subject) for entry in told]


def picked(answer, *names: str) -> dict:
    assert answer.status_code in (200, 201), answer.content
    return {name: answer.json()[name] for name in names}


@pytest.fixture
def board(site):
    return make_board(site)


# --- supplies ---------------------------------------------------------------------------------------------------------


def test_add_and_edit_a_supply(client, engineer, site):
    body = {"id": str(new_id()), "name": "Intake 2", "phases": ["L2", "L1"], "earthing": "TT", "ze_ohm": "21.000"}
    with recorded() as told:
        made = [post(client, engineer, f"sites/{site.pk}/add-supply", **body) for _ in range(2)]
        edited = post(
            client, engineer, f"supplies/{body['id']}/edit", version=1, isolator="Beside the meter", isolator_kind="all"
        )
    assert [answer.status_code for answer in made] == [201, 201]
    assert picked(edited, "name", "phases", "voltage", "ze_ohm", "isolator", "isolator_kind", "version") == {
        "name": "Intake 2", "phases": ["L1", "L2"], "voltage": 230, "ze_ohm": "21.000", "isolator": "Beside the meter",
        "isolator_kind": "all", "version": 2,
    }  # fmt: skip
    supply = Supply.objects.get(pk=body["id"])
    assert verbs(told) == [("supply.added", supply.pk), ("supply.changed", supply.pk)]
    assert refusal(post(client, engineer, f"supplies/{supply.pk}/edit", version=1, voltage=240), 412)["version"] == 2
    assert refusal(post(client, engineer, f"sites/{site.pk}/add-supply", **body | {"id": str(new_id())}), 409) == {
        "type": "about:blank", "title": "Refused", "status": 409, "field": "name",
        "detail": "Another supply of this site has this name.",
    }  # fmt: skip


def test_a_supply_keeps_the_phases_of_its_boards(client, engineer, board):
    said = refusal(post(client, engineer, f"supplies/{supply_of(board.site).pk}/edit", phases=["L2"]), 409)
    assert said["field"] == "phases"
    assert supply_of(board.site).phases == ["L1"]


def test_retire_a_supply_and_bring_it_back(client, engineer, site):
    assert "only one left" in refusal(post(client, engineer, f"supplies/{supply_of(site).pk}/retire"), 409)["detail"]
    second = site.supplies.create(name="Intake 2", phases=["L1"])
    with recorded() as told:
        gone = post(client, engineer, f"supplies/{second.pk}/retire")
        back = post(client, engineer, f"supplies/{second.pk}/bring-back")
    assert (gone.json()["retired_at"], back.json()["retired_at"]) == (AT_NOON, None)
    assert verbs(told) == [("supply.retired", second.pk), ("supply.brought-back", second.pk)]


# --- boards -----------------------------------------------------------------------------------------------------------

NEW_BOARD = {"designation": "Annex", "phases": ["L1"]}


def test_add_a_board(client, engineer, site):
    unit = unit_of(site)
    body = NEW_BOARD | {"id": str(new_id()), "verified_how": "traced", "zdb_ohm": "0.230", "units": [str(unit.pk)]}
    with recorded() as told:
        answers = [post(client, engineer, f"sites/{site.pk}/add-board", **body) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert picked(answers[0], "designation", "verified_by", "verified_on", "verified_how", "zdb_ohm", "units") == {
        "designation": "Annex", "verified_by": str(engineer.pk), "verified_on": "2026-02-03", "verified_how": "traced",
        "zdb_ohm": "0.230", "units": [str(unit.pk)],
    }  # fmt: skip
    assert verbs(told) == [("board.added", Board.objects.get().pk)]


def test_add_a_board_with_what_feeds_it(client, engineer, board):
    circuit = make_circuit(board)
    feed = {"id": str(new_id()), "from_circuit": str(circuit.pk), "verified_how": "switched"}
    with recorded() as told:
        answer = post(client, engineer, f"sites/{board.site_id}/add-board", **NEW_BOARD, id=str(new_id()), feed=feed)
    row = Feed.objects.get(pk=feed["id"])
    assert (str(row.board_id), row.from_circuit, row.verified, row.verified_how) == (
        answer.json()["id"], circuit, True, "switched",
    )  # fmt: skip
    assert verbs(told) == [("board.added", row.board_id), ("feed.set", row.pk)]


def test_add_a_board_refused(client, engineer, office, subcontractor, board):
    address, body = f"sites/{board.site_id}/add-board", NEW_BOARD | {"id": str(new_id())}
    refusal(post(client, subcontractor, address, **body), 404)
    same = refusal(post(client, office, address, **body | {"designation": "Board 1"}), 409)
    assert (same["detail"], same["field"]) == ("Another board of this site has this designation.", "designation")
    elsewhere = make_circuit(make_board(make_site("Elsewhere")))
    loose = {"id": str(new_id()), "from_circuit": str(elsewhere.pk)}
    assert refusal(post(client, engineer, address, **body, feed=loose), 409)["field"] == "feeder"
    assert refusal(post(client, engineer, address, **body, feed={"id": str(new_id())}), 409)["field"] == "feed"
    grant_access(board.site, subcontractor)
    hidden = refusal(post(client, subcontractor, address, **body, units=[str(unit_of(elsewhere.site).pk)]), 400)
    assert hidden["errors"] == {"units": ["There is no such row."]}
    assert Board.objects.filter(site=board.site_id).count() == 1


def test_edit_a_board_leaves_out_what_stays(client, engineer, board):
    flat = make_unit(board.site)
    address = f"boards/{board.pk}/edit"
    with recorded() as told:
        answer = post(client, engineer, address, version=1, place="Hall", units=[str(flat.pk)])
    assert picked(answer, "place", "units", "designation", "designation_verified", "phases", "version") == {
        "place": "Hall", "units": [str(flat.pk)], "designation": "Board 1", "designation_verified": True, "phases": ["L1"],
        "version": 2,
    }  # fmt: skip
    words = {"place": "Hall"}
    assert told == [Told("board.changed", board.pk, {"units": [str(flat.pk)]}, words)]
    assert refusal(post(client, engineer, address, version=1, place="Loft"), 412)["version"] == 2
    renamed = post(client, engineer, address, designation="Main board")
    assert picked(renamed, "designation_verified", "verified_how") == {
        "designation_verified": False,
        "verified_how": "",
    }
    assert refusal(post(client, engineer, address, phases=["L1", "L2"]), 409)["field"] == "phases"


def test_retire_a_board_and_bring_it_back(client, engineer, board):
    circuit = make_circuit(board)
    onward = make_feed(make_board(board.site, "Board 2", fed=False), circuit)
    assert "still feeds" in refusal(post(client, engineer, f"boards/{board.pk}/retire", reason="x"), 409)["detail"]
    onward.delete()
    with recorded() as told:
        gone = post(client, engineer, f"boards/{board.pk}/retire", reason="Stripped out")
        back = post(client, engineer, f"boards/{board.pk}/bring-back")
    assert (gone.json()["retired_at"], back.json()["retired_at"]) == (AT_NOON, None)
    assert [(one.verb, one.subject, one.words) for one in told] == [
        ("board.retired", board.pk, {"reason": "Stripped out"}), ("board.brought-back", board.pk, {}),
    ]  # fmt: skip
    circuit.refresh_from_db()
    assert circuit.retired_at is None


def test_replace_a_board(client, engineer, board):
    make_circuit(board, 1)
    body = {"id": str(new_id()), "designation": "Board 1", "main_switch": "100 A", "reason": "Consumer unit changed"}
    assert list(
        refusal(post(client, engineer, f"boards/{board.pk}/replace", **body | {"reason": " "}), 400)["errors"]
    ) == ["reason"]
    with recorded() as told:
        answers = [post(client, engineer, f"boards/{board.pk}/replace", **body) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    board.refresh_from_db()
    new = Board.objects.get(pk=body["id"])
    assert (board.replaced_by, new.circuits.get().verified_how) == (new, "")
    assert verbs(told) == [
        ("board.replaced", board.pk), ("board.added", new.pk), ("circuit.added", new.circuits.get().pk),
    ]  # fmt: skip
    other = refusal(post(client, engineer, f"boards/{board.pk}/bring-back"), 409)
    assert "changed for Board 1" in other["detail"]


# --- feeds ------------------------------------------------------------------------------------------------------------


def test_set_a_feed_once_and_never_another_under_its_key(client, engineer, board):
    lower = make_board(board.site, "Board 2", fed=False)
    circuit = make_circuit(board)
    address, body = (
        f"boards/{lower.pk}/set-feed",
        {"id": str(new_id()), "from_circuit": str(circuit.pk), "kind": "normal"},
    )
    with recorded() as told:
        answers = [post(client, engineer, address, **body) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert picked(answers[0], "board", "from_circuit", "from_supply", "kind", "verified") == {
        "board": str(lower.pk), "from_circuit": str(circuit.pk), "from_supply": None, "kind": "normal", "verified": False,
    }  # fmt: skip
    assert verbs(told) == [("feed.set", Feed.objects.get(board=lower).pk)]
    other = refusal(post(client, engineer, address, **body | {"kind": "alternative"}), 409)
    assert "already used for something else" in other["detail"]
    assert Feed.objects.get(board=lower).kind == "normal"


def test_set_a_feed_refused(client, engineer, office, board):
    own = make_circuit(board)
    address, body = f"boards/{board.pk}/set-feed", {"id": str(new_id()), "kind": "alternative"}
    nothing = refusal(post(client, engineer, address, **body), 409)
    assert (nothing["detail"], nothing["field"]) == ("Choose the circuit or the supply that feeds it.", "feeder")
    itself = refusal(post(client, office, address, **body, from_circuit=str(own.pk)), 409)
    assert itself["detail"] == "Board 1 would feed itself."
    unknown = refusal(post(client, office, address, **body, from_circuit=str(new_id())), 400)
    assert unknown["errors"] == {"from_circuit": ["There is no such row."]}


def test_edit_a_feed_leaves_out_what_stays(client, engineer, board):
    lower = make_board(board.site, "Board 2", fed=False)
    feed = make_feed(lower, make_circuit(board), verified=False, changeover="By hand")
    address = f"feeds/{feed.pk}/edit"
    with recorded() as told:
        answer = post(client, engineer, address, version=1, verified_how="traced")
    assert picked(answer, "from_circuit", "verified", "verified_by", "verified_how", "changeover", "version") == {
        "from_circuit": str(feed.from_circuit_id), "verified": True, "verified_by": str(engineer.pk),
        "verified_how": "traced", "changeover": "By hand", "version": 2,
    }  # fmt: skip
    moved = post(client, engineer, address, version=2, from_supply=str(supply_of(board.site).pk))
    assert picked(moved, "from_circuit", "from_supply") == {
        "from_circuit": None,
        "from_supply": str(supply_of(board.site).pk),
    }
    assert verbs(told) == [("feed.changed", feed.pk)]
    assert refusal(post(client, engineer, address, version=2, changeover="x"), 412)["version"] == 3
    both = {"from_circuit": str(make_circuit(board).pk), "from_supply": str(supply_of(board.site).pk)}
    assert refusal(post(client, engineer, address, **both), 409)["field"] == "feeder"


def test_remove_a_feed(client, engineer, board):
    feed = board.feeds.get()
    with recorded() as told:
        answer = post(client, engineer, f"feeds/{feed.pk}/remove", reason="Never was")
    assert picked(answer, "id", "from_supply") == {"id": str(feed.pk), "from_supply": str(supply_of(board.site).pk)}
    assert [(one.verb, one.subject, one.words["reason"]) for one in told] == [("feed.removed", feed.pk, "Never was")]
    assert Feed.objects.count() == 0
    refusal(post(client, engineer, f"feeds/{feed.pk}/remove"), 404)


# --- circuits ---------------------------------------------------------------------------------------------------------


def test_add_and_edit_a_circuit(client, engineer, board):
    body = {"id": str(new_id()), "way": 9, "phase": "L1", "label_found": "Shower", "rating_a": "40.0", "rcd_ma": 30}
    with recorded() as told:
        made = [post(client, engineer, f"boards/{board.pk}/add-circuit", **body) for _ in range(2)]
        edited = post(
            client, engineer, f"circuits/{body['id']}/edit", version=1, poles=2, unit=str(unit_of(board.site).pk)
        )
    assert [answer.status_code for answer in made] == [201, 201]
    assert picked(edited, "way", "label_found", "label_noted_by", "rating_a", "poles", "unit", "version") == {
        "way": 9, "label_found": "Shower", "label_noted_by": str(engineer.pk), "rating_a": "40.0", "poles": 2,
        "unit": str(unit_of(board.site).pk), "version": 2,
    }  # fmt: skip
    circuit = Circuit.objects.get()
    assert verbs(told) == [("circuit.added", circuit.pk), ("circuit.changed", circuit.pk)]
    taken = refusal(post(client, engineer, f"boards/{board.pk}/add-circuit", **body | {"id": str(new_id())}), 409)
    assert (taken["detail"], taken["field"]) == ("There is already a circuit on this way and phase.", "way")
    assert refusal(post(client, engineer, f"circuits/{circuit.pk}/edit", version=1, poles=1), 412)["version"] == 2
    assert refusal(post(client, engineer, f"circuits/{circuit.pk}/edit", phase="L3"), 409)["field"] == "phase"
    odd = refusal(post(client, engineer, f"circuits/{circuit.pk}/edit", way=1000, poles=5, rating_a="-1"), 400)
    assert sorted(odd["errors"]) == ["poles", "rating_a", "way"]


def test_retire_a_circuit_and_bring_it_back(client, engineer, board):
    circuit = make_circuit(board)
    source = make_second_source(board, circuit=circuit)
    assert "still comes in" in refusal(post(client, engineer, f"circuits/{circuit.pk}/retire"), 409)["detail"]
    source.delete()
    with recorded() as told:
        gone = post(client, engineer, f"circuits/{circuit.pk}/retire", reason="Gone")
        back = post(client, engineer, f"circuits/{circuit.pk}/bring-back")
    assert (gone.json()["retired_at"], back.json()["retired_at"]) == (AT_NOON, None)
    assert verbs(told) == [("circuit.retired", circuit.pk), ("circuit.brought-back", circuit.pk)]
    post(client, engineer, f"circuits/{circuit.pk}/retire")
    make_circuit(board, circuit.way)
    assert refusal(post(client, engineer, f"circuits/{circuit.pk}/bring-back"), 409)["field"] == "way"


def test_link_circuits_and_unlink_them(client, engineer, board):
    one, other = make_circuit(board), make_circuit(board)
    body = {"id": str(new_id()), "other": str(one.pk), "kind": "neutral"}
    with recorded() as told:
        answers = [post(client, engineer, f"circuits/{other.pk}/link", **body) for _ in range(2)]
        removed = post(client, engineer, f"circuit-links/{body['id']}/unlink")
    assert [answer.status_code for answer in (*answers, removed)] == [201, 201, 200]
    assert removed.json() == answers[0].json()
    assert picked(removed, "one", "other", "kind", "noted_by") == {
        "one": str(one.pk), "other": str(other.pk), "kind": "neutral", "noted_by": str(engineer.pk),
    }  # fmt: skip
    assert [one.verb for one in told] == ["circuits.linked", "circuits.unlinked"]
    assert CircuitLink.objects.count() == 0
    refusal(post(client, engineer, f"circuit-links/{body['id']}/unlink"), 404)
    itself = refusal(post(client, engineer, f"circuits/{one.pk}/link", **body), 409)
    assert itself["detail"] == "A circuit cannot be linked with itself."
    elsewhere = make_circuit(make_board(make_site("Elsewhere")))
    far = refusal(post(client, engineer, f"circuits/{one.pk}/link", **body | {"other": str(elsewhere.pk)}), 409)
    assert (far["detail"], far["field"]) == ("The other circuit is of another site.", "other")


# --- second sources ---------------------------------------------------------------------------------------------------


def test_add_and_edit_a_second_source(client, engineer, board):
    circuit, other = make_circuit(board), make_board(board.site, "Board 2")
    body = {"id": str(new_id()), "name": "Battery", "kind": "battery", "phases": ["L1"], "circuit": str(circuit.pk)}
    with recorded() as told:
        made = [post(client, engineer, f"boards/{board.pk}/add-second-source", **body) for _ in range(2)]
        edited = post(
            client,
            engineer,
            f"second-sources/{body['id']}/edit",
            version=1,
            board=str(other.pk),
            circuit=None,
            wait_minutes=15,
        )
    assert [answer.status_code for answer in made] == [201, 201]
    assert picked(edited, "name", "board", "circuit", "wait_minutes", "version") == {
        "name": "Battery", "board": str(other.pk), "circuit": None, "wait_minutes": 15, "version": 2,
    }  # fmt: skip
    source = SecondSource.objects.get()
    assert verbs(told) == [("source.added", source.pk), ("source.changed", source.pk)]
    lacking = refusal(post(client, engineer, f"second-sources/{source.pk}/edit", phases=["L2"]), 409)
    assert (lacking["detail"], lacking["field"]) == ("Board 2 has no L2.", "phases")
    assert refusal(post(client, engineer, f"second-sources/{source.pk}/edit", version=1, name="x"), 412)["version"] == 2
    strange = refusal(post(client, engineer, f"second-sources/{source.pk}/edit", circuit=str(circuit.pk)), 409)
    assert strange["field"] == "circuit"


def test_retire_a_second_source_and_bring_it_back(client, engineer, board):
    source = make_second_source(board)
    with recorded() as told:
        gone = post(client, engineer, f"second-sources/{source.pk}/retire", reason="Roof done")
        back = post(client, engineer, f"second-sources/{source.pk}/bring-back")
    assert (gone.json()["retired_at"], back.json()["retired_at"]) == (AT_NOON, None)
    assert [(one.verb, one.words) for one in told] == [
        ("source.retired", {"reason": "Roof done"}), ("source.brought-back", {}),
    ]  # fmt: skip
    Board.objects.filter(pk=board.pk).update(retired_at=NOON)
    post(client, engineer, f"second-sources/{source.pk}/retire")
    assert (
        refusal(post(client, engineer, f"second-sources/{source.pk}/bring-back"), 409)["detail"]
        == "Board 1 was taken out."
    )


# --- whom it is refused -----------------------------------------------------------------------------------------------


def test_what_is_at_another_site_is_not_there(client, subcontractor, board):
    """A subcontractor with access to one site changes nothing at another, and learns nothing of it."""
    grant_access(make_site("Own"), subcontractor)
    circuit, other = make_circuit(board), make_circuit(board)
    rows = {
        "boards": (board, ("edit", "retire", "bring-back", "replace", "set-feed", "add-circuit", "add-second-source")),
        "supplies": (supply_of(board.site), ("edit", "retire", "bring-back")),
        "circuits": (circuit, ("edit", "retire", "bring-back", "link")),
        "feeds": (board.feeds.get(), ("edit", "remove")),
        "circuit-links": (make_link_of_circuits(circuit, other), ("unlink",)),
        "second-sources": (make_second_source(board), ("edit", "retire", "bring-back")),
        "sites": (board.site, ("add-supply", "add-board")),
    }
    with recorded() as told:
        for noun, (row, acts) in rows.items():
            for act in acts:
                refusal(post(client, subcontractor, f"{noun}/{row.pk}/{act}"), 404)
    assert told == []


def test_an_archived_site_takes_no_change(client, engineer, board):
    board.site.archived_at = NOON
    board.site.save()
    said = refusal(post(client, engineer, f"boards/{board.pk}/edit", place="x"), 409)
    assert said["detail"] == "This site is archived: bring it back before you change what is recorded there."
