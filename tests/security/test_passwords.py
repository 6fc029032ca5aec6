"""What passwords and sessions are by the libraries' own doing, kept so. Second steps, tokens and the rest of signing in have
their tests where they are built.
"""

import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.contrib.auth.password_validation import password_changed, validate_password
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError

from tests.factories import make_user

pytestmark = pytest.mark.django_db
GOOD = "copper and brass 48"


@pytest.fixture
def person(db):
    person = make_user("Olive Deskworth", "office")
    person.set_password(GOOD)
    person.save()
    return person


def sign_in(client, person, password=GOOD):
    return client.post("/accounts/login/", {"login": person.email, "password": password})


@pytest.mark.parametrize("password", ["short", "1234567", "abcdefgh", "password123", "qwertyuiop", "iloveyou123"])
def test_what_is_short_common_or_ones_own_name_is_refused(person, password):
    with pytest.raises(ValidationError):
        validate_password(password, person)


@pytest.mark.parametrize(
    "password",
    ["all lower case words of no kind", "ÄÖÜ ßñ 漢字 и кириллица тут", "x1 " * 60, "   leading and trailing   "],
)
def test_any_long_one_is_taken_whatever_it_is_made_of(person, password):
    validate_password(password, person)
    password_changed(password, person)


def test_every_character_counts_to_the_last(person, client):
    long = "a long one with words and more words " * 3
    person.set_password(f"{long}x")
    person.save()
    assert sign_in(client, person, f"{long}y").status_code != 302
    assert sign_in(client, person, long).status_code != 302
    assert sign_in(client, person, f"{long}X").status_code != 302
    assert sign_in(client, person, f"{long}x").status_code == 302


def test_the_field_may_be_filled_by_a_manager_of_passwords(client):
    page = client.get("/accounts/login/").content.decode()
    field = page[page.index('type="password"') - 200 : page.index('type="password"') + 200]
    assert 'autocomplete="current-password"' in field
    assert "onpaste" not in page
    assert 'autocomplete="off"' not in field


def test_a_new_password_asks_for_the_present_one(client, person):
    client.force_login(person)
    another = "quite another one of 2026"
    client.post("/accounts/password/change/", {"oldpassword": "wrong", "password1": another, "password2": another})
    person.refresh_from_db()
    assert person.check_password(GOOD)
    client.post("/accounts/password/change/", {"oldpassword": GOOD, "password1": another, "password2": another})
    person.refresh_from_db()
    assert person.check_password(another)


def test_kept_passwords_are_argon2id():
    kept = Argon2PasswordHasher().encode(GOOD, Argon2PasswordHasher().salt())
    assert kept.startswith("argon2$argon2id$v=19$m=102400,t=2,p=8$")


def test_a_session_is_what_the_server_knows_and_nothing_else(client, person):
    assert sign_in(client, person).status_code == 302
    assert client.get("/sites/").status_code == 200
    for forged in ("0" * 32, client.cookies["sessionid"].value[:-1] + "!", ""):
        client.cookies["sessionid"], mine = forged, client.cookies["sessionid"].value
        assert client.get("/sites/").status_code == 302
        client.cookies["sessionid"] = mine
    assert client.get("/sites/").status_code == 200
    Session.objects.all().delete()
    assert client.get("/sites/").status_code == 302


def test_no_account_can_be_made_by_oneself(client):
    before = list(type(make_user("One", "office")).objects.values_list("email", flat=True))
    words = {"email": "new@example.com", "password1": GOOD, "password2": GOOD}
    page = client.post("/accounts/signup/", words).content.decode()
    assert list(type(make_user("Two", "office")).objects.exclude(name="Two").values_list("email", flat=True)) == before
    assert "security question" not in page.lower()


def test_every_page_offers_to_sign_out(client, person):
    client.force_login(person)
    for path in ("/", "/sites/", "/remedials/", "/customers/", "/accounts/password/change/"):
        assert 'action="/accounts/logout/"' in client.get(path).content.decode(), path
