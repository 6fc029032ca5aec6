"""Who sees which page, odd values, the list, and the number of SQL statements."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections import operations
from jobsite.ids import new_id
from tests import factories as make
from tests.factories import recorded

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def pages_of(site, issued, board):
    """Every page here that stands on a row of a site, by address."""
    report, [seen] = issued("FI", other_firm=True)
    base, observation = f"/inspections/{report.pk}", f"/observations/{seen.pk}"
    acts = ("change", "review", "finding", "make-safe", "look-again", "reconnect", "notice", "take-on", "photos/new")
    yield from (f"{base}/", f"{base}/edit/", f"{base}/codes/", f"{base}/limitations/new/", f"{base}/file/")
    yield from (f"{observation}/{act}/" for act in acts)
    yield from (f"/sites/{site.pk}/inspections/new/", f"/rang/?site={site.pk}")
    yield f"/circuits/{make.make_circuit(board).pk}/readings/new/"


def test_a_site_that_is_not_yours_is_not_found(as_, site, issued, board) -> None:
    client = as_(make.make_user("Sam Subworth", "engineer", subcontractor=True))
    for path in pages_of(site, issued, board):
        assert (path, client.get(path).status_code) == (path, 404)
    for path in pages_of(site, issued, board):
        if "rang" not in path:
            assert (path, client.post(path).status_code) == (path, 404)


def test_nobody_signed_in_sees_the_sign_in(client, site, issued, board) -> None:
    for path in pages_of(site, issued, board):
        assert client.get(path).headers["Location"].startswith("/accounts/login/")


def test_buttons_are_posts_only(as_, qualified, start, note) -> None:
    draft = start()
    seen = note(draft)
    client = as_(qualified)
    for path in (f"/inspections/{draft.pk}/issue/", f"/observations/{seen.pk}/drop/"):
        with recorded() as told:
            assert client.get(path).status_code == 405
        assert told == []


def test_the_list_narrows_and_downloads(as_, office, issued, site) -> None:
    mine, _ = issued("C2", other_firm=True, reference="R-77")
    own, _ = issued("C3")
    client = as_(office)
    shown = text_of(client.get("/inspections/", {"q": "R-77"}))
    assert f"/inspections/{mine.pk}/" in shown
    assert f"/inspections/{own.pk}/" not in shown
    waiting = text_of(client.get("/inspections/", {"state": "to-review"}))
    assert f"/inspections/{mine.pk}/" in waiting
    assert f"/inspections/{own.pk}/" not in waiting
    lines = client.get("/inspections/", {"as": "csv", "q": str(own.number)}).content.decode("utf-8-sig").splitlines()
    assert lines == [
        "Number,Site,Kind,Whose,Inspected,State,Assessment,Observations,Not reviewed",
        f"{own.number},Kiln Cottage,periodic inspection,our own,20 Jan 2026,issued,satisfactory,1,",
    ]


HOSTILE = ["9223372036854775808", "1" + "0" * 40, "-1", "٣", "%", "<b>", "\u202e", "x" * 3000]


@pytest.mark.parametrize("value", HOSTILE)
def test_odd_values_in_an_address_are_answered_with_a_page(as_, qualified, start, site, value) -> None:
    client, draft = as_(qualified), start()
    assert client.get("/inspections/", {"q": value, "state": value}).status_code in (200, 422)
    assert client.get("/inspections/", {"after": value}).status_code == 400
    assert client.get(f"/inspections/{draft.pk}/", {"unit": value, "board": value}).status_code == 200
    assert client.get("/rang/", {"q": value}).status_code == 200
    assert client.get("/rang/", {"site": value}).status_code == 404


@pytest.mark.parametrize("value", [*HOSTILE, "\0"])
def test_odd_values_in_a_form_are_refused_in_place(as_, qualified, site, board, value) -> None:
    client, circuit, seen = as_(qualified), make.make_circuit(board), make.make_observation(site, code="FI")
    names = ("id", "unit", "board", "way", "owner", "step_by", "code", "version", "decision", "look_again_on", "how")
    names += ("value", "instrument", "limit_entered", "inspected_on", "edition", "remedy_limit_days", "observations")
    paths = [f"/observations/{seen.pk}/{act}/" for act in ("review", "finding", "take-on", "make-safe", "notice")]
    paths += [f"/circuits/{circuit.pk}/readings/new/", f"/sites/{site.pk}/inspections/new/", f"/rang/?site={site.pk}"]
    for path in paths:
        with recorded() as told:
            assert (path, client.post(path, dict.fromkeys(names, value)).status_code) == (path, 422)
        assert told == []


def statements(client, path) -> int:
    with CaptureQueriesContext(connection) as seen:
        assert client.get(path).status_code == 200
    return len(seen)


@pytest.mark.parametrize("size", [1, 12])
def test_statements_do_not_grow(as_, office, qualified, start, note, issued, now, board, size) -> None:
    """Session and user are two of them."""
    draft = start()
    for _ in range(size):
        note(draft, "C1", circuit=make.make_circuit(board))
        operations.add_limitation(draft, id=new_id(), what="The loft", by=qualified, now=now)
    report, seen = issued(*(["C2"] * size), other_firm=True)
    for observation in seen:
        operations.review(observation, decision="agree", reason="", by=qualified, now=now)
    client = as_(qualified)
    counted = {
        "list": statements(client, "/inspections/"),
        "draft": statements(client, f"/inspections/{draft.pk}/"),
        "report": statements(client, f"/inspections/{report.pk}/"),
        "codes": statements(client, f"/inspections/{report.pk}/codes/"),
        "review": statements(client, f"/observations/{seen[0].pk}/review/"),
        "make safe": statements(client, f"/observations/{seen[0].pk}/make-safe/"),
    }
    assert counted == {"list": 4, "draft": 19, "report": 12, "codes": 16, "review": 6, "make safe": 7}
