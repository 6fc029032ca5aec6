"""What is known of visits and of getting in, in the API: what it shows, to whom, filtered, by pages, at what cost."""

from datetime import timedelta

import pytest

from jobsite.ids import new_id
from tests import factories as make
from tests.factories import NOON, TODAY, grant_access, make_site, unit_of
from tests.remedials.desk import statements
from tests.remedials.work import on_the_way

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
AT_A_SITE = ("access-times", "closed-days", "keys", "alarm-codes", "to-see-to", "check-ins")


def get(client, noun: str, **query) -> list[dict]:
    answer = client.get(f"/api/v1/{noun}/", query)
    assert answer.status_code == 200, answer.content
    return answer.json()["results"]


def ids(client, noun: str, **query) -> list[str]:
    return [row["id"] for row in get(client, noun, **query)]


def one_of_each(site, alone, tag: str = "K1") -> dict:
    return {
        "access-times": make.make_access_time(site),
        "closed-days": make.make_closed_days(site),
        "keys": make.make_key(site, tag),
        "alarm-codes": make.make_code(site, "4711"),
        "to-see-to": make.make_see_to(site),
        "check-ins": make.make_check_in(make.make_visit(site), alone),
    }


def test_getting_in_by_site_and_by_pages(client, office, engineer, other_engineer):
    one, other = make_site("One"), make_site("Other")
    here, there = one_of_each(one, engineer), one_of_each(other, other_engineer, "K2")
    client.force_login(office)
    for noun in AT_A_SITE:
        shown = client.get(f"/api/v1/{noun}/{here[noun].pk}/").json()
        assert get(client, noun, site=one.pk) == [shown]
        first = client.get(f"/api/v1/{noun}/?page_size=1").json()
        rest = client.get(first["next"]).json()["results"]
        assert [row["id"] for row in first["results"] + rest] == [str(here[noun].pk), str(there[noun].pk)]
        assert client.get(f"/api/v1/{noun}/?sight=x").status_code == 400


def test_a_code_is_never_shown(client, office, engineer, site):
    row = make.make_code(site, "4711")
    make.make_visit(site, engineers=[engineer])
    for user in (office, engineer):
        client.force_login(user)
        assert client.get(f"/api/v1/alarm-codes/{row.pk}/").json() == {
            "id": str(row.pk), "site": str(site.pk), "place": "Alarm panel", "retired_at": None, "version": 1,
        }  # fmt: skip
        assert b"4711" not in client.get("/api/v1/alarm-codes/").content


def test_a_subcontractor_sees_only_their_sites(client, engineer, other_engineer, subcontractor):
    one, other = make_site("One"), make_site("Other")
    here, there = one_of_each(one, engineer), one_of_each(other, other_engineer, "K2")
    mine = make.make_check_in(make.make_visit(one, engineers=[subcontractor]), subcontractor)
    grant_access(one, subcontractor)
    client.force_login(subcontractor)
    for noun in AT_A_SITE[:-1]:
        assert ids(client, noun) == [str(here[noun].pk)]
        assert client.get(f"/api/v1/{noun}/{there[noun].pk}/").status_code == 404
    assert ids(client, "check-ins") == [str(mine.pk)]


def test_whom_to_ask_is_shown_while_it_is_needed(client, office, engineer, subcontractor, site):
    note = make.make_occupier(unit_of(site))
    grant_access(site, subcontractor)

    def seen(user):
        client.force_login(user)
        return ids(client, "occupiers", site=site.pk)

    assert (seen(office), seen(engineer), seen(subcontractor)) == ([str(note.pk)], [], [])
    make.make_visit(site, engineers=[engineer], start=NOON + timedelta(days=2))
    make.make_visit(site, engineers=[subcontractor], start=NOON + timedelta(days=3))
    assert (seen(engineer), seen(subcontractor)) == ([str(note.pk)], [])
    client.force_login(engineer)
    shown = get(client, "occupiers")[0]
    assert (shown["contact"], shown["mind"], shown["version"]) == ("Tina Tenant", "Uses a hoist", 1)


def test_keys_codes_and_what_to_see_to_filtered(client, office, engineer, site):
    out = make.make_key(site, "K1", out_to=engineer, back_by=TODAY)
    back = make.make_key(site, "K2", given_back_at=NOON)
    out.moves.create(way="out", who=engineer, note="Signed", at=NOON, recorded_by=office)
    gone = make.make_code(site, retired_at=NOON)
    held = make.make_see_to(site, met_on=TODAY, met_how="Permit 1", holds_until=TODAY - timedelta(days=1))
    for_good = make.make_see_to(site, met_on=TODAY, met_how="Permit 2", owner=engineer)
    client.force_login(office)
    assert (ids(client, "keys", out="true"), ids(client, "keys", kept="false")) == ([str(out.pk)], [str(back.pk)])
    assert ids(client, "keys", out_to=engineer.pk) == [str(out.pk)]
    (move,) = client.get(f"/api/v1/keys/{out.pk}/").json()["moves"]
    assert (move["way"], move["who"], move["note"]) == ("out", str(engineer.pk), "Signed")
    assert (ids(client, "alarm-codes", current="true"), ids(client, "alarm-codes", current="false")) == (
        [],
        [str(gone.pk)],
    )
    assert (ids(client, "to-see-to", open="true"), ids(client, "to-see-to", open="false")) == (
        [str(held.pk)], [str(for_good.pk)],
    )  # fmt: skip
    assert ids(client, "to-see-to", owner=engineer.pk) == [str(for_good.pk)]


def test_closed_days_and_who_is_inside(client, office, engineer, site):
    past = make.make_closed_days(site, first=TODAY - timedelta(days=9), last=TODAY - timedelta(days=8))
    now = make.make_closed_days(site)
    inside = make.make_check_in(make.make_visit(site), engineer)
    client.force_login(office)
    assert ids(client, "closed-days") == [str(past.pk), str(now.pk)]
    assert ids(client, "closed-days", until="2026-02-03") == [str(now.pk)]
    assert (ids(client, "check-ins", inside="true"), ids(client, "check-ins", inside="false")) == ([str(inside.pk)], [])


# --- visits -----------------------------------------------------------------------------------------------------------


def test_how_the_time_of_a_visit_came_about(client, office, engineer, subcontractor, site):
    told = make.make_told(on_the_way(site=site), visit := make.make_visit(site), by=office)
    grant_access(site, subcontractor)
    client.force_login(office)
    for noun in ("visit-moves", "confirmations"):
        assert get(client, noun, visit=visit.pk) == [client.get(f"/api/v1/{noun}/{told[noun].pk}/").json()]
        assert get(client, noun, site=make_site("Elsewhere").pk) == []
    assert get(client, "visit-moves")[0]["reason"] == "Ill"
    client.force_login(subcontractor)
    assert (get(client, "visit-moves"), get(client, "confirmations")) == ([], [])


def test_the_job_sheet_and_what_to_bring(client, engineer, other_engineer, subcontractor, firm):
    remedial = on_the_way(stage="booked", crew=2)
    make.make_item(remedial, "Cable clips", quantity=30)
    visit = make.make_visit(remedial.site, remedial, engineers=[engineer])
    client.force_login(engineer)
    sheet = client.get(f"/api/v1/visits/{visit.pk}/job-sheet/", headers={"accept": "application/pdf"})
    assert (sheet["Content-Type"], sheet.content[:5]) == ("application/pdf", b"%PDF-")
    shown = client.get(f"/api/v1/visits/{visit.pk}/bring/").json()
    assert shown == {
        "things": [
            {
                "kind": "material",
                "what": "Cable clips",
                "quantity": "30",
                "where_from": "",
                "remedials": str(remedial.number),
            }
        ],
        "crew": "2 people at once; only 1 goes",
        "parts": [],
    }
    grant_access(remedial.site, subcontractor)
    client.force_login(subcontractor)
    assert client.get(f"/api/v1/visits/{visit.pk}/bring/").status_code == 404


def test_what_an_attempt_left_behind(client, office, subcontractor, site):
    from jobsite.ledger.files import store_file

    letter = store_file(b"%PDF-1.7 dear", media_type="application/pdf", now=NOON)
    attempt = make.make_attempt(site, how="first-letter", letter=letter)
    client.force_login(office)
    assert client.get(f"/api/v1/attempts/{attempt.pk}/").json()["letter"] == letter.pk
    answer = client.get(f"/api/v1/attempts/{attempt.pk}/letter/")
    assert (answer.content, answer["Cache-Control"]) == (b"%PDF-1.7 dear", "private, no-store")
    assert client.get(f"/api/v1/attempts/{attempt.pk}/photo/").status_code == 404
    grant_access(site, subcontractor)
    client.force_login(subcontractor)
    assert client.get(f"/api/v1/attempts/{attempt.pk}/letter/").status_code == 404


# --- planning ---------------------------------------------------------------------------------------------------------


def test_plans_proposals_and_what_could_not_be_placed(client, office, engineer):
    work, other = on_the_way(), on_the_way(site=make_site("Elsewhere"))
    plan = make.make_plan(engineers=[engineer])
    plan.unplanned.create(remedial=other, why="Nobody has the skill.")
    proposal = make.make_proposal(plan, work, engineers=[engineer])
    client.force_login(office)
    (shown,) = get(client, "plans", state="ready")
    assert shown == client.get(f"/api/v1/plans/{plan.pk}/").json()
    assert shown["unplanned"] == [{"remedial": str(other.pk), "why": "Nobody has the skill."}]
    (proposed,) = get(client, "proposals", plan=plan.pk, state="open", remedial=work.pk)
    assert proposed == client.get(f"/api/v1/proposals/{proposal.pk}/").json()
    assert (proposed["engineers"], proposed["remedials"]) == ([str(engineer.pk)], [str(work.pk)])
    client.force_login(make.make_user("Sid Lent", "office", subcontractor=True))
    for noun in ("plans", "proposals", "driving-times", "times-offers"):
        assert client.get(f"/api/v1/{noun}/").status_code == 404


def test_times_offered(client, office, engineer, site):
    work = on_the_way(site=site)
    offer = make.make_times_offer(site, work)
    offer.engineers.set([engineer])
    client.force_login(office)
    (shown,) = get(client, "times-offers", site=site.pk, state="open")
    assert shown == client.get(f"/api/v1/times-offers/{offer.pk}/").json()
    assert (shown["remedials"], shown["engineers"]) == ([str(work.pk)], [str(engineer.pk)])
    assert [time["start"] for time in shown["times"]] == ["2026-02-04T09:00:00Z", "2026-02-04T13:00:00Z"]


def test_diary_terms_of_a_day(client, manager):
    old = make.make_diary_terms(severities={"bank-holiday": "refuse"})
    new = make.make_diary_terms(holds_from=TODAY, confirm_days=5)
    client.force_login(manager)
    assert ids(client, "diary-terms") == [str(old.pk), str(new.pk)]
    assert (ids(client, "diary-terms", on="2026-02-02"), ids(client, "diary-terms", on="2025-12-31")) == (
        [str(old.pk)],
        [],
    )
    shown = client.get(f"/api/v1/diary-terms/{old.pk}/").json()
    assert (shown["severities"]["bank-holiday"], shown["severities"]["hours"]) == ("refuse", "warn")
    assert "alone" not in shown["severities"]  # always refused: nobody sets it


def test_calendar_addresses_without_the_addresses(client, office, engineer):
    from remedials.visits.operations import make_feed

    of_all, token = make_feed(user=None, id=new_id(), by=office, now=NOON)
    mine, own_token = make_feed(user=engineer, id=new_id(), by=engineer, now=NOON)
    client.force_login(office)
    assert ids(client, "calendar-addresses") == [str(of_all.pk), str(mine.pk)]
    assert ids(client, "calendar-addresses", user=engineer.pk, current="true") == [str(mine.pk)]
    answer = client.get("/api/v1/calendar-addresses/").content.decode()
    assert (token in answer, own_token in answer) == (False, False)
    client.force_login(engineer)
    assert ids(client, "my-calendar-addresses") == [str(mine.pk)]
    assert client.get("/api/v1/calendar-addresses/").status_code == 403


def test_driving_times_and_their_file(client, office):
    from remedials.visits.models import DrivingTime

    DrivingTime.objects.create(from_district="LS1", to_district="YO1", minutes=45, km="40.5")
    client.force_login(office)
    row = {"from_district": "LS1", "to_district": "YO1", "minutes": 45, "km": "40.5"}
    assert get(client, "driving-times", from_district="LS1") == [row]
    assert get(client, "driving-times", to_district="LS1") == []
    file = client.get("/api/v1/driving-times/file/", {"as": "csv"})
    assert file.content.decode("utf-8-sig").splitlines() == [
        "From district,To district,Minutes,Kilometres", "LS1,YO1,45,40.5",
    ]  # fmt: skip
    assert client.get("/api/v1/driving-times/file/", {"as": "ods"}).status_code == 400


# --- what each costs --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(
    ("noun", "cost"),
    [("access-times", 3), ("closed-days", 3), ("keys", 4), ("alarm-codes", 3), ("to-see-to", 3), ("check-ins", 3),
     ("occupiers", 3), ("times-offers", 6), ("plans", 4), ("proposals", 5), ("visit-moves", 3), ("confirmations", 3)],
)  # fmt: skip
def test_lists_cost_the_same_at_any_size(client, office, noun, cost, count):
    for number in range(count):
        site = make_site(f"Site {number}")
        one_of_each(site, make.make_user(f"Ina{number} Alone", "engineer"), f"K{number}")
        make.make_occupier(unit_of(site))
        work = on_the_way(site=site)
        make.make_times_offer(site, work)
        make.make_told(work, make.make_visit(site), by=office)
        plan = make.make_plan()
        plan.unplanned.create(remedial=work, why="w")
        make.make_proposal(plan, work)
    client.force_login(office)
    with statements() as sql:
        assert len(get(client, noun)) == count
    assert len(sql) == cost
