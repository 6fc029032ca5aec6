"""What every answer says of itself, of whatever kind it is, as production answers; nothing looser than the policy below."""

import pytest
from django.test import Client

from jobsite.wsgi import application
from tests.factories import NOON, make_link, make_user
from tests.faults.test_hostile import RequestFactory
from tests.security.conftest import HOST

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_production")]

POLICY = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' blob: data:",
    "font-src": "'self'",
    "connect-src": "'self'",
    "form-action": "'self'",
    "base-uri": "'none'",
    "object-src": "'none'",
    "frame-ancestors": "'none'",
    "manifest-src": "'self'",
    "worker-src": "'self'",
}
ALWAYS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Strict-Transport-Security": "max-age=31536000; includeSubDomains; preload",
    "X-Robots-Tag": "noindex, nofollow, noarchive",
}
BY_HTTPS = {"HTTP_HOST": HOST, "HTTP_X_FORWARDED_PROTO": "https"}


def policy_of(answer) -> dict[str, str]:
    parts = [part.split(maxsplit=1) for part in answer["Content-Security-Policy"].split(";") if part.strip()]
    return {part[0]: part[1] if len(part) > 1 else "" for part in parts}


@pytest.fixture
def person(db):
    return make_user("Olive Deskworth", "office", "engineer")


@pytest.fixture
def browser(person) -> Client:
    client = Client(raise_request_exception=False, **BY_HTTPS)
    client.force_login(person)
    return client


def an_address(kind: str, site, settings, monkeypatch) -> str:
    if kind == "error":
        # A table that is not there stands in for whatever may break below the page.
        monkeypatch.setattr("jobsite.firm.models.Firm._meta.db_table", "not_there")
    return {
        "page": "/",
        "error": "/sites/",
        "sign-in": "/accounts/login/",
        "API": "/api/v1/sites/",
        "no API": "/api/v1/nothing/",
        "script": f"{settings.STATIC_URL}jobsite/sending.js",
        "no script": f"{settings.STATIC_URL}jobsite/not-there.js",
        "worker": "/worker.js",
        "file": "/intake/templates/boards.xlsx",
        "list as a file": "/sites/?as=csv",
        "not there": "/not-there/",
        "no slash": "/sites",
        "unreadable": "/sites/?q=%00",
        "health": "/health/",
        "private": f"/s/{make_link(site, expires_at=NOON.replace(year=2999))[1]}/",
        "no private": f"/s/{'A' * 43}/",
    }[kind]


KINDS = (
    "page", "error", "sign-in", "API", "no API", "script", "no script", "worker", "file", "list as a file", "not there",
    "no slash", "unreadable", "health", "private", "no private",
)  # fmt: skip
STATUS = {
    "error": 500, "no API": 404, "no script": 404, "not there": 404, "no slash": 301, "unreadable": 400, "health": 503,
    "no private": 404, "sign-in": 302,
}  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_of_every_kind_of_answer(browser, site, settings, monkeypatch, kind):
    browser.get("/sites/")  # Django keeps the columns' names with the table's: let it do so before that changes
    answer = browser.get(an_address(kind, site, settings, monkeypatch))
    assert answer.status_code == STATUS.get(kind, 200)
    if answer.streaming:
        b"".join(answer)
        answer.close()
    assert policy_of(answer) == POLICY
    assert {name: answer.get(name) for name in ALWAYS} == ALWAYS
    assert answer["Referrer-Policy"] == ("no-referrer" if "private" in kind else "same-origin")
    assert [name for name in answer.headers if name.startswith("Access-Control")] == []
    if answer.status_code not in (301, 302) and answer["Content-Type"].startswith(("text/", "application/javascript")):
        assert "charset=utf-8" in answer["Content-Type"].lower().replace(chr(34), "")


@pytest.mark.parametrize("method", ["TRACE", "BREW", "CONNECT"])
def test_a_method_that_nobody_uses_here_is_turned_away(browser, method):
    answer = browser.generic(method, "/sites/")
    assert (answer.status_code, policy_of(answer)) == (405, POLICY)
    assert answer["Allow"] == "GET, HEAD, POST, PUT, PATCH, DELETE, OPTIONS"
    assert answer.content == b"Not used here."


def test_a_forged_form_is_answered_under_the_same_policy(person):
    client = Client(enforce_csrf_checks=True, **BY_HTTPS)
    client.force_login(person)
    answer = client.post("/sites/new/", {}, headers={"Referer": f"https://{HOST}/"})
    assert (answer.status_code, policy_of(answer)) == (403, POLICY)
    assert {name: answer.get(name) for name in ALWAYS} == ALWAYS


def test_what_the_web_server_turns_away_says_it_too():
    environ = RequestFactory().generic("GET", "/health/?q=x", content_type="text/plain").environ
    told: dict[str, str] = {}
    begun = lambda status, headers: told.update(headers) or told.update(status=status)  # noqa: E731
    b"".join(application(environ | {"CONTENT_TYPE": "text/plain; charset=zlib"}, begun))
    assert told == {
        "status": "415 Unsupported Media Type",
        "Content-Type": "text/plain; charset=utf-8",
        "Content-Security-Policy": "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "no-referrer",
        "Cache-Control": "no-store",
        "X-Robots-Tag": "noindex, nofollow, noarchive",
        "Strict-Transport-Security": "max-age=31536000; includeSubDomains",
    }


# --- http and https ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/sites/", "/accounts/login/", "/s/" + "A" * 43 + "/"])
def test_people_are_led_to_https(client, path):
    answer = client.get(path, HTTP_HOST=HOST)
    assert (answer.status_code, answer["Location"]) == (301, f"https://{HOST}{path}")
    assert policy_of(answer) == POLICY
    assert answer.get("Cache-Control") == ("no-store" if path.startswith("/s/") else None)


@pytest.mark.parametrize("method", ["get", "post"])
def test_a_program_is_not_led_to_https_but_refused(client, method):
    answer = getattr(client, method)("/api/v1/sites/", HTTP_HOST=HOST)
    assert (answer.status_code, answer["Content-Type"]) == (403, "application/problem+json")
    assert answer.json() == {
        "type": "about:blank", "title": "Not allowed", "status": 403, "detail": "Use https; end this token.",
    }  # fmt: skip


def test_nobody_says_https_without_a_proxy_of_ours(client, settings):
    settings.SECURE_PROXY_SSL_HEADER = None
    assert client.get("/sites/", **BY_HTTPS).status_code == 301


def test_another_name_than_ours_is_no_address(client):
    answer = client.get("/accounts/login/", HTTP_HOST="elsewhere.example.net", HTTP_X_FORWARDED_PROTO="https")
    assert answer.status_code == 400
    assert "elsewhere" not in answer.content.decode()


def test_another_site_is_allowed_nothing(browser):
    """No address answers to a question of another origin (CORS): neither asked beforehand nor with credentials."""
    for path in ("/api/v1/sites/", "/sites/"):
        for method in ("get", "options"):
            answer = getattr(browser, method)(path, headers={"Origin": "https://elsewhere.example.net"})
            assert [name for name in answer.headers if name.startswith("Access-Control")] == []


# --- cookies ----------------------------------------------------------------------------------------------------------


def signed_in(person) -> Client:
    person.set_password("copper and brass 48")
    person.save()
    client = Client(**BY_HTTPS)
    client.get("/accounts/login/")
    client.answer = client.post("/accounts/login/", {"login": person.email, "password": "copper and brass 48"})
    return client


@pytest.mark.parametrize(
    ("name", "script_may_read"), [("__Host-sessionid", False), ("__Host-csrftoken", True), ("__Host-messages", False)]
)
def test_cookies_are_of_this_host_by_https_alone(person, rf, name, script_may_read):
    client = signed_in(person)
    if name == "__Host-messages":
        from django.contrib.messages import constants
        from django.contrib.messages.storage import default_storage
        from django.http import HttpResponse

        request, answer = rf.get("/"), HttpResponse()
        request.session = client.session
        kept = default_storage(request)
        kept.add(constants.INFO, "Saved.")
        kept.update(answer)
        kept_names = [name.removeprefix("__Host-") for name in answer.cookies]
        assert kept_names == ["messages"]
        cookie = next(iter(answer.cookies.values()))
    else:
        cookie = client.cookies[name]
        assert cookie.key == name
    assert (cookie["secure"], cookie["path"], cookie["domain"], cookie["samesite"]) == (True, "/", "", "Lax")
    assert bool(cookie["httponly"]) is not script_may_read


def test_no_other_cookie_is_set(person):
    assert set(signed_in(person).cookies) <= {
        "__Host-sessionid",
        "__Host-csrftoken",
        "__Host-messages",
        "__Host-device",
    }


def test_the_session_is_another_one_after_signing_in_and_gone_after_signing_out(person):
    from django.contrib.sessions.models import Session

    person.set_password("copper and brass 48")
    person.save()
    client = Client(**BY_HTTPS)
    client.get("/accounts/login/?next=/sites/")
    session = client.session
    session["before"] = "1"
    session.save()
    client.cookies["__Host-sessionid"] = before = session.session_key
    client.post("/accounts/login/", {"login": person.email, "password": "copper and brass 48"})
    after = client.cookies["__Host-sessionid"].value
    assert after != before
    assert not Session.objects.filter(pk=before).exists()
    assert len(after) == 32  # letters and digits: 165 bits
    client.post("/accounts/logout/")
    assert not Session.objects.filter(pk=after).exists()
    client.cookies["__Host-sessionid"] = after
    assert client.get("/sites/").status_code == 302


# --- kept nowhere -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/", "/sites/", "/api/v1/sites/", "/customers/", "/sites/?as=csv", "/not-there/"])
def test_what_somebody_signed_in_reads_no_cache_keeps(browser, path):
    assert "no-store" in browser.get(path).get("Cache-Control", "nothing") or path == "/not-there/"


def test_what_a_phone_asks_to_keep_is_its_persons_alone(browser):
    assert browser.get("/sites/", headers={"X-Pack": "1"})["Cache-Control"] == "private, no-cache"


def test_whoever_signs_out_is_told_to_forget_what_was_kept(browser):
    """Not what waits to be sent: that stays for its person (`jobsite/static/jobsite/outbox.js`)."""
    answer = browser.post("/accounts/logout/")
    assert answer.status_code == 302
    assert answer["Clear-Site-Data"] == '"cache"'
