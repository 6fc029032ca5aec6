"""What the service tells when something is refused or breaks: the person a sentence, the log who and what, nobody more."""

import json
import logging
from collections.abc import Iterator

import pytest
from django.core.mail import EmailMessage
from django.test import Client

from jobsite.logs import JsonLines
from jobsite.messages.mail import one_line
from jobsite.people.operations import make_link
from jobsite.refused import Refused
from tests import factories as make
from tests.factories import NOON, make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def said(caplog) -> Iterator[list[dict]]:
    """Every line as production writes it, at the moment at which it does."""
    found: list[dict] = []
    handler = logging.Handler()
    handler.emit = lambda record: found.append(json.loads(JsonLines().format(record)))
    logging.getLogger().addHandler(handler)
    caplog.set_level(logging.DEBUG, "django")
    caplog.set_level(logging.INFO, "jobsite.requests")
    yield found
    logging.getLogger().removeHandler(handler)


def test_who_was_refused_what_stands_in_the_log(client, engineer, said):
    client.force_login(engineer)
    assert client.get("/people/").status_code == 403
    (line,) = [line for line in said if line["logger"] == "jobsite.requests"]
    assert (line["status"], line["route"], line["person"], line["method"]) == (403, "people/", str(engineer.pk), "GET")
    (warned,) = [line for line in said if line["logger"] == "django.request"]
    assert (warned["request"], warned["level"]) == (line["request"], "warning")


def test_a_forged_form_stands_in_the_log(office, said):
    client = Client(enforce_csrf_checks=True)
    client.force_login(office)
    client.post("/sites/new/", {"name": "x"})
    assert [line["message"] for line in said if line["logger"] == "django.security.csrf"] == [
        "Forbidden (CSRF cookie not set.): /sites/new/"
    ]


def test_what_a_form_or_the_guessing_of_links_was_refused_for_stands_in_the_log(client, office, said):
    """Each answer with its route, its status and who asked: 422 for what was typed, 404 and 429 for links tried."""
    from jobsite.people.opening import WRONG_LINKS

    for _ in range(WRONG_LINKS.each + 1):
        client.get(f"/s/{'A' * 43}/")
    client.force_login(office)
    client.post("/sites/new/", {})
    told = [(line["route"], line["status"]) for line in said if line["logger"] == "jobsite.requests"]
    assert told[-2:] == [("s/<str:token>/", 429), ("sites/new/", 422)]


@pytest.mark.parametrize("path", ["/sites/", "/api/v1/sites/"])
def test_an_unexpected_error_is_in_the_log_whole_and_in_the_answer_not_at_all(office, said, monkeypatch, path):
    client = Client(raise_request_exception=False)
    client.force_login(office)
    client.get("/sites/")  # Django keeps the columns' names with the table's: let it do so before that changes
    # A table that is not there stands in for whatever may break below the page.
    monkeypatch.setattr("jobsite.firm.models.Firm._meta.db_table", "not_there")
    answer = client.get(path)
    assert answer.status_code == 500
    assert "not_there" not in answer.content.decode()
    assert "Traceback" not in answer.content.decode()
    line = [line for line in said if line["level"] == "error"][-1]
    assert "not_there" in line["traceback"]
    assert line["request"] == answer["X-Request-Id"]


def test_no_password_and_no_session_stands_in_a_line(client, office, said):
    office.set_password("copper and brass 48")
    office.save()
    client.post("/accounts/login/", {"login": office.email, "password": "wrong and brass 49"})
    client.post("/accounts/login/", {"login": office.email, "password": "copper and brass 48"})
    session = client.cookies["sessionid"].value
    # The statements of the database with their values, which only a person at a terminal asks for (DEBUG), are no lines of ours.
    text = "\n".join(json.dumps(line) for line in said if line["logger"] != "django.db.backends")
    assert "jobsite.requests" in text
    assert [word for word in ("brass 4", session) if word in text] == []


def test_a_line_break_in_what_was_typed_makes_no_line_of_its_own(client, caplog):
    client.get("/nowhere%0a%7b%22level%22:%22error%22%7d/")
    for record in caplog.records:
        text = JsonLines().format(record)
        assert text.count("\n") == 0
        assert json.loads(text)["level"] == "warning"


def test_a_line_says_who_what_when_and_where_in_utc(client, office, said, settings):
    client.force_login(office)
    client.get("/sites/")
    (line,) = [line for line in said if line["logger"] == "jobsite.requests"]
    assert set(line) == {
        "at",
        "level",
        "logger",
        "message",
        "request",
        "method",
        "route",
        "status",
        "ms",
        "statements",
        "person",
    }
    assert line["at"].endswith("+00:00")
    assert settings.TIME_ZONE == "Europe/London"  # what people read; the log is in UTC all the same


def test_a_header_of_an_e_mail_takes_no_line_break():
    with pytest.raises(ValueError, match="newlines"):
        EmailMessage("About\r\nBcc: all@example.com", "x", to=["a@example.com"]).message()
    assert one_line("About\r\nBcc: all@example.com") == "About Bcc: all@example.com"


def test_of_a_refused_change_nothing_stays(site, office):
    """The whole operation is one transaction: what came before the refusal is undone too."""
    from jobsite.ledger.models import Entry
    from jobsite.ledger.operations import operation

    @operation
    def half(*, by, now) -> None:
        type(site).objects.filter(pk=site.pk).update(name="Half done")
        raise Refused("No.")

    before = Entry.objects.count()
    with pytest.raises(Refused):
        half(by=office, now=NOON)
    site.refresh_from_db()
    assert (site.name != "Half done", Entry.objects.count()) == (True, before)


def test_a_door_without_a_known_right_stays_shut(office):
    """An unknown right opens nothing: it is an error of ours, for everybody."""
    with pytest.raises(ValueError, match="open-sesame"):
        office.may("open-sesame")


def test_an_engineer_makes_no_private_link(site, engineer):
    with pytest.raises(Refused):
        make_link(
            id=make.anybody().pk,
            purpose="status",
            site=site.pk,
            sent_to="x",
            expires_at=NOON.replace(year=2999),
            by=engineer,
            now=NOON,
        )


def test_without_the_cache_pages_answer(client, office, manager, settings):
    """Redis is down: people sign in by the page, wrong passwords and links are counted on, and /ready/ says so."""
    from jobsite.people.opening import WRONG_LINKS

    settings.CACHES = {"default": {"BACKEND": "jobsite.counting.RedisOrTable", "LOCATION": "redis://127.0.0.1:1/0"}}
    answers = [client.get(f"/s/{'A' * 43}/").status_code for _ in range(WRONG_LINKS.each + 1)]
    assert answers == [404] * WRONG_LINKS.each + [429]
    client.post("/accounts/login/", {"login": manager.email, "password": make.PASSWORD})
    client.post("/accounts/2fa/authenticate/", {"code": make.code_of_app()})
    assert client.get("/people/").status_code == 200
    stranger = Client()
    for _ in range(5):
        stranger.post("/accounts/login/", {"login": office.email, "password": "wrong and brass 49"})
    stranger.post("/accounts/login/", {"login": office.email, "password": make.PASSWORD})
    assert "_auth_user_id" not in stranger.session
    ready = client.get("/ready/")
    assert (ready.status_code, ready.json()["cache"]) == (503, "down")


def test_the_demo_firm_goes_into_no_database_given_from_outside(monkeypatch, settings):
    """`make run` fills the embedded database only; no account with a known password comes to be in another."""
    from jobsite import serve

    ran: list[tuple[str, ...]] = []
    monkeypatch.setattr(serve, "manage", lambda *arguments: ran.append(arguments))
    monkeypatch.delenv("DEMO", raising=False)
    settings.EMBEDDED = False
    serve.load_demo_once()
    assert ran == []
    settings.EMBEDDED = True
    serve.load_demo_once()
    assert ran == [("load_demo", "--if-empty")]


def test_a_number_that_no_column_holds_is_refused_by_page_and_api(client, office, site):
    client.force_login(office)
    far = client.get("/api/v1/sites/?page_size=99999999999999999999")
    assert far.status_code in (200, 400)
    answer = client.post(
        "/api/v1/observations/report/",
        json.dumps({"site": 2**70}),
        content_type="application/json",
        headers={"Idempotency-Key": '"k2"'},
    )
    assert answer.status_code in (400, 404)


def test_the_child_process_of_a_document_is_bounded(monkeypatch):
    """Memory and processor time of the process that sets a document end somewhere."""
    from jobsite.documents import child

    asked: dict[int, tuple[int, int]] = {}
    monkeypatch.setattr(child.resource, "setrlimit", lambda what, most: asked.update({what: most}))
    child.limit(256)
    assert asked[child.resource.RLIMIT_AS] == (256 << 20, 256 << 20)
    assert asked[child.resource.RLIMIT_CPU] == (20, 20)


def test_what_a_customer_reads_is_only_what_is_listed(client, site):
    """The page behind a link has no cost, no note of the office's and no name of another customer."""
    make.make_remedial(make.make_observation(site, text="Burnt socket"), stage="approved")
    _, token = make.make_link(site, expires_at=NOON.replace(year=2999))
    body = client.get(f"/s/{token}/").content.decode()
    assert "Burnt socket" in body
    assert "csrfmiddlewaretoken" not in body


def test_a_person_has_no_right_that_is_not_of_their_roles(engineer, office, manager):
    assert [who.may("keep-people") for who in (engineer, office, manager)] == [False, False, True]
    assert [who.may("price") for who in (engineer, office, manager)] == [False, True, True]
    left = make_user("Lou Goneby", "manager")
    left.is_active = False
    assert left.may("see-work") is False
