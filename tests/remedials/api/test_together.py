"""Search, a site's history and a customer's units in the API: as on the pages, for the same people, in as few statements."""

from datetime import timedelta
from uuid import UUID

import pytest

from jobsite.ids import new_id
from remedials.desk.api.together.portfolio import LEVELS
from remedials.status.portfolio.rules import Level
from tests.factories import (
    NOON,
    TODAY,
    make_inspection,
    make_observation,
    make_party,
    make_portfolio_link,
    make_remedial,
    make_site,
    make_unit,
    make_user,
    recorded,
)
from tests.remedials.api.verbs import done
from tests.remedials.desk import statements

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def got(client, user, address: str, status: int = 200, **query):
    client.force_login(user)
    answer = client.get(f"/api/v1/{address}/", query)
    assert answer.status_code == status, answer.content
    return answer.json()


# --- search -----------------------------------------------------------------------------------------------------------


def test_what_is_found_is_told_by_kind_with_its_key(client, office, site):
    seen = make_observation(site, "A burnt neutral", code="C2", made_safe=True)
    work = make_remedial(seen, work="Renew the burnt neutral", stage="approved")
    groups = {group["kind"]: group for group in got(client, office, "find", q="burnt neutral")["groups"]}
    assert list(groups) == ["observation", "remedial"]
    row = groups["observation"]["rows"][0]
    assert (row["id"], row["title"], row["code"], row["state"]) == (str(seen.pk), "A burnt neutral", "C2", "held")
    row = groups["remedial"]["rows"][0]
    assert (row["id"], row["code"], row["state"]) == (str(work.pk), "", "approved")
    assert [groups[kind]["more"] for kind in groups] == [False, False]
    assert got(client, office, "find", q="nothing like it") == {"groups": []}


def test_search_shows_each_what_they_may_see(client, office, engineer, site):
    party = make_party("Hazel Landlady")
    assert [group["kind"] for group in got(client, office, "find", q="Hazel")["groups"]] == ["party"]
    assert got(client, engineer, "find", q="Hazel") == {"groups": []}
    lent = make_user("Sid Lent", "engineer", subcontractor=True)
    assert got(client, lent, "find", q=site.name) == {"groups": []}
    assert party.name == "Hazel Landlady"


@pytest.mark.parametrize("query", [{}, {"q": " "}, {"q": "x" * 201}, {"q": "a\0b"}, {"q": "a", "kind": "site"}])
def test_a_search_that_cannot_be_read_is_refused(client, office, query):
    assert got(client, office, "find", 400, **query)["status"] == 400


def test_search_takes_as_many_statements_however_much_is_found(client, office):
    client.force_login(office)
    make_site("Mill 1")
    with statements() as few:
        client.get("/api/v1/find/?q=Mill")
    for number in range(2, 5):
        make_site(f"Mill {number}")
    with statements() as more:
        client.get("/api/v1/find/?q=Mill")
    assert len(few) == len(more) == 3  # the session, its person, the search


# --- history ----------------------------------------------------------------------------------------------------------


def test_history_is_told_newest_first_page_by_page(client, office, site):
    from jobsite.premises.operations import add_unit

    for name in ("Flat A", "Flat B", "Flat C"):
        with recorded() as told:
            add_unit(site, id=new_id(), name=name, by=office, now=NOON)
    page = got(client, office, f"sites/{site.pk}/history", page_size=2)
    first = page["results"][0]
    assert [row["number"] for row in page["results"]] == [3, 2]
    assert (first["verb"], first["subject"], first["who"], first["actor_kind"]) == (
        told[0].verb, str(told[0].subject), office.name, "person",
    )  # fmt: skip
    assert {word["text"] for word in first["words"]} == {"Flat C"}
    rest = client.get(page["next"]).json()
    assert ([row["number"] for row in rest["results"]], rest["next"]) == ([1], None)
    only = got(client, office, f"sites/{site.pk}/history", subject=first["subject"])["results"]
    assert [row["number"] for row in only] == [3]
    assert got(client, office, f"sites/{site.pk}/history", verb="site.merged")["results"] == []
    assert len(got(client, office, f"sites/{site.pk}/history", person=office.pk)["results"]) == 3
    assert got(client, office, f"sites/{site.pk}/history", person=new_id())["results"] == []


def test_who_sees_no_prices_hears_that_something_was_quoted_and_no_more(client, office, engineer):
    site = make_site("Mill Cottage")
    body = {"id": str(new_id()), "party": str(site.customer_id), "name": "Works", "sites": [str(site.pk)]}
    done(client, office, "quotes/begin", "quote.begun", status=201, **body)
    told, untold = (got(client, who, f"sites/{site.pk}/history")["results"][0] for who in (office, engineer))
    assert (told["verb"], told["subject"]) == ("quote.begun", body["id"])
    assert {word["text"] for word in told["words"]} == {"Works"}
    assert (untold["subject"], untold["facts"], untold["words"]) == (None, "", [])
    assert untold["said"] == told["said"]


def test_history_as_a_text_ends_with_the_head_of_the_ledger(client, office, site):
    from jobsite.ledger.queries import heads
    from jobsite.premises.operations import add_unit

    add_unit(site, id=new_id(), name="Flat A", by=office, now=NOON)
    client.force_login(office)
    answer = client.get(f"/api/v1/sites/{site.pk}/history/file/")
    assert answer["Content-Type"] == "text/plain; charset=utf-8"
    assert answer.content.decode().splitlines()[-1] == heads([site.pk])[0].line()


def test_history_of_a_site_that_is_not_theirs_is_not_there(client, site):
    lent = make_user("Sid Lent", "engineer", subcontractor=True)
    got(client, lent, f"sites/{site.pk}/history", 404)
    got(client, lent, f"sites/{site.pk}/history/file", 404)


def test_history_takes_as_many_statements_however_long(client, office, site):
    from jobsite.premises.operations import add_unit

    client.force_login(office)
    counts = []
    for several in (1, 3):
        for _ in range(several):
            key = new_id()
            add_unit(site, id=key, name=f"Flat {key}", by=office, now=NOON)
        with statements() as made:
            client.get(f"/api/v1/sites/{site.pk}/history/")
        counts.append(len(made))
    # the session, its person, the site, the entries, their words, who did them, what they are about
    assert counts == [7, 7]


# --- a customer's units -----------------------------------------------------------------------------------------------


def test_units_of_a_customer_are_listed_the_most_dangerous_first(client, office, engineer, site):
    dangerous = make_unit(site, "Flat 2")
    make_observation(site, "Live parts", code="C1", unit=dangerous)
    where = f"customers/{site.customer_id}/portfolio"
    got(client, engineer, where, 403)
    rows = got(client, office, where)["results"]
    assert rows[0]["unit"] == str(dangerous.pk)
    assert (rows[0]["level"], rows[0]["c1"], rows[0]["c2"]) == ("danger-now", 1, 0)
    assert "Danger" in rows[0]["says"]
    page = got(client, office, where, page_size=1)
    after = client.get(page["next"]).json()
    assert [row["unit"] for row in page["results"] + after["results"]] == [row["unit"] for row in rows[:2]]
    assert [row["unit"] for row in got(client, office, where, danger="now")["results"]] == [str(dangerous.pk)]
    assert got(client, office, where, q="no such place")["results"] == []


@pytest.mark.parametrize("query", [{"danger": "some"}, {"dates": ""}, {"page": "2"}, {"page_size": "0"}])
def test_a_narrowing_that_cannot_be_read_is_refused(client, office, site, query):
    got(client, office, f"customers/{site.customer_id}/portfolio", 400, **query)


def test_a_page_behind_no_unit_is_not_there(client, office, site):
    got(client, office, f"customers/{site.customer_id}/portfolio", 404, cursor="x")


def test_levels_are_those_of_the_rules() -> None:
    assert [level for level, _ in LEVELS] == [level.name.lower().replace("_", "-") for level in Level]


def test_units_of_a_customer_in_short(client, office, site):
    make_observation(site, "Live parts", code="C1")
    told = got(client, office, f"customers/{site.customer_id}/portfolio/summary")
    assert told["danger_now"] is True
    assert told["says"][0].startswith("Danger now")
    assert {row["code"]: row["open"] for row in told["codes"]}["C1"] == 1


def test_documents_for_a_customer_are_given_out_as_on_the_pages(client, office, site):
    report = make_inspection(site, inspected_on=TODAY - timedelta(days=30))
    make_observation(site, "Live parts", code="C2", inspection=report)
    client.force_login(office)
    where = f"/api/v1/customers/{site.customer_id}/portfolio"
    unit = site.units.get().pk
    of_unit = f"units/{unit}"
    for address in ("summary/file", f"years/{TODAY.year}", f"{of_unit}/documents/outstanding", f"{of_unit}/no-access"):
        answer = client.get(f"{where}/{address}/")
        assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf"), (address, answer.content[:200])
        assert answer.content.startswith(b"%PDF-")
    assert client.get(f"{where}/years/1700/").status_code == 409
    assert client.get(f"{where}/units/{new_id()}/documents/outstanding/").status_code == 404
    assert client.get(f"{where}/units/{unit}/documents/no-such/").status_code == 404


def test_link_to_a_portfolio_is_found_by_what_it_opens(client, office, site):
    link, _ = make_portfolio_link(site.customer)
    rows = got(client, office, "private-links", party=site.customer_id)["results"]
    assert [UUID(row["id"]) for row in rows] == [link.pk]
    assert got(client, office, "private-links", thing=new_id())["results"] == []
