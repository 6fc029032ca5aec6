"""Visits in the API: who sees them, what they show, and the verbs, which do what the pages' operations do."""

from datetime import timedelta

import pytest
import time_machine

from jobsite.ids import new_id
from remedials.visits.models import Visit
from tests import factories as make
from tests.factories import NOON, recorded
from tests.remedials.desk import statements
from tests.remedials.test_api_verbs import post, refusal

pytestmark = pytest.mark.django_db
WHERE = "/api/v1/visits/"
SOON = NOON + timedelta(days=2)


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def reader(client, office):
    client.force_login(office)
    return client


def numbers(client, **query) -> list[int]:
    answer = client.get(WHERE, query)
    assert answer.status_code == 200, answer.content
    return [row["number"] for row in answer.json()["results"]]


def approved(site):
    return make.make_remedial(make.make_observation(site), stage="approved", minutes=60)


# --- reading ----------------------------------------------------------------------------------------------------------


def test_a_visit_with_who_goes_and_what_for(reader, site, engineer, other_engineer):
    remedial = approved(site)
    visit = make.make_visit(
        site, remedial, engineers=[other_engineer, engineer], start=SOON, outage="kitchen off", locks="lift firm's lock"
    )
    line = make.make_visit_line(visit, unit=make.unit_of(site))
    shown = reader.get(f"{WHERE}{visit.pk}/").json()
    assert (shown["number"], shown["site"], shown["start"]) == (visit.number, str(site.pk), "2026-02-05T12:00:00Z")
    assert shown["engineers"] == [str(other_engineer.pk), str(engineer.pk)]
    assert [(row["kind"], row["remedial"], row["unit"]) for row in shown["lines"]] == [
        ("remedial", str(remedial.pk), None), ("inspection", None, str(line.unit_id)),
    ]  # fmt: skip
    assert (shown["outage"], shown["locks"], shown["answered"]) == ("kitchen off", "lift firm's lock", "not-asked")
    assert reader.get(WHERE).json()["results"] == [shown]


def test_filters(reader, engineer, other_engineer):
    one, other = make.make_site("One"), make.make_site("Other")
    remedial = approved(one)
    make.make_visit(one, remedial, engineers=[engineer], start=SOON)
    handed_on = make.make_visit(other, engineers=[engineer, other_engineer], start=SOON + timedelta(days=7))
    handed_on.attendances.filter(engineer=engineer).update(cancelled=True)
    make.make_visit(other, engineers=[engineer], start=NOON, state="cancelled", cancelled_reason="Away")
    assert numbers(reader) == [1, 2, 3]
    assert numbers(reader, site=other.pk) == [2, 3]
    assert numbers(reader, engineer=engineer.pk) == [1, 3]
    assert numbers(reader, remedial=remedial.pk) == [1]
    assert numbers(reader, state="cancelled") == [3]
    assert numbers(reader, ends_after=SOON.isoformat()) == [1, 2]
    assert numbers(reader, ends_after=NOON.isoformat(), starts_before=(SOON + timedelta(days=1)).isoformat()) == [1, 3]
    assert reader.get(WHERE, {"enginer": "x"}).status_code == 400


def test_a_subcontractor_sees_own_visits_only(client, site, engineer, subcontractor):
    make.grant_access(site, subcontractor)
    other = make.make_visit(site, engineers=[engineer], start=SOON)
    mine = make.make_visit(site, engineers=[subcontractor], start=SOON)
    client.force_login(subcontractor)
    assert numbers(client) == [mine.number]
    assert client.get(f"{WHERE}{other.pk}/").status_code == 404


@pytest.mark.parametrize("size", [1, 4])
def test_the_list_costs_five_statements_at_any_size(reader, site, engineer, size):
    for number in range(size):
        start = SOON + timedelta(hours=3 * number)
        make.make_visit(site, approved(site), engineers=[engineer], start=start)
    with statements() as sql:
        reader.get(WHERE)
    assert len(sql) == 5


# --- booking and cancelling -------------------------------------------------------------------------------------------


def booking(*remedials, engineer, **more) -> dict:
    times = {"start": SOON.isoformat(), "end": (SOON + timedelta(hours=2)).isoformat()}
    keys = {"remedials": [str(r.pk) for r in remedials], "engineers": [str(engineer.pk)]}
    return {"id": str(new_id())} | times | keys | more


def test_book_once(client, office, engineer, site):
    body = booking(approved(site), engineer=engineer, access="Ring first")
    with recorded() as told:
        answers = [post(client, office, f"sites/{site.pk}/book-visit", **body) for _ in range(2)]
    assert [a.status_code for a in answers] == [201, 201], answers[0].content
    assert answers[0].json() == answers[1].json()
    assert (answers[0].json()["access"], answers[0].json()["engineers"]) == ("Ring first", [str(engineer.pk)])
    assert [entry.verb for entry in told if entry.verb.startswith("visit.")] == ["visit.booked"]
    assert Visit.objects.get().remedials.get().stage == "booked"


def test_booking_is_refused_as_on_the_page(client, office, engineer, site):
    remedial, address = approved(site), f"sites/{site.pk}/book-visit"
    body = booking(remedial, engineer=engineer)
    refusal(post(client, engineer, address, **body), 403)
    make.make_visit(make.make_site("Elsewhere"), engineers=[engineer], start=SOON)
    clash = refusal(post(client, office, address, **body), 409)
    assert (clash["field"], "is at Elsewhere then" in clash["detail"]) == ("engineers", True)
    unknown = refusal(post(client, office, address, **body | {"engineers": [str(site.pk)]}), 400)
    assert list(unknown["errors"]) == ["engineers"]
    elsewhere = approved(make.make_site("Third"))
    refusal(post(client, office, address, **body | {"remedials": [str(elsewhere.pk)]}), 409)
    remedial.refresh_from_db()
    assert remedial.stage == "approved"


def test_an_emergency_displaces_the_visits_that_it_names(client, office, engineer, site):
    there = [
        make.make_visit(make.make_site(name), engineers=[engineer], start=SOON + 2 * place * timedelta(hours=1))
        for place, name in enumerate(["Elsewhere", "Third"])
    ]
    long = {"end": (SOON + timedelta(hours=4)).isoformat(), "emergency": True}
    body, address = booking(approved(site), engineer=engineer, **long), f"sites/{site.pk}/book-visit"
    named = [str(visit.pk) for visit in there]
    refusal(post(client, office, address, **body, displace=True), 400)
    assert (
        f"visit {there[1].number}" in refusal(post(client, office, address, **body, displace=named[:1]), 409)["detail"]
    )
    shown = post(client, office, address, **body, displace=named)
    assert shown.status_code == 201, shown.content
    assert {visit.state for visit in type(there[0]).objects.filter(pk__in=named)} == {"cancelled"}


def test_book_an_inspection_and_a_call_out(client, office, engineer, site):
    unit, told = make.unit_of(site), make.make_observation(site, code="")
    body = booking(engineer=engineer, units=[str(unit.pk)], call_outs=[str(told.pk)], confirm=False)
    shown = post(client, office, f"sites/{site.pk}/book-visit", **body).json()
    assert sorted((row["kind"], row["unit"], row["observation"]) for row in shown["lines"]) == [
        ("call-out", None, str(told.pk)), ("inspection", str(unit.pk), None),
    ]  # fmt: skip
    assert shown["confirm_by"] is None


def test_what_is_warned_of_needs_a_reason(client, office, engineer, site):
    saturday = NOON + timedelta(days=4)
    times = {"start": saturday.isoformat(), "end": (saturday + timedelta(hours=2)).isoformat()}
    body, address = booking(approved(site), engineer=engineer) | times, f"sites/{site.pk}/book-visit"
    warned = refusal(post(client, office, address, **body), 409)
    assert (warned["field"], "Saturday" in warned["detail"]) == ("despite", True)
    shown = post(client, office, address, **body, despite="The shop is shut on Saturday").json()
    assert shown["despite"] == "The shop is shut on Saturday"


def test_move(client, office, engineer, other_engineer, site):
    post(client, office, f"sites/{site.pk}/book-visit", **booking(approved(site), engineer=engineer))
    visit = Visit.objects.get()
    address, later = f"visits/{visit.pk}/move", SOON + timedelta(days=1)
    body = {
        "start": later.isoformat(),
        "end": (later + timedelta(hours=2)).isoformat(),
        "engineers": [str(other_engineer.pk)],
    }
    refusal(post(client, engineer, address, **body, version=visit.version), 403)
    assert refusal(post(client, office, address, **body, version=99), 412)["version"] == visit.version
    moved = post(client, office, address, **body, version=visit.version)
    assert (moved.status_code, moved.json()["engineers"]) == (200, [str(other_engineer.pk)]), moved.content
    assert moved.json()["start"] == "2026-02-06T12:00:00Z"


def test_ask_and_confirm(client, office, engineer, site):
    visit = make.make_visit(site, approved(site), engineers=[engineer], start=SOON, confirm_by=NOON.date())
    said = {"how": "phone", "whom": "Petra Landlady"}
    refusal(post(client, engineer, f"visits/{visit.pk}/ask", id=str(new_id()), **said), 403)
    asked = post(client, office, f"visits/{visit.pk}/ask", id=str(new_id()), **said)
    assert (asked.status_code, asked.json()["answered"]) == (200, "asked"), asked.content
    body = {"id": str(new_id()), "answered": "confirmed"} | said
    answers = [post(client, office, f"visits/{visit.pk}/confirm", **body) for _ in range(2)]
    assert [(a.status_code, a.json()["answered"]) for a in answers] == [(200, "confirmed")] * 2
    assert (
        "answered"
        in refusal(post(client, office, f"visits/{visit.pk}/confirm", **body | {"answered": "asked"}), 400)["errors"]
    )


def test_nobody_let_us_in(client, engineer, other_engineer, site):
    remedial = make.make_remedial(make.make_observation(site), stage="booked")
    visit = make.make_visit(site, remedial, engineers=[engineer], start=NOON - timedelta(hours=1))
    body, address = {"id": str(new_id()), "note": "Rang twice, nobody came"}, f"visits/{visit.pk}/no-access"
    refusal(post(client, other_engineer, address, **body), 403)
    for _ in range(2):
        assert post(client, engineer, address, **body).status_code == 200
    remedial.refresh_from_db()
    attempt = visit.attempts.get()
    assert (remedial.stage, attempt.got_in, attempt.said) == ("approved", False, "Rang twice, nobody came")


def test_cancel(client, office, engineer, subcontractor, site):
    remedial = approved(site)
    post(client, office, f"sites/{site.pk}/book-visit", **booking(remedial, engineer=engineer))
    address = f"visits/{Visit.objects.get().pk}/cancel"
    refusal(post(client, engineer, address, reason="Away"), 403)
    assert refusal(post(client, office, address, reason=" "), 400)["errors"]
    for _ in range(2):
        answer = post(client, office, address, reason="Customer away")
        assert (answer.status_code, answer.json()["state"]) == (200, "cancelled")
    remedial.refresh_from_db()
    assert remedial.stage == "approved"


# --- getting in -------------------------------------------------------------------------------------------------------


def attempt(**more) -> dict:
    return {"id": str(new_id()), "how": "phone", "at": NOON.isoformat(), "whom": "Tina Tenant"} | more


def test_keep_an_attempt_once(client, office, engineer, site):
    visit = make.make_visit(site, engineers=[engineer], start=NOON - timedelta(hours=3))
    body = attempt(visit=str(visit.pk), said="Is Friday all right?", next_on="2026-02-06")
    answers = [post(client, engineer, f"sites/{site.pk}/log-attempt", **body) for _ in range(2)]
    assert [a.status_code for a in answers] == [201, 201], answers[0].content
    client.force_login(office)
    (row,) = client.get("/api/v1/attempts/", {"visit": str(visit.pk)}).json()["results"]
    assert row == answers[1].json() == client.get(f"/api/v1/attempts/{row['id']}/").json()
    assert (row["whom"], row["got_in"], row["next_on"], row["by"]) == (
        "Tina Tenant", False, "2026-02-06", str(engineer.pk),
    )  # fmt: skip


def test_an_attempt_is_refused_as_on_the_page(client, office, subcontractor, site):
    address = f"sites/{site.pk}/log-attempt"
    later = attempt(at=(NOON + timedelta(days=1)).isoformat())
    assert refusal(post(client, office, address, **later), 409)["field"] == "at"
    elsewhere = make.make_visit(make.make_site("Elsewhere"))
    assert refusal(post(client, office, address, **attempt(visit=str(elsewhere.pk))), 409)["field"] == "visit"
    refusal(post(client, subcontractor, address, **attempt()), 404)


def test_a_subcontractor_sees_the_attempts_of_own_visits(client, site, subcontractor):
    make.grant_access(site, subcontractor)
    make.make_attempt(site, whom="Somebody else")
    mine = make.make_attempt(site, visit=make.make_visit(site, engineers=[subcontractor]))
    client.force_login(subcontractor)
    assert [row["id"] for row in client.get("/api/v1/attempts/").json()["results"]] == [str(mine.pk)]


def test_check_in_and_out(client, engineer, other_engineer, site):
    visit = make.make_visit(site, engineers=[engineer])
    address, body = f"visits/{visit.pk}/check", {"id": str(new_id()), "out_by": (NOON + timedelta(hours=2)).isoformat()}
    assert "did not check in" in refusal(post(client, engineer, f"{address}-out"), 409)["detail"]
    refusal(post(client, other_engineer, f"{address}-in", **body), 403)
    came = [post(client, engineer, f"{address}-in", **body) for _ in range(2)]
    assert [(a.status_code, a.json()["out_at"]) for a in came] == [(201, None)] * 2
    went = [post(client, engineer, f"{address}-out") for _ in range(2)]
    assert [(a.status_code, a.json()["out_at"]) for a in went] == [(200, "2026-02-03T12:00:00Z")] * 2


def test_the_description_knows_of_alarm_codes_only_what_they_are_for(client, office):
    """That a code is kept and what it opens is listed, and it can be erased; none is read or entered by the API."""
    client.force_login(office)
    described = client.get("/api/v1/schema/").json()
    assert sorted(path for path in described["paths"] if "alarm" in path) == [
        "/api/v1/alarm-codes/", "/api/v1/alarm-codes/{id}/", "/api/v1/alarm-codes/{id}/erase/",
    ]  # fmt: skip
    shown = described["components"]["schemas"]["CodeShown"]["properties"]
    assert sorted(shown) == ["id", "place", "retired_at", "site", "version"]
    assert [
        name for name, schema in described["components"]["schemas"].items() if "sealed" in schema.get("properties", {})
    ] == []
