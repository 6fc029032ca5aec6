"""The settings of a service open to others, each by its value; and what it refuses to start with."""

import pytest
from django.core.checks import Tags, run_checks
from django.core.exceptions import ImproperlyConfigured

from jobsite.secret import kept_secret

# Of each that ASVS.md names: what it must be.
HELD = {
    "DEBUG": False,
    "PASSWORD_HASHERS": ["django.contrib.auth.hashers.Argon2PasswordHasher"],
    "SESSION_COOKIE_SECURE": True,
    "CSRF_COOKIE_SECURE": True,
    "SESSION_COOKIE_NAME": "__Host-sessionid",
    "CSRF_COOKIE_NAME": "__Host-csrftoken",
    "MESSAGE_STORAGE": "jobsite.said.Said",
    "SESSION_COOKIE_SAMESITE": "Lax",
    "SESSION_COOKIE_HTTPONLY": True,
    "SECURE_SSL_REDIRECT": True,
    "SECURE_HSTS_SECONDS": 31_536_000,
    "SECURE_HSTS_INCLUDE_SUBDOMAINS": True,
    "SECURE_PROXY_SSL_HEADER": ("HTTP_X_FORWARDED_PROTO", "https"),
    "X_FRAME_OPTIONS": "DENY",
    "DATA_UPLOAD_MAX_MEMORY_SIZE": 5 * 1024 * 1024,
    "DATA_UPLOAD_MAX_NUMBER_FIELDS": 3000,
    "ACCOUNT_EMAIL_VERIFICATION": "none",
    "LOG_FORMAT": "json",
    "USE_TZ": True,
    "SECRET_KEY_FALLBACKS": [],
}


@pytest.mark.parametrize("name", HELD)
def test_in_production(production, name):
    assert production[name] == HELD[name]


@pytest.mark.parametrize("secret", ["", "a" * 60, "short-but-varied-4fQ9", "abcabcabc" * 9])
def test_a_weak_secret_is_refused(made, secret):
    with pytest.raises(ImproperlyConfigured, match="SECRET_KEY must be at least 50 characters of random text"):
        made(SECRET_KEY=secret)


def test_a_weak_token_for_the_numbers_is_refused(made):
    with pytest.raises(ImproperlyConfigured, match="METRICS_TOKEN must be at least 24 characters"):
        made(METRICS_TOKEN="let-me-in")


def test_the_secret_comes_from_the_environment_alone(made):
    assert made(SECRET_KEY="kM3vQ8zR1tX6yB0nL5wJ9cF2hG7sD4a-kM3vQ8zR1tX6yB0nL5wJ")["SECRET_KEY"].startswith("kM3vQ8")
    with pytest.raises(ImproperlyConfigured):
        made(SECRET_KEY=None)


def test_the_secret_of_one_computer_is_its_owners_alone(tmp_path):
    secret = kept_secret(tmp_path / "secret")
    assert (tmp_path / "secret").stat().st_mode & 0o777 == 0o600
    assert len(secret) >= 66
    assert kept_secret(tmp_path / "secret") == secret


def test_without_names_of_its_own_it_does_not_start(made):
    with pytest.raises(ImproperlyConfigured, match="ALLOWED_HOSTS must name the host names"):
        made(ALLOWED_HOSTS=None)


def test_without_a_proxy_nobody_says_that_it_was_https(made):
    assert made(TRUSTED_PROXIES="0")["SECURE_PROXY_SSL_HEADER"] is None


def test_no_tool_for_development_is_installed(production):
    named = " ".join([*production["INSTALLED_APPS"], *production["MIDDLEWARE"]])
    assert [word for word in ("debug", "silk", "admin", "extensions", "tests", "browsable") if word in named] == []
    assert production["REST_FRAMEWORK"]["DEFAULT_RENDERER_CLASSES"] == ["rest_framework.renderers.JSONRenderer"]


def test_tasks_and_sessions_hold_nothing_but_json(production):
    from jobsite.celery import app

    assert (app.conf.task_serializer, app.conf.accept_content, app.conf.result_serializer) == ("json", ["json"], "json")
    assert production.get("SESSION_SERIALIZER", "django.contrib.sessions.serializers.JSONSerializer").endswith(
        "JSONSerializer"
    )


def test_every_line_of_the_logs_goes_to_standard_error_alone(production):
    logging = production["LOGGING"]
    assert {name: handler["class"] for name, handler in logging["handlers"].items()} == {
        "stderr": "logging.StreamHandler"
    }
    assert logging["handlers"]["stderr"]["formatter"] == "json"


@pytest.mark.usefixtures("in_production")
def test_djangos_own_check_finds_nothing(settings, production):
    settings.SECRET_KEY = production["SECRET_KEY"]
    assert run_checks(tags=[Tags.security], include_deployment_checks=True) == []
