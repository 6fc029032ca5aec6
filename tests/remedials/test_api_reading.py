"""The API's nouns: who sees what, what may be asked for, pages by key, and what each costs."""

import base64
from urllib.parse import urlencode

import pytest
from django.core.management import call_command

from tests.factories import (
    TODAY,
    grant_access,
    make_board,
    make_inspection,
    make_observation,
    make_remedial,
    make_site,
    make_unit,
    unit_of,
)

pytestmark = pytest.mark.django_db
NOUNS = ("sites", "boards", "observations", "remedials")
PROBLEM = "application/problem+json"


@pytest.fixture
def reader(client, engineer):
    client.force_login(engineer)
    return client


def rows(answer) -> list[dict]:
    assert answer.status_code == 200, answer.content
    return answer.json()["results"]


def names(answer, field: str = "text") -> list:
    return [row[field] for row in rows(answer)]


def one_of_each(site):
    observation = make_observation(site, board=make_board(site))
    return {
        "sites": site,
        "boards": observation.board,
        "observations": observation,
        "remedials": make_remedial(observation),
    }


# --- what is shown ----------------------------------------------------------------------------------------------------


def test_a_row_of_each_noun(reader, site):
    made = one_of_each(site)
    shown = {noun: reader.get(f"/api/v1/{noun}/{made[noun].pk}/").json() for noun in NOUNS}
    assert {noun: rows(reader.get(f"/api/v1/{noun}/")) for noun in NOUNS} == {noun: [shown[noun]] for noun in NOUNS}
    board, observation, remedial = made["boards"], made["observations"], made["remedials"]
    assert shown["sites"]["name"] == "Sample House"
    assert (shown["boards"]["designation"], shown["boards"]["phases"]) == ("Board 1", ["L1"])
    place = {"site": str(site.pk), "unit": str(unit_of(site).pk), "board": str(board.pk), "circuit": None}
    expected = {"id": str(observation.pk), "code": "C2", "recorded_on": "2026-02-03", "ended": "", "version": 1}
    assert shown["observations"].items() >= (expected | place).items()
    assert shown["remedials"]["observations"] == [str(observation.pk)]
    assert (shown["remedials"]["stage"], shown["remedials"]["number"]) == ("to-price", remedial.number)


def test_measures_are_text_that_keeps_its_digits(reader, site):
    board = make_board(site, zdb_ohm="0.350")
    assert reader.get(f"/api/v1/boards/{board.pk}/").json()["zdb_ohm"] == "0.350"


def test_drafts_are_not_there(reader, site):
    draft = make_observation(site, draft=True)
    assert rows(reader.get("/api/v1/observations/")) == []
    assert reader.get(f"/api/v1/observations/{draft.pk}/").status_code == 404


# --- who sees it ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("noun", [*NOUNS, "schema"])
def test_nobody_is_let_in_unsigned(client, noun):
    answer = client.get(f"/api/v1/{noun}/")
    assert (answer.status_code, answer["Content-Type"]) == (401, PROBLEM)
    assert (answer.json()["title"], answer["WWW-Authenticate"]) == ("Not signed in", 'Bearer realm="api"')


def test_a_subcontractor_sees_only_their_sites(client, subcontractor, site):
    made, others = one_of_each(site), one_of_each(make_site("Elsewhere"))
    grant_access(site, subcontractor)
    client.force_login(subcontractor)
    for noun in NOUNS:
        assert names(client.get(f"/api/v1/{noun}/"), "id") == [str(made[noun].pk)]
        answer = client.get(f"/api/v1/{noun}/{others[noun].pk}/")
        assert (answer.status_code, answer["Content-Type"]) == (404, PROBLEM)
        assert answer.json() == {"type": "about:blank", "title": "Not found", "status": 404, "detail": "Not found"}


@pytest.mark.parametrize("noun", NOUNS)
@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_nouns_are_only_read(reader, site, noun, method):
    answer = getattr(reader, method)(f"/api/v1/{noun}/", {}, content_type="application/json")
    assert (answer.status_code, answer["Content-Type"]) == (405, PROBLEM)


# --- what may be asked for --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("query", "texts"),
    [
        ("", ["danger", "improve", "reported", "closed"]),
        ("code=C1", ["danger", "closed"]),
        ("code=C1&code=C3", ["danger", "improve", "closed"]),
        ("code=none", ["reported"]),
        ("open=true", ["danger", "improve", "reported"]),
        ("open=false", ["closed"]),
        ("open=true&code=C1", ["danger"]),
    ],
)
def test_observations_filtered(reader, site, query, texts):
    for text, code in (("danger", "C1"), ("improve", "C3"), ("reported", "")):
        make_observation(site, text, code=code)
    make_observation(site, "closed", code="C1", ended="remedied", ended_on=TODAY)
    assert names(reader.get(f"/api/v1/observations/?{query}")) == texts


def test_filtered_by_where_they_belong(reader, site):
    other = make_site("Elsewhere")
    flat = make_unit(site, "Flat 1")
    inspection = make_inspection(site)
    board = make_board(site)
    here = make_observation(site, "here", board=board, inspection=inspection)
    make_observation(site, "flat", unit=flat)
    there = make_observation(other, "there")
    first, second = make_remedial(here, stage="booked"), make_remedial(there, stage="cancelled")
    assert names(reader.get(f"/api/v1/observations/?site={site.pk}")) == ["here", "flat"]
    assert names(reader.get(f"/api/v1/observations/?unit={flat.pk}")) == ["flat"]
    assert names(reader.get(f"/api/v1/observations/?board={board.pk}")) == ["here"]
    assert names(reader.get(f"/api/v1/observations/?inspection={inspection.pk}")) == ["here"]
    assert names(reader.get(f"/api/v1/boards/?site={other.pk}"), "id") == []
    assert names(reader.get(f"/api/v1/sites/?customer={site.customer_id}"), "name") == ["Sample House"]
    assert names(reader.get(f"/api/v1/remedials/?observation={there.pk}"), "id") == [str(second.pk)]
    assert names(reader.get("/api/v1/remedials/?stage=booked&stage=done"), "id") == [str(first.pk)]
    assert names(reader.get("/api/v1/remedials/?open=true"), "id") == [str(first.pk)]
    assert names(reader.get("/api/v1/remedials/?open=false"), "id") == [str(second.pk)]


def test_what_is_gone_can_be_left_out(reader, site, now):
    make_site("Archived", archived_at=now)
    make_board(site, "Old board", retired_at=now)
    assert names(reader.get("/api/v1/sites/?current=true"), "name") == ["Sample House"]
    assert names(reader.get("/api/v1/sites/?current=false"), "name") == ["Archived"]
    assert rows(reader.get("/api/v1/boards/?current=true")) == []


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("code=C9", "code"),
        ("open=perhaps", "open"),
        ("site=5", "site"),
        ("cdoe=C1", "cdoe"),
        ("site=", "site"),
        ("code=C1&code=", "code"),
    ],
)
def test_a_filter_that_cannot_be_meant_is_refused(reader, query, field):
    answer = reader.get(f"/api/v1/observations/?{query}")
    assert (answer.status_code, answer["Content-Type"]) == (400, PROBLEM)
    assert list(answer.json()["errors"]) == [field]


# --- pages ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("noun", NOUNS)
def test_pages_by_key_lose_and_repeat_nothing(reader, noun):
    made = [one_of_each(make_site(f"Site {n}"))[noun] for n in range(5)]
    address, seen = f"/api/v1/{noun}/?page_size=2", []
    while address:
        answer = reader.get(address).json()
        assert len(answer["results"]) <= 2
        seen += [row["id"] for row in answer["results"]]
        address = answer["next"]
    assert seen == [str(row.pk) for row in made]


@pytest.mark.parametrize("position", ["abc", "", str(10**40), str(2**63), "1; drop", "\0", "½", "-1e5"])
@pytest.mark.parametrize("noun", NOUNS)
def test_a_cursor_that_we_did_not_make(reader, site, noun, position):
    one_of_each(site)
    cursor = base64.b64encode(urlencode({"p": position}).encode()).decode()
    answer = reader.get(f"/api/v1/{noun}/", {"cursor": cursor})
    assert answer.status_code in (404, 400)
    assert answer["Content-Type"] == PROBLEM


@pytest.mark.parametrize("size", ["0", "-1", "x", str(10**40), "201"])
def test_a_page_size_out_of_range_is_refused(reader, site, size):
    answer = reader.get("/api/v1/sites/", {"page_size": size})
    assert (answer.status_code, answer["Content-Type"]) == (400, PROBLEM)
    assert answer.json()["errors"] == {"page_size": ["A page has 1 to 200 rows."]}


@pytest.mark.parametrize("count", [1, 10])
@pytest.mark.parametrize(("noun", "statements"), [("sites", 3), ("boards", 4), ("observations", 3), ("remedials", 6)])
def test_statements_of_a_list(reader, site, django_assert_num_queries, noun, statements, count):
    """Session, person, the rows, and where a row has several of something, those."""
    for n in range(count):
        site = make_site(f"Site {n}")
        one_of_each(site)["boards"].units.add(unit_of(site))
    with django_assert_num_queries(statements):
        assert len(rows(reader.get(f"/api/v1/{noun}/"))) >= count


# --- the description --------------------------------------------------------------------------------------------------


def test_schema_is_valid_and_without_warnings(tmp_path):
    call_command("spectacular", "--validate", "--fail-on-warn", "--file", str(tmp_path / "schema.yml"))
    assert "/api/v1/remedials/{id}/close/" in (tmp_path / "schema.yml").read_text()


def test_schema_is_served(reader):
    answer = reader.get("/api/v1/schema/", headers={"accept": "application/vnd.oai.openapi+json"})
    assert answer.status_code == 200
    paths = answer.json()["paths"]
    assert {f"/api/v1/{noun}/" for noun in NOUNS} <= set(paths)
    told = paths["/api/v1/remedials/{id}/approve/"]["post"]["responses"]
    assert set(told) == {
        "200", "400", "401", "403", "404", "406", "409", "412", "413", "414", "415", "422", "428", "429",
    }  # fmt: skip
