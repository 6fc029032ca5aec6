"""Premises over the API, to read: what each noun shows, to whom, narrowed by what, and at what cost."""

from datetime import timedelta

import pytest

from inspections.models import InspectionDue
from jobsite.ids import new_id
from tests.factories import (
    NOON,
    TODAY,
    grant_access,
    make_board,
    make_board_document,
    make_circuit,
    make_feed,
    make_link_of_circuits,
    make_observation,
    make_party,
    make_second_source,
    make_site,
    make_switching_test,
    make_unit,
    make_verification,
    supply_of,
    unit_of,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
PROBLEM = "application/problem+json"
NOUNS = (
    "units", "unit-parties", "parties", "supplies", "circuits", "feeds", "circuit-links", "second-sources", "verifications",
    "switching-tests", "board-documents",
)  # fmt: skip


@pytest.fixture
def reader(client, office):
    client.force_login(office)
    return client


def rows(answer) -> list[dict]:
    assert answer.status_code == 200, answer.content
    return answer.json()["results"]


def ids(answer) -> list[str]:
    return [row["id"] for row in rows(answer)]


def make_role(unit, party=None, **fields):
    return unit.parties.create(**{"party": party or make_party(), "role": "owner", "since": TODAY} | fields)


def one_of_each(site) -> dict:
    board = make_board(site)
    circuit, other = make_circuit(board), make_circuit(board)
    return {
        "units": unit_of(site),
        "unit-parties": make_role(unit_of(site)),
        "parties": site.customer,
        "supplies": supply_of(site),
        "circuits": circuit,
        "feeds": board.feeds.get(),
        "circuit-links": make_link_of_circuits(circuit, other),
        "second-sources": make_second_source(board),
        "verifications": make_verification(circuit),
        "switching-tests": make_switching_test(circuit, dead=[board]),
        "board-documents": make_board_document(board),
    }


# --- what is shown ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("noun", NOUNS)
def test_a_row_is_shown_alike_in_its_list_and_by_itself(reader, site, noun):
    row = one_of_each(site)[noun]
    alone = reader.get(f"/api/v1/{noun}/{row.pk}/")
    assert alone.json()["id"] == str(row.pk)
    assert [found for found in rows(reader.get(f"/api/v1/{noun}/")) if found["id"] == str(row.pk)] == [alone.json()]
    version = getattr(row, "version", None)
    assert alone.headers.get("ETag") == (None if version is None else f'"{version}"')


def test_what_a_circuit_says(reader, site):
    circuit = make_circuit(make_board(site), 4, label_found="Boiler", rcd_kind="A", rcd_ma=30, line_mm2="2.50")
    shown = reader.get(f"/api/v1/circuits/{circuit.pk}/").json()
    assert {name: shown[name] for name in ("way", "phase", "label_found", "rating_a", "rcd_ma", "line_mm2", "site")} == {
        "way": 4, "phase": "L1", "label_found": "Boiler", "rating_a": "32.0", "rcd_ma": 30, "line_mm2": "2.50",
        "site": str(site.pk),
    }  # fmt: skip


def test_what_a_test_says(reader, site):
    board, other = make_board(site), make_board(site, "Board 2")
    test = make_switching_test(supply_of(site), dead=[board], alive=[other])
    shown = reader.get(f"/api/v1/switching-tests/{test.pk}/").json()
    assert (shown["off_circuit"], shown["off_supply"]) == (None, str(supply_of(site).pk))
    assert shown["seen"] == [{"board": str(board.pk), "state": "dead"}, {"board": str(other.pk), "state": "alive"}]


def test_a_party_with_the_sites_that_were_theirs(reader, site):
    former = make_party("Frank Former")
    site.former_customers.create(party=former, until=TODAY, reason="sold", recorded_at=NOON)
    assert reader.get(f"/api/v1/parties/{former.pk}/").json()["former_sites"] == [
        {"site": str(site.pk), "until": "2026-02-03", "reason": "sold", "recorded_at": "2026-02-03T12:00:00Z"}
    ]


def test_the_file_of_a_document(reader, site):
    document = make_board_document(make_board(site))
    answer = reader.get(f"/api/v1/board-documents/{document.pk}/file/", headers={"Accept": "application/pdf"})
    page = reader.get(f"/board-documents/{document.pk}/")
    assert (answer.status_code, answer.content) == (200, b"%PDF-1.7 made")
    named = (
        "Content-Type",
        "Content-Disposition",
        "Cache-Control",
        "X-Content-Type-Options",
        "Content-Security-Policy",
    )
    assert {name: answer.get(name) for name in named} == {name: page.get(name) for name in named}
    gone = reader.get(f"/api/v1/board-documents/{new_id()}/file/", headers={"Accept": "application/pdf"})
    assert (gone.status_code, gone["Content-Type"]) == (404, PROBLEM)


# --- to whom ----------------------------------------------------------------------------------------------------------


def test_a_subcontractor_sees_only_their_sites(client, subcontractor, site):
    made, others = one_of_each(site), one_of_each(make_site("Elsewhere"))
    grant_access(site, subcontractor)
    client.force_login(subcontractor)
    for noun in set(NOUNS) - {"parties"}:
        found = ids(client.get(f"/api/v1/{noun}/"))
        assert (str(made[noun].pk) in found, str(others[noun].pk) in found) == (True, False), noun
        assert client.get(f"/api/v1/{noun}/{others[noun].pk}/").status_code == 404
    assert client.get(f"/api/v1/board-documents/{others['board-documents'].pk}/file/").status_code == 404


def test_parties_are_for_who_keeps_customers(client, engineer, site):
    client.force_login(engineer)
    assert client.get("/api/v1/parties/").status_code == 403
    assert client.get(f"/api/v1/parties/{site.customer_id}/").status_code == 403


def test_parts_that_ended_are_for_who_keeps_customers(client, engineer, office, site):
    ended = make_role(unit_of(site), since=TODAY.replace(day=1), until=TODAY.replace(day=2))
    stands = make_role(unit_of(site), until=TODAY)
    client.force_login(engineer)
    assert ids(client.get("/api/v1/unit-parties/")) == [str(stands.pk)]
    assert client.get(f"/api/v1/unit-parties/{ended.pk}/").status_code == 404
    client.force_login(office)
    assert ids(client.get("/api/v1/unit-parties/")) == [str(ended.pk), str(stands.pk)]
    assert ids(client.get("/api/v1/unit-parties/?standing=false")) == [str(ended.pk)]


# --- narrowed ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("noun", [noun for noun in NOUNS if noun != "parties"])
def test_by_site(reader, site, noun):
    made = one_of_each(site)[noun]
    one_of_each(make_site("Elsewhere"))
    found = rows(reader.get(f"/api/v1/{noun}/?site={site.pk}"))
    assert {row["site"] for row in found} == {str(site.pk)}
    assert str(made.pk) in [row["id"] for row in found]


def test_by_what_they_belong_to(reader, site):
    flat = make_unit(site, "Flat 1")
    board, other = make_board(site), make_board(site, "Board 2", fed=False)
    board.units.add(flat)
    one, two = make_circuit(board, unit=flat), make_circuit(other)
    feed = make_feed(other, one, verified=False)
    link = make_link_of_circuits(one, two)
    first, second = make_verification(one), make_verification(other, "Board 2")
    test = make_switching_test(one, dead=[other])
    source, document = make_second_source(other), make_board_document(other, kind="labels")
    role = make_role(flat)

    def found(query: str) -> list[str]:
        return ids(reader.get(f"/api/v1/{query}"))

    assert found(f"boards/?unit={flat.pk}") == [str(board.pk)]
    assert found(f"circuits/?board={other.pk}") == [str(two.pk)]
    assert found(f"circuits/?unit={flat.pk}") == [str(one.pk)]
    assert found(f"feeds/?board={other.pk}") == found(f"feeds/?from_circuit={one.pk}") == [str(feed.pk)]
    assert found(f"feeds/?from_supply={supply_of(site).pk}&kind=normal") == [str(board.feeds.get().pk)]
    assert found(f"circuit-links/?circuit={two.pk}") == found(f"circuit-links/?circuit={one.pk}") == [str(link.pk)]
    assert found(f"verifications/?circuit={one.pk}") == [str(first.pk)]
    assert found(f"verifications/?board={other.pk}") == [str(second.pk)]
    assert found(f"switching-tests/?board={other.pk}&withdrawn=false") == [str(test.pk)]
    assert found("switching-tests/?withdrawn=true") == found(f"switching-tests/?board={board.pk}") == []
    assert found(f"second-sources/?board={other.pk}") == [str(source.pk)]
    assert found(f"board-documents/?board={other.pk}&kind=labels") == [str(document.pk)]
    assert found("board-documents/?kind=chart") == []
    assert found(f"unit-parties/?unit={flat.pk}") == found(f"unit-parties/?party={role.party_id}") == [str(role.pk)]


@pytest.mark.parametrize("noun", ["units", "supplies", "circuits", "second-sources", "parties"])
def test_what_is_gone_can_be_left_out(reader, site, noun):
    row = one_of_each(site)[noun]
    setattr(row, "archived_at" if noun == "parties" else "retired_at", NOON)
    row.save()
    current, gone = (ids(reader.get(f"/api/v1/{noun}/?current={said}")) for said in ("true", "false"))
    assert (str(row.pk) in current, gone) == (False, [str(row.pk)])


def test_parties_by_words(reader):
    make_party("Ann Other")
    found = make_party("Zoë Landlady")
    assert ids(reader.get("/api/v1/parties/?words=zoe")) == [str(found.pk)]


def test_sites_by_words_and_by_how_they_stand(reader):
    yard, mill = make_site("Yard", postcode="QX7 1AA"), make_site("Mill")
    make_observation(mill, code="C1")
    InspectionDue.objects.create(unit=unit_of(yard), due_on=TODAY - timedelta(1), shows_from=TODAY)
    InspectionDue.objects.create(unit=unit_of(mill), due_on=TODAY, shows_from=TODAY)
    assert ids(reader.get("/api/v1/sites/?words=qx7")) == [str(yard.pk)]
    assert ids(reader.get("/api/v1/sites/?danger=true")) == [str(mill.pk)]
    assert ids(reader.get("/api/v1/sites/?danger=false")) == [str(yard.pk)]
    assert ids(reader.get("/api/v1/sites/?inspection_late=true")) == [str(yard.pk)]
    assert ids(reader.get("/api/v1/sites/?inspection_late=false")) == [str(mill.pk)]


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(
    ("noun", "statements"),
    {**dict.fromkeys(NOUNS, 3), "parties": 4, "switching-tests": 4}.items(),
)
def test_statements_of_a_list(reader, django_assert_num_queries, noun, statements, count):
    """Session, person, the rows, and where a row has several of something, those."""
    for n in range(count):
        one_of_each(make_site(f"Site {n}"))
    with django_assert_num_queries(statements):
        assert len(rows(reader.get(f"/api/v1/{noun}/"))) >= count


@pytest.mark.parametrize("noun", NOUNS)
def test_pages_by_key_lose_and_repeat_nothing(reader, noun):
    for n in range(3):
        one_of_each(make_site(f"Site {n}"))
    everything = ids(reader.get(f"/api/v1/{noun}/?page_size=200"))
    address, seen = f"/api/v1/{noun}/?page_size=2", []
    while address:
        answer = reader.get(address).json()
        seen += [row["id"] for row in answer["results"]]
        address = answer["next"]
    assert seen == everything
    assert len(seen) >= 3


@pytest.mark.parametrize("noun", NOUNS)
def test_a_filter_that_is_none_is_refused(reader, noun):
    answer = reader.get(f"/api/v1/{noun}/?sitte=1")
    assert (answer.status_code, answer.json()["errors"]) == (400, {"sitte": ["There is no such filter."]})
