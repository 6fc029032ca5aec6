"""Those who use the service during the load, each with a pace of their own: 20 in the office, 30 engineers, 200 customers.

It is a process of its own, so that what it costs is not measured as the service's: `python -m tests.load.callers PLAN` reads
what it needs as JSON from the file PLAN and prints what came of it as JSON.
"""

import http.client
import http.cookies
import io
import json
import os
import random
import ssl
import sys
import threading
import time
import urllib.parse
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from PIL import Image

from jobsite.ids import new_id
from tests.factories import PASSWORD
from tests.load.costs import BARE, COMPARED

OFFICE_PAUSE, ENGINEERS_PAUSE, CUSTOMERS_PAUSE = 6.0, 20.0, 60.0  # seconds between two pages of one person, on average
OFFICE, ENGINEERS, CUSTOMERS = 20, 30, 200
DEFECT, PHOTOGRAPH = "a defect taken down", "a photograph put up"
MARK = "__Host-"  # RFC 6265bis: a cookie that only this host, by https, may set
LISTS = (
    "desk:due", "desk:sites", "works:remedials", "quotes:quotes", "inspections:inspections", "visits:diary",
    "premises:parties",
)  # fmt: skip


@dataclass
class Kept:
    """What all callers together saw."""

    took: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    failed: list[str] = field(default_factory=list)
    done: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    lock: threading.Lock = field(default_factory=threading.Lock)

    def add(self, name: str, seconds: float, *, change: bool = False) -> None:
        with self.lock:
            self.took[name].append(round(seconds * 1000, 1))
            if change:
                self.done[name] += 1

    def fail(self, name: str, what: str) -> None:
        with self.lock:
            self.failed.append(f"{name}: {what}")


class Caller(threading.Thread):
    """One person with one connection, which is opened again when the other side closed it, as browsers do."""

    pause = OFFICE_PAUSE
    block = 1  # of addresses

    def __init__(self, plan: dict[str, Any], kept: Kept, number: int) -> None:
        super().__init__(daemon=True)
        self.plan, self.kept, self.number = plan, kept, number
        self.dice = random.Random(number)
        self.trust = ssl.create_default_context(cafile=plan["certificate"])
        self.connection: http.client.HTTPSConnection | None = None
        self.address = f"127.0.1.{number + self.block}"  # each from another, as outside
        self.cookies: dict[str, str] = {}  # without the mark of those that only https sends back
        self.until = 0.0

    def run(self) -> None:
        try:
            self.begin()
        except Exception as error:  # noqa: BLE001 - it counts as a failed request
            self.kept.fail("sign-in", repr(error))
            return
        time.sleep(self.dice.uniform(0, self.pause))
        while time.monotonic() < self.until:
            self.step()
            time.sleep(max(0.0, min(self.dice.expovariate(1 / self.pause), self.until - time.monotonic())))

    def begin(self) -> None:
        """Before the first page."""

    def step(self) -> None:
        """One page, or one thing done."""
        raise NotImplementedError

    def ask(self, name: str, path: str, body: bytes | None = None, **headers: str) -> bytes:
        """The page; how long it took is kept, and whatever is no success."""
        began = time.monotonic()
        try:
            status, said = self._once(path, body, headers)
        except (http.client.HTTPException, OSError) as error:
            self.kept.fail(name, repr(error))
            return b""
        if status not in (200, 201):
            self.kept.fail(name, f"{status} {said[:200]!r}")
        else:
            self.kept.add(name, time.monotonic() - began, change=body is not None)
        return said

    def _once(self, path: str, body: bytes | None, headers: dict[str, str]) -> tuple[int, bytes]:
        """A connection that the other side closed meanwhile is opened again, once."""
        for fresh in (False, True):
            if self.connection is None or fresh:
                self.connection = http.client.HTTPSConnection(
                    "127.0.0.1", self.plan["port"], context=self.trust, timeout=60, source_address=(self.address, 0)
                )
            try:
                return self._send(path, body, headers)
            except (http.client.RemoteDisconnected, ConnectionResetError, BrokenPipeError):
                self.connection.close()
                if fresh:
                    raise
        raise AssertionError("it was sent twice")

    def _send(self, path: str, body: bytes | None, headers: dict[str, str]) -> tuple[int, bytes]:
        assert self.connection is not None
        cookie = "; ".join(f"{MARK}{name}={value}" for name, value in self.cookies.items())
        host = f"localhost:{self.plan['port']}"
        usual = {"Host": host, "Referer": f"https://{host}/", "Cookie": cookie, "Accept-Encoding": "gzip"}
        usual["X-CSRFToken"] = self.cookies.get("csrftoken", "")
        self.connection.request("GET" if body is None else "POST", path, body, usual | headers)
        answer = self.connection.getresponse()
        said = answer.read()
        for line in answer.headers.get_all("Set-Cookie", []):
            for name, morsel in http.cookies.SimpleCookie(line).items():
                self.cookies[name.removeprefix(MARK)] = morsel.value
        return answer.status, said

    def sign_in(self, email: str) -> None:
        self._once("/accounts/login/", None, {})
        form = {"login": email, "password": PASSWORD, "csrfmiddlewaretoken": self.cookies["csrftoken"]}
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        status, said = self._once("/accounts/login/", urllib.parse.urlencode(form).encode(), kind)
        if status != 302 or "sessionid" not in self.cookies:
            raise RuntimeError(f"{email} could not sign in: {status} {said[:300]!r}")


class Office(Caller):
    """Looks at lists and sites most, at every other page too, and takes a defect down now and then."""

    def begin(self) -> None:
        self.sign_in(self.plan["office"][self.number])
        self.pages = self.plan["pages"] | {BARE: ["/bare/"]} | {f"admin: {name}": [at] for name, at in COMPARED.items()}

    def step(self) -> None:
        what = self.dice.random()
        if what < 0.3:
            self.look_at(self.dice.choice(LISTS))
        elif what < 0.4:
            site = self.dice.choice(list(self.plan["units"]))
            self.ask("desk:site", f"/sites/{site}/")
        elif what < 0.9:
            self.look_at(self.dice.choice(sorted(self.pages)))
        else:
            self.take_down(self.dice.choice(list(self.plan["units"])))

    def look_at(self, page: str) -> None:
        """One of its addresses."""
        self.ask(page, self.dice.choice(self.pages[page]))

    def take_down(self, site: str) -> None:
        """A defect that somebody told of."""
        body = {"id": str(new_id()), "unit": self.plan["units"][site], "text": "It hums", "reported_by": "A tenant"}
        headers = {"Content-Type": "application/json", "Idempotency-Key": f'"{new_id()}"'}
        self.ask(DEFECT, f"/api/v1/sites/{site}/report-defect/", json.dumps(body).encode(), **headers)


class Engineer(Caller):
    """Looks at the day, and puts up a photograph."""

    pause = ENGINEERS_PAUSE
    block = OFFICE + 1

    def begin(self) -> None:
        self.email = self.plan["engineers"][self.number]
        self.sign_in(self.email)

    def step(self) -> None:
        self.ask("my day", "/my-day/")
        if work := self.plan["work"][self.email]:
            body, kind = as_form(photograph())
            where = f"/api/v1/remedials/{self.dice.choice(work)}/photos/"
            headers = {"Content-Type": kind, "Idempotency-Key": f'"{new_id()}"'}
            self.ask(PHOTOGRAPH, where, body, **headers)


class Customer(Caller):
    """Reads the page behind the private link."""

    pause = CUSTOMERS_PAUSE
    block = OFFICE + ENGINEERS + 1

    def step(self) -> None:
        self.ask("status page", f"/s/{self.plan['tokens'][self.number]}/")


def photograph() -> bytes:
    """About 250 kB, as the phone's page shrinks them; no two alike, nor like one of an earlier run on the same data, which the
    service would know again.
    """
    noise = Image.frombytes("RGB", (200, 150), os.urandom(200 * 150 * 3)).resize((1600, 1200))
    out = io.BytesIO()
    noise.save(out, "JPEG", quality=70)
    return out.getvalue()


def as_form(photo: bytes) -> tuple[bytes, str]:
    """The body of a form with one file, and its media type."""
    edge = new_id().hex
    head = f'--{edge}\r\nContent-Disposition: form-data; name="photo"; filename="p.jpg"\r\nContent-Type: image/jpeg\r\n\r\n'
    return head.encode() + photo + f"\r\n--{edge}--\r\n".encode(), f"multipart/form-data; boundary={edge}"


def main() -> None:
    plan, kept = json.loads(Path(sys.argv[1]).read_text()), Kept()
    callers: list[Caller] = [
        *(Office(plan, kept, n) for n in range(len(plan["office"]))),
        *(Engineer(plan, kept, n) for n in range(len(plan["engineers"]))),
        *(Customer(plan, kept, n) for n in range(len(plan["tokens"]))),
    ]
    until = time.monotonic() + plan["seconds"]
    for n, caller in enumerate(callers):
        caller.until = until
        caller.start()
        if n < len(plan["office"]) + len(plan["engineers"]):
            time.sleep(0.2)  # they come one after another: a password costs a tenth of a second of the processor
    for caller in callers:
        caller.join()
    sys.stdout.write(json.dumps({"took": kept.took, "failed": kept.failed, "done": kept.done}))


if __name__ == "__main__":
    main()
