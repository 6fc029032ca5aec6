"""The stack as a process beside a test, and people at it: real TLS, real sign-in, one connection a request as a busy day has."""

import email.message
import http.client
import http.cookiejar
import json
import os
import re
import shlex
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from jobsite.ids import new_id
from tests.readme import TOP

START_SECONDS = 400  # 40 on an idle machine


def free_ports(count: int = 30) -> int:
    """The first of `count` ports in a row that nobody listens on now."""
    for first in range(21_000 + os.getpid() % 500 * 10, 60_000, count):
        if not any(_taken(first + n) for n in range(count)):
            return first
    raise RuntimeError("no free ports")


def _taken(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


class RunningStack:
    """`python -m jobsite.stack` with a folder of data and ports of its own."""

    def __init__(self, folder: Path, **environment: str) -> None:
        self.folder, self.port = folder, free_ports()
        kept_out = ("DJANGO_", "PYTEST_", "DATABASE_URL", "REDIS_URL", "SECRET_KEY")
        self.environment = {k: v for k, v in os.environ.items() if not k.startswith(kept_out)}
        self.environment |= {"JOBSITE_VAR": str(folder), "PORT": str(self.port), **environment}
        self.said = folder / "said"
        with self.said.open("w") as out:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "jobsite.stack"], cwd=TOP, env=self.environment, stdin=subprocess.DEVNULL,
                stdout=out, stderr=subprocess.STDOUT, start_new_session=True,
            )  # fmt: skip

    @property
    def address(self) -> str:
        return f"https://localhost:{self.port}"

    @property
    def trust(self) -> ssl.SSLContext:
        return ssl.create_default_context(cafile=str(self.folder / "stack" / "certificates" / "fullchain.pem"))

    def until_open(self) -> None:
        self.until(lambda: "Open https://" in self.said.read_text(), START_SECONDS)

    def until(self, happened: Callable[[], Any], seconds: float) -> Any:
        """What `happened` says once it says something; fails with all logs where the stack ends or it takes too long."""
        until = time.monotonic() + seconds
        while not (said := happened()):
            if self.process.poll() is not None or time.monotonic() > until:
                raise AssertionError(self.told())
            time.sleep(0.1)
        return said

    def told(self) -> str:
        logs = sorted((self.folder / "stack").glob("*.log"))
        ends = [f"--- {log.name}\n{log.read_text(errors='replace')[-1500:]}" for log in logs]
        return "\n".join([self.said.read_text(), *ends])

    def roll(self) -> None:
        """Replace web servers and workers one after another, as after an upgrade; returns when it is done."""
        before = self.said.read_text().count("Replaced.")
        self.process.send_signal(signal.SIGHUP)
        self.until(lambda: self.said.read_text().count("Replaced.") > before, 180)

    def commands_environment(self) -> dict[str, str]:
        """The environment in which `manage.py` works on this stack's data."""
        lines = subprocess.run(
            [sys.executable, "-m", "jobsite.stack", "env"], cwd=TOP, env=self.environment, capture_output=True, text=True,
            check=True,
        ).stdout.splitlines()  # fmt: skip
        given = dict(shlex.split(line)[1].split("=", 1) for line in lines)
        return self.environment | given | {"METRICS_PART": "filling"}

    def fill(self, script: str) -> Any:
        """What a script of ours prints as JSON, run with the environment of the stack."""
        ran = subprocess.run(
            [sys.executable, "-c", f"import django; django.setup()\n{script}"], cwd=TOP, capture_output=True, text=True,
            env=self.commands_environment(),
        )  # fmt: skip
        assert ran.returncode == 0, ran.stderr
        return json.loads(ran.stdout.splitlines()[-1])

    def mails(self) -> list[str]:
        """Every mail that the catcher has, as it came."""
        return [mail.read_text() for mail in sorted((self.folder / "stack" / "mail").glob("*.eml"))]

    def pids(self, words: str) -> list[int]:
        """The processes of this stack whose command line holds `words`."""
        found = []
        for process in Path("/proc").glob("[0-9]*"):
            try:
                mine = str(self.folder).encode() in (process / "environ").read_bytes()
                line = (process / "cmdline").read_bytes().replace(b"\0", b" ").decode()
            except OSError:
                continue
            if mine and words in line:
                found.append(int(process.name))
        return sorted(found)

    def stop(self) -> int:
        """Ctrl+C; what it returned."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(90)


class Person:
    """Somebody at a browser, signed in or not; each request has a connection of its own."""

    def __init__(self, stack: RunningStack) -> None:
        self.stack, self.jar = stack, http.cookiejar.CookieJar()
        self.at = ""  # where the last answer came from
        self.headers: email.message.Message = email.message.Message()  # of the last refusal
        self.opener = urllib.request.build_opener(
            urllib.request.HTTPSHandler(context=stack.trust), urllib.request.HTTPCookieProcessor(self.jar)
        )

    def ask(self, path: str, body: Any = None, *, once: str = "", version: str = "") -> tuple[int, bytes]:
        """Status and body of an answer; a dictionary is sent as JSON, bytes as a form."""
        headers = {"Referer": self.stack.address + path, "X-CSRFToken": self._cookie("csrftoken")}
        if isinstance(body, dict):
            headers |= {"Content-Type": "application/json", "Idempotency-Key": f'"{once or new_id()}"'}
            headers |= {"If-Match": version or "*"}
            body = json.dumps(body).encode()
        request = urllib.request.Request(self.stack.address + path, data=body, headers=headers)
        try:
            with self.opener.open(request, timeout=60) as answer:
                self.at = urllib.parse.urlsplit(answer.url).path
                return answer.status, answer.read()
        except urllib.error.HTTPError as refused:
            self.headers = refused.headers
            return refused.code, refused.read()

    def send_form(self, path: str, **fields: str) -> tuple[int, str, bytes]:
        """Open a page, fill in the form that has `fields`, and send it with what else it holds: status, address, page."""
        _, page = self.ask(path)
        reader = Forms()
        reader.feed(page.decode())
        form = next(form for form in reader.forms if set(fields) <= set(form))
        status, said = self.ask(path, urllib.parse.urlencode(form | fields).encode())
        return status, self.at, said

    def json(self, path: str, body: Any = None) -> Any:
        """The answer's JSON; fails unless it was done."""
        status, said = self.ask(path, body)
        assert 200 <= status < 300, (path, status, said[:2000])
        return json.loads(said)

    def sign_in(self, email: str, password: str) -> None:
        """By the page, as a person does."""
        self.ask("/accounts/login/")
        form = {"login": email, "password": password, "csrfmiddlewaretoken": self._cookie("csrftoken")}
        status, page = self.ask("/accounts/login/", urllib.parse.urlencode(form).encode())
        assert (status, self._cookie("sessionid") != "") == (200, True), re.sub(rb"<[^>]+>|\s+", b" ", page)[:1500]

    def _cookie(self, name: str) -> str:
        return next((cookie.value or "" for cookie in self.jar if cookie.name.removeprefix("__Host-") == name), "")


class Forms(HTMLParser):
    """The fields of each form of a page with what stands in them."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[dict[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A form begins, or one of its fields."""
        of = dict(attrs)
        if tag == "form":
            self.forms.append({})
        elif tag in ("input", "textarea") and self.forms and of.get("name") and of.get("type") != "submit":
            self.forms[-1][of["name"] or ""] = of.get("value") or ""
