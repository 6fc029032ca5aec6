"""How the API is tried against its own description, by schemathesis and a real server process.

What every case is given besides: a key of its own (Idempotency-Key) where what was made up is one, and often the version that
the row has; else nothing would ever be done. A refusal because a made-up key names no row (`urn:problem:rows:unknown`) is no
failure: no description can say which rows there are.
"""

import copy
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from zlib import crc32

import requests
import schemathesis
from schemathesis import engine
from schemathesis.engine import events

from jobsite import clock
from jobsite.api.headers import KEY_PATTERN, TAGS_PATTERN
from jobsite.ids import new_id
from jobsite.people.operations import make_token
from tests.faults.web import serving
from tests.fuzz.world import settled

CASES = int(os.environ.get("FUZZ", "25"))
LOTTERY = "FUZZ" in os.environ  # `make fuzz` explores; the test run tries the same each time
PARTS = 4
UNKNOWN = b"urn:problem:rows:unknown"
KEY, TAGS = "Idempotency-Key", "If-Match"
ACCEPTED = ["2xx", "3xx", "401", "403", "404", "409", "412", "429"]
ONE_BY_ONE, LINKED = ("examples", "coverage", "fuzzing"), ("stateful",)


@dataclass
class Api:
    """A server with a firm in it, and the token of somebody who may do everything there."""

    address: str
    token: str

    @property
    def headers(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.token}"}


@contextmanager
def api() -> Iterator[Api]:
    """As long as the block lasts, on the test's database."""
    now = clock.now()
    given = {"id": new_id(), "name": "tests", "scope": "write", "expires_at": now + timedelta(days=1)}
    token = make_token(by=settled(), now=now, **given)[1]
    with serving() as web:
        yield Api(f"http://127.0.0.1:{web.port}", token)


_FOUND: list[dict[str, Any]] = []


def described(of: Api) -> dict[str, Any]:
    """What the server says of the API; asked for once in this process: it takes long, and is the same for all."""
    if not _FOUND:
        answer = requests.get(f"{of.address}/api/v1/schema/", headers=of.headers, timeout=300)
        answer.raise_for_status()
        _FOUND.append(answer.json())
    return copy.deepcopy(_FOUND[0])


def config(of: Api, phases: tuple[str, ...]) -> schemathesis.Config:
    """All checks in these phases, `CASES` cases an operation."""
    known = (*ONE_BY_ONE, *LINKED)
    return schemathesis.Config.from_dict(
        {
            "base-url": of.address,
            "headers": of.headers,
            "generation": {
                "max-examples": CASES,
                "deterministic": not LOTTERY,
                "database": "none",
                "no-shrink": True,
                "allow-x00": False,
            },
            "phases": {name: {"enabled": name in phases} for name in known},
            "checks": {"positive_data_acceptance": {"expected-statuses": ACCEPTED}},
            "continue-on-failure": True,
            "cache": {"enabled": False},
        }
    )


def found(of: Api, phases: tuple[str, ...], part: int | None = None) -> list[str]:
    """What fails in these phases, each with the request that shows it. `part`: of PARTS, only its share of the addresses."""
    schema = schemathesis.openapi.from_dict(described(of), config=config(of, phases))
    if part is not None:
        schema = schema.include(func=lambda context: crc32(context.operation.path.encode()) % PARTS == part)
    told: dict[str, str] = {}
    for event in engine.from_schema(schema).execute():
        for kind, text in _failures(event):
            told.setdefault(kind, text)  # one example of each kind of failure an operation is enough
    return sorted(told.values())


@schemathesis.hook
def before_call(context: Any, case: Any, kwargs: Any) -> None:
    """A key of its own for each case, and the row's own version for half of them."""
    headers = case.headers
    if re.fullmatch(KEY_PATTERN, str(headers.get(KEY, ""))):
        headers[KEY] = f'"{new_id()}"'
    tags = str(headers.get(TAGS, ""))
    if re.fullmatch(TAGS_PATTERN, tags) and len(tags) % 2:
        headers[TAGS] = "*"


@schemathesis.hook
def filter_failure(context: Any, failure: Any, case: Any, response: Any) -> bool:
    """Whether it is a failure: not where well-formed data names rows that are not there."""
    if type(failure).__name__ != "RejectedPositiveData":
        return True
    # Of a file it sends a text without a name, which is no file.
    return UNKNOWN not in (response.content or b"") and case.media_type != "multipart/form-data"


def _failures(event: Any) -> Iterator[tuple[str, str]]:
    if isinstance(event, events.NonFatalError | events.FatalError):
        error = getattr(event, "value", None) or getattr(event, "exception", None)
        yield f"{type(error)} {getattr(event, 'label', '')}", f"{getattr(event, 'label', '')}: {error!r}"[:2000]
    if isinstance(event, events.ScenarioFinished):
        for case, checks in event.recorder.checks.items():
            for check in checks:
                if (info := check.failure_info) is not None:
                    asked = event.recorder.interactions.get(case)
                    label = event.recorder.cases[case].value.operation.label
                    yield f"{check.name} {label}", _told(check.name, label, info.failure, asked)


def _told(check: str, label: str, failure: Any, asked: Any) -> str:
    """The failure in words, with what was sent and answered."""
    lines = [f"{label}: {check}: {failure.title}: {' '.join(failure.message.split())[:400]}"]
    if asked is not None:
        sent, answered = asked.request, asked.response
        headers = {name: value for name, value in sent.headers.items() if name in (KEY, TAGS)}
        lines.append(f"  {sent.method} {sent.uri[:300]} {headers} {(sent.body or b'')[:500]!r}")
        if answered is not None:
            lines.append(f"  {answered.status_code} {(answered.content or b'')[:400]!r}")
    return "\n".join(lines)
