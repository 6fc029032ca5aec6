"""Requests of a stranger's making: forged, led astray, guessed. Over every address of the service."""

import os
import re
from datetime import timedelta

import pytest
import time_machine
from django.core import signing
from django.db import connection
from django.test import Client
from django.urls import reverse

from jobsite.ledger.models import Entry
from jobsite.people.links import new_token, token_hash
from tests import factories as make
from tests.factories import NOON, make_user
from tests.faults.world import all_routes, everything
from tests.test_routes import ALLAUTH, BY_LINK, NOBODY, OURS, TABLE

pytestmark = pytest.mark.django_db


@pytest.fixture
def boss(db):
    return make_user("Bossy Boots", "office", "engineer", "manager")


@pytest.fixture
def routes(boss):
    from jobsite.premises.models import Site

    with time_machine.travel(NOON, tick=False):
        keys = everything(boss)
        return all_routes(keys, make.make_link(Site.objects.get())[1])


# --- forged -----------------------------------------------------------------------------------------------------------


def test_no_form_of_another_site_is_taken(boss, routes):
    """A browser brings our cookie along, and no token. Behind a private link there is no cookie to bring."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(boss)
    link = re.compile("/(?:[spqvt]|copy|stop|calendar)/")
    open_to_forged, before = {}, Entry.objects.count()
    for route in routes:
        if link.match(route.path):
            continue
        answer = client.post(route.path, {"id": "x"})
        if answer.status_code not in (403, 405):
            open_to_forged[route.where] = answer.status_code
    assert open_to_forged == {"check/": 422}  # anybody's file, looked at and not kept
    assert Entry.objects.count() == before


def test_what_needs_no_token_is_what_no_cookie_opens():
    exempt = {route.name for route in OURS if _exempt(route.name)}
    by_link = {name for name, need in TABLE.items() if need == BY_LINK}
    assert {name for name in exempt if not name.startswith("api:")} <= by_link | {"status:check"}


def _exempt(name: str) -> bool:
    from django.urls import get_resolver

    def walk(resolver, within=""):
        for entry in resolver.url_patterns:
            if hasattr(entry, "url_patterns"):
                yield from walk(entry, f"{within}{entry.namespace}:" if entry.namespace else within)
            else:
                yield f"{within}{entry.name}", entry.callback

    return any(getattr(view, "csrf_exempt", False) for found, view in walk(get_resolver()) if found == name)


def test_a_plain_form_is_no_call_of_the_api(office, site, client):
    """What a page of another site could send without asking first (a form) the API does not read."""
    client.force_login(office)
    before = Entry.objects.count()
    where, kinds = f"/api/v1/sites/{site.pk}/report-defect/", ("application/x-www-form-urlencoded", "text/plain")
    for kind in kinds:
        answer = client.post(where, b"{}", content_type=kind, headers={"Idempotency-Key": '"k1"'})
        assert (answer.status_code, answer["Content-Type"]) == (415, "application/problem+json")
    assert Entry.objects.count() == before


# Made on asking and kept: each takes a second, and its entry says no more than that it was made.
DOCUMENTS = re.compile(
    r"document|pdf|record|archive|label|chart|letter|cop|export|sheet|assessor|year|proof|summary|paper|certificate|access"
)


def test_looking_changes_nothing(boss, routes):
    """GET on an address leaves no entry in the ledger; every seventh here, all of them with HOSTILE=all."""
    client = Client(raise_request_exception=False)
    client.force_login(boss)
    every = 1 if os.environ.get("HOSTILE") == "all" else 7
    looked_at = [route for route in routes if not DOCUMENTS.search(route.where)][::every]
    with time_machine.travel(NOON, tick=False):
        before = Entry.objects.count()
        for route in looked_at:
            answer = client.get(route.path)
            if answer.streaming:
                answer.close()
            assert Entry.objects.count() == before, route.where
    assert len(looked_at) > 25


@pytest.mark.parametrize("method", ["get", "head", "options"])
def test_no_act_is_done_by_looking(client, boss, site, method):
    """A button's address is for POST alone."""
    client.force_login(boss)
    row = make.make_remedial(make.make_observation(site), stage="approved")
    before = Entry.objects.count()
    answer = getattr(client, method)(reverse("works:cancel", args=[row.pk]))
    getattr(client, method)(reverse("premises:site_archive", args=[site.pk]))
    getattr(client, method)(reverse("desk:site", args=[site.pk]))
    site.refresh_from_db()
    row.refresh_from_db()
    assert (row.stage, site.archived_at, Entry.objects.count()) == ("approved", None, before)
    assert answer.status_code in (200, 405)


# --- led astray -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "elsewhere",
    [
        "https://elsewhere.example.net/",
        "//elsewhere.example.net/",
        "/\\elsewhere.example.net",
        "javascript:alert(1)",
        "https:elsewhere.example.net",
    ],
)
def test_nobody_is_led_elsewhere_by_signing_in(client, office, elsewhere):
    office.set_password("copper and brass 48")
    office.save()
    answer = client.post(
        f"/accounts/login/?next={elsewhere}",
        {"login": office.email, "password": "copper and brass 48", "next": elsewhere},
    )
    assert (answer.status_code, answer["Location"]) == (302, "/")


@pytest.mark.parametrize(
    "elsewhere",
    ["https://elsewhere.example.net/", "//elsewhere.example.net/", "/\\elsewhere.example.net", "javascript:alert(1)"],
)
def test_nobody_is_led_elsewhere_by_a_page(rf, elsewhere):
    from jobsite.pages import next_address

    request = rf.get("/sites/", {"next": elsewhere})
    assert next_address(request, "/due/") == "/due/"
    assert next_address(rf.get("/sites/", {"next": "/sites/?q=1"}), "/due/") == "/sites/?q=1"


# --- guessed ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "path",
    [
        "/.git/config", "/.env", "/var/secret", "/files/", "/media/", "/static/", "/static/../jobsite/settings.py",
        "/jobsite/settings.py", "/admin/", "/backups/", "/var/files/", "/server-status", "/api/", "/api/v1/",
        "/manage.py", "/static/%2e%2e/manage.py", "/docs/", "/swagger/", "/api/schema/",
    ],
)  # fmt: skip
def test_nothing_lies_at_an_address_that_one_guesses(client, boss, path, settings):
    client.force_login(boss)
    answer = client.get(path.replace("/static/", settings.STATIC_URL), follow=True)
    assert answer.status_code == 404
    assert "SECRET_KEY" not in answer.content.decode()


def test_every_row_has_a_key_that_nobody_counts_up():
    """No address of the office or of a customer names a row by a number that the next row follows."""
    counted = {route.name for route in OURS if "<int:" in route.pattern and "<int:year>" not in route.pattern}
    assert counted == {"people:session_end"}, "which is looked for among one's own sessions only"


def test_a_token_is_256_bits_by_the_system_and_kept_as_a_hash():
    tokens = {new_token() for _ in range(200)}
    assert len(tokens) == 200
    assert {len(token) for token in tokens} == {43}
    assert len(token_hash(tokens.pop())) == 32


def test_the_description_of_the_api_and_the_numbers_are_not_for_everybody(client):
    assert client.get("/api/v1/schema/").status_code in (401, 403)
    assert client.get("/metrics/", REMOTE_ADDR="192.0.2.1").content == b"The numbers are not for everybody.\n"
    assert client.get("/metrics/", headers={"X-Forwarded-For": "127.0.0.1"}).status_code == 403
    assert client.get("/service/").status_code == 302


def test_only_these_are_open_to_all():
    """Whoever opens another to all writes it down here too."""
    assert {name for name, need in TABLE.items() if need == NOBODY} == {
        "status:privacy", "due:health", "running:ready", "running:metrics", "status:check", "phone:worker",
        "phone:manifest", "phone:here", "phone:nothing",
    }  # fmt: skip
    assert ALLAUTH[0] == "account_"


# --- signed -----------------------------------------------------------------------------------------------------------


def test_a_token_of_one_purpose_opens_nothing_of_another(site):
    from remedials.due.operations.stopping import reminder_of, token_of

    reminder = make.make_reminder(site)
    token = token_of(reminder)
    assert reminder_of(token) == reminder
    assert reminder_of(signing.Signer(sep=".").sign(reminder.pk.hex)) is None
    assert reminder_of(signing.Signer(sep=".", salt="people.tokens").sign(reminder.pk.hex)) is None
    assert reminder_of(token[:-1] + ("A" if token[-1] != "A" else "B")) is None
    assert reminder_of(reminder.pk.hex) is None


def test_a_token_signed_with_another_secret_is_none(site, settings):
    from remedials.due.operations.stopping import reminder_of, token_of

    reminder = make.make_reminder(site)
    settings.SECRET_KEY, mine = "x" * 60, settings.SECRET_KEY
    foreign = token_of(reminder)
    settings.SECRET_KEY = mine
    assert reminder_of(foreign) is None


def test_a_link_to_choose_a_password_ends(office, settings):
    from allauth.account.forms import default_token_generator

    with time_machine.travel(NOON, tick=False):
        key = default_token_generator.make_token(office)
        assert default_token_generator.check_token(office, key)
    with time_machine.travel(NOON + timedelta(seconds=settings.PASSWORD_RESET_TIMEOUT + 2), tick=False):
        assert not default_token_generator.check_token(office, key)
    with time_machine.travel(NOON, tick=False):
        office.set_password("another one and longer")
        assert not default_token_generator.check_token(office, key)


def test_the_private_link_is_looked_up_by_its_purpose(site):
    from jobsite.people.links import find_link

    _, token = make.make_link(site, expires_at=NOON + timedelta(days=9))
    assert find_link(token, purpose="status", now=NOON) is not None
    assert [
        find_link(token, purpose=other, now=NOON) for other in ("quote", "visit", "times", "portfolio", "copy")
    ] == [None] * 5


# --- the database -----------------------------------------------------------------------------------------------------


def test_words_from_outside_are_no_sql(client, office, site):
    """The proof that a search binds its words: a statement is only a word in it."""
    client.force_login(office)
    for words in (
        "' OR 1=1 --",
        "'; DROP TABLE premises_site; --",
        "%' UNION SELECT token_hash FROM people_privatelink --",
    ):
        for path in ("/find/", "/sites/", "/remedials/", "/customers/"):
            assert client.get(path, {"q": words}).status_code == 200
            assert site.name not in client.get(path, {"q": words}).content.decode()
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM premises_site")
        assert cursor.fetchone() == (1,)


def test_words_that_are_a_pattern_are_only_words(client, office, site):
    client.force_login(office)
    for words in (".*", "(a+)+$", "[", "%", "_", "\\"):
        answer = client.get("/sites/", {"q": words})
        assert answer.status_code == 200
        assert site.name not in answer.content.decode(), words


def test_of_a_name_that_comes_twice_the_last_counts(client, office, site):
    """On purpose: `QueryDict.get` gives the last. Lists that take several use getlist and say so."""
    client.force_login(office)
    other = make.make_site("Quarry Row")
    page = client.get(f"/sites/?q=nothing-like-it&q={other.name.split()[0]}").content.decode()
    assert other.name in page
    assert reverse("desk:site", args=[site.pk]) not in page


# --- shown ------------------------------------------------------------------------------------------------------------

HOSTILE = "<script>alert(1)</script> \"'&amp; <img src=x onerror=alert(1)>"


def test_markup_that_was_typed_is_shown_as_text(client, office):
    """Kept as it was typed, escaped once where it is shown: in text, in an attribute, in a title."""
    site = make.make_site(HOSTILE)
    site.refresh_from_db()
    assert site.name == HOSTILE
    client.force_login(office)
    for path in ("/sites/", f"/sites/{site.pk}/", "/sites/?q=script"):
        body = client.get(path).content.decode()
        assert "<script>alert" not in body
        assert "<img src=x" not in body
        assert "&lt;script&gt;alert(1)&lt;/script&gt; &quot;&#x27;&amp;amp;" in body


def test_what_was_decoded_once_is_not_decoded_again(client, office):
    client.force_login(office)
    body = client.get("/find/?q=%2541%253Cb%253E").content.decode()
    assert 'value="%41%3Cb%3E"' in body


def test_a_json_answer_is_no_page(client, office):
    make.make_site(HOSTILE)
    client.force_login(office)
    answer = client.get("/api/v1/sites/")
    assert answer["Content-Type"] == "application/json"
    assert answer.json()["results"][0]["name"] == HOSTILE
