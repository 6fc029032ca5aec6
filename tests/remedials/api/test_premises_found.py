"""What is seen at boards, over the API: verifying, tracing by switching off, documents, and what the record comes to."""

from datetime import timedelta

import pytest

from jobsite.ids import new_id
from jobsite.premises.models import BoardDocument, Feed, SwitchingTest, Verification
from tests.factories import (
    NOON,
    TODAY,
    Told,
    grant_access,
    make_board,
    make_circuit,
    make_feed,
    make_link_of_circuits,
    make_second_source,
    make_site,
    make_switching_test,
    recorded,
    supply_of,
)
from tests.remedials.test_api_verbs import post, refusal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def verbs(told: list[Told]) -> list[tuple]:
    return [(entry.verb, entry.subject) for entry in told]


@pytest.fixture
def board(site):
    return make_board(site)


@pytest.fixture
def traced(site):
    """A board that may be fed from the supply or from a circuit of the main board, and went dead with the circuit off."""
    main = make_board(site, "Main")
    lower = make_board(site, "Lower", fed=False)
    circuit, other = make_circuit(main), make_circuit(main)
    for feeder in (circuit, other):
        make_feed(lower, feeder, kind="may-be", verified=False)
    return {"main": main, "lower": lower, "circuit": circuit, "other": other}


def look(client, user, site, what: str, status: int = 200) -> dict:
    client.force_login(user)
    answer = client.get(f"/api/v1/sites/{site.pk}/{what}")
    assert answer.status_code == status, answer.content
    return answer.json()


# --- verifying --------------------------------------------------------------------------------------------------------


def test_verify_a_circuit_and_take_it_back(client, engineer, board):
    circuit = make_circuit(board, designation="", label_found="Cooker?")
    body = {"id": str(new_id()), "designation": "Shower", "how": "switched"}
    with recorded() as told:
        answers = [post(client, engineer, f"circuits/{circuit.pk}/verify", version=1, **body) for _ in range(2)]
        back = post(client, engineer, f"verifications/{body['id']}/take-back")
    assert [answer.status_code for answer in (*answers, back)] == [200, 200, 200]
    names = ("designation", "verified_how", "verified_by", "verified_on")
    assert {name: answers[0].json()[name] for name in names} == {
        "designation": "Shower", "verified_how": "switched", "verified_by": str(engineer.pk), "verified_on": "2026-02-03",
    }  # fmt: skip
    assert (back.json()["taken_back_at"], back.json()["taken_back_by"]) == ("2026-02-03T12:00:00Z", str(engineer.pk))
    circuit.refresh_from_db()
    assert (circuit.designation, circuit.verified_how) == ("", "")
    assert verbs(told) == [("circuit.verified", circuit.pk), ("verification.taken-back", circuit.pk)]
    assert Verification.objects.count() == 1


def test_verify_a_board(client, engineer, site):
    board = make_board(site, "DB?", designation_verified=False)
    with recorded() as told:
        answer = post(client, engineer, f"boards/{board.pk}/verify", id=str(new_id()), designation="DB 1", how="read")
    assert (answer.status_code, answer.json()["designation_verified"], answer.json()["designation"]) == (
        200,
        True,
        "DB 1",
    )
    assert verbs(told) == [("board.verified", board.pk)]


def test_verify_refused(client, engineer, other_engineer, board):
    circuit = make_circuit(board)
    address, body = f"circuits/{circuit.pk}/verify", {"id": str(new_id()), "designation": "Shower", "how": "traced"}
    assert list(refusal(post(client, engineer, address, **body | {"how": ""}), 400)["errors"]) == ["how"]
    post(client, engineer, address, version=1, **body)
    other = {"id": str(new_id()), "designation": "Immersion", "how": "traced"}
    assert refusal(post(client, other_engineer, address, version=1, **other), 412)["version"] == 2
    used = refusal(post(client, engineer, address, **body | {"designation": "Immersion"}), 409)
    assert "already used for something else" in used["detail"]
    post(client, other_engineer, address, **other)
    since = refusal(post(client, engineer, f"verifications/{body['id']}/take-back"), 409)
    assert since["detail"] == "It was changed or verified again since: correct it instead of taking this back."


# --- tracing ----------------------------------------------------------------------------------------------------------


def test_name_candidates(client, engineer, traced):
    third = make_circuit(traced["main"])
    body = {"circuits": [str(third.pk), str(traced["other"].pk)]}
    address = f"boards/{traced['lower'].pk}/name-candidates"
    with recorded() as told:
        first, again = (post(client, engineer, address, **body) for _ in range(2))
    assert [feed["from_circuit"] for feed in first.json()["feeds"]] == [str(third.pk)]
    assert again.json() == {"feeds": []}
    assert verbs(told) == [("board.candidates-named", traced["lower"].pk)]
    said = refusal(post(client, engineer, f"boards/{traced['main'].pk}/name-candidates", circuits=[str(third.pk)]), 409)
    assert (said["detail"], said["field"]) == (
        "The feed of Main is verified: change that one, if it is wrong.",
        "feeders",
    )


def test_note_a_test_and_take_over_what_is_certain(client, engineer, site, traced):
    lower, circuit = traced["lower"], traced["circuit"]
    body = {
        "id": str(new_id()), "off_circuit": str(circuit.pk), "at": "2026-02-03T09:30:00Z", "together_with": "Tam",
        "seen": [{"board": str(lower.pk), "state": "dead"}, {"board": str(traced["main"].pk), "state": "alive"}],
    }  # fmt: skip
    with recorded() as told:
        noted = [post(client, engineer, f"sites/{site.pk}/note-switching-test", **body) for _ in range(2)]
    assert [answer.status_code for answer in noted] == [201, 201]
    assert sorted(row["state"] for row in noted[0].json()["seen"]) == ["alive", "dead"]
    assert verbs(told) == [("switching.noted", SwitchingTest.objects.get().pk)]
    found = look(client, engineer, site, "tracing/")
    assert found["certain"] == [{"board": str(lower.pk), "feeder": str(circuit.pk), "alone": False}]
    assert found["ruled_out"] == [{"board": str(lower.pk), "feeder": str(traced["other"].pk), "test": body["id"]}]
    assert (found["possible"], found["lost"], found["clashes"]) == ([], [], [])
    certain = [{"board": str(lower.pk), "from_circuit": str(circuit.pk)}]
    with recorded() as told:
        taken, again = (post(client, engineer, f"sites/{site.pk}/take-over-certain", certain=certain) for _ in range(2))
    feed = Feed.objects.get(board=lower)
    assert [(row["id"], row["verified_how"]) for row in taken.json()["feeds"]] == [(str(feed.pk), "switched")]
    assert (again.json(), feed.verified_by) == ({"feeds": []}, engineer)
    assert verbs(told) == [("feed.found", feed.pk)]


def test_note_a_test_refused(client, engineer, site, traced):
    address = f"sites/{site.pk}/note-switching-test"
    seen = [{"board": str(traced["lower"].pk), "state": "dead"}]
    body = {"id": str(new_id()), "off_circuit": str(traced["circuit"].pk), "at": "2026-02-03T09:30:00Z", "seen": seen}

    def field(**more) -> str:
        return refusal(post(client, engineer, address, **body | more), 409)["field"]

    assert field(off_circuit=None) == field(off_supply=str(supply_of(site).pk)) == "off"
    assert field(seen=seen * 2) == "seen"
    elsewhere = make_board(make_site("Elsewhere"))
    assert field(seen=[{"board": str(elsewhere.pk), "state": "dead"}]) == "seen"
    late = refusal(post(client, engineer, address, **body | {"at": "2026-02-03T15:00:00Z"}), 409)
    assert (late["detail"], late["field"]) == ("A test is noted once it was done, not before.", "at")
    assert "one board at least" in refusal(post(client, engineer, address, **body | {"seen": []}), 409)["detail"]
    assert SwitchingTest.objects.count() == 0


def test_take_over_refused_where_it_is_not_certain(client, engineer, site, traced):
    pairs = [{"board": str(traced["lower"].pk), "from_circuit": str(traced["circuit"].pk)}]
    address = f"sites/{site.pk}/take-over-certain"
    assert "no longer certain" in refusal(post(client, engineer, address, certain=pairs), 409)["detail"]
    neither = refusal(post(client, engineer, address, certain=[{"board": str(traced["lower"].pk)}]), 409)
    assert neither["field"] == "certain"
    assert Feed.objects.filter(board=traced["lower"], verified=True).count() == 0


def test_withdraw_a_test(client, engineer, site, traced):
    test = make_switching_test(traced["circuit"], dead=[traced["lower"]], at=NOON - timedelta(hours=2))
    address = f"switching-tests/{test.pk}/withdraw"
    assert list(refusal(post(client, engineer, address, why=" "), 400)["errors"]) == ["why"]
    with recorded() as told:
        answers = [post(client, engineer, address, why="The wrong way") for _ in range(2)]
    assert [answer.json()["withdrawn_why"] for answer in answers] == ["The wrong way", "The wrong way"]
    assert told == [Told("switching.withdrawn", test.pk, {}, {"why": "The wrong way"})]
    found = look(client, engineer, site, "tracing/")
    assert (found["certain"], [row["board"] for row in found["possible"]]) == ([], [str(traced["lower"].pk)])
    assert sorted(found["possible"][0]["feeders"]) == sorted([str(traced["circuit"].pk), str(traced["other"].pk)])
    assert {row["device"] for row in found["next"]} == {str(traced["circuit"].pk), str(traced["other"].pk)}


# --- documents --------------------------------------------------------------------------------------------------------


def test_make_a_chart(client, engineer, board, firm):
    make_circuit(board)
    body = {"id": str(new_id()), "paper": "a5", "turned": "landscape"}
    with recorded() as told:
        answers = [post(client, engineer, f"boards/{board.pk}/make-chart", **body) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    assert (answers[0].json()["kind"], answers[0].json()["words"]) == ("chart", "A5 landscape")
    document = BoardDocument.objects.get()
    assert verbs(told) == [("board-document.made", document.pk)]
    file = client.get(f"/api/v1/board-documents/{document.pk}/file/")
    assert (file.content[:5], len(file.content)) == (b"%PDF-", answers[0].json()["size_bytes"])


def test_make_labels(client, engineer, board, firm):
    proven = make_circuit(board, verified_how="traced", verified_on=TODAY)
    believed = make_circuit(board)
    address, body = f"boards/{board.pk}/make-labels", {"id": str(new_id()), "size": "36x9"}
    doubtful = refusal(post(client, engineer, address, **body, circuits=[str(believed.pk)]), 409)
    assert doubtful["field"] == "circuits"
    assert (
        refusal(post(client, engineer, address, **body, circuits=[str(proven.pk)], start=700), 409)["field"] == "start"
    )
    odd = refusal(post(client, engineer, address, **body | {"size": "1x1"}, circuits=[]), 400)
    assert sorted(odd["errors"]) == ["circuits", "size"]
    with recorded() as told:
        answer = post(client, engineer, address, **body, circuits=[str(proven.pk)])
    assert (answer.status_code, answer.json()["kind"], answer.json()["words"]) == (
        201,
        "labels",
        "1 label of 36 × 9 mm",
    )
    assert verbs(told) == [("board-document.made", BoardDocument.objects.get().pk)]


def test_make_labels_for_the_board(client, engineer, board, firm):
    address, body = f"boards/{board.pk}/make-board-label", {"id": str(new_id()), "kind": "two-sources", "copies": 2}
    assert "No second source" in refusal(post(client, engineer, address, **body), 409)["detail"]
    make_second_source(board)
    with recorded() as told:
        answer = post(client, engineer, address, **body)
    assert (answer.status_code, answer.json()["words"]) == (201, "2 labels of 99 × 57 mm")
    assert verbs(told) == [("board-document.made", BoardDocument.objects.get().pk)]
    named = post(client, engineer, address, **body | {"id": str(new_id()), "kind": "board-label"})
    assert (named.status_code, named.json()["kind"]) == (201, "board-label")
    assert list(refusal(post(client, engineer, address, **body | {"kind": "chart"}), 400)["errors"]) == ["kind"]


# --- what the record comes to -----------------------------------------------------------------------------------------


def test_the_supply_of_a_site(client, engineer, site, traced):
    main, lower = traced["main"], traced["lower"]
    source = make_second_source(main, isolate_supply_side="Beside the board", wait_minutes=5)
    make_link_of_circuits(traced["circuit"], traced["other"])
    found = look(client, engineer, site, "supply/")
    assert [(row["id"], row["phases"]) for row in found["origins"]] == [(str(supply_of(site).pk), ["L1"])]
    assert {row["id"]: row["name_verified"] for row in found["boards"]} == {str(main.pk): True, str(lower.pk): True}
    feeds = {(row["child"], row["from_origin"], row["circuit"], row["verified"]) for row in found["feeds"]}
    assert feeds == {
        (str(main.pk), str(supply_of(site).pk), None, True),
        (str(lower.pk), None, str(traced["circuit"].pk), False),
        (str(lower.pk), None, str(traced["other"].pk), False),
    }
    assert [(row["id"], row["supply_side"], row["wait_minutes"]) for row in found["sources"]] == [
        (str(source.pk), "Beside the board", 5)
    ]
    assert [row["kind"] for row in found["links"]] == ["neutral"]
    stands = {row["board"]: (row["distance"], row["feeder"], row["fed"]) for row in found["stands"]}
    assert stands == {str(main.pk): (1, str(supply_of(site).pk), True), str(lower.pk): (2, str(main.pk), True)}


def test_what_should_go_dead_as_the_page_says(client, engineer, site, board):
    circuit = make_circuit(board, 3, poles=2, must_not_lose_power="Freezer")
    found = look(client, engineer, site, f"isolation/?circuit={circuit.pk}&inside={board.pk}")
    page = client.get(f"/sites/{site.pk}/isolation/?circuit={circuit.pk}&inside={board.pk}").content.decode()
    assert (len(found["works"]), found["works"][1]) == (2, "Work inside Board 1")
    assert len(found["points"]) >= 1
    for line in (*found["points"], *found["dead"], *found["live"]):
        assert line["what"] in page
    for words in (*found["cautions"], *found["loads"], found["standing"]):
        assert words in page


@pytest.mark.parametrize(
    ("query", "field"), [("inside=5", "inside"), ("supply={other}", "supply"), ("whatever=1", "whatever")]
)
def test_what_should_go_dead_asked_wrongly(client, engineer, site, query, field):
    other = make_board(make_site("Elsewhere"))
    found = look(client, engineer, site, f"isolation/?{query.format(other=other.pk)}", 400)
    assert list(found["errors"]) == [field]


@pytest.mark.parametrize(
    ("query", "words"), [("", "Say what work"), ("&".join(f"inside={new_id()}" for _ in range(21)), "first 20")]
)
def test_what_should_go_dead_refused(client, engineer, site, query, words):
    assert words in look(client, engineer, site, f"isolation/?{query}", 409)["detail"]


def test_labels_that_disagree(client, engineer, board):
    wrong = make_circuit(board, 1, label_found="Cooker", designation="Shower", verified_how="traced", verified_on=TODAY)
    make_circuit(board, 2, label_found="Sockets", designation="Sockets", verified_how="traced", verified_on=TODAY)
    found = look(client, engineer, board.site, "labels/")["labels"]
    assert [(row["board"], row["circuit"], row["written"], row["wrong"]) for row in found] == [
        (str(board.pk), str(wrong.pk), "Cooker", "differs")
    ]
    assert look(client, engineer, board.site, f"labels/?board={board.pk}")["labels"] == found
    assert look(client, engineer, board.site, f"labels/?board={new_id()}")["labels"] == []


@pytest.mark.parametrize("what", ["supply/", "tracing/", "labels/", "isolation/?inside={board}"])
def test_a_subcontractor_looks_at_their_sites_alone(client, subcontractor, board, what):
    look(client, subcontractor, board.site, what.format(board=board.pk), 404)
    grant_access(board.site, subcontractor)
    assert look(client, subcontractor, board.site, what.format(board=board.pk)) != {}


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(("what", "statements"), [("supply/", 8), ("labels/", 6), ("tracing/", 11)])
def test_statements_of_a_look(client, engineer, site, django_assert_num_queries, what, statements, count):
    """Session, person, site; then what the page asks of the database."""
    main = make_board(site, "Main")
    for n in range(count):
        lower = make_board(site, f"Lower {n}", fed=False)
        circuit = make_circuit(main)
        make_feed(lower, circuit)
        make_switching_test(circuit, dead=[lower], at=NOON - timedelta(hours=2))
    client.force_login(engineer)
    with django_assert_num_queries(statements):
        assert client.get(f"/api/v1/sites/{site.pk}/{what}").status_code == 200


def test_nothing_is_for_who_has_no_part_in_it(client, subcontractor, site, traced):
    test = make_switching_test(traced["circuit"], dead=[traced["lower"]])
    rows = {"boards": traced["lower"], "circuits": traced["circuit"], "switching-tests": test, "sites": site}
    acts = {
        "boards": ("verify", "name-candidates", "make-chart", "make-labels", "make-board-label"),
        "circuits": ("verify",),
        "switching-tests": ("withdraw",),
        "sites": ("note-switching-test", "take-over-certain"),
    }
    with recorded() as told:
        for noun, row in rows.items():
            for act in acts[noun]:
                refusal(post(client, subcontractor, f"{noun}/{row.pk}/{act}"), 404)
    assert told == []
