"""Signing in: the second step and of whom it is asked, wrong tries, what is written down, and who loses what when."""

import re
from datetime import timedelta
from io import StringIO

import pytest
import time_machine
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP
from django.contrib.sessions.models import Session
from django.core import mail
from django.core.cache import cache
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import Client
from django.urls import reverse

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.ids import new_id
from jobsite.ledger.actor import CLOCK
from jobsite.people import operations
from jobsite.people.models import SignIn
from jobsite.people.operations import start_firm
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.at_once import at_once, behind
from tests.factories import NOON, PASSWORD, SEED, Told, code_of_app, recorded

pytestmark = pytest.mark.django_db
LOGIN, SECOND, AGAIN = "/accounts/login/", "/accounts/2fa/authenticate/", "/accounts/reauthenticate/"


@pytest.fixture(autouse=True)
def nothing_counted() -> None:
    """Tries of other tests do not count here."""
    cache.clear()


def password(client: Client, email: str, word: str = PASSWORD, **more):
    return client.post(LOGIN, {"login": email, "password": word}, **more)


def signed_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def prove_again(client: Client, where: str = "/people/sessions/"):
    return client.post(f"{AGAIN}?next={where}", {"password": PASSWORD})


def recovery_codes(user) -> list[str]:
    return RecoveryCodes.activate(user).generate_codes()


# --- the second step --------------------------------------------------------------------------------------------------


def test_password_alone_lets_nobody_in_who_has_a_second_step(client, manager) -> None:
    assert password(client, manager.email)["Location"] == SECOND
    assert not signed_in(client)
    assert client.get("/people/").status_code == 302
    done = client.post(SECOND, {"code": code_of_app()})
    assert (done["Location"], signed_in(client)) == ("/", True)
    told = manager.sign_ins.values_list("what", "means")
    assert list(told) == [("in", "password, authenticator app")]


def test_a_wrong_code_is_refused_with_a_sentence_and_written_down(client, manager) -> None:
    password(client, manager.email)
    said = client.post(SECOND, {"code": "000000"}).content.decode()
    assert "This code is not right, or was used already." in said
    assert not signed_in(client)
    assert list(manager.sign_ins.values_list("what", "means")) == [("wrong-code", "authenticator app")]


def test_five_wrong_codes_shut_the_second_step(client, manager) -> None:
    password(client, manager.email)
    for _ in range(5):
        client.post(SECOND, {"code": "000000"})
    said = client.post(SECOND, {"code": code_of_app()}).content.decode()
    assert "These were too many wrong tries. Wait a few minutes, then try again." in said
    assert not signed_in(client)


def test_a_code_of_the_app_works_once(client, manager) -> None:
    code, other = code_of_app(), Client()
    for one in (client, other):
        password(one, manager.email)
    client.post(SECOND, {"code": code})
    other.post(SECOND, {"code": code})
    assert (signed_in(client), signed_in(other)) == (True, False)


def test_codes_are_those_of_rfc_6238() -> None:
    """Appendix B of RFC 6238 gives the eight figures of SHA-1 at these times; an app shows the last six."""
    from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value

    published = {59: "94287082", 1111111109: "07081804", 1234567890: "89005924", 20000000000: "65353130"}
    assert {at: format_hotp_value(hotp_value(SEED, at // 30)) for at in published} == {
        at: code[-6:] for at, code in published.items()
    }


def test_a_code_of_the_step_before_opens_nothing(client, manager) -> None:
    with time_machine.travel(NOON, tick=False):
        before = code_of_app()
    with time_machine.travel(NOON + timedelta(seconds=30), tick=False):
        password(client, manager.email)
        client.post(SECOND, {"code": before})
        assert not signed_in(client)


def test_seeds_are_sealed_in_the_database(manager, settings) -> None:
    recovery_codes(manager)
    kept = {row.type: row.data for row in Authenticator.objects.filter(user=manager)}
    assert SEED not in str(kept)
    assert TOTP(Authenticator.objects.get(type="totp")).validate_code(code_of_app())
    seed = kept["recovery_codes"]["seed"]
    assert not re.fullmatch("[0-9a-f]{80}", seed)  # what allauth makes
    codes = RecoveryCodes.activate(manager).generate_codes()
    settings.SECRET_KEY_FALLBACKS = [settings.SECRET_KEY]
    settings.SECRET_KEY = "another secret of this service, long enough for every check of it"
    assert RecoveryCodes.activate(manager).generate_codes() == codes  # opens while the former secret is named
    settings.SECRET_KEY_FALLBACKS = []
    assert set(codes) & set(RecoveryCodes.activate(manager).generate_codes()) == set()


def test_recovery_codes_are_long_enough_and_each_works_once(client, manager) -> None:
    codes = recovery_codes(manager)
    assert (len(set(codes)), {len(code) for code in codes}) == (10, {8})  # 26 bits each; ASVS 6.5.4 asks for 20
    for expected, count in ((True, 9), (False, 9)):
        one = Client()
        password(one, manager.email)
        one.post(SECOND, {"code": codes[0]})
        assert signed_in(one) is expected
        assert len(RecoveryCodes.activate(manager).get_unused_codes()) == count


@pytest.mark.django_db(transaction=True)
def test_one_recovery_code_by_two_requests_at_once_works_once(manager) -> None:
    codes = recovery_codes(manager)
    for code in codes[:4]:
        clients = [Client(), Client()]
        for one in clients:
            password(one, manager.email)
        results = at_once(*(lambda one=one, code=code: one.post(SECOND, {"code": code}).status_code for one in clients))
        assert sorted(results) == [200, 302]
        assert sorted(signed_in(one) for one in clients) == [False, True]
        cache.clear()
    assert len(RecoveryCodes.activate(manager).get_unused_codes()) == 6
    late, code = Client(), codes[4]
    password(late, manager.email)
    with transaction.atomic():  # the other request has not ended when this one comes
        assert RecoveryCodes.activate(manager).validate_code(code)
        waits = behind(lambda: late.post(SECOND, {"code": code}).status_code)
    assert (waits.result(timeout=60), signed_in(late)) == (200, False)
    assert manager.sign_ins.filter(what="in", means="password, recovery code").count() == 4


@pytest.mark.django_db(transaction=True)
def test_one_code_of_the_app_by_two_requests_at_once_works_once(manager) -> None:
    clients = [Client(), Client()]
    for one in clients:
        password(one, manager.email)
    code = code_of_app()
    at_once(*(lambda one=one: one.post(SECOND, {"code": code}).status_code for one in clients))
    assert sorted(signed_in(one) for one in clients) == [False, True]


# --- of whom it is asked ----------------------------------------------------------------------------------------------


def test_a_firm_that_is_started_asks_it_of_managers(client) -> None:
    start_firm(id=new_id(), name="Spark Ltd", email="max@example.com", manager="Max First", now=NOON)
    assert the_firm().second_step_for == "managers"


def test_a_manager_without_one_gets_no_further_than_setting_it_up(client) -> None:
    client.force_login(make.make_user("Mo Newly", "manager", second_step=False))
    for where in ("/", "/people/", "/people/sessions/", "/people/firm/"):
        assert client.get(where)["Location"] == reverse("mfa_index"), where
    assert client.get("/people/", headers={"HX-Request": "true"})["HX-Redirect"] == reverse("mfa_index")
    refused = client.post("/people/invite/", {"name": "X"})
    assert (refused.status_code, "set one up first" in refused.content.decode()) == (403, True)
    index = client.get(reverse("mfa_index"))
    assert (index.status_code, "The firm asks a second step of you" in index.content.decode()) == (200, True)
    answer = client.get("/api/v1/remedials/")
    assert (answer.status_code, "set one up first" in answer.json()["detail"]) == (403, True)


def test_setting_one_up_opens_everything_at_once(client, django_capture_on_commit_callbacks) -> None:
    user = make.make_user("Mo Newly", "manager", second_step=False)
    client.force_login(user)
    assert client.get("/accounts/2fa/totp/activate/")["Location"].startswith(AGAIN)
    client.post(f"{AGAIN}?next=/accounts/2fa/totp/activate/", {"password": PASSWORD})
    page = client.get("/accounts/2fa/totp/activate/")
    seed = page.context["form"].secret
    with recorded() as told, django_capture_on_commit_callbacks(execute=True):
        client.post("/accounts/2fa/totp/activate/", {"code": code_of_app(seed)})
    assert told == [Told("sign-in.means-changed", user.pk, {"what": "authenticator app set up"}, {})]
    assert client.get("/people/").status_code == 200
    assert [(one.subject, one.to) for one in mail.outbox] == [("An authenticator app was set up", [user.email])]
    assert "tell a manager at once" in mail.outbox[0].body
    assert "Mo Newly" in mail.outbox[0].body


@pytest.mark.parametrize(
    ("asked", "shut"),
    [
        ("nobody", set()),
        ("managers", {"manager"}),
        ("desk", {"manager", "office"}),
        ("everybody", {"manager", "office", "engineer"}),
    ],
)
def test_whom_the_firm_asks(client, asked, shut) -> None:
    operations.ask_second_step(of=asked, by=CLOCK, now=NOON)
    found = set()
    for role in ("manager", "office", "engineer"):
        client.force_login(make.make_user(f"Ro{role} Some", role, second_step=False))
        if client.get("/people/sessions/").status_code == 302:
            found.add(role)
    assert found == shut


def test_deciding_it_is_an_operation_of_managers(manager, office, now) -> None:
    with recorded() as told:
        firm = operations.ask_second_step(of="everybody", by=manager, now=now)
        operations.ask_second_step(of="everybody", by=manager, now=now)
    assert told == [Told("sign-in.second-step-asked", firm.pk, {"of": "everybody"}, {})]
    with pytest.raises(NotAllowed):
        operations.ask_second_step(of="nobody", by=office, now=now)
    with pytest.raises(Refused, match="Choose one"):
        operations.ask_second_step(of="some", by=manager, now=now)


def test_the_page_that_decides_it_asks_the_password_again(client, manager) -> None:
    client.force_login(manager)
    where = reverse("people:second_step_asked")
    asked = client.post(where, {"of": "everybody"})
    assert asked["Location"].startswith(AGAIN)
    assert the_firm().second_step_for == "managers"
    assert client.post(asked["Location"], {"password": "not the password"}).status_code == 200
    assert the_firm().second_step_for == "managers"
    client.post(asked["Location"], {"password": PASSWORD})  # and then does what was posted
    assert the_firm().second_step_for == "everybody"
    shown = client.get(reverse("people:sign_ins")).content.decode()
    assert "everybody" in shown


LIBRARYS = re.compile(
    r"placeholder=|>Email\b|Current Password|New Password|\(again\)|Authenticator code|can.t be too similar"
)


@pytest.mark.parametrize(
    "page",
    [
        LOGIN, SECOND, AGAIN, "/accounts/password/change/", "/accounts/password/reset/", "/accounts/2fa/totp/activate/",
        "/accounts/2fa/reauthenticate/",
    ],
)  # fmt: skip
def test_pages_of_signing_in_speak_in_our_words(client, manager, office, page) -> None:
    if page == SECOND:
        password(client, manager.email)
    elif page != LOGIN:
        client.force_login(office if "activate" in page else manager)
    if "activate" in page:
        prove_again(client)
    shown = client.get(page)
    assert shown.status_code == 200
    assert "<label" in shown.content.decode()
    main = shown.content.decode().partition("<main")[2]
    assert LIBRARYS.findall(main) == []


def test_a_wrong_password_is_told_in_our_words(client, office) -> None:
    said = password(client, office.email, "wrong wrong wrong").content.decode()
    assert "You are not signed in yet" in said
    assert "The e-mail address or the password is not right." in said


def test_who_has_just_signed_in_is_not_asked_again(client, manager) -> None:
    """For as long as any proof holds: by the setting, five minutes."""
    where = reverse("people:second_step_asked")
    with time_machine.travel(NOON, tick=False):
        password(client, manager.email)
        client.post(SECOND, {"code": code_of_app()})
    with time_machine.travel(NOON + timedelta(seconds=299), tick=False):
        client.post(where, {"of": "everybody"})
    assert the_firm().second_step_for == "everybody"
    with time_machine.travel(NOON + timedelta(seconds=301), tick=False):
        assert client.post(where, {"of": "managers"})["Location"].startswith(AGAIN)
    assert the_firm().second_step_for == "everybody"


def test_a_password_without_the_second_step_proves_nothing(client, manager) -> None:
    password(client, manager.email)
    asked = client.post(reverse("people:second_step_asked"), {"of": "everybody"})
    assert asked["Location"].startswith(LOGIN)
    assert the_firm().second_step_for == "managers"


def test_the_last_one_that_the_firm_asks_for_stays(client, manager) -> None:
    client.force_login(manager)
    prove_again(client)
    said = client.post("/accounts/2fa/totp/deactivate/").content.decode()
    assert "add another one first" in said
    assert Authenticator.objects.filter(user=manager, type="totp").count() == 1


def test_somebody_of_whom_none_is_asked_may_remove_theirs(client, django_capture_on_commit_callbacks) -> None:
    user = make.make_user("Olive Deskworth", "office", second_step=True)
    client.force_login(user)
    assert client.post("/accounts/2fa/totp/deactivate/")["Location"].startswith(AGAIN)
    assert Authenticator.objects.filter(user=user).count() == 1
    prove_again(client)
    with recorded() as told, django_capture_on_commit_callbacks(execute=True):
        client.post("/accounts/2fa/totp/deactivate/")
    assert told == [Told("sign-in.means-changed", user.pk, {"what": "authenticator app removed"}, {})]
    assert Authenticator.objects.filter(user=user).count() == 0


# --- what a manager, and the server, may do for somebody --------------------------------------------------------------


def test_a_lost_second_step_is_taken_away_knowingly(client, manager, now) -> None:
    user = make.make_user("Olive Deskworth", "office", second_step=True)
    recovery_codes(user)
    theirs = Client()
    theirs.force_login(user)
    with recorded() as told:
        operations.take_second_step_away(user, how="stood before me", by=manager, now=now)
    facts = {"kinds": ["recovery_codes", "totp"]}
    assert told == [Told("sign-in.second-step-taken", user.pk, facts, {"how": "stood before me"})]
    assert Authenticator.objects.filter(user=user).count() == 0
    assert theirs.get("/people/sessions/").status_code == 302
    with pytest.raises(Refused, match="has no second step"):
        operations.take_second_step_away(user, how="again", by=manager, now=now)


def test_taking_it_away_is_refused_for_oneself_without_a_reason_and_to_others(manager, office, now) -> None:
    other = make.make_user("Max Second", "manager")
    for who, by, how, raised in (
        (manager, manager, "it is me", Refused),
        (other, manager, "  ", Refused),
        (other, office, "stood before me", NotAllowed),
    ):
        with pytest.raises(raised):
            operations.take_second_step_away(who, how=how, by=by, now=now)
    assert Authenticator.objects.count() == 2


def test_the_page_takes_it_away_after_the_password_and_tells_them(client, manager) -> None:
    user = make.make_user("Olive Deskworth", "office", second_step=True)
    client.force_login(manager)
    where = reverse("people:second_step_away", args=[user.pk])
    assert client.get(where)["Location"].startswith(AGAIN)
    client.post(f"{AGAIN}?next={where}", {"password": PASSWORD})
    assert client.post(where, {"how": ""}).status_code == 422
    client.post(where, {"how": "rang the number on the contract"})
    assert Authenticator.objects.filter(user=user).count() == 0
    assert [one.to for one in mail.outbox] == [["olive@example.com"]]
    assert "Mabel Ledgerton of" in mail.outbox[0].body


def test_the_server_lets_the_last_manager_in(client, manager) -> None:
    for _ in range(6):
        password(client, manager.email, "wrong wrong wrong")
    out = StringIO()
    with recorded() as told:
        call_command("let_in", manager.email.upper(), "--lost-second-step", "--link", stdout=out)
    assert [one.verb for one in told] == [
        "sign-in.tries-cleared",
        "sign-in.second-step-taken",
        "sign-in.means-changed",
    ]
    path = re.search(r"/accounts/password/\S+", out.getvalue())[0]
    assert "Choose a password" in client.get(path, follow=True).content.decode()
    assert password(Client(), manager.email)["Location"] == "/"
    with pytest.raises(CommandError, match="Nobody who works here"):
        call_command("let_in", "nobody@example.com", stdout=out)


# --- wrong passwords --------------------------------------------------------------------------------------------------


def test_five_wrong_passwords_shut_the_door_to_strangers(client, office) -> None:
    for _ in range(5):
        password(client, office.email, "wrong wrong wrong")
    said = password(client, office.email).content.decode()
    assert "These were too many wrong tries. Wait a few minutes, then try again." in said
    assert not signed_in(client)
    assert list(office.sign_ins.order_by("at", "pk").values_list("what", flat=True)) == [
        *["wrong-password"] * 5,
        "shut",
    ]


def test_a_stranger_who_shuts_the_door_shuts_out_no_device_in_use(client, office) -> None:
    known, stranger = Client(), Client(REMOTE_ADDR="203.0.113.9")
    password(known, office.email)
    known.post("/accounts/logout/")
    for _ in range(12):
        password(stranger, office.email, "wrong wrong wrong")
    password(known, office.email)
    assert (signed_in(known), signed_in(stranger)) == (True, False)


def test_strangers_at_the_firms_own_address_shut_out_no_device_in_use(office, engineer) -> None:
    known, stranger = Client(), Client()
    password(known, office.email)
    known.post("/accounts/logout/")
    for number in range(15):
        password(stranger, f"{number}{engineer.email}", "wrong wrong wrong")
    password(stranger, engineer.email)
    password(known, office.email)
    assert (signed_in(known), signed_in(stranger)) == (True, False)


def test_a_device_in_use_guesses_no_further_than_ten(office) -> None:
    known = Client()
    password(known, office.email)
    known.post("/accounts/logout/")
    for _ in range(10):
        password(known, office.email, "wrong wrong wrong")
    password(known, office.email)
    assert not signed_in(known)


def test_a_device_is_known_for_those_who_signed_in_there_only(office, engineer) -> None:
    known = Client()
    password(known, office.email)
    known.post("/accounts/logout/")
    for _ in range(5):
        password(Client(REMOTE_ADDR="203.0.113.9"), engineer.email, "wrong wrong wrong")
    password(known, engineer.email)
    assert not signed_in(known)
    cookie = known.cookies["device"]
    assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Lax", "/")
    assert office.email not in cookie.value
    known.cookies["device"] = cookie.value[:-1] + ("A" if cookie.value[-1] != "A" else "B")
    for _ in range(5):
        password(Client(REMOTE_ADDR="203.0.113.9"), office.email, "wrong wrong wrong")
    password(known, office.email)
    assert not signed_in(known)  # an altered cookie is none


def test_a_device_on_which_a_password_was_set_by_a_mailed_link_is_known(office) -> None:
    """Who reads the person's mail is no stranger: strangers who go on trying keep nobody from signing in there."""
    mine = Client()
    mine.post("/accounts/password/reset/", {"email": office.email})
    link = re.search(r"/accounts/password/reset/key/\S+", mail.outbox[0].body)[0]
    form = mine.get(link, follow=True).redirect_chain[-1][0]
    chosen = "copper gland lantern otter"
    done = mine.post(form, {"password1": chosen, "password2": chosen})
    assert done["Location"] == "/accounts/password/reset/key/done/"
    assert not signed_in(mine)
    for _ in range(6):
        password(Client(REMOTE_ADDR="203.0.113.9"), office.email, "wrong wrong wrong")
    password(mine, office.email, chosen)
    assert signed_in(mine)
    other = Client()
    password(other, office.email, chosen)
    assert not signed_in(other)


def test_a_link_that_opens_nothing_makes_no_device_known(office) -> None:
    mine = Client()
    answer = mine.post("/accounts/password/reset/key/1-set-password/", {"password1": "x", "password2": "x"})
    assert "This link opens nothing more" in answer.content.decode()
    assert "device" not in mine.cookies


def test_a_manager_lets_somebody_try_again(client, manager, office, now) -> None:
    client.force_login(manager)
    page = reverse("people:person_sign_in", args=[office.pk])
    assert "Let them try again now" not in client.get(page).content.decode()
    for _ in range(6):
        password(Client(), office.email, "wrong wrong wrong")
    assert "Let them try again now" in client.get(page).content.decode()
    with recorded() as told:
        client.post(reverse("people:tries_clear", args=[office.pk]))
    assert told == [Told("sign-in.tries-cleared", office.pk, {}, {})]
    cache_of_addresses = Client(REMOTE_ADDR="198.51.100.7")
    password(cache_of_addresses, office.email)
    assert signed_in(cache_of_addresses)
    with pytest.raises(NotAllowed):
        operations.clear_tries(manager, by=office, now=now)


def test_an_account_that_there_is_not_is_answered_alike(office) -> None:
    answers = [
        re.sub(r'value="[^"]*"', "", password(Client(), email, "wrong wrong wrong").content.decode())
        for email in (office.email, "nobody@example.com")
    ]
    assert answers[0] == answers[1]
    Client().post("/accounts/password/reset/", {"email": "nobody@example.com"})
    assert mail.outbox == []
    assert SignIn.objects.exclude(user=office).count() == 0


# --- what is written down ---------------------------------------------------------------------------------------------


def test_what_happens_at_the_door_is_kept_for_a_year(client, office) -> None:
    old = SignIn.objects.create(user=office, at=clock.now() - timedelta(days=401), what="in")
    client.defaults["HTTP_USER_AGENT"] = "Mozilla/5.0 (X11; Linux x86_64) Chrome/140.0 Safari/537.36" + "x" * 400
    password(client, office.email)
    client.post("/accounts/logout/")
    rows = list(office.sign_ins.order_by("at").values_list("what", "means", "address"))
    assert rows == [("in", "password", "127.0.0.1"), ("out", "", "127.0.0.1")]
    assert not SignIn.objects.filter(pk=old.pk).exists()
    assert max(map(len, office.sign_ins.values_list("device", flat=True))) == 200


def test_nothing_that_was_typed_stands_in_the_log(client, office, caplog) -> None:
    with caplog.at_level("DEBUG"):
        password(client, office.email, "my secret passphrase")
        password(client, "typed-by-mistake-my-secret", "x")
    assert "my secret passphrase" not in caplog.text
    assert "typed-by-mistake" not in caplog.text


def test_a_try_for_an_account_that_there_is_not_stands_in_the_log(client, caplog) -> None:
    """At the level that production writes, without what was typed."""
    with caplog.at_level("WARNING"):
        password(client, "nobody@example.com", "x")
    told = [one.getMessage() for one in caplog.records if one.name == "jobsite.people.signin.adapter"]
    assert told == ["A sign-in for an account that there is not."]


# --- who leaves -------------------------------------------------------------------------------------------------------


def test_who_leaves_loses_everything_at_once_and_their_history_stays(client, manager, now) -> None:
    user = make.make_user("Gus Goneby", "engineer")
    password(client, user.email)
    assert client.get("/people/sessions/").status_code == 200
    link = operations.password_link(user)
    operations.person_left(user, by=manager, now=now)
    user.refresh_from_db()
    assert client.get("/people/sessions/").status_code == 302
    assert Session.objects.count() == 0
    assert "token_fail" in Client().get(link, follow=True).context
    assert password(client, user.email)["Location"] == reverse("account_inactive")
    Client().post("/accounts/password/reset/", {"email": user.email})
    assert mail.outbox == []
    assert user.sign_ins.filter(what="in").count() == 1
    operations.person_returned(user, by=manager, now=now)
    user.refresh_from_db()
    assert client.get("/people/sessions/").status_code == 302  # what ended stays ended
    assert "token_fail" in Client().get(link, follow=True).context


def test_who_leaves_is_out_though_the_session_is_kept(manager, now) -> None:
    """Also a session that no list names."""
    user, theirs = make.make_user("Gus Goneby", "engineer"), Client()
    theirs.force_login(user)
    operations.person_left(user, by=manager, now=now)
    user.refresh_from_db()
    operations.person_returned(user, by=manager, now=now)
    assert theirs.get("/people/sessions/").status_code == 302


def test_who_is_given_a_desk_signs_in_anew(manager, engineer, now) -> None:
    theirs = Client()
    theirs.force_login(engineer)
    engineer = operations.edit_person(engineer, version=engineer.version, name="Edwin Wires", by=manager, now=now)
    assert theirs.get("/people/sessions/").status_code == 200
    operations.edit_person(engineer, version=engineer.version, roles=["engineer", "office"], by=manager, now=now)
    assert theirs.get("/people/sessions/").status_code == 302
