"""Finding things by words and numbers, within what a person may see."""

import pytest

from remedials.desk.queries.search import found, number_in
from tests.factories import (
    NOON,
    TODAY,
    grant_access,
    make_board,
    make_inspection,
    make_observation,
    make_party,
    make_remedial,
    make_site,
    make_visit,
)
from tests.remedials.desk import hold, hrefs, read, statements, text_of

pytestmark = pytest.mark.django_db


def hits(user, words: str) -> dict[str, list[str]]:
    return {group["heading"]: [row["title"] for row in group["rows"]] for group in found(user, words)}


@pytest.fixture
def boatyard(office):
    """A site with a board, an observation, a remedial and a report."""
    site = make_site(
        "Orrin Reach boatyard", customer=make_party("Moorings", email="moorings@example.com"), postcode="QX4 9ZA"
    )
    board = make_board(site, "Slip hoist", label_found="old crane")
    seen = make_observation(site, "Armour not earthed", board=board, by=office)
    make_remedial(seen, work="Fit a gland", by=office)
    make_inspection(site, by=office)
    return site


def test_each_kind_is_found_by_its_own_words(boatyard, office):
    assert hits(office, "reach boat")["Sites"] == ["Orrin Reach boatyard"]
    assert hits(office, "QX4")["Sites"] == ["Orrin Reach boatyard"]
    assert hits(office, "old crane") == {"Boards": ["Slip hoist"]}
    assert hits(office, "armour EARTHED") == {"Observations": ["Armour not earthed"]}
    assert hits(office, "gland") == {"Remedials": ["Fit a gland"]}
    assert hits(office, "moorings@example") == {"Customers and other parties": ["Moorings"]}


def test_what_a_caller_said_is_found_by_the_words_and_by_who_rang(site, office):
    make_observation(site, "It fizzes behind the cooker", code="", reported_by="Dilys from number 9", by=office)
    assert hits(office, "fizzes cooker") == {"Observations": ["It fizzes behind the cooker"]}
    assert hits(office, "dilys") == {"Observations": ["It fizzes behind the cooker"]}


def test_words_are_joined_by_and_over_the_site(boatyard, office):
    make_observation(make_site("Mill"), "Armour not earthed", by=office)
    assert hits(office, "armour orrin") == {"Observations": ["Armour not earthed"]}
    assert hits(office, "armour nowhere") == {}


@pytest.mark.parametrize("spoken", ["{n}", "#{n}"])
def test_a_number_finds_what_bears_it(office, boatyard, spoken):
    remedial = boatyard.remedials.get()
    assert "Fit a gland" in hits(office, spoken.format(n=remedial.number))["Remedials"]
    report = boatyard.inspections.get()
    assert hits(office, spoken.format(n=report.number))["Reports"] == [f"Report {report.number}"]


@pytest.mark.parametrize(
    ("word", "number"),
    [("12", 12), ("#12", 12), ("twelve", None), ("٣", None), ("9" * 16, None), ("1.5", None), ("", None)],
)
def test_what_counts_as_a_number(word, number):
    assert number_in(word) == number


def test_accents_case_and_a_wrong_letter_still_find_a_name(office):
    make_site("Café Élan")
    make_site("Brackwater School")
    assert hits(office, "cafe elan") == {"Sites": ["Café Élan"]}
    assert hits(office, "brakwater")["Sites"] == ["Brackwater School"]


def test_a_mark_says_code_and_state(client, office):
    site = make_site("Mill")
    hold(make_observation(site, "Live parts", code="C1", by=office), by=office)
    make_observation(site, "Blank missing", code="C3", ended="remedied", ended_on=TODAY, by=office)
    client.force_login(office)
    words = read(client, "/find/", q="mill")
    assert "C1 made safe Live parts" in words
    assert "C3 closed and reviewed Blank missing" in words


def test_drafts_and_archived_sites_are_not_found(office):
    make_observation(make_site("Mill"), "Being written", draft=True, by=office)
    make_site("Old Barn", archived_at="2026-01-01T00:00:00Z")
    assert hits(office, "being") == {}
    assert hits(office, "barn") == {}


def test_a_subcontractor_finds_own_sites_and_no_customers(boatyard, subcontractor):
    assert hits(subcontractor, "orrin") == {}
    grant_access(boatyard, subcontractor)
    assert set(hits(subcontractor, "orrin")) == {"Sites", "Boards", "Observations", "Remedials"}
    assert hits(subcontractor, "moorings") == {"Sites": ["Orrin Reach boatyard"]}


def test_ten_of_a_kind_and_word_that_there_are_more(client, office):
    for n in range(11):
        make_site(f"Mill {n}")
    client.force_login(office)
    response = client.get("/find/", {"q": "mill"})
    assert text_of(response).count("Mill ") == 10
    assert "There are more: add a word." in text_of(response)


def test_the_page_leads_to_what_it_found(client, office, boatyard):
    client.force_login(office)
    links = hrefs(client.get("/find/", {"q": "orrin"}))
    assert {f"/sites/{boatyard.pk}/", f"/observations/{boatyard.observations.get().pk}/"} <= links


def test_a_visit_is_found_by_its_number_by_who_may_see_it(office, engineer, subcontractor, boatyard):
    grant_access(boatyard, subcontractor)
    make_visit(boatyard, engineers=[engineer], number=8801, start=NOON.replace(month=6, hour=23, minute=30))
    gone = {"state": "cancelled", "cancelled_reason": "Away"}
    make_visit(boatyard, engineers=[subcontractor], number=8802, **gone)
    (group,) = found(office, "orrin #8801")
    assert (group["heading"], [(row["title"], row["detail"]) for row in group["rows"]]) == (
        "Visits", [("Visit 8801", "Orrin Reach boatyard · 4 Jun 2026")],
    )  # fmt: skip
    assert found(office, "8802")[0]["rows"][0]["detail"] == "Orrin Reach boatyard · 3 Feb 2026 · cancelled"
    assert hits(subcontractor, "8801") == {}
    assert hits(subcontractor, "8802") == {"Visits": ["Visit 8802"]}
    assert "Visits" not in hits(office, "orrin")


def test_no_words_and_no_answer_say_what_to_do(client, office):
    client.force_login(office)
    assert "What are you looking for?" in read(client, "/find/")
    assert "Nothing bears these words." in read(client, "/find/", q="nowhere")


@pytest.mark.parametrize("words", ["'; DROP TABLE", "%", "_", "\\", "<b>", "a" * 5000, "9" * 400, "💡"])
def test_odd_words_are_only_words(client, office, words):
    client.force_login(office)
    assert client.get("/find/", {"q": words}).status_code == 200


@pytest.mark.parametrize("size", [1, 12])
def test_a_search_is_one_statement(office, size):
    for n in range(size):
        site = make_site(f"Mill {n}")
        make_remedial(make_observation(site, by=office, board=make_board(site)), by=office)
    with statements() as sql:
        found(office, "mill")
    assert len(sql) == 1
