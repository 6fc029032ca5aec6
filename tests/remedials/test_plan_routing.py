"""A routing server asked for its matrix: a real one, on this machine, that answers well and badly."""

import json
import threading
import time
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlsplit

import pytest

from remedials.visits.driving import routing
from remedials.visits.driving.routing import NoMatrix, matrix_from

PLACES = {"a": (51.5, -0.1), "b": (51.6, -0.2), "c": (52.0, 0.3)}


class Server(ThreadingHTTPServer):
    """Answers with `said` (bytes, or a function of the asked points, sources and targets), and notes what it was asked."""

    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.said, self.status, self.headers, self.asked, self.wait = good, 200, {}, [], 0.0

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.server_port}/table/v1/driving"


class Handler(BaseHTTPRequestHandler):
    server: Server

    def do_GET(self) -> None:
        self.server.asked.append(self.path)
        time.sleep(self.server.wait)
        where = urlsplit(self.path)
        query = parse_qs(where.query)
        points = [tuple(map(float, point.split(","))) for point in where.path.rpartition("/")[2].split(";")]
        chosen = [[points[int(n)] for n in query[name][0].split(";")] for name in ("sources", "destinations")]
        said = self.server.said if isinstance(self.server.said, bytes) else self.server.said(*chosen)
        self.send_response(self.server.status)
        for name, value in self.server.headers.items():
            self.send_header(name, value)
        self.end_headers()
        with suppress(OSError):  # whoever asked has left
            self.wfile.write(said)

    def log_message(self, *args) -> None:
        """Says nothing."""


def good(sources, targets) -> bytes:
    """Seconds and metres by how far apart the points are in degrees, a little more where one drives east."""

    def cost(a, b):
        return 3600 * abs(a[0] - b[0]) + 3600 * abs(a[1] - b[1]) + (61 if b[0] > a[0] else 0)

    durations = [[cost(a, b) for b in targets] for a in sources]
    return json.dumps(
        {"code": "ok", "durations": durations, "distances": [[10 * d for d in row] for row in durations]}
    ).encode()


@pytest.fixture
def server():
    server = Server()
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    yield server
    server.shutdown()
    thread.join()
    server.server_close()


def test_minutes_are_rounded_up_and_may_differ_by_direction(server) -> None:
    minutes, km = matrix_from(server.address, PLACES)
    # 0.1° of longitude and 0.1° of latitude: 720 s westward, 781 s eastward.
    assert (minutes["a"]["b"], minutes["b"]["a"], minutes["a"]["a"]) == (12, 14, 0)
    assert (km["a"]["b"], km["b"]["a"], km["c"]["c"]) == (7.2, 7.8, 0.0)
    assert server.asked == ["/table/v1/driving/-0.10000,51.50000;-0.20000,51.60000;0.30000,52.00000;-0.10000,51.50000;-0.20000,51.60000;0.30000,52.00000?annotations=duration,distance&sources=0;1;2&destinations=3;4;5"]  # fmt: skip


def test_many_places_are_asked_in_parts(server) -> None:
    places = {f"{n:03}": (50 + n / 100, n / 100) for n in range(routing.AT_ONCE + 1)}
    minutes, _ = matrix_from(server.address, places)
    assert len(server.asked) == 4
    assert {len(row) for row in minutes.values()} == {len(places)}
    assert minutes["000"][f"{routing.AT_ONCE:03}"] == -(-(72 * routing.AT_ONCE + 61) // 60)


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        (b"", "no JSON"),
        (b"<html>", "no JSON"),
        (b"[" * 100_000, "no JSON"),
        (b"[]", "no matrix"),
        (b"{}", "no matrix of durations"),
        (b'{"durations": [[0, 1, 2]], "distances": [[0, 1, 2]]}', "no matrix of durations"),
        (json.dumps({"durations": [[0, 1, None]] * 3, "distances": [[0, 1, 2]] * 3}).encode(), "knows no way"),
        (json.dumps({"durations": [[0, 1, -2]] * 3, "distances": [[0, 1, 2]] * 3}).encode(), "no duration"),
        (json.dumps({"durations": [[0, 1, "2"]] * 3, "distances": [[0, 1, 2]] * 3}).encode(), "no duration"),
        (b'{"durations": [[0,1,NaN],[0,1,2],[0,1,2]], "distances": [[0,1,2],[0,1,2],[0,1,2]]}', "no duration"),
        (b" " * (routing.LARGEST + 1), "too large"),
    ],
)
def test_what_is_no_matrix(server, said, sentence) -> None:
    server.said = said
    with pytest.raises(NoMatrix, match=sentence):
        matrix_from(server.address, PLACES)


def test_no_redirect_is_followed(server) -> None:
    server.status, server.headers, server.said = 302, {"Location": f"{server.address}/0,0"}, b""
    with pytest.raises(NoMatrix, match="answered with 302"):
        matrix_from(server.address, PLACES)
    assert len(server.asked) == 1


def test_failing_and_silent_servers(server) -> None:
    server.status = 500
    with pytest.raises(NoMatrix, match="answered with 500"):
        matrix_from(server.address, PLACES)
    server.status, server.wait = 200, 0.5
    with pytest.raises(NoMatrix, match="in time"):
        matrix_from(server.address, PLACES, patience=0.1)
    with pytest.raises(NoMatrix, match="could not be reached"):
        matrix_from("http://127.0.0.1:1/table", PLACES)


@pytest.mark.parametrize("address", ["file:///etc/passwd", "ftp://127.0.0.1/", "127.0.0.1", "http://", "javascript:1"])
def test_other_addresses_are_not_asked(address) -> None:
    with pytest.raises(NoMatrix, match="must begin with"):
        matrix_from(address, PLACES)
