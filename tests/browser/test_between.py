"""The server that stands between browser and service in these tests does what it says, each time."""

import http.client
import json
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from tests.browser.between import PORTAL, Between


class Told(BaseHTTPRequestHandler):
    """A service that says back what it was sent."""

    def do_POST(self) -> None:
        self.do_GET()

    def do_GET(self) -> None:
        length = int(self.headers.get("Content-Length") or 0)
        said = json.dumps([self.command, self.path, self.headers["X-Kept"], self.rfile.read(length).decode()]).encode()
        self.send_response(201)
        self.send_header("Content-Length", str(len(said)))
        self.send_header("Set-Cookie", "one=1")
        self.send_header("Set-Cookie", "two=2")
        self.end_headers()
        self.wfile.write(said)

    def log_message(self, *_) -> None:
        pass


@pytest.fixture
def network() -> Iterator[Between]:
    service = ThreadingHTTPServer(("127.0.0.1", 0), Told)
    threading.Thread(target=service.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    between = Between(f"http://127.0.0.1:{service.server_address[1]}")
    yield between
    between.close()
    service.shutdown()
    service.server_close()


def ask(network: Between, method: str = "GET", path: str = "/", body: str = "") -> tuple[int, bytes, list[str]]:
    call = http.client.HTTPConnection(network.address.removeprefix("http://"), timeout=20)
    try:
        call.request(method, path, body.encode() or None, {"X-Kept": "a:b"})
        answer = call.getresponse()
        return answer.status, answer.read(), answer.headers.get_all("Set-Cookie", [])
    finally:
        call.close()


def test_what_passes_is_passed_whole(network) -> None:
    status, body, cookies = ask(network, "POST", "/a/?b=c", "words")
    assert (status, json.loads(body), cookies) == (201, ["POST", "/a/?b=c", "a:b", "words"], ["one=1", "two=2"])
    assert network.asked == [("POST", "/a/?b=c")]


def test_a_cut_network_answers_nobody_until_it_is_mended(network) -> None:
    network.cut()
    for _ in range(2):
        with pytest.raises((ConnectionError, http.client.HTTPException)):
            ask(network)
    assert network.asked == []
    network.mend()
    assert ask(network)[0] == 201


def test_a_portal_answers_all_with_its_own_page(network) -> None:
    network.portal()
    assert ask(network, "POST", "/x/", "words")[:2] == (200, PORTAL)
    assert network.asked == []


@pytest.mark.parametrize(("kind", "reached"), [("lost", 1), ("half up", 0), ("half down", 1)])
def test_it_fails_once_where_it_should(network, kind, reached) -> None:
    network.fail(kind, method="POST", path="/photos/")
    assert ask(network, "GET", "/photos/")[0] == 201
    assert ask(network, "POST", "/other/", "words")[0] == 201
    with pytest.raises((ConnectionError, http.client.HTTPException)):
        ask(network, "POST", "/photos/", "words" * 1000)
    assert network.count("POST", "/photos/") == reached
    assert ask(network, "POST", "/photos/", "words")[0] == 201


def test_a_gateway_answers_by_itself(network) -> None:
    network.fail(503, times=2)
    assert [ask(network)[0] for _ in range(3)] == [503, 503, 201]


def test_what_is_held_goes_on_when_the_block_ends(network) -> None:
    found: list[int] = []
    with network.held(path="/slow/") as held:
        waiting = threading.Thread(target=lambda: found.append(ask(network, path="/slow/")[0]))
        waiting.start()
        assert held.met.wait(20)
        assert ask(network, path="/quick/")[0] == 201
        assert found == []
    waiting.join(20)
    assert found == [201]
