"""The API's changes are done once by their Idempotency-Key, and decide on the version that If-Match names."""

import re
from inspect import unwrap

import pytest
import time_machine
from django.urls import get_resolver

from inspections.models import Observation
from jobsite.api.headers import MISSING_KEY, MISSING_VERSION, NO_VERSION, etag, version_meant
from jobsite.ids import new_id
from jobsite.ledger.models import DoneOnce, Entry
from jobsite.once import OTHER, RUNNING, problem
from remedials.desk.api.ground import Act
from remedials.works.models import Remedial
from tests.factories import (
    NOON,
    make_board,
    make_inspection,
    make_observation,
    make_remedial,
    make_visit,
    unit_of,
)
from tests.remedials.test_api_verbs import fresh, refusal

pytestmark = pytest.mark.django_db
JSON = "application/json"


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def remedial(site):
    return make_remedial(make_observation(site, code="C3"))


def cancel(client, remedial, headers: dict[str, str], reason: str = "Sold"):
    body = {"reason": reason}
    return client.post(f"/api/v1/remedials/{remedial.pk}/cancel/", body, content_type=JSON, headers=headers)


def verbs() -> dict[str, type[Act]]:
    """Every view of the API that takes a POST, by its address."""
    found = {}
    for pattern in get_resolver().url_patterns:
        for one in getattr(pattern, "url_patterns", []):
            view = getattr(one.callback, "cls", None)
            if hasattr(view, "post") and str(pattern.pattern) == "api/v1/":
                found[f"/{pattern.pattern}{one.pattern}"] = view
    return found


# --- once -------------------------------------------------------------------------------------------------------------


def test_a_change_without_a_key_is_refused(client, office, site, remedial) -> None:
    client.force_login(office)
    headers = fresh()
    del headers["Idempotency-Key"]
    told = refusal(cancel(client, remedial, headers), 400)
    assert (told["type"], "Idempotency-Key" in told["detail"]) == (MISSING_KEY, True)
    assert Remedial.objects.get().stage == "to-price"


def test_every_change_asks_for_a_key(client, office) -> None:
    """All of them go through one door; a view with a POST of its own would be found here."""
    assert len(verbs()) > 20
    assert [where for where, view in verbs().items() if unwrap(view.post) is not Act.post] == []


def test_the_same_key_again_is_answered_as_before_and_changes_nothing(client, office, remedial) -> None:
    client.force_login(office)
    headers = fresh(remedial.version)
    first = cancel(client, remedial, headers)
    entries = Entry.objects.count()
    again = cancel(client, remedial, headers)
    assert (first.status_code, again.status_code, again["X-Again"]) == (200, 200, "yes")
    assert (again.json(), again["Content-Type"]) == (first.json(), first["Content-Type"])
    assert (Entry.objects.count(), "X-Again" in first) == (entries, False)


def test_the_same_key_with_another_body_is_another_request(client, office, site) -> None:
    client.force_login(office)
    headers, where = fresh(), f"/api/v1/sites/{site.pk}/report-defect/"
    body = {"unit": str(unit_of(site).pk), "text": "It hums", "reported_by": "Tina Tenant"}
    one, other = ({"id": str(new_id())} | body for _ in range(2))
    assert client.post(where, one, content_type=JSON, headers=headers).status_code == 201
    told = refusal(client.post(where, other, content_type=JSON, headers=headers), 422)
    assert told["type"] == f"urn:problem:idempotency:{OTHER}"
    assert Observation.objects.count() == 1


def test_a_refusal_is_not_kept_and_the_key_may_be_used_again(client, office, remedial) -> None:
    client.force_login(office)
    headers = fresh()
    refusal(cancel(client, remedial, headers, reason=" "), 400)
    assert not DoneOnce.objects.exists()
    assert cancel(client, remedial, headers).status_code == 200


def test_problems_with_one_status_are_told_apart_by_their_type(client, office, remedial) -> None:
    """409: done elsewhere meanwhile, or still running. 400: no key, or fields that need another look."""
    client.force_login(office)
    cancel(client, remedial, fresh())
    refused = refusal(cancel(client, remedial, fresh(), reason="Another"), 409)
    running = problem(RUNNING)
    assert running.status_code == refused["status"] == 409
    assert (refused["type"], f'"urn:problem:idempotency:{RUNNING}"' in running.content.decode()) == (
        "about:blank",
        True,
    )
    fields = refusal(
        client.post(f"/api/v1/remedials/{remedial.pk}/cancel/", {}, content_type=JSON, headers=fresh()), 400
    )
    assert (fields["type"], list(fields["errors"])) == ("about:blank", ["reason"])


def test_whoever_may_not_hears_that_before_anything_of_keys(client, engineer, subcontractor, remedial) -> None:
    for person, status in ((engineer, 403), (subcontractor, 403)):
        client.force_login(person)
        refusal(cancel(client, remedial, {}), status)
    client.force_login(subcontractor)
    answer = client.post(f"/api/v1/remedials/{remedial.pk}/reopen/", {"reason": "x"}, content_type=JSON)
    refusal(answer, 404)


# --- versions ---------------------------------------------------------------------------------------------------------


def test_a_row_names_its_version_as_its_etag(client, office, engineer, site, remedial) -> None:
    client.force_login(office)
    observation, board = Observation.objects.get(), make_board(site)
    visit = make_visit(site, remedial, engineers=[engineer])
    named = {"sites": site, "boards": board, "observations": observation, "remedials": remedial, "visits": visit}
    for noun, row in named.items():
        answer = client.get(f"/api/v1/{noun}/{row.pk}/", headers={"Accept-Encoding": "gzip"})
        row.refresh_from_db()
        assert answer["ETag"] == etag(row) == f'"{answer.json()["version"]}"'
    assert "ETag" not in client.get("/api/v1/sites/")


def test_the_etag_of_a_row_leads_to_the_change_and_an_older_one_does_not(client, office, remedial) -> None:
    client.force_login(office)
    seen = client.get(f"/api/v1/remedials/{remedial.pk}/")["ETag"]
    Remedial.objects.update(version=2)
    told = refusal(cancel(client, remedial, fresh() | {"If-Match": seen}), 412)
    assert (told["version"], Remedial.objects.get().stage) == (2, "to-price")
    seen = client.get(f"/api/v1/remedials/{remedial.pk}/")["ETag"]
    assert cancel(client, remedial, fresh() | {"If-Match": seen}).json()["stage"] == "cancelled"


def test_without_a_version_the_change_is_refused(client, office, remedial) -> None:
    client.force_login(office)
    headers = fresh()
    del headers["If-Match"]
    told = refusal(cancel(client, remedial, headers), 428)
    assert (told["type"], "ETag" in told["detail"]) == (MISSING_VERSION, True)
    assert Remedial.objects.get().stage == "to-price"


@pytest.mark.parametrize("odd", ["", '"', "1", "yes", '"1" "2"', '"1", 2'])
def test_what_is_no_entity_tag_is_refused(client, office, remedial, odd) -> None:
    client.force_login(office)
    assert "in quotes" in refusal(cancel(client, remedial, fresh() | {"If-Match": odd}), 400)["detail"]


def test_verbs_that_decide_on_what_was_seen_ask_for_the_version() -> None:
    """All whose operation takes a version; those of the phone only add."""
    asked = {where.removeprefix("/api/v1/").split("/")[-2] for where, view in verbs().items() if view.versioned}
    assert {"approve", "cancel", "decline", "move", "review", "edit", "issue", "change"} <= asked
    assert not asked & {"photos", "take-reading", "power", "leave", "close", "check-in"}, "what a phone adds later"


@pytest.mark.parametrize(
    ("sent", "meant"),
    [
        ("*", 3),
        ('"3"', 3),
        ('"2"', 2),
        ('"2", "3"', 3),
        ('W/"3"', NO_VERSION),
        ('"x"', NO_VERSION),
        ('"٣"', NO_VERSION),
    ],
)
def test_the_version_that_is_meant(rf, site, sent, meant) -> None:
    row = make_inspection(site)
    row.version = 3
    request = rf.post("/", headers={"If-Match": sent.encode().decode("latin-1")})
    assert version_meant(request, row) == meant


# --- as it is described -----------------------------------------------------------------------------------------------


def told(where: str) -> str:
    """An address as the description writes it."""
    return re.sub(r"<(?:\w+:)?(\w+)>", lambda part: "{id}" if part[1] == "pk" else f"{{{part[1]}}}", where)


def test_the_description_names_the_headers(client, office) -> None:
    client.force_login(office)
    paths = client.get("/api/v1/schema/").json()["paths"]
    changes = {where: methods["post"] for where, methods in paths.items() if "post" in methods}
    assert len(changes) == len(verbs())
    for where, change in changes.items():
        headers = {p["name"]: p["required"] for p in change["parameters"] if p["in"] == "header"}
        assert headers.get("Idempotency-Key") is True, where
        assert {"400", "409", "422"} <= set(change["responses"]), where
    asked = {where for where, change in changes.items() if "If-Match" in str(change["parameters"])}
    assert asked == {told(where) for where, view in verbs().items() if view.versioned}
    one = paths["/api/v1/remedials/{id}/"]["get"]["responses"]["200"]
    assert list(one["headers"]) == ["ETag"]
