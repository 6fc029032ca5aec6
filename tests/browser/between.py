"""A server that stands between a browser and ours, as the network does: it passes on, or it doesn't.

Chromium's own switch for "no network" leaves service workers out and cannot lose an answer that was on its way. This one
does what a plant room does:

    between.cut()                                    # nobody answers any more; between.mend() ends all of these
    between.portal()                                 # everything is answered by somebody else's page, with 200
    between.fail("lost", path="/photos/")            # ours does it, and its answer never arrives
    between.fail("half up", method="POST")           # the connection breaks in the middle of what is sent
    between.fail("half down", path="/visits/")       # … in the middle of the answer
    between.fail(503)                                # a gateway answers instead
    with between.held(path="/visits/") as held: …    # it takes as long as the block: then it is passed on
    between.renamed["/static/new/"] = "/static/old/" # what begins so is asked of us by another name
    between.asked                                    # what reached us, in order: (method, path)

The program tries again of itself, at once or soon, whatever failed; so does Chromium. Where a test looks at what a failure
leaves behind, the failure must last as long: `times=None`, then `mend`.

`fail` and `held` take `method` and `path` (a piece of the address); `fail` takes `times`, which is 1 unless said (None: until
it is mended). No test need sleep for any of it.
"""

import http.client
import socket
import struct
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import urlsplit

PORTAL = b"<!doctype html><title>Guest network</title><h1>Welcome</h1><p>Accept the terms to go on.</p>"
OF_THE_CONNECTION = {"connection", "keep-alive", "transfer-encoding", "te", "trailer", "upgrade"}
PATIENCE = 60  # seconds, for a thread that nobody releases: a test that fails must end


@dataclass
class Fault:
    """What becomes of the next requests that fit."""

    kind: str | int
    method: str = ""
    path: str = ""
    times: int | None = 1
    released: threading.Event = field(default_factory=threading.Event)
    met: threading.Event = field(default_factory=threading.Event)

    def fits(self, method: str, path: str) -> bool:
        return self.times != 0 and self.method in ("", method) and self.path in path


class Between:
    """The network between the phone and the service at `upstream`; reached at `address`."""

    def __init__(self, upstream: str) -> None:
        parts = urlsplit(upstream)
        self.upstream = (parts.hostname or "localhost", parts.port or 80)
        self.asked: list[tuple[str, str]] = []
        self.failed: list[tuple[str, str]] = []
        self.renamed: dict[str, str] = {}
        self._lock = threading.Lock()
        self._faults: list[Fault] = []
        self._server = Server(self)
        self.address = f"http://localhost:{self._server.server_address[1]}"
        threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()

    def cut(self) -> None:
        """Nobody answers: every connection is broken off."""
        self.fail("cut", times=None)

    def portal(self) -> None:
        """Whatever is asked for is answered 200 with a page of whoever runs the network here."""
        self.fail("portal", times=None)

    def fail(self, kind: str | int, *, method: str = "", path: str = "", times: int | None = 1) -> Fault:
        """The next `times` requests that fit end so: "cut", "portal", "lost", "half up", "half down", or a status."""
        fault = Fault(kind, method, path, times)
        with self._lock:
            self._faults.append(fault)
        return fault

    @contextmanager
    def held(self, *, method: str = "", path: str = "") -> Iterator[Fault]:
        """Requests that fit wait until the block ends, and are then passed on; `met` is set when the first came."""
        fault = self.fail("held", method=method, path=path, times=None)
        try:
            yield fault
        finally:
            self.end(fault)

    def mend(self) -> None:
        """All passes again."""
        for fault in list(self._faults):
            self.end(fault)

    def close(self) -> None:
        self.mend()
        self._server.shutdown()
        self._server.server_close()

    def count(self, method: str = "", path: str = "") -> int:
        """How many requests that fit reached us."""
        with self._lock:
            return sum(method in ("", how) and path in where for how, where in self.asked)

    def upstream_path(self, path: str) -> str:
        """By which address ours is asked for `path`."""
        old = next((name for name in self.renamed if path.startswith(name)), "")
        return path.replace(old, self.renamed[old], 1) if old else path

    def end(self, fault: Fault) -> None:
        """This one passes again."""
        with self._lock:
            if fault in self._faults:
                self._faults.remove(fault)
        fault.released.set()

    def fate(self, method: str, path: str) -> Fault | None:
        """What becomes of this request, if anything but to be passed on."""
        with self._lock:
            fault = next((one for one in self._faults if one.fits(method, path)), None)
            if fault is None or fault.kind in ("lost", "half down", "held"):
                self.asked.append((method, path))
            if fault is None:
                return None
            if fault.kind != "held":
                self.failed.append((method, path))
            if fault.times is not None:
                fault.times -= 1
        fault.met.set()
        return fault


class Handler(BaseHTTPRequestHandler):
    """One connection from the browser; it ends with its first answer."""

    protocol_version = "HTTP/1.1"
    server: "Server"

    def do_any(self) -> None:
        fault = self.server.between.fate(self.command, self.path)
        kind = fault.kind if fault else ""
        length = int(self.headers.get("Content-Length") or 0)
        if kind == "cut":
            return self.break_off()
        if kind == "half up":
            self.rfile.read(length // 2)
            return self.break_off()
        body = self.rfile.read(length)
        if kind == "portal":
            return self.answer(200, [("Content-Type", "text/html; charset=utf-8")], PORTAL)
        if isinstance(kind, int):
            return self.answer(kind, [("Content-Type", "text/html")], b"<h1>Not now</h1>")
        if fault and kind == "held":
            fault.released.wait(PATIENCE)
        return self.pass_on(body, kind)

    def __getattr__(self, name: str) -> Any:
        if name.startswith("do_"):  # whatever the method
            return self.do_any
        raise AttributeError(name)

    def pass_on(self, body: bytes, kind: str) -> None:
        call = http.client.HTTPConnection(*self.server.between.upstream, timeout=PATIENCE)
        try:
            path = self.server.between.upstream_path(self.path)
            call.putrequest(self.command, path, skip_host=True, skip_accept_encoding=True)
            for name, value in self.headers.items():
                if name.lower() not in OF_THE_CONNECTION:
                    call.putheader(name, value)
            call.putheader("Connection", "close")
            call.endheaders(body)
            answer = call.getresponse()
            read = answer.read()
        except (OSError, http.client.HTTPException):
            return self.break_off()
        finally:
            call.close()
        if kind == "lost":
            return self.break_off()
        heads = [(k, v) for k, v in answer.getheaders() if k.lower() not in {*OF_THE_CONNECTION, "content-length"}]
        return self.answer(answer.status, heads, read, half=kind == "half down")

    def answer(self, status: int, heads: list[tuple[str, str]], body: bytes, *, half: bool = False) -> None:
        self.send_response_only(status)
        for name, value in heads:
            self.send_header(name, value)
        self.send_header("Content-Length", str(len(body)))
        # A browser tries again of itself what fails on a connection that it used before, and would undo a fault.
        self.send_header("Connection", "close")
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body[: len(body) // 2] if half else body)

    def break_off(self) -> None:
        """With a reset, as when a connection is lost: no orderly end that could pass for an answer."""
        self.close_connection = True
        self.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))

    def handle_one_request(self) -> None:
        with suppress(OSError):  # the browser went away
            super().handle_one_request()
        self.close_connection = True

    def log_message(self, *_: Any) -> None:
        pass


class Server(ThreadingHTTPServer):
    """Holds the network that its connections ask."""

    daemon_threads = True

    def __init__(self, between: Between) -> None:
        self.between = between
        super().__init__(("127.0.0.1", 0), Handler)
