"""Personal tokens: made once after the password was asked again, shown once, used by programs, ended with the person."""

from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.people.models import AccessToken
from jobsite.people.operations import (
    edit_person,
    end_everybodys_sessions,
    end_sessions,
    end_token,
    make_token,
    note_means_changed,
    person_left,
    take_second_step_away,
)
from jobsite.people.signin.adapter import CHANGES
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import NOON, Told, make_site, make_user, recorded

pytestmark = pytest.mark.django_db
PROBLEM = "application/problem+json"
YEAR = timedelta(days=365)


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


def made(by, *, scope: str = "write", id=None, **fields):
    return make_token(
        id=id or new_id(),
        by=by,
        now=NOON,
        **{"name": "Bookkeeping", "scope": scope, "expires_at": NOON + YEAR} | fields,
    )


def ask(text: str, address: str = "/api/v1/sites/", client: Client | None = None):
    return (client or Client()).get(address, headers={"Authorization": f"Bearer {text}"})


def problem(answer, status: int) -> str:
    assert (answer.status_code, answer["Content-Type"]) == (status, PROBLEM), answer.content
    return answer.json()["detail"]


# --- made and ended ---------------------------------------------------------------------------------------------------


def test_made_once_and_only_its_hash_is_kept(office) -> None:
    key = new_id()
    with recorded() as told:
        token, text = made(office, id=key, name=" Book  keeping ")
        again = made(office, id=key)
    assert (again[0].pk, again[1]) == (token.pk, "")
    assert text.startswith("jobsite_")
    assert len(text) == len("jobsite_") + 43  # 256 bits in base64 without padding
    assert text.encode() not in bytes(AccessToken.objects.get().token_hash)
    facts = {"user": str(office.pk), "scope": "write", "expires_at": (NOON + YEAR).isoformat()}
    assert told == [Told("token.made", token.pk, facts, {"name": "Book keeping"})]


@pytest.mark.parametrize("days", [-1, 0, 367])
def test_it_ends_within_a_year(office, days) -> None:
    with pytest.raises(Refused) as refused:
        made(office, expires_at=NOON + timedelta(days=days))
    assert refused.value.field == "expires_at"


def test_of_too_many_no_more_is_made(office) -> None:
    for _ in range(20):
        made(office)
    with pytest.raises(Refused, match="20 tokens already"):
        made(office)


def test_ended_by_its_person_or_a_manager_once(office, engineer, manager) -> None:
    one, other = made(office)[0], made(office)[0]
    with pytest.raises(NotAllowed):
        end_token(one, by=engineer, now=NOON)
    with recorded() as told:
        for _ in range(2):
            end_token(one, by=office, now=NOON)
            end_token(other, by=manager, now=NOON)
    assert told == [Told("token.ended", token.pk, {"user": str(office.pk)}) for token in (one, other)]


def test_they_end_with_their_person(office, manager) -> None:
    token, text = made(office)
    assert ask(text).status_code == 200
    with recorded() as told:
        person_left(office, by=manager, now=NOON)
    ended = Told("token.ended", token.pk, {"user": str(office.pk)})
    assert [one for one in told if one.verb.startswith("token")] == [ended]
    assert "opens nothing" in problem(ask(text), 401)


def test_a_manager_without_the_second_step_asked_of_them_opens_nothing_by_a_token(django_assert_num_queries) -> None:
    manager = make_user("Maura Manager", "manager", second_step=False)
    text = made(manager)[1]
    ask(text)
    assert "second step" in problem(ask(text), 403)
    make.make_second_step(manager)
    with django_assert_num_queries(2):
        assert ask(text).json()["results"] == []


def out_of(user, manager) -> None:
    end_sessions(user, by=manager, now=NOON)


def everybody_out(user, manager) -> None:
    end_everybodys_sessions(by=manager, now=NOON)


def step_taken(user, manager) -> None:
    make.make_second_step(user)
    take_second_step_away(user, how="by telephone", by=manager, now=NOON)


def another_password(user, manager) -> None:
    client = signed_in(user)
    fresh = dict.fromkeys(("password1", "password2"), "kettle lantern otter")
    client.post("/accounts/password/change/", fresh | {"oldpassword": "copper and brass forty-eight"})


def by_a_link(user, manager) -> None:
    note_means_changed(user, CHANGES["account/email/password_reset"], by=user, now=NOON)


def promoted(user, manager) -> None:
    edit_person(user, version=user.version, roles=["manager", "office"], by=manager, now=NOON)


WAYS = [out_of, everybody_out, step_taken, another_password, by_a_link, promoted]


@pytest.mark.parametrize("way", WAYS)
def test_they_end_with_whatever_ends_what_somebody_else_may_have_got(office, manager, way) -> None:
    token, text = made(office)
    assert ask(text).status_code == 200
    with recorded() as told:
        way(office, manager)
    ended = Told("token.ended", token.pk, {"user": str(office.pk)})
    assert [one for one in told if one.verb.startswith("token")] == [ended]
    assert "opens nothing" in problem(ask(text), 401)


def test_they_stand_while_nothing_grows(office, manager) -> None:
    text = made(office)[1]
    edit_person(office, version=1, phone="01632 960199", by=manager, now=NOON)
    note_means_changed(office, CHANGES["mfa/email/totp_activated"], by=office, now=NOON)
    assert ask(text).json()["results"] == []


# --- shown by a program -----------------------------------------------------------------------------------------------


def test_a_token_reads_what_its_person_sees(subcontractor) -> None:
    mine, _ = make_site("Mine"), make_site("Elsewhere")
    make.grant_access(mine, subcontractor)
    answer = ask(made(subcontractor)[1])
    assert [row["name"] for row in answer.json()["results"]] == ["Mine"]


@pytest.mark.parametrize("wrong", ["ended", "expired", "never", "", "jobsite_\u00e9"])
def test_what_opens_nothing_is_not_told_apart(office, wrong) -> None:
    token, text = made(office)
    if wrong == "ended":
        end_token(token, by=office, now=NOON)
    elif wrong == "expired":
        AccessToken.objects.update(expires_at=NOON, made_at=NOON - YEAR)
    else:
        text = wrong
    client = Client()
    client.force_login(office)  # a session beside it makes no difference
    answer = ask(text, client=client)
    assert problem(answer, 401) == "This token opens nothing: it is not one of ours, has ended, or its person has left."
    assert answer["WWW-Authenticate"] == 'Bearer realm="api", error="invalid_token"'


def cancel(text: str, remedial, **headers):
    body, fresh = {"reason": "it was made twice"}, {"Idempotency-Key": f'"{new_id()}"', "If-Match": "*"}
    headers = {"Authorization": f"Bearer {text}"} | fresh | headers
    where = f"/api/v1/remedials/{remedial.pk}/cancel/"
    return Client(enforce_csrf_checks=True).post(where, body, content_type="application/json", headers=headers)


def test_a_token_that_writes_does_what_its_person_may(office, engineer, site) -> None:
    remedial = make.make_remedial(make.make_observation(site))
    assert problem(cancel(made(engineer)[1], remedial), 403).startswith("You do not have permission")
    text = made(office)[1]
    with recorded() as told:
        answers = [cancel(text, remedial, **{"Idempotency-Key": '"one"'}) for _ in range(2)]
    assert [(one.status_code, one.json()["stage"], one.get("X-Again", "")) for one in answers] == [
        (200, "cancelled", ""), (200, "cancelled", "yes"),
    ]  # fmt: skip
    assert [one.verb for one in told if one.subject == remedial.pk] == ["remedial.cancelled"]


def test_a_token_that_reads_changes_nothing_and_hears_of_no_change(office, site) -> None:
    remedial = make.make_remedial(make.make_observation(site))
    key = {"Idempotency-Key": '"one"'}
    text = made(office, scope="read")[1]
    assert problem(cancel(text, remedial, **key), 403).startswith("This token only reads.")
    remedial.refresh_from_db()
    assert remedial.stage == "to-price"
    done = cancel(made(office)[1], remedial, **key)
    assert done.status_code == 200, done.json()
    assert problem(cancel(text, remedial, **key), 403).startswith("This token only reads.")
    assert ask(text).status_code == 200


def test_a_token_opens_no_page(office, site) -> None:
    answer = ask(made(office)[1], reverse("desk:sites"))
    assert (answer.status_code, answer["Location"].split("?")[0]) == (302, reverse("account_login"))


def test_when_it_was_last_used_is_kept_to_five_minutes(office, django_assert_num_queries) -> None:
    token, text = made(office)
    ask(text)
    token.refresh_from_db()
    assert token.last_used_at == NOON
    with time_machine.travel(NOON + timedelta(minutes=4), tick=False), django_assert_num_queries(2):
        ask(text)
    with time_machine.travel(NOON + timedelta(minutes=6), tick=False), django_assert_num_queries(3):
        ask(text)
    token.refresh_from_db()
    assert token.last_used_at == NOON + timedelta(minutes=6)


# --- the page ---------------------------------------------------------------------------------------------------------


def signed_in(user, password: str = "copper and brass forty-eight") -> Client:
    user.set_password(password)
    user.save()
    client = Client()
    client.force_login(user)
    return client


def test_the_password_is_asked_again_before_one_is_made(office) -> None:
    client = signed_in(office)
    form = {"id": str(new_id()), "name": "Bookkeeping", "scope": "read", "days": "90"}
    for answer in (client.get(reverse("people:token_new")), client.post(reverse("people:token_new"), form)):
        assert (answer.status_code, answer["Location"].split("?")[0]) == (302, reverse("account_reauthenticate"))
    assert AccessToken.objects.count() == 0
    client.post(reverse("account_reauthenticate"), {"password": "copper and brass forty-eight"})
    answer = client.post(reverse("people:token_new"), form)
    text = answer.content.decode().split("<code>")[1].split("</code>")[0]
    assert ask(text).status_code == 200
    assert "no-store" in answer["Cache-Control"]
    again = client.post(reverse("people:token_new"), form).content.decode()
    assert (text in again, "This form made the token already" in again) == (False, True)
    assert AccessToken.objects.get().expires_at == NOON + timedelta(days=90)


def test_the_page_lists_ones_own_and_for_a_manager_all_that_stand(client, office, manager) -> None:
    mine, _ = made(office, name="Mine")[0], made(manager, name="Theirs")
    client.force_login(office)
    told = client.get(reverse("people:tokens")).content.decode()
    assert ("Mine" in told, "Theirs" in told) == (True, False)
    client.force_login(manager)
    assert "Mine" in client.get(reverse("people:tokens")).content.decode()
    assert client.post(reverse("people:token_end_of", args=[mine.pk]))["Location"] == reverse("people:tokens")
    assert "Mine" not in client.get(reverse("people:tokens")).content.decode()


def test_one_ends_ones_own_by_the_page_and_nobody_elses(client, office, engineer) -> None:
    token = made(office)[0]
    for user, stands in ((engineer, True), (office, False)):
        client.force_login(user)
        client.post(reverse("people:token_end"), {"token": str(token.pk)})
        assert AccessToken.objects.standing(NOON).exists() is stands


@pytest.mark.parametrize("count", [1, 3])
def test_statements_of_the_page(client, office, manager, django_assert_num_queries, count) -> None:
    for n in range(count):
        made(manager)
        made(make_user(f"Person{n} Else", "office"))
    client.force_login(manager)
    client.get(reverse("people:tokens"))
    with django_assert_num_queries(STATEMENTS):
        client.get(reverse("people:tokens"))


STATEMENTS = 5
