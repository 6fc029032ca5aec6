"""`make stack` from outside, end to end: what the composed service is made of works together, and goes on while it is replaced.

The processes are those of docker-compose.yml on PostgreSQL 18 over TCP, Redis and a proxy that ends TLS.
"""

import http.client
import io
import os
import shutil
import signal
import socket
import ssl
import tempfile
import threading
import time
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil
import psycopg
import pytest
import redis

from jobsite.ids import new_id
from tests.factories import PASSWORD
from tests.stack.running import Person, RunningStack

pytestmark = pytest.mark.skipif(
    not (shutil.which("redis-server") and shutil.which("nginx", path=f"{os.environ['PATH']}:/usr/sbin")),
    reason="there is no redis-server or no nginx on this machine",
)

FILL = """
import json
from datetime import timedelta
from tests import factories as f
from jobsite import clock
from jobsite.ids import new_id
from jobsite.premises.operations.sharing import MARKER, send_link
office = f.make_user("Olga Office", "office")
engineer = f.make_user("Edwin Engineer", "engineer")
site = f.make_site("Invented Mill", customer=f.make_party("Petra Landlady", email="petra@example.com"))
f.make_observation(site, "Cover missing", code="C2", by=office)
link, token = f.make_link(site, by=office)
now = clock.now()
send_link(id=new_id(), purpose="status", party=site.customer, address="petra@example.com", subject="Your page",
    body=f"Here it is: {MARKER}", why="asked", expires_at=now + timedelta(days=30), by=office, now=now, site=site.pk)
print(json.dumps({"site": str(site.pk), "unit": str(site.units.get().pk), "token": token}))
"""
HEADERS = {
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "Strict-Transport-Security": "max-age=31536000; includeSubDomains; preload",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}
EACH_SECOND = 3.0  # requests of each caller


@pytest.fixture(scope="module")
def folder() -> Iterator[Path]:
    path = Path(tempfile.mkdtemp(prefix="stack-"))
    path.chmod(0o755)  # as root, the database runs as another user
    yield path
    shutil.rmtree(path, ignore_errors=True)


@pytest.fixture(scope="module")
def stack(folder: Path) -> Iterator[RunningStack]:
    running = RunningStack(folder)
    try:
        running.until_open()
        yield running
    finally:
        if running.process.poll() is None:
            running.stop()


@pytest.fixture(scope="module")
def firm(stack: RunningStack) -> dict[str, str]:
    return stack.fill(FILL)


@pytest.fixture(scope="module")
def office(stack: RunningStack, firm: dict[str, str]) -> Person:
    person = Person(stack)
    person.sign_in("olga@example.com", PASSWORD)
    return person


def test_every_thread_of_the_web_servers_has_its_connection_before_anybody_asks(stack) -> None:
    """Two servers of two processes of four threads each; the process above the two has none."""
    stack.until(lambda: sorted(connections_of_web_servers(stack)) == [0, 0, 4, 4, 4, 4], 30)


def connections_of_web_servers(stack: RunningStack) -> list[int]:
    """How many connections to the database each of their processes has."""
    found = [psutil.Process(pid).net_connections("tcp") for pid in stack.pids("gunicorn jobsite.wsgi")]
    return [sum(1 for one in own if one.raddr and one.raddr.port == stack.port + 2) for own in found]


def test_tls_ends_at_the_proxy_and_nothing_goes_without(stack, office, firm) -> None:
    status, page = office.ask(f"/sites/{firm['site']}/")
    assert (status, b"Invented Mill" in page, b"Cover missing" in page) == (200, True, True)
    assert office.ask("/metrics/")[0] == 404, "the numbers are for those inside"
    names = ("sessionid", "csrftoken", "device")
    assert {cookie.name: cookie.secure for cookie in office.jar} == {f"__Host-{name}": True for name in names}
    plain = Person(stack)
    plain.stack = type("Plain", (), {"address": f"http://localhost:{stack.port + 1}"})()
    status, page = plain.ask("/accounts/login/?next=/sites/")
    assert (status, b"Sign in" in page) == (200, True), "by http it is sent to https and answered there"


def test_whoever_calls_cannot_say_where_they_call_from(stack, firm) -> None:
    """The proxy writes X-Forwarded-For anew: wrong links from one address are slowed down whatever they send."""
    stranger = Person(stack)
    stranger.opener.addheaders = [("X-Forwarded-For", "192.0.2.7")]
    statuses = []
    for n in range(32):
        stranger.opener.addheaders = [("X-Forwarded-For", f"192.0.2.{n}")]
        statuses.append(stranger.ask(f"/s/{'x' * 42}{n % 10}/")[0])
    assert Counter(statuses) == {404: 30, 429: 2}
    assert stranger.ask(f"/s/{firm['token']}/")[0] == 200, "a right one still opens"


def test_what_the_proxy_says_itself_bears_the_same_headers(stack, office, firm) -> None:
    """Such as of the numbers: no web server hears of them."""
    assert office.ask("/metrics/")[0] == 404
    assert {name: office.headers.get(name) for name in HEADERS} == HEADERS


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        (f"GET /?q={'a' * 20_000} HTTP/1.1\r\nHost: localhost\r\n\r\n", 414),
        ("POST /api/v1/sites/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 400000000\r\n\r\n", 413),
        (f"GET / HTTP/1.1\r\nHost: localhost\r\nX-Long: {'b' * 40_000}\r\n\r\n", 400),
    ],
)
def test_what_is_too_large_is_refused_at_the_proxy_in_words(stack, firm, sent, status) -> None:
    """RFC 9110, 15.5.14 and 15.5.15."""
    trust = ssl.create_default_context(cafile=stack.folder / "stack" / "certificates" / "fullchain.pem")
    with (
        socket.create_connection(("localhost", stack.port), timeout=30) as plain,
        trust.wrap_socket(plain, server_hostname="localhost") as connection,
    ):
        connection.sendall(sent.encode())
        answer = http.client.HTTPResponse(connection)
        answer.begin()
        page = answer.read()
    assert (answer.status, b"could not be taken" in page) == (status, True)
    assert {name: answer.headers.get(name) for name in HEADERS} == HEADERS


def test_database_and_broker_answer_nobody_without_a_password(stack, firm) -> None:
    with pytest.raises(redis.exceptions.AuthenticationError):
        redis.Redis(port=stack.port + 3).ping()
    with pytest.raises(psycopg.OperationalError, match="password"):
        psycopg.connect(host="127.0.0.1", port=stack.port + 2, user="jobsite", dbname="jobsite", password="wrong")


def test_clockwork_worker_and_mail_server_work_together(stack, firm) -> None:
    """The clockwork ticks, a worker hears it by Redis, reads the row and hands it to the mail server."""
    (mail,) = stack.until(stack.mails, 100)
    assert "To: petra@example.com" in mail.replace("Petra Landlady <petra@example.com>", "petra@example.com")
    assert f"{stack.address}/s/" in mail


def test_a_worker_draws_what_a_web_server_hands_out(stack, office, firm) -> None:
    """The archive as of a date: asked for at a page, made by a worker, its file read by any of the web servers."""
    bundle = ask_for_bundle(office, firm["site"])
    data = stack.until(lambda: fetched(office, bundle), 60)
    names = zipfile.ZipFile(io.BytesIO(data)).namelist()
    assert "check.py" in {Path(name).name for name in names}


def test_a_worker_and_a_web_server_are_killed_and_the_service_goes_on(stack, office, firm) -> None:
    os.kill(stack.pids("jobsite.web")[0], signal.SIGKILL)
    for worker in stack.pids("celery -q -A jobsite.celery worker"):
        try:
            os.kill(worker, signal.SIGKILL)
        except ProcessLookupError:
            continue
    statuses = [office.ask(f"/sites/{firm['site']}/")[0] for _ in range(10)]
    assert statuses == [200] * 10, "the other one answers meanwhile"
    stack.until(lambda: len(list((stack.folder / "stack" / "webs").glob("*"))) >= 2, 90)
    bundle = ask_for_bundle(office, firm["site"])
    assert stack.until(lambda: fetched(office, bundle), 90)


class Caller(threading.Thread):
    """Asks again and again, at an even pace, and keeps how each was answered."""

    def __init__(self, ask: Callable[[], int]) -> None:
        super().__init__(daemon=True)
        self.ask, self.over = ask, threading.Event()
        self.statuses: Counter[int | str] = Counter()

    def run(self) -> None:
        while not self.over.wait(1 / EACH_SECOND):
            try:
                self.statuses[self.ask()] += 1
            except Exception as error:  # noqa: BLE001 - whatever it is counts as a failed request
                self.statuses[f"{type(error).__name__}: {error}"] += 1


def test_every_server_is_replaced_under_load_without_a_failed_request(stack, office, firm) -> None:
    def report() -> int:
        body = {"id": str(new_id()), "unit": firm["unit"], "text": "Hums", "reported_by": "Tina Tenant"}
        return office.ask(f"/api/v1/sites/{firm['site']}/report-defect/", body)[0]

    customer = Person(stack)
    callers = [
        Caller(report),
        Caller(lambda: office.ask(f"/sites/{firm['site']}/")[0]),
        Caller(lambda: customer.ask(f"/s/{firm['token']}/")[0]),
    ]
    before = {words: stack.pids(words) for words in ("jobsite.web", "celery -q -A jobsite.celery worker")}
    count = observations(office, firm["site"])
    for caller in callers:
        caller.start()
    stack.roll()
    time.sleep(2)
    for caller in callers:
        caller.over.set()
    for caller in callers:
        caller.join(60)
    assert [set(caller.statuses) for caller in callers] == [{201}, {200}, {200}], [c.statuses for c in callers]
    for words, pids in before.items():
        assert set(pids).isdisjoint(stack.pids(words)), f"{words} was not replaced"
    assert observations(office, firm["site"]) - count == callers[0].statuses[201], "what was answered is what is kept"


def test_it_ends_and_leaves_nothing_behind(stack) -> None:
    assert stack.stop() == 0, stack.told()
    assert stack.pids("") == []


def observations(office: Person, site: str) -> int:
    count, path = 0, f"/api/v1/observations/?site={site}&page_size=200"
    while path:
        page = office.json(path)
        count += len(page["results"])
        path = (page["next"] or "").partition(office.stack.address)[2]
    return count


def ask_for_bundle(office: Person, site: str) -> str:
    """Asks for the record of a site by its page; the address of the archive's file."""
    status, at, page = office.send_form(f"/sites/{site}/record/", reason="For the insurer, invented")
    assert (status, at.startswith("/archives/")) == (200, True), page[:3000]
    return f"{at}file/"


def fetched(office: Person, bundle: str) -> bytes:
    status, data = office.ask(bundle)
    return data if status == 200 and data[:2] == b"PK" else b""
