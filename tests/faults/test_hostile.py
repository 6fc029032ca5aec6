"""Whatever a request holds, on whatever address, the answer is never a 500.

Signed in as somebody who may do everything, with a row behind every address, so that the attack gets past the door;
each request is undone. An attack stands in the path, the query, the form, JSON, a cookie, a header, a file or its name.
"""

import json
import logging
import os
import re
from collections.abc import Iterable, Iterator
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import quote
from uuid import uuid4

import pytest
import time_machine
from django.conf import settings
from django.core.handlers.wsgi import WSGIRequest
from django.core.signals import request_started
from django.db import close_old_connections, transaction
from django.http import QueryDict
from django.test import Client, RequestFactory
from django.utils.functional import cached_property

from jobsite.wsgi import application
from tests.factories import NOON, make_link, make_user
from tests.faults.world import ROUTE_PART, Route, all_routes, everything

pytestmark = pytest.mark.django_db
TOP = Path(__file__).resolve().parents[2]

# As they stand in an address or a form: percent-encoded. %ED%A0%80 is half a surrogate pair, which UTF-8 must not hold.
TEXTS = [
    "%00", "%ED%A0%80", "%FF", "", "-1", str(2**63), str(10**40), "NaN", "1e999", "%D9%A3", "9999-99-99", "[]%22%3E",
    "x" * 20_000,
]  # fmt: skip
NOT_JSON = [
    b"\0",
    b"\xff\xfe",
    b"\xed\xa0\x80",
    b"{",
    b"[" * 50_000,
    b'{"a": NaN}',
    b"9" * 5000,
    b"",
    b"\xef\xbb\xbf{}",
]
VALUES = [
    None,
    True,
    -1,
    2**31,
    2**63,
    10**40,
    1.5,
    1e308,
    "",
    "\0",
    "\ud800",
    "x" * 20_000,
    [],
    [None],
    {},
    {"a": []},
    [[[]]],
]


# --- the ground -------------------------------------------------------------------------------------------------------


@pytest.fixture(autouse=True)
def quiet() -> Iterator[None]:
    """Thousands of lines about refused requests would bury the one that matters."""
    logging.disable(logging.CRITICAL)
    yield
    logging.disable(logging.NOTSET)


@pytest.fixture(autouse=True)
def at_noon() -> Iterator[None]:
    with time_machine.travel(NOON):
        yield


@pytest.fixture(scope="module")
def ground(django_db_setup, django_db_blocker) -> Iterator[tuple[Any, list[Route]]]:
    """Somebody who may do everything and a row behind every address, made once: whatever is sent is undone."""
    with django_db_blocker.unblock(), transaction.atomic():
        with time_machine.travel(NOON):
            boss = make_user("Bossy Boots", "office", "engineer", "manager")
            keys = everything(boss)
            from jobsite.premises.models import Site

            routes = all_routes(keys, make_link(Site.objects.get())[1])
        yield boss, routes
        transaction.set_rollback(True)


@pytest.fixture
def boss(ground):
    return ground[0]


@pytest.fixture
def routes(ground) -> list[Route]:
    return ground[1]


class Attacker:
    """Sends requests of which nothing stays, and remembers those that broke the service."""

    def __init__(self, person) -> None:
        self.client = Client(raise_request_exception=False)
        if person:
            self.client.force_login(person)
        self.cookie = "; ".join(f"{name}={morsel.value}" for name, morsel in self.client.cookies.items())
        self.broken: dict[str, str] = {}
        self.answers: dict[int, int] = {}

    def send(self, method: str, path: str, data: bytes | str = b"", what: str = "", **more):
        self.client.cookies.clear()
        more.setdefault("HTTP_COOKIE", self.cookie)
        with transaction.atomic():
            answer = self.client.generic(method, path, data, **more)
            transaction.set_rollback(True)
        if answer.streaming:
            answer.getvalue()  # to its end, which closes what it reads from
        self.answers[answer.status_code] = self.answers.get(answer.status_code, 0) + 1
        if answer.status_code >= 500:
            error = answer.exc_info[1] if getattr(answer, "exc_info", None) else answer.status_code
            self.broken.setdefault(f"{method} {path[:90]}", f"{what[:60]} {error!r:.200}")
        return answer

    def form(self, path: str, fields: Iterable[tuple[str, str]], what: str = ""):
        """`fields` as a browser's form sends them, the values percent-encoded already."""
        body = "&".join(f"{quote(name)}={value}" for name, value in fields)
        return self.send("POST", path, body, what, content_type="application/x-www-form-urlencoded")


@pytest.fixture
def attacker(boss) -> Iterator[Attacker]:
    attacker = Attacker(boss)
    yield attacker
    assert attacker.broken == {}


class Fields(HTMLParser):
    """The fields of the forms on a page, each with a value that the page itself offers, "" where it offers none."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: dict[str, str] = {}
        self.choosing = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        name = given.get("name", "")
        if tag == "select":
            self.choosing = name
        if tag == "option" and self.choosing:
            self.found[self.choosing] = given.get("value", "")
        elif tag in ("input", "textarea", "select") and name:
            self.found.setdefault(name, given.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self.choosing = ""


@cache
def names_read(kind: str, folder: str) -> tuple[str, ...]:
    """The names that the views of a folder read straight from the query or the form, as their source shows it."""
    read = re.compile(rf"\.{kind}(?:\.get|\.getlist|\.pop)?[\[(]\s*[\"'](\w+)")
    return tuple(sorted({name for path in (TOP / folder).rglob("*.py") for name in read.findall(path.read_text())}))


EVERYWHERE = ("q", "after", "as", "page", "next", "cursor", "page_size", "open", "code", "site", "stage", "current")


def query_names(route: Route) -> tuple[str, ...]:
    """The names that the view of `route`, or what it stands on, may read from the query."""
    floor = "/".join(route.view.__module__.split(".")[:2])
    folder = floor if (TOP / floor).is_dir() else floor.split("/")[0]
    own = names_read("GET", folder) if (TOP / folder).is_dir() else ()
    return tuple(sorted({*EVERYWHERE, *own}))


FORM_NAMES = sorted(
    {*(n for top in ("jobsite", "inspections", "remedials") for n in names_read("POST", top)), "id", "version"}
)


def is_open(answer) -> bool:
    return answer.status_code not in (404, 405)


# --- the tests --------------------------------------------------------------------------------------------------------


def test_names_are_found_in_the_views():
    assert {"q", "as", "after"} <= set(names_read("GET", "jobsite"))
    assert "observation" in names_read("GET", "remedials/works")


def test_every_address_is_reached(attacker, routes):
    """Else the attacks below would knock at the wrong door. Both a GET and an empty POST, but for what needs more."""
    shut = []
    for route in routes:
        got, posted = attacker.send("GET", route.path), attacker.form(route.path, [])
        if not is_open(got) and not is_open(posted):
            shut.append(route.where)
    # A key of a passkey that nobody has; one row cannot be in two states at once, so these are reached no further.
    allowed = re.compile(
        r"accounts/|s/<str:token>/photos|.*/units/<uuid:\w+>/photos|api/v1/inspections/<uuid:pk>/file/|api/.*<uuid:form>/$"
    )
    assert [where for where in shut if not allowed.match(where)] == []
    assert attacker.answers[200] > 60


TURNS = 18  # so many addresses share the texts; the API's meet schemathesis' besides


def some(texts: list[Any], turn: int, turns: int = TURNS) -> list[Any]:
    """A part of `texts`, by turns: each address meets some, each text many addresses. All with HOSTILE=all, overnight."""
    return texts if os.environ.get("HOSTILE") == "all" else texts[turn % turns :: turns]


def shared(routes: list[Route], among: int = 6) -> list[Route]:
    """Every so-manieth of `routes`, for what is answered before any view is asked. All with HOSTILE=all, overnight."""
    return routes if os.environ.get("HOSTILE") == "all" else routes[::among]


def test_path(attacker, routes):
    for turn, route in enumerate(routes):
        if ROUTE_PART.search(route.where):
            for text in some(TEXTS[:-1], turn):
                attacker.send("GET", "/" + ROUTE_PART.sub(text.replace("\\", ""), route.where), what=text)
    for route in shared(routes):
        attacker.send("GET", route.path + "%00")
        attacker.send("POST", route.path + "%ED%A0%80/")
        attacker.send("GET", route.path.rstrip("/") + "%0d%0aX: y/")


def readable(attacker: Attacker, routes: list[Route]) -> list[Route]:
    """The addresses that answer a plain GET with a page."""
    return [route for route in routes if attacker.send("GET", route.path).status_code in (200, 400, 422)]


def test_query(attacker, routes):
    for turn, route in enumerate(readable(attacker, routes), 1):
        for text in some(TEXTS[:-1], turn):
            query = "&".join(f"{name}={text}" for name in query_names(route))
            attacker.send("GET", f"{route.path}?{query}", what=text)
        attacker.send("GET", f"{route.path}?%00=1&%ED%A0%80=1&=&&&a=b=c")


class Watched(QueryDict):
    """A query that remembers by which names it was asked."""

    asked: set[str] = set()

    def get(self, key, default=None):
        self.asked.add(key)
        return super().get(key, default)

    def getlist(self, key, default=None):
        self.asked.add(key)
        return super().getlist(key, default)

    def pop(self, key, *default):
        self.asked.add(key)
        return super().pop(key, *default)

    def __getitem__(self, key):
        self.asked.add(key)
        return super().__getitem__(key)

    def __contains__(self, key) -> bool:
        self.asked.add(key)
        return super().__contains__(key)


@pytest.fixture
def asked(monkeypatch) -> set[str]:
    """The names by which pages ask their query."""
    read = lambda request: Watched(request.META.get("QUERY_STRING", ""), encoding=request.encoding)  # noqa: E731
    watched = cached_property(read)
    watched.__set_name__(WSGIRequest, "GET")
    monkeypatch.setattr(WSGIRequest, "GET", watched)
    monkeypatch.setattr(Watched, "asked", set())
    return Watched.asked


NOBODY = "nobody-asks"  # stands for every name that a page asks for by none, where it takes the query as a whole


def test_each_name_of_a_query_alone(attacker, routes, asked):
    """One wrong name must not hide another. What a page never asks for, whether it is there or not, changes nothing."""
    sent = 0
    for turn, route in enumerate(route for route in routes if not route.where.startswith("accounts/")):
        asked.clear()
        if attacker.send("GET", route.path).status_code not in (200, 400, 422):
            continue
        for name in sorted({*asked, NOBODY}):
            text = (str(10**40), "W10=%E2%80%AE,%C2%BD")[turn % 2]
            attacker.send("GET", f"{route.path}?{quote(name)}={text}", what=text)
            sent += 1
    assert sent > 500


def test_names_that_pages_ask_for_are_heard(attacker, asked):
    attacker.send("GET", "/sites/")
    assert {"q", "after"} <= asked


def forms_of(attacker: Attacker, routes: list[Route]) -> Iterator[tuple[Route, dict[str, str]]]:
    """Each address that takes a form, with the fields that its page shows."""
    for route in routes:
        if route.where.startswith("api/") or attacker.send("POST", route.path).status_code in (404, 405):
            continue
        page = attacker.send("GET", route.path)
        shown = Fields(page.content.decode()).found if page["Content-Type"].startswith("text/html") else {}
        yield route, dict.fromkeys(FORM_NAMES, "") | shown


@pytest.fixture(scope="module")
def forms(ground, django_db_blocker) -> list[tuple[Route, dict[str, str]]]:
    with django_db_blocker.unblock(), time_machine.travel(NOON):
        return list(forms_of(Attacker(ground[0]), ground[1]))


def test_form(attacker, forms):
    for turn, (route, fields) in enumerate(forms, 2):
        for text in some(TEXTS, turn):
            attacker.form(route.path, [(name, text) for name in fields], text)
        attacker.form(route.path, [(name, "1") for name in fields for _ in range(3)], "thrice")
        attacker.form(route.path, [("\0", "1"), ("form-TOTAL_FORMS", str(10**9)), ("form-INITIAL_FORMS", "-1")])


EXTREMES = [
    "2199-12-31",
    "1900-01-01",
    "2147483647",
    "999999",
    "12345678",
    "%E2%80%AE%F0%9F%92%A5",
    "1900-01-01T00%3A00",
]


def test_form_that_is_right_but_for_its_extremes(attacker, forms):
    """What the page offers where it offers something, and in every empty field the farthest that a form lets through."""
    for turn, (route, fields) in enumerate(forms):
        for text in some(EXTREMES, turn):
            filled = [(name, quote(value) or text) for name, value in fields.items()]
            attacker.form(route.path, filled, text)
            far = [(name, text if name not in ("id", "version") else value) for name, value in filled]
            if far != filled:
                attacker.form(route.path, far, text)


BOUND = "----b"


def parts(*fields: tuple[bytes, bytes, bytes]) -> bytes:
    """A multipart body of (name, further head, content) as they are, well made or not."""
    made = [
        b'--%s\r\nContent-Disposition: form-data; name="%s"%s\r\n\r\n%s\r\n' % (BOUND.encode(), name, head, content)
        for name, head, content in fields
    ]
    return b"".join(made) + b"--%s--\r\n" % BOUND.encode()


FILE_HEADS = [
    b'; filename="a\0b.jpg"', b'; filename="\xed\xa0\x80.xlsx"', b"; filename*=UTF-8''%00%ED%A0%80.csv",
    b'; filename="../../../etc/passwd"', b'; filename="' + b"x" * 5000 + b'"',
    b'; filename="x.xlsx"\r\nContent-Type: a/b; charset=zlib\r\nContent-Transfer-Encoding: base64',
]  # fmt: skip


def test_files_and_their_names(attacker, forms):
    kind = f"multipart/form-data; boundary={BOUND}"
    for turn, (route, fields) in enumerate(forms):
        names = [name.encode() for name in {*fields, "photo", "file", "certificate_file"}]
        for head in some(FILE_HEADS, turn)[: 1 if route.where.startswith("accounts/") else None]:
            body = parts(*((name, head, b"\0\xff\xd8not a picture") for name in names))
            attacker.send("POST", route.path, body, repr(head), content_type=kind)
        attacker.send("POST", route.path, parts(*((name, b"", b"\0\xed\xa0\x80") for name in names)), content_type=kind)
        attacker.send("POST", route.path, parts((b"a\0", b"", b"1"), (b"\xff", b"", b"1"))[:-9], content_type=kind)
        attacker.send("POST", route.path, b"a=1", content_type="multipart/form-data")


def new_change() -> dict[str, str]:
    """The headers of a change over the API that was never sent before, whatever version the row has."""
    return {"HTTP_IDEMPOTENCY_KEY": f'"{uuid4()}"', "HTTP_IF_MATCH": "*"}


def test_api_bodies(attacker, routes):
    for turn, route in enumerate(routes):
        view = getattr(route.view, "cls", None)
        if view is None or not hasattr(view, "post"):
            continue
        fields = list(view.serializer_class().fields)
        bodies = [json.dumps(value).encode() for value in VALUES]
        bodies += [json.dumps(dict.fromkeys(fields, value)).encode() for value in VALUES]
        bodies += [json.dumps({name: [value] for name in fields}).encode() for value in VALUES]
        for body in some(bodies + NOT_JSON, turn):
            attacker.send("POST", route.path, body, repr(body), content_type="application/json", **new_change())


def test_json_where_a_form_is_meant(attacker, routes):
    for route in shared(routes):
        attacker.send("POST", route.path, b'{"a": "\\u0000"}', content_type="application/json")
        attacker.send("POST", route.path, b"a=1", content_type="/;;=")


KINDS = (
    "application/x-www-form-urlencoded",
    "application/json",
    f"multipart/form-data; boundary={BOUND}",
    "text/plain",
)
CODECS = ["zlib", "rot13", "utf-16", "idna", "no-such", "\0", "\xff", "x" * 300]


@pytest.mark.parametrize("charset", CODECS)
def test_odd_encodings_are_turned_away_by_the_web_server(db, charset):
    """Through the application as the server calls it: Django itself breaks on some before any middleware sees them."""
    for kind in KINDS:
        for method in ("GET", "POST"):
            assert called(method, f"{kind}; charset={charset}") == "415 Unsupported Media Type"


@pytest.mark.parametrize("charset", ["utf-8", "UTF-8", '"utf-8"', "utf8"])
def test_utf_8_is_let_in_however_it_is_written(db, charset):
    """The health address answers, well or not."""
    assert called("GET", f"text/plain; charset={charset}") in ("200 OK", "503 Service Unavailable")


def called(method: str, kind: str) -> str:
    """The status line of the health address with a query, by the WSGI application."""
    environ = RequestFactory().generic(method, "/health/?q=x", b"a=1", content_type="text/plain").environ
    answered: list[str] = []

    def start(status: str, headers: list[tuple[str, str]]) -> None:
        answered.append(status)

    # As the test client does: what the tests stand on is not committed.
    request_started.disconnect(close_old_connections)
    try:
        b"".join(application(environ | {"CONTENT_TYPE": kind}, start))
    finally:
        request_started.connect(close_old_connections)
    return answered[0]


@pytest.mark.parametrize("signed_in", [True, False])
def test_cookies(boss, routes, signed_in):
    attacker = Attacker(boss if signed_in else None)
    names = {settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME, "messages", "\xff", ""}
    names -= {settings.SESSION_COOKIE_NAME} if signed_in else set()
    for turn, route in enumerate(routes):
        for value in some(["\0", "%00", "\xed\xa0\x80", "x" * 5000, ";;=;a:b:c"], turn):
            cookie = "; ".join(f"{name}={value}" for name in sorted(names))
            attacker.send("GET", route.path, what=value, HTTP_COOKIE=f"{attacker.cookie}; {cookie}")
    assert attacker.broken == {}


# A NUL in a header is turned away by the web server, before Django sees it.
HEADERS = {
    "HTTP_ACCEPT": "a/b;q=x,application/json;version=\xff",
    "HTTP_HX_REQUEST": "true",
    "HTTP_HX_CURRENT_URL": "http://[\xed\xa0\x80",
    "HTTP_HX_CURRENT_URL_URI_AUTOENCODED": "true",
    "HTTP_REFERER": "http://[",
    "HTTP_ORIGIN": "http://[",
    "HTTP_IF_MODIFIED_SINCE": "Mon, 99 Jan 99999 99:99:99 GMT",
    "HTTP_IF_NONE_MATCH": '"' * 50,
    "HTTP_RANGE": f"bytes={10**40}-",
    "HTTP_X_FORWARDED_FOR": "999.1, ::::",
    "HTTP_X_CSRFTOKEN": "x" * 5000,
    "HTTP_ACCEPT_LANGUAGE": "x" * 5000,
    "HTTP_ACCEPT_ENCODING": "gzip;q=x, \xff",
    "HTTP_X_MADE": "9999-12-31T23:59:59-23:59",
    "HTTP_X_SENT": "0001-01-01T00:00:00+23:59",
}
ODD_KEYS = ["", '""', '"', '"a\xe9"', '"' + "x" * 5000 + '"', "a, b", "'; --", '"%00"']
ODD_VERSIONS = ["", '"', 'W/"1"', '"' + "9" * 40 + '"', '"٣"'.encode().decode("latin-1"), '"1", "2"', "1"]


def test_headers(attacker, routes):
    for route in routes:
        attacker.send("GET", route.path, what="all headers", **HEADERS)
    for route in shared(routes):
        attacker.send("POST", route.path, what="all headers", **HEADERS)
        attacker.send("GET", route.path, what="host", HTTP_HOST="[::")
        for method in ("OPTIONS", "PUT", "DELETE", "BREW"):
            attacker.send(method, route.path, b"\0", content_type="application/json")
    for route in routes[:: len(routes) // 10]:
        for name, value in HEADERS.items():
            attacker.send("GET", route.path, what=name, **{name: value})
        for length in ("-1", "x", str(10**40)):
            attacker.send("POST", route.path, what=length, CONTENT_LENGTH=length)


def test_keys_and_versions_in_headers(attacker, routes):
    for turn, route in enumerate(routes):
        for key in some(ODD_KEYS, turn):
            attacker.send("POST", route.path, what=key, HTTP_IDEMPOTENCY_KEY=key)
        if route.where.startswith("api/"):
            for version in some(ODD_VERSIONS, turn, len(ODD_VERSIONS)):
                more = new_change() | {"HTTP_IF_MATCH": version}
                attacker.send("POST", route.path, b"{}", version, content_type="application/json", **more)


def test_the_attacker_notices_a_broken_service(boss, settings):
    """The proof that these tests can fail: a view that divides by zero."""
    settings.ROOT_URLCONF = __name__
    attacker = Attacker(boss)
    attacker.send("GET", "/broken/")
    assert list(attacker.broken) == ["GET /broken/"]


def broken(request):
    return 1 / 0


from django.urls import path  # noqa: E402 - only for the view above

urlpatterns = [path("broken/", broken)]
