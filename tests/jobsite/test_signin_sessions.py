"""Sessions: how long they last, where they are listed and ended; the links that set a password; which passwords are refused."""

from datetime import timedelta

import pytest
import time_machine
from allauth.usersessions.models import UserSession
from django.contrib.auth.password_validation import validate_password
from django.contrib.sessions.models import Session
from django.core import mail
from django.core.cache import cache
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from jobsite import settings as ours
from jobsite.firm.operations import describe_firm
from jobsite.ids import new_id
from jobsite.ledger.actor import CLOCK
from jobsite.people import operations
from jobsite.people.queries.signin import device_words
from jobsite.people.signin.passwords import known_passwords
from jobsite.refused import NotAllowed
from tests import factories as make
from tests.factories import NOON, PASSWORD, Told, recorded
from tests.jobsite.test_signin import AGAIN, password, prove_again

pytestmark = pytest.mark.django_db
MINE = "/people/sessions/"


@pytest.fixture(autouse=True)
def nothing_counted() -> None:
    cache.clear()


# --- how long ---------------------------------------------------------------------------------------------------------


def open_after(user, *waits: timedelta) -> bool:
    """Whether a sign-in of `user` still opens a page when it was used after each of `waits`."""
    client, now = Client(), NOON
    with time_machine.travel(now, tick=False):
        password(client, user.email)
    for wait in waits:
        now += wait
        with time_machine.travel(now, tick=False):
            answer = client.get(MINE)
    return answer.status_code == 200


@pytest.mark.parametrize(
    ("role", "waits", "is_open"),
    [
        ("office", [timedelta(hours=11, minutes=59)], True),
        ("office", [timedelta(hours=12, minutes=1)], False),
        ("office", [timedelta(hours=11)] * 15, True),  # 6 days 21 hours
        ("office", [timedelta(hours=11)] * 16, False),  # 7 days 8 hours
        ("engineer", [timedelta(days=6, hours=23)], True),
        ("engineer", [timedelta(days=7, hours=1)], False),
        ("engineer", [timedelta(days=5)] * 6, True),
        ("engineer", [timedelta(days=5)] * 7, False),
    ],
)
def test_a_sign_in_ends_without_use_and_altogether(role, waits, is_open) -> None:
    """As the page tells it: the office 12 hours and 7 days, engineers 7 days and 30."""
    assert open_after(make.make_user("Una Newcomer", role), *waits) is is_open


def test_a_session_that_is_over_is_gone_from_the_database(office) -> None:
    assert not open_after(office, timedelta(days=2))
    assert Session.objects.filter(pk__in=UserSession.objects.filter(user=office).values("session_key")).count() == 0


def test_a_request_soon_after_another_writes_nothing(client, office, django_assert_num_queries) -> None:
    password(client, office.email)
    client.get(MINE)
    before = Session.objects.get().session_data
    client.get(MINE)
    assert Session.objects.get().session_data == before


def test_each_sign_in_and_each_proof_gives_another_key(client, office) -> None:
    client.get("/accounts/login/")
    password(client, office.email)
    first = client.session.session_key
    assert prove_again(client)["Location"] == MINE
    second = client.session.session_key
    assert first != second
    assert [len(key) for key in (first, second)] == [32, 32]  # of 36 letters: 165 bits
    assert not Session.objects.filter(pk=first).exists()
    assert UserSession.objects.get(user=office).session_key == second


def test_signing_out_ends_it_on_the_server(client, office) -> None:
    password(client, office.email)
    kept = client.cookies["sessionid"].value
    client.post("/accounts/logout/")
    thief = Client()
    thief.cookies["sessionid"] = kept
    assert thief.get(MINE).status_code == 302
    assert not Session.objects.filter(pk=kept).exists()


# --- the lists --------------------------------------------------------------------------------------------------------


def test_my_sessions_are_listed_and_ended_one_by_one(office) -> None:
    here, there = Client(HTTP_USER_AGENT="Mozilla/5.0 Firefox/140.0 (Windows NT)"), Client(HTTP_USER_AGENT="an iPhone")
    for one in (here, there):
        password(one, office.email)
    listed = here.get(MINE).context["sessions"]
    assert [(row["device"], row["here"]) for row in listed] == [("Firefox on Windows", True), ("iPhone", False)]
    prove_again(here)
    with recorded() as told:
        here.post(listed[1]["end"])
        here.post(listed[1]["end"])
    assert told == [Told("sign-in.sessions-ended", office.pk, {"one": True}, {})]
    assert (here.get(MINE).status_code, there.get(MINE).status_code) == (200, 302)


def test_all_others_end_at_once(office) -> None:
    clients = [Client() for _ in range(3)]
    for one in clients:
        password(one, office.email)
    prove_again(clients[0])
    assert clients[0].post(MINE)["Location"] == MINE
    assert [one.get(MINE).status_code for one in clients] == [200, 302, 302]


def test_ones_own_sessions_end_only_after_the_password_again(office) -> None:
    """OWASP ASVS 5.0.0, 7.5.2: having authenticated again."""
    clients = [Client() for _ in range(3)]
    with time_machine.travel(NOON, tick=False):
        for one in clients:
            password(one, office.email)
    with time_machine.travel(NOON + timedelta(hours=2), tick=False):
        end = next(row["end"] for row in clients[0].get(MINE).context["sessions"] if not row["here"])
        with recorded() as told:
            asked = [clients[0].post(where)["Location"] for where in (end, MINE)]
        assert told == []
        assert [where.startswith(AGAIN) for where in asked] == [True, True]
        assert [one.get(MINE).status_code for one in clients] == [200, 200, 200]
        prove_again(clients[0])
        clients[0].post(MINE)
        assert [one.get(MINE).status_code for one in clients] == [200, 302, 302]


def test_nobody_ends_somebody_elses_session(client, office, engineer, now) -> None:
    theirs = Client()
    password(theirs, engineer.email)
    row = UserSession.objects.get(user=engineer)
    password(client, office.email)
    with recorded() as told:
        client.post(reverse("people:session_end", args=[row.pk]))
    assert told == []
    with pytest.raises(NotAllowed):
        operations.end_one_session(row, by=office, now=now)
    with pytest.raises(NotAllowed):
        operations.end_sessions(engineer, by=office, now=now)
    assert theirs.get(MINE).status_code == 200


def test_a_manager_sees_and_ends_somebodys_sessions_after_the_password(client, manager, engineer) -> None:
    theirs = [Client(), Client()]
    for one in theirs:
        password(one, engineer.email)
    client.force_login(manager)
    page = reverse("people:person_sign_in", args=[engineer.pk])
    assert len(client.get(page).context["sessions"]) == 2
    where = reverse("people:sessions_end", args=[engineer.pk])
    asked = client.post(where)
    assert asked["Location"].startswith(AGAIN)
    assert [one.get(MINE).status_code for one in theirs] == [200, 200]
    with recorded() as told:
        client.post(asked["Location"], {"password": PASSWORD})
    assert told == [Told("sign-in.sessions-ended", engineer.pk, {}, {})]
    assert [one.get(MINE).status_code for one in theirs] == [302, 302]
    assert client.get(page).context["sessions"] == []


def test_a_manager_signs_everybody_out(client, manager, engineer) -> None:
    theirs = Client()
    theirs.force_login(engineer)
    client.force_login(manager)
    asked = client.post(reverse("people:everybody_out"))
    with recorded() as told:
        done = client.post(asked["Location"], {"password": PASSWORD})
    assert done["Location"] == "/accounts/login/"
    assert [(one.verb, one.facts) for one in told] == [("sign-in.everybody-out", {"people": 2})]
    assert [one.get(MINE).status_code for one in (client, theirs)] == [302, 302]
    assert Session.objects.count() == 0


def test_a_changed_password_ends_the_others_and_tells_its_person(client, office, django_capture_on_commit_callbacks):
    other = Client()
    for one in (client, other):
        password(one, office.email)
    fresh = {"oldpassword": PASSWORD, "password1": "kettle lantern otter", "password2": "kettle lantern otter"}
    wrong = client.post("/accounts/password/change/", fresh | {"oldpassword": "not the password"})
    assert "oldpassword" in wrong.context["form"].errors
    with recorded() as told, django_capture_on_commit_callbacks(execute=True):
        client.post("/accounts/password/change/", fresh)
    assert told == [Told("sign-in.means-changed", office.pk, {"what": "password changed"}, {})]
    assert (client.get(MINE).status_code, other.get(MINE).status_code) == (200, 302)
    assert [one.subject for one in mail.outbox] == ["Your password was changed"]


@pytest.mark.parametrize("count", [1, 3])
def test_statements_of_the_pages(client, office, django_assert_num_queries, count) -> None:
    for _ in range(count):
        password(Client(), office.email)
    password(client, office.email)
    client.get(MINE)
    with django_assert_num_queries(7):
        client.get(MINE)


def test_how_a_browser_is_called() -> None:
    """The texts are what these browsers send, shortened; from memory."""
    assert device_words("Mozilla/5.0 (Linux; Android 14) Chrome/140.0 Mobile Safari/537.36") == "Chrome on Android"
    assert (
        device_words("Mozilla/5.0 (iPhone; CPU iPhone OS 18_0) Version/18.0 Mobile Safari/604.1") == "Safari on iPhone"
    )
    assert device_words("Mozilla/5.0 (Windows NT 10.0) Chrome/140.0 Safari/537.36 Edg/140.0") == "Edge on Windows"
    assert device_words("curl/8") == "curl/8"
    assert device_words("") == "not told"


# --- links that set a password ----------------------------------------------------------------------------------------


def reset_link() -> str:
    body = mail.outbox[-1].body
    return body[body.index("/accounts/password/reset/key/") :].split()[0]


def link_opens(path: str) -> bool:
    return "token_fail" not in Client().get(path, follow=True).context


@pytest.mark.parametrize(("wait", "opens"), [(timedelta(minutes=59), True), (timedelta(minutes=61), False)])
def test_a_reset_link_lives_an_hour(office, wait, opens) -> None:
    with time_machine.travel(NOON, tick=False):
        Client().post("/accounts/password/reset/", {"email": office.email})
    with time_machine.travel(NOON + wait, tick=False):
        assert link_opens(reset_link()) is opens


@pytest.mark.parametrize(("wait", "opens"), [(timedelta(hours=71), True), (timedelta(hours=73), False)])
def test_an_invitation_lives_three_days(manager, wait, opens) -> None:
    fields = {"id": new_id(), "email": "una@example.com", "name": "Una Newcomer", "roles": ["office"]}
    with time_machine.travel(NOON, tick=False):
        _, path = operations.invite_person(**fields, by=manager, now=NOON)
    with time_machine.travel(NOON + wait, tick=False):
        assert link_opens(path) is opens


def test_a_reset_keeps_the_second_step_and_signs_nobody_in(client, manager) -> None:
    other = Client()
    other.force_login(manager)
    Client().post("/accounts/password/reset/", {"email": manager.email})
    form = client.get(path := reset_link(), follow=True)
    fresh = {"password1": "kettle lantern otter", "password2": "kettle lantern otter"}
    with recorded() as told:
        client.post(form.request["PATH_INFO"], fresh)
    assert told == [Told("sign-in.means-changed", manager.pk, {"what": "password set by a link sent by e-mail"}, {})]
    assert "_auth_user_id" not in client.session
    assert password(client, manager.email, fresh["password1"])["Location"] == "/accounts/2fa/authenticate/"
    assert other.get(MINE).status_code == 302
    assert not link_opens(path)


def test_an_altered_link_opens_nothing(office) -> None:
    Client().post("/accounts/password/reset/", {"email": office.email})
    path = reset_link()
    assert link_opens(path)
    for other in (path.replace("-", "-0", 1), path[:-3] + "a/", path.replace("/key/", "/key/0", 1)):
        assert not link_opens(other), other


# --- passwords --------------------------------------------------------------------------------------------------------


def refused(word: str, user=None) -> bool:
    try:
        validate_password(word, user)
    except ValidationError:
        return True
    return False


@pytest.mark.parametrize(
    ("word", "is_refused"),
    [
        ("fourteen chars", True),
        ("fifteen letters", False),
        ("correct horse battery staple", False),
        ("q" * 64 + " and so on: this is long, and every letter of it counts", False),
        ("lowercasewordsonlyisfine", False),  # nothing is asked of the kinds of letters
        ("passwordpassword", True),
        ("q1w2e3r4t5y6u7i8o9p0", True),
        ("monkeymonkeymonkey", True),
        ("12345678901234567890", True),
        ("Sunshine!!!!!!!!!!!!", True),
        ("Larkspur & Sons 2026", True),
        ("L4rkspur-electrical", True),
        ("olive deskworth 1", True),
        ("electrician-office-99", True),
        ("larkspur kettle otter lantern", False),
    ],
)
def test_which_passwords_are_refused(office, word, is_refused) -> None:
    describe_firm(name="Larkspur & Sons, Electrical", by=CLOCK, now=NOON)
    assert refused(word, office) is is_refused


def test_the_list_of_stolen_passwords_is_there() -> None:
    """Its first are those of every published list (such as the UK NCSC's of 2019, which begins 123456, 123456789, qwerty)."""
    read = known_passwords.__wrapped__()  # anew, not what this process read before
    assert len(read) >= 30_000
    assert {"123456", "123456789", "qwerty", "password", "liverpool", "superman"} <= read


def test_a_password_counts_to_its_last_letter_as_it_was_typed(client, office) -> None:
    word = "  Kettle lantern OTTER " + "x" * 60 + "ä"
    office.set_password(word)
    office.save()
    for wrong in (word.strip(), word.lower(), word[:-1]):
        password(client, office.email, wrong)
        assert "_auth_user_id" not in client.session
    password(client, office.email, word)
    assert "_auth_user_id" in client.session


def test_fields_of_passwords_help_whoever_keeps_them_for_people(client, office) -> None:
    form = client.get("/accounts/login/").content.decode()
    assert 'type="password"' in form
    assert 'autocomplete="current-password"' in form
    client.force_login(office)
    change = client.get("/accounts/password/change/").content.decode()
    assert change.count('autocomplete="new-password"') == 2
    assert "onpaste" not in form + change


def test_the_service_hashes_by_argon2id() -> None:
    from django.contrib.auth.hashers import Argon2PasswordHasher

    assert ours.PASSWORD_HASHERS == ["django.contrib.auth.hashers.Argon2PasswordHasher"]
    hashed = Argon2PasswordHasher().encode("a long password", "somesalt")
    assert hashed.startswith("argon2$argon2id$")


def test_nobody_adds_an_address_to_their_account_and_nobody_signs_up(client, office) -> None:
    client.force_login(office)
    client.post("/accounts/email/", {"action_add": "", "email": "other@example.com"})
    assert list(office.emailaddress_set.values_list("email", flat=True)) == [office.email]
    Client().post("/accounts/signup/", {"email": "new@example.com", "password1": "kettle lantern otter"})
    assert type(office).objects.count() == 1
