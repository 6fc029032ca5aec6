"""The due list in the API: the rows of the page, in its order, for the same people."""

from datetime import timedelta

import pytest

from remedials.due.queries import page_of_rows, rows_due
from tests import factories as make
from tests.factories import TODAY
from tests.remedials.desk import statements

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
WHERE = "/api/v1/due/"
SOON = TODAY + timedelta(days=3)


def rows(client, **query) -> list[dict]:
    answer = client.get(WHERE, query)
    assert answer.status_code == 200, answer.content
    return answer.json()["results"]


def subjects(client, **query) -> list[str]:
    return [row["subject"] for row in rows(client, **query)]


@pytest.fixture
def some(site, office, engineer):
    """A C1 of the engineer's, a C2 of nobody's without a date, a C3, and an instrument."""
    danger = make.make_observation(site, "Live parts", code="C1", owner=engineer, step_by=SOON, by=office)
    make.make_observation(site, "Old cut-out", code="C2", owner=None, step_by=None, by=office)
    make.make_observation(make.make_site("Other House"), "Blank missing", code="C3", by=office)
    make.make_instrument("T-1", check_due=SOON)
    return danger


def test_a_row(at_desk, some, engineer, site):
    (row,) = rows(at_desk, code="C1")
    expected = {
        "kind": "decide", "ref": str(some.pk), "site": str(site.pk), "observation": str(some.pk), "code": "C1",
        "made_safe": False, "loose": False, "subject": "Live parts", "owner": str(engineer.pk), "due": "2026-02-06",
        "in_hand_until": None, "in_hand_why": None, "person": None,
    }  # fmt: skip
    assert row.items() >= expected.items()


def test_the_rows_of_the_page_in_its_order(at_desk, some, office):
    page = [row["subject"] for row in page_of_rows(rows_due(office, today=TODAY), today=TODAY).rows]
    assert subjects(at_desk) == page == ["Blank missing", "Live parts", "Loop tester, T-1", "Old cut-out"]
    assert [row["due"] for row in rows(at_desk)] == ["2026-02-03", "2026-02-06", "2026-02-06", None]


def test_an_engineer_has_no_rows_of_the_firms_own_but_theirs(on_site, some):
    assert subjects(on_site) == ["Blank missing", "Live parts", "Old cut-out"]


def test_a_subcontractor_sees_only_their_sites(client, subcontractor, some, site):
    make.grant_access(site, subcontractor)
    client.force_login(subcontractor)
    assert subjects(client) == ["Live parts", "Old cut-out"]


def test_narrowed(at_desk, some, engineer, site):
    assert subjects(at_desk, owner=engineer.pk) == ["Live parts"]
    assert subjects(at_desk, owner="nobody", code="C2") == ["Old cut-out"]
    assert subjects(at_desk, code="none") == ["Loop tester, T-1"]
    assert subjects(at_desk, site=site.pk, due_by=SOON) == ["Live parts"]
    assert subjects(at_desk, only="danger") == ["Live parts"]
    assert subjects(at_desk, loose="true") == ["Old cut-out"]
    assert subjects(at_desk, kind="instrument") == ["Loop tester, T-1"]
    assert subjects(at_desk, observation=some.pk) == ["Live parts"]


@pytest.mark.parametrize("query", [{"onwer": "x"}, {"site": "x"}, {"code": "C9"}, {"due_by": "soon"}, {"loose": "yes"}])
def test_a_filter_that_cannot_be_meant_is_refused(at_desk, some, query):
    assert at_desk.get(WHERE, query).status_code == 400


def test_pages_lose_and_repeat_nothing(at_desk, some):
    seen, answer = [], at_desk.get(WHERE, {"page_size": 1}).json()
    while True:
        seen += [row["subject"] for row in answer["results"]]
        if not answer["next"]:
            break
        answer = at_desk.get(answer["next"]).json()
    assert seen == subjects(at_desk)


@pytest.mark.parametrize("cursor", ["x", "W10", "bnVsbA"])
def test_a_cursor_that_we_did_not_make(at_desk, some, cursor):
    assert at_desk.get(WHERE, {"cursor": cursor}).status_code == 404


@pytest.mark.parametrize("size", [1, 12])
def test_statements(at_desk, site, office, size):
    for _ in range(size):
        make.make_observation(make.make_site(), by=office)
    with statements() as sql:
        assert len(rows(at_desk)) == size
    assert len(sql) == 4  # session, person, keys, rows
