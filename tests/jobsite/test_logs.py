"""The token of a private link never reaches a log, whatever goes wrong."""

import logging
import sys

import pytest
from django.conf import settings

from jobsite.logs import HideTokens, without_tokens
from tests.factories import make_link

TOKEN = "q1W-e2_R3"


@pytest.mark.parametrize(
    ("line", "hidden"),
    [
        (f"Not Found: /s/{TOKEN}/", "Not Found: /s/…/"),
        (f"GET https://example.com/s/{TOKEN}?x=1 HTTP/1.1", "GET https://example.com/s/…?x=1 HTTP/1.1"),
        (f"Not Found: /q/{TOKEN}/confirm/", "Not Found: /q/…/confirm/"),
        (f"Not Found: /calendar/{TOKEN}.ics", "Not Found: /calendar/…"),
        (f"/s/{TOKEN}/photos/1/ and /s/{TOKEN}", "/s/…/photos/1/ and /s/…"),
        ("Not Found: /sites/", "Not Found: /sites/"),
        ("Not Found: /s/", "Not Found: /s/"),
    ],
)
def test_without_tokens(line, hidden):
    assert without_tokens(line) == hidden


def line_of(record: logging.LogRecord) -> str:
    assert HideTokens().filter(record)
    return logging.Formatter().format(record)


def test_arguments_and_traceback_are_cleaned_too():
    try:
        raise ValueError(f"no page at /s/{TOKEN}/")
    except ValueError:
        raised = sys.exc_info()
    line = line_of(logging.LogRecord("django.request", 40, "f", 1, "%s: %s", ("Error", f"/s/{TOKEN}/"), raised))
    assert line.startswith("Error: /s/…/\nTraceback")
    assert line.endswith("ValueError: no page at /s/…/")


@pytest.mark.django_db
def test_no_answer_behind_a_link_writes_its_token(client, site, caplog, monkeypatch):
    """Wrong link, wrong method, and a failure in the page: what the settings' handlers would write of each."""
    _, token = make_link(site)
    client.get(f"/s/{token}x/")
    client.post(f"/s/{token}/")
    client.raise_request_exception = False
    # A table that is not there stands in for whatever may break below the page.
    monkeypatch.setattr("jobsite.firm.models.Firm._meta.db_table", "not_there")
    assert client.get(f"/s/{token}/").status_code == 500
    assert [r.levelname for r in caplog.records] == ["WARNING", "WARNING", "ERROR"]
    assert all("/s/…" in line_of(record) for record in caplog.records)
    assert token not in caplog.text


def test_every_handler_of_the_settings_has_the_filter():
    handlers = settings.LOGGING["handlers"]
    assert handlers
    assert all("hide_tokens" in handler["filters"] for handler in handlers.values())
    assert settings.LOGGING["loggers"]["django"]["handlers"] == []
    named = [h for of in ("", "django", "django.request", "django.server") for h in logging.getLogger(of).handlers]
    ours = [h for h in named if type(h) is logging.StreamHandler]
    assert ours
    assert all(any(isinstance(f, HideTokens) for f in h.filters) for h in ours)
