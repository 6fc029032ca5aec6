"""The API's verbs of planning: plans and what they propose, times offered, driving times, terms of the diary, calendars."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from jobsite.ids import new_id
from jobsite.messages.models import Message
from remedials.visits.models import DiaryTerms, DrivingTime, Plan, TimesOffer, Visit
from remedials.visits.operations import make_feed
from tests import factories as make
from tests.factories import NOON, make_site, recorded
from tests.remedials.test_api_verbs import fresh, post, refusal
from tests.remedials.work import on_the_way

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def verbs(told, *beginnings: str) -> list[str]:
    return [entry.verb for entry in told if entry.verb.startswith(beginnings or "")]


# --- plans ------------------------------------------------------------------------------------------------------------


def test_ask_for_a_plan_once(client, office, engineer):
    body = {"id": str(new_id()), "first": "2026-02-04", "days": 5, "engineers": [str(engineer.pk)], "effort": "quick"}
    refusal(post(client, engineer, "plans/ask", **body), 403)
    with recorded() as told:
        answers = [post(client, office, "plans/ask", **body) for _ in range(2)]
    assert [(a.status_code, a.json()["state"]) for a in answers] == [(201, "waiting")] * 2, answers[0].content
    assert (verbs(told), Plan.objects.count()) == (["plan.asked"], 1)
    again = body | {"id": str(new_id())}
    assert refusal(post(client, office, "plans/ask", **again | {"first": "2026-02-01"}), 409)["field"] == "first"
    assert list(refusal(post(client, office, "plans/ask", **again, after=str(new_id())), 400)["errors"]) == ["after"]
    lent = make.make_user("Sid Lent", "office", subcontractor=True)
    refusal(post(client, lent, "plans/ask", **again), 404)


def test_a_plan_sends_only_engineers_who_work_here(client, office, engineer):
    body = {"id": str(new_id()), "first": "2026-02-04", "days": 5, "effort": "quick"}
    for other in (office, make.make_user("Lee Left", "engineer", is_active=False)):
        with recorded() as told:
            refused = post(client, office, "plans/ask", **body, engineers=[str(engineer.pk), str(other.pk)])
        said = refusal(refused, 409)
        assert (said["field"], said["detail"]) == ("engineers", f"{other} is no engineer of the firm now.")
        assert (told, Plan.objects.count()) == ([], 0)


def test_work_a_plan_out_where_no_worker_has_begun(client, office, engineer):
    body = {"id": str(new_id()), "first": "2026-02-04", "days": 1, "engineers": [str(engineer.pk)], "effort": "quick"}
    plan = post(client, office, "plans/ask", **body).json()["id"]
    with recorded() as told:
        shown = post(client, office, f"plans/{plan}/work-out").json()
    assert (shown["state"], verbs(told)) == ("ready", ["plan.ready"])


def test_accept_and_refuse_what_is_proposed(client, office, engineer):
    plan = make.make_plan(engineers=[engineer])
    one, other = (
        make.make_proposal(
            plan,
            on_the_way("C2", site=make_site(name), minutes=60),
            engineers=[engineer],
            start=NOON + timedelta(days=day),
        )
        for day, name in ((1, "One"), (2, "Other"))
    )
    refusal(post(client, engineer, f"proposals/{one.pk}/accept"), 403)
    with recorded() as told:
        answers = [post(client, office, f"proposals/{one.pk}/accept") for _ in range(2)]
        refused = [post(client, office, f"proposals/{other.pk}/refuse", why="The tenant is away") for _ in range(2)]
    assert [a.json()["id"] for a in answers] == [str(Visit.objects.get().pk)] * 2, answers[0].content
    assert [(a.json()["state"], a.json()["said"]) for a in refused] == [("refused", "The tenant is away")] * 2
    assert verbs(told, "proposal.") == ["proposal.accepted", "proposal.refused"]
    assert "was refused" in refusal(post(client, office, f"proposals/{other.pk}/accept"), 409)["detail"]


def test_accept_all_says_what_was_not(client, office, engineer):
    plan = make.make_plan(engineers=[engineer])
    tuesday, saturday = NOON + timedelta(days=1), NOON + timedelta(days=4)
    good = make.make_proposal(plan, on_the_way("C2", minutes=60), engineers=[engineer], start=tuesday)
    warned = make.make_proposal(
        plan, on_the_way("C2", site=make_site("Other"), minutes=60), engineers=[engineer], start=saturday
    )
    with recorded() as told:
        answer = post(client, office, f"plans/{plan.pk}/accept-all")
    shown = answer.json()
    assert [row["site"] for row in shown["visits"]] == [str(good.site_id)], answer.content
    assert [row["proposal"] for row in shown["refused"]] == [str(warned.pk)]
    assert "Saturday" in shown["refused"][0]["why"]
    assert verbs(told, "proposal.") == ["proposal.accepted"]


# --- times offered ----------------------------------------------------------------------------------------------------


@pytest.fixture
def offer(engineer):
    def body(*remedials, **more):
        start = NOON + timedelta(days=7)
        times = [{"start": start.isoformat(), "end": (start + timedelta(hours=2)).isoformat()}]
        usual = {"remedials": [str(r.pk) for r in remedials], "engineers": [str(engineer.pk)], "times": times}
        return {"id": str(new_id()), "answer_by": "2026-02-06"} | usual | more

    return body


def test_times_are_offered_sent_and_withdrawn(client, office, engineer, site, offer, firm):
    work = on_the_way(site=site, minutes=60)
    body, address = offer(work, access="Ring first"), f"sites/{site.pk}/offer-times"
    refusal(post(client, engineer, address, **body), 403)
    with recorded() as told:
        answers = [post(client, office, address, **body) for _ in range(2)]
        at = f"times-offers/{TimesOffer.objects.get().pk}"
        mail = {"id": str(new_id()), "sent_to": "Tina Tenant", "email": "tina@example.com"}
        sent = [post(client, office, f"{at}/send", **mail) for _ in range(2)]
        off = [post(client, office, f"{at}/withdraw") for _ in range(2)]
    assert [(a.status_code, a.json()["access"]) for a in answers] == [(201, "Ring first")] * 2, answers[0].content
    assert [(a.status_code, a.json()["whom"]) for a in sent] == [(201, "Tina Tenant")] * 2, sent[0].content
    assert Message.objects.get().address == "tina@example.com"
    assert [a.json()["state"] for a in off] == ["withdrawn"] * 2
    assert verbs(told, "times.", "access.") == ["times.offered", "access.attempt", "times.withdrawn"]
    refusal(post(client, office, f"{at}/send", **mail | {"id": str(new_id())}), 409)


def test_times_are_for_work_of_this_site_and_engineers_who_work_here(client, office, site, offer):
    work, theirs = on_the_way(site=site, minutes=60), on_the_way(site=make_site("Somebody else's"), minutes=60)
    lee, address = make.make_user("Lee Left", "engineer", is_active=False), f"sites/{site.pk}/offer-times"
    for body, field, sentence in (
        (offer(work, theirs), "remedials", "This remedial is not of this site."),
        (offer(work, engineers=[str(office.pk)]), "engineers", f"{office} is no engineer of the firm now."),
        (offer(work, engineers=[str(lee.pk)]), "engineers", "Lee Left is no engineer of the firm now."),
    ):
        with recorded() as told:
            said = refusal(post(client, office, address, **body), 409)
        assert (said["field"], said["detail"]) == (field, sentence)
        assert (told, TimesOffer.objects.count()) == ([], 0)


def test_times_that_are_past_are_refused(client, office, site, offer):
    past = [{"start": "2026-02-02T09:00:00Z", "end": "2026-02-02T11:00:00Z"}]
    work = on_the_way(site=site, minutes=60)
    refusal(post(client, office, f"sites/{site.pk}/offer-times", **offer(work, times=past)), 409)
    seven = offer(work)["times"] * 7
    told = refusal(post(client, office, f"sites/{site.pk}/offer-times", **offer(work, times=seven)), 400)
    assert (list(told["errors"]), TimesOffer.objects.count()) == (["times"], 0)


# --- driving times ----------------------------------------------------------------------------------------------------


def table(client, user, data: bytes):
    client.force_login(user)
    file = SimpleUploadedFile("table.csv", data, "text/csv")
    return client.post("/api/v1/driving-times/replace/", {"file": file}, headers=fresh())


def test_the_table_of_driving_times_comes_in_and_goes(client, office, engineer):
    heads = b"From district,To district,Minutes,Kilometres\n"
    refusal(table(client, engineer, heads + b"LS1,YO1,45,40.5\n"), 403)
    with recorded() as told:
        taken = [table(client, office, heads + b"LS1,YO1,45,40.5\nYO1,LS1,44,40\n") for _ in range(2)]
        faulty = refusal(table(client, office, heads + b"LS1,YO1,soon,40.5\n"), 400)
        assert refusal(table(client, office, b"a,b\n1,2\n"), 409)["field"] == "file"
        assert DrivingTime.objects.count() == 2
        gone = [post(client, office, "driving-times/drop") for _ in range(2)]
    assert [a.json() for a in taken] == [{"rows": 2}] * 2, taken[0].content
    assert [sentence[:6] for sentence in faulty["errors"]["file"]] == ["Row 2:"]
    assert ([a.json() for a in gone], DrivingTime.objects.count()) == ([{"rows": 0}] * 2, 0)
    assert verbs(told) == ["driving-times.replaced", "driving-times.dropped"]


# --- terms of the diary -----------------------------------------------------------------------------------------------


def test_terms_of_the_diary_what_is_left_out_stays(client, manager, office):
    make.make_diary_terms(severities={"hours": "refuse"}, confirm_days=6, speed_kmh=50)
    body = {
        "holds_from": "2026-03-01",
        "severities": {"bank-holiday": "refuse"},
        "speed_kmh": 45,
        "reason": "Roadworks",
        "seen": 0,
    }
    refusal(post(client, office, "diary-terms/set", **body), 403)
    with recorded() as told:
        answers = [post(client, manager, "diary-terms/set", **body) for _ in range(2)]
    assert [a.status_code for a in answers] == [201, 201], answers[0].content
    shown = answers[0].json()
    assert (shown["confirm_days"], shown["speed_kmh"], shown["reason"]) == (6, 45, "Roadworks")
    assert (shown["severities"]["hours"], shown["severities"]["bank-holiday"]) == ("refuse", "refuse")
    assert (verbs(told), DiaryTerms.objects.count()) == (["diary.terms"], 2)
    lost = {"holds_from": "2026-03-01", "confirm_days": 2}
    assert list(refusal(post(client, manager, "diary-terms/set", **lost), 400)["errors"]) == ["seen"]
    assert refusal(post(client, manager, "diary-terms/set", **lost, seen=0), 409)["field"] == "seen"
    assert DiaryTerms.objects.get(holds_from="2026-03-01").confirm_days == 6
    lost["seen"] = 1
    refusal(post(client, manager, "diary-terms/set", **lost, severities={"alone": "warn"}), 409)
    assert list(
        refusal(post(client, manager, "diary-terms/set", **lost, severities={"moon": "warn"}), 400)["errors"]
    ) == ["severities"]


# --- calendar addresses -----------------------------------------------------------------------------------------------


def test_calendar_addresses_end(client, office, engineer, other_engineer):
    mine, _ = make_feed(user=engineer, id=new_id(), by=engineer, now=NOON)
    theirs, _ = make_feed(user=other_engineer, id=new_id(), by=other_engineer, now=NOON)
    refusal(post(client, engineer, f"calendar-addresses/{theirs.pk}/withdraw"), 403)
    with recorded() as told:
        own = post(client, engineer, "my-calendar-addresses/withdraw")
        ended = [post(client, office, f"calendar-addresses/{theirs.pk}/withdraw") for _ in range(2)]
    assert (own.json()["id"], own.json()["withdrawn_at"]) == (str(mine.pk), "2026-02-03T12:00:00Z")
    assert [a.json()["withdrawn_at"] for a in ended] == ["2026-02-03T12:00:00Z"] * 2
    assert verbs(told) == ["feed.withdrawn", "feed.withdrawn"]
    assert (
        refusal(post(client, engineer, "my-calendar-addresses/withdraw"), 409)["detail"]
        == "You have no calendar address."
    )
