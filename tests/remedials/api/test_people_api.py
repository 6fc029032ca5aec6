"""The API about people, instruments, the firm, links and tokens: as on the pages, recorded alike."""

from datetime import date, time

import pytest
import time_machine
from django.core import mail
from django.core.files.uploadedfile import SimpleUploadedFile

from jobsite.firm.models import Firm, Policy
from jobsite.ids import new_id
from jobsite.people.models import AccessToken, Competence, Instrument, Leave, PrivateLink, Skill, User, WorkingWeek
from tests import factories as make
from tests.factories import NOON, TODAY, Told, recorded
from tests.remedials.test_api_verbs import fresh, post, refusal

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


def done(client, user, address: str, status: int = 200, version: object = "*", **body) -> dict:
    answer = post(client, user, address, version, **body)
    assert answer.status_code == status, answer.content
    return answer.json()


def test_certificate_of_a_check_is_kept_and_given_back(client, manager, engineer):
    instrument = make.make_instrument()
    where = f"instruments/{instrument.pk}/check"
    given = {"checked_on": "2026-02-02", "by_whom": "Meridian", "due": "2027-02-01", "kind": "calibration"}

    def sent(user, data: bytes, **body):
        client.force_login(user)
        file = SimpleUploadedFile("../certificate.pdf", data, "application/pdf")
        body = given | {"id": str(new_id()), "file": file} | body
        return client.post(f"/api/v1/{where}/", body, headers=fresh())

    assert refusal(sent(manager, b"MZ no paper"), 409)["detail"] == "This file is not a PDF."
    made = sent(manager, b"%PDF-1.7 certificate")
    assert made.status_code == 201, made.content
    client.force_login(engineer)
    answer = client.get(f"/api/v1/instrument-checks/{made.json()['id']}/file/")
    assert (answer.content, answer["Content-Type"]) == (b"%PDF-1.7 certificate", "application/pdf")
    assert answer["Content-Disposition"] == 'attachment; filename="check-of-2026-02-02.pdf"'
    without = done(client, manager, where, 201, **given | {"id": str(new_id()), "checked_on": "2026-02-01"})
    assert client.get(f"/api/v1/instrument-checks/{without['id']}/file/").status_code == 404


# --- people -----------------------------------------------------------------------------------------------------------


def test_invite_somebody_by_mail_once(client, manager, office):
    key = str(new_id())
    body = {"id": key, "email": "Nora@example.com", "name": "Nora Newcomer", "roles": ["office", "engineer"]}
    refusal(post(client, office, "people/invite", **body), 403)
    with recorded() as told:
        shown = done(client, manager, "people/invite", 201, **body)
        assert done(client, manager, "people/invite", 201, **body) == shown
    person = User.objects.get(pk=key)
    facts = {"roles": ["engineer", "office"], "subcontractor": False}
    assert told == [Told("person.invited", person.pk, facts, {"name": "Nora Newcomer", "email": "nora@example.com"})]
    assert (shown["email"], shown["roles"], shown["is_active"]) == ("nora@example.com", ["engineer", "office"], True)
    assert [message.to for message in mail.outbox] == [["nora@example.com"]] * 2
    assert "password" not in str(shown)
    again = post(client, manager, "people/invite", **body | {"id": str(new_id())})
    assert refusal(again, 409)["field"] == "email"
    with recorded() as told:
        done(client, manager, f"people/{key}/invite-again")
    assert told == [Told("person.invited-again", person.pk)]


def test_nobody_is_invited_whom_no_message_reaches(client, manager, settings):
    key = str(new_id())
    body = {"id": key, "email": "nora@example.com", "name": "Nora Newcomer", "roles": ["office"]}
    works, nobody_listens = settings.EMAIL_BACKEND, "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    settings.EMAIL_BACKEND = nobody_listens
    with recorded() as told:
        assert "nobody was invited" in refusal(post(client, manager, "people/invite", **body), 409)["detail"]
    assert (told, User.objects.filter(pk=key).count()) == ([], 0)
    settings.EMAIL_BACKEND = works
    done(client, manager, "people/invite", 201, **body)
    settings.EMAIL_BACKEND = nobody_listens
    with recorded() as told:
        refusal(post(client, manager, f"people/{key}/invite-again"), 409)
    assert told == []
    assert [message.to for message in mail.outbox] == [["nora@example.com"]]


def test_change_somebody_as_they_were_seen(client, manager, engineer):
    where = f"people/{engineer.pk}"
    assert refusal(post(client, manager, f"{where}/edit", 7, phone="1"), 412)["version"] == 1
    with recorded() as told:
        shown = done(client, manager, f"{where}/edit", version=1, phone="01632 960199", insured_until="2026-12-31")
    assert (shown["phone"], shown["insured_until"], shown["version"]) == ("01632 960199", "2026-12-31", 2)
    assert told == [Told("person.edited", engineer.pk, {"insured_until": "2026-12-31"}, {"phone": "01632 960199"})]
    half = refusal(post(client, manager, f"{where}/edit", home_latitude="52.5"), 409)
    assert half["field"] == "home_longitude"


def test_somebody_leaves_and_returns(client, manager, engineer):
    with recorded() as told:
        assert done(client, manager, f"people/{engineer.pk}/leave")["is_active"] is False
        assert done(client, manager, f"people/{engineer.pk}/return")["is_active"] is True
    assert told == [Told("person.left", engineer.pk), Told("person.returned", engineer.pk)]
    assert "only manager" in refusal(post(client, manager, f"people/{manager.pk}/leave"), 409)["detail"]


def test_competence_and_skills(client, manager, engineer):
    where, person = f"people/{engineer.pk}", str(engineer.pk)
    body = {"id": str(new_id()), "since": "2026-02-01", "evidence": "Certificate 12"}
    with recorded() as told:
        held = done(client, manager, f"{where}/record-competence", 201, **body)
        ended = done(client, manager, f"competences/{held['id']}/end", until="2026-12-31")
        skill = done(client, manager, f"{where}/record-skill", 201, **body | {"id": str(new_id()), "name": "Lifts"})
        done(client, manager, f"skills/{skill['id']}/end", until="2026-02-02")
    assert (ended["until"], ended["ended"]) == ("2026-12-31", False)
    competence, kept = Competence.objects.get(), Skill.objects.get()
    since = {"person": person, "since": "2026-02-01", "until": None}
    assert told == [
        Told("competence.recorded", competence.pk, since, {"evidence": "Certificate 12"}),
        Told("competence.ended", competence.pk, {"until": "2026-12-31"}),
        Told("skill.recorded", kept.pk, since, {"skill": "Lifts", "evidence": "Certificate 12"}),
        Told("skill.ended", kept.pk, {"until": "2026-02-02"}),
    ]
    assert kept.ended is True
    early = refusal(post(client, manager, f"skills/{kept.pk}/end", until="2026-01-01"), 409)
    assert early["field"] == "until"


def test_hours_and_days_away(client, manager, office, engineer):
    where, person = f"people/{engineer.pk}", str(engineer.pk)
    week = {"id": str(new_id()), "holds_from": "2026-03-02"}
    week["shifts"] = [{"weekday": 0, "start": "08:00", "end": "16:30"}]
    away = {"id": str(new_id()), "first": "2026-04-06", "last": "2026-04-10"}
    refusal(post(client, office, f"{where}/set-working-week", **week), 403)
    with recorded() as told:
        shown = done(client, manager, f"{where}/set-working-week", **week)
        left = done(client, office, f"{where}/record-away", 201, **away)
        done(client, office, f"away/{left['id']}/withdraw")
    assert shown["shifts"] == [{"weekday": 0, "start": "08:00:00", "end": "16:30:00"}]
    kept, leave = WorkingWeek.objects.get(), Leave.objects.get()
    assert list(kept.shifts.values_list("weekday", "start", "end")) == [(0, time(8), time(16, 30))]
    hours = {"person": person, "holds_from": "2026-03-02", "hours": [[0, "08:00", "16:30"]]}
    assert told == [
        Told("hours.set", kept.pk, hours),
        Told("away.noted", leave.pk, {"person": person, "first": "2026-04-06", "last": "2026-04-10"}),
        Told("away.withdrawn", leave.pk),
    ]
    past = refusal(
        post(client, office, f"{where}/record-away", **away | {"id": str(new_id()), "last": "2026-01-01"}), 409
    )
    assert past["field"] == "last"


# --- instruments ------------------------------------------------------------------------------------------------------


def test_an_instrument_from_its_first_day_to_its_last(client, manager, engineer):
    body = {"id": str(new_id()), "name": "Loop tester", "serial_number": "LT-1"}
    check = {"id": str(new_id()), "checked_on": "2026-02-02", "by_whom": "Meridian", "due": "2027-02-01"}
    wrong = {"id": str(new_id()), "last_good_on": "2026-02-02", "found_on": "2026-02-03", "what": "Shows too little"}
    with recorded() as told:
        made = done(client, manager, "instruments/add", 201, **body)
        assert refusal(post(client, engineer, f"instruments/{made['id']}/check", **check), 403)["title"] == "Refused"
        done(client, manager, f"instruments/{made['id']}/check", 201, **check)
        done(client, manager, f"instruments/{made['id']}/find-wrong", 201, **wrong)
        shown = done(client, manager, f"instruments/{made['id']}/archive")
    row = Instrument.objects.get()
    assert (shown["checked_on"], shown["check_due"], shown["archived_at"]) == (
        "2026-02-02",
        None,
        "2026-02-03T12:00:00Z",
    )
    assert [(one.verb, one.subject) for one in told] == [
        ("instrument.added", row.pk), ("instrument.checked", row.pk), ("instrument.found-wrong", row.pk),
        ("instrument.archived", row.pk),
    ]  # fmt: skip
    assert row.faults.get().what == "Shows too little"
    taken = refusal(post(client, manager, "instruments/add", **body | {"id": str(new_id())}), 409)
    assert taken["field"] == "serial_number"


# --- the firm ---------------------------------------------------------------------------------------------------------


def test_the_firm_and_its_limits(client, manager):
    Firm.objects.create(name="Sample Sparks")
    client.force_login(manager)
    assert client.get("/api/v1/firm/").json()["name"] == "Sample Sparks"
    limits = {
        "holds_from": "2026-03-01", "reason": "Agreed", "c1_days": 5, "c2_days": 21, "fi_days": 21, "decide_days": 3,
        "step_days": 5, "look_again_days": 7, "inspection_notice_days": 90, "loop_factor": "0.80",
        "loop_rounding": "exact", "meter_tolerance_percent": "5.00",
    }  # fmt: skip
    with recorded() as told:
        shown = done(client, manager, "firm/describe", version=1, phone="01632 960100")
        set_ = done(client, manager, "policies/set", **limits)
        assert done(client, manager, "policies/set", **limits) == set_
    assert (shown["phone"], shown["version"]) == ("01632 960100", 2)
    assert [(one.verb, one.words) for one in told] == [
        ("firm.described", {"phone": "01632 960100"}), ("firm.policy-set", {"reason": "Agreed"}),
    ]  # fmt: skip
    assert {name: set_[name] for name in limits} == limits
    assert Policy.objects.get().holds_from == date(2026, 3, 1)
    assert refusal(post(client, manager, "firm/describe", 1, phone="2"), 412)["version"] == 2


# --- links and tokens -------------------------------------------------------------------------------------------------


def test_private_links_are_seen_and_withdrawn_by_who_sees_the_site(client, office, site):
    link = make.make_link(site)[0]
    lent = make.make_user("Lena Lent", "office", subcontractor=True)
    refusal(post(client, lent, f"private-links/{link.pk}/withdraw"), 404)
    with recorded() as told:
        shown = [done(client, office, f"private-links/{link.pk}/withdraw") for _ in range(2)]
    assert told == [Told("link.withdrawn", link.pk)]
    assert [one["withdrawn_at"] for one in shown] == ["2026-02-03T12:00:00Z"] * 2
    assert "token" not in str(shown)
    assert PrivateLink.objects.get().withdrawn_at == NOON


def test_a_subcontractor_is_shown_no_link_not_even_of_their_own_site(client, office, site):
    link = make.make_link(site)[0]
    lent = make.make_user("Lena Lent", "office", subcontractor=True)
    make.grant_access(site, lent)
    client.force_login(lent)
    assert client.get("/api/v1/private-links/").json()["results"] == []
    refusal(client.get(f"/api/v1/private-links/{link.pk}/"), 404)
    with recorded() as told:
        refusal(post(client, lent, f"private-links/{link.pk}/withdraw"), 404)
    assert told == []
    client.force_login(office)
    assert [row["id"] for row in client.get("/api/v1/private-links/").json()["results"]] == [str(link.pk)]


def test_tokens_are_ended_by_whose_they_are_or_a_manager(client, office, engineer, manager):
    one, other = make.make_token(office), make.make_token(office)
    refusal(post(client, engineer, f"tokens/{one.pk}/end"), 404)
    with recorded() as told:
        done(client, office, f"tokens/{one.pk}/end")
        done(client, manager, f"tokens/{other.pk}/end")
    assert told == [Told("token.ended", token.pk, {"user": str(office.pk)}) for token in (one, other)]
    assert AccessToken.objects.filter(ended_at=NOON).count() == 2
    client.force_login(engineer)
    assert client.get("/api/v1/tokens/").json()["results"] == []


# --- lists ------------------------------------------------------------------------------------------------------------

LISTS = {
    "people": 3, "competences": 3, "skills": 3, "working-weeks": 4, "away": 3, "instruments": 3, "instrument-checks": 3,
    "recalls": 3, "policies": 3, "private-links": 3, "tokens": 3,
}  # fmt: skip


def one_more(n: int) -> None:
    """A row of each kind."""
    user = make.make_qualified(f"Quincy{n} Proved")
    make.make_skill(user)
    make.make_leave(user)
    WorkingWeek.objects.create(user=user, holds_from=TODAY, recorded_by=user)
    instrument = make.make_instrument(serial_number=f"S{n}")
    make.make_check(instrument)
    make.make_fault(instrument)
    Policy.objects.create(holds_from=date(2026, 1, n + 1))
    make.make_link(make.make_site(f"Site {n}"))
    make.make_token(user)


@pytest.mark.parametrize("count", [1, 3])
def test_statements_of_lists(client, manager, django_assert_num_queries, count):
    for n in range(count):
        one_more(n)
    client.force_login(manager)
    for noun, statements in LISTS.items():
        with django_assert_num_queries(statements):
            rows = client.get(f"/api/v1/{noun}/").json()["results"]
        assert len(rows) >= count, noun


def one_inside_and_one_outside(one, other) -> dict[str, tuple]:
    """By the list and its filter: the row that it finds, and one that it does not."""
    mine, theirs = (make.make_instrument(serial_number=number) for number in ("IN-1", "OUT-1"))
    gone = make.make_instrument(serial_number="OUT-2", archived_at=NOON)
    site, elsewhere = make.make_site("Inside"), make.make_site("Outside")
    link = make.make_link(site, purpose="status")[0]
    shared = make.make_link(elsewhere, purpose="quote")[0]
    away, back = make.make_leave(one), make.make_leave(other)
    after_all = make.make_leave(other)
    Leave.objects.filter(pk=after_all.pk).update(withdrawn_at=NOON)
    weeks = [WorkingWeek.objects.create(user=user, holds_from=TODAY, recorded_by=user) for user in (one, other)]
    held = [make.make_competence(user) for user in (one, other)]
    skills = [make.make_skill(user) for user in (one, other)]
    policies = [Policy.objects.create(holds_from=date(2026, 1, day)) for day in (2, 3)]
    tokens = make.make_token(one, ended_at=NOON), make.make_token(one)
    return {
        f"competences/?person={one.pk}": ([held[0]], [held[1]]),
        f"skills/?person={one.pk}": ([skills[0]], [skills[1]]),
        f"working-weeks/?person={one.pk}": ([weeks[0]], [weeks[1]]),
        f"away/?person={one.pk}": ([away], [back, after_all]),
        "away/?current=true": ([away, back], [after_all]),
        "away/?current=false": ([after_all], [away, back]),
        "instruments/?current=true": ([mine, theirs], [gone]),
        "instruments/?current=false": ([gone], [mine, theirs]),
        f"instrument-checks/?instrument={mine.pk}": ([make.make_check(mine)], [make.make_check(theirs)]),
        f"recalls/?instrument={mine.pk}": ([make.make_fault(mine)], [make.make_fault(theirs)]),
        "policies/?holds_from=2026-01-02": (policies[:1], policies[1:]),
        f"private-links/?site={site.pk}": ([link], [shared]),
        "private-links/?purpose=quote": ([shared], [link]),
        "tokens/?ended=true": (tokens[:1], tokens[1:]),
        "tokens/?ended=false": (tokens[1:], tokens[:1]),
    }


def keys(rows) -> list[str]:
    return sorted(str(row.pk) for row in rows)


def test_each_filter_finds_what_is_asked_for_and_nothing_else(client, manager, office, engineer):
    lists = one_inside_and_one_outside(engineer, office)
    left = make.make_user("Lottie Left", "engineer", is_active=False)
    people = User.objects.exclude(pk=left.pk)
    lists["people/?active=true"] = (people, [left])
    lists["people/?active=false"] = ([left], people)
    lists["people/?role=engineer"] = (User.objects.filter(roles=["engineer"]), [manager, office])
    client.force_login(manager)
    for query, (inside, outside) in lists.items():
        rows = client.get(f"/api/v1/{query}").json()["results"]
        assert sorted(row["id"] for row in rows) == keys(inside), query
        everything = client.get(f"/api/v1/{query.split('?')[0]}").json()["results"]
        assert sorted(row["id"] for row in everything) == keys([*inside, *outside]), query


def test_a_list_is_paged(client, manager):
    made = [make.make_instrument(serial_number=f"S{n}") for n in range(3)]
    client.force_login(manager)
    first = client.get("/api/v1/instruments/?page_size=2").json()
    second = client.get(first["next"]).json()
    assert [[row["id"] for row in page["results"]] for page in (first, second)] == [keys(made)[:2], keys(made)[2:]]
    assert second["next"] is None
