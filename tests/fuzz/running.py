"""How the API is tried against its own description, by schemathesis and a real server process.

What every case is given besides: a key of its own (Idempotency-Key) where what was made up is one, and often the version that
the row has and the row of the description's example in place of a made-up one; else nothing would ever be done. A refusal because a made-up key names no row (`urn:problem:rows:unknown`) is no
failure: no description can say which rows there are.
"""

import logging
import os
import re
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import UUID
from zlib import crc32

import requests
import schemathesis
from schemathesis import engine
from schemathesis.core.parameters import ParameterLocation
from schemathesis.engine import events

from jobsite import clock
from jobsite.api.headers import KEY_PATTERN, TAGS_PATTERN
from jobsite.ids import new_id
from jobsite.people.operations import make_token
from tests.factories import make_qualified
from tests.faults.web import serving
from tests.fuzz.described import description
from tests.fuzz.world import ROLES, settled

log = logging.getLogger(__name__)
CASES = int(os.environ.get("FUZZ", "25"))
LOTTERY = CASES > 25  # `make fuzz` explores; the test run tries the same each time
PARTS = 8
TOO_MANY = "got `429 Too Many Requests`"
UNKNOWN = b"urn:problem:rows:unknown"
IN_BODY = re.compile(r"in body - (\w+):")
FORM = "multipart/form-data"
KEY, TAGS = "Idempotency-Key", "If-Match"
ACCEPTED = ["2xx", "3xx", "401", "403", "404", "409", "412", "429"]
REFUSED = ["400", "401", "403", "404", "405", "406", "409", "412", "413", "414", "415", "422", "428", "429"]
# Where a header that must be there is not: RFC 6585, section 3.
NOT_SENT = ["400", "401", "403", "404", "406", "409", "428"]
# The edges of each field are many: there is time for them only where there is time.
ONE_BY_ONE = ("examples", "coverage", "fuzzing") if LOTTERY else ("examples", "fuzzing")
LINKED = ("stateful",)
# Operations lead on by the links of the description alone, none guessed.
MORE: dict[str, dict[str, Any]] = {"stateful": {"max-steps": 6, "inference": {"algorithms": []}}}
PHASES = ("examples", "coverage", "fuzzing", "stateful")


@dataclass
class Api:
    """A server with a firm in it, and the token of somebody who may do everything there."""

    address: str
    token: str

    @property
    def headers(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.token}"}


_ROWS: dict[str, dict[str, str]] = {}  # of each address, the parts that name a row, with the example's
_OWN: set[UUID] = set()  # the key of whoever tries: nothing is done to them, or all that follows would be refused


@contextmanager
def api() -> Iterator[Api]:
    """As long as the block lasts, on the test's database."""
    now = clock.now()
    settled()
    by = make_qualified("Pat Player", *ROLES)
    given = {"id": new_id(), "name": "tests", "scope": "write", "expires_at": now + timedelta(days=1)}
    token = make_token(by=by, now=now, **given)[1]
    _OWN.clear()
    _OWN.update({by.pk, given["id"]})
    _ROWS.update(_named_rows())
    with serving() as web:
        yield Api(f"http://127.0.0.1:{web.port}", token)


def _named_rows() -> dict[str, dict[str, str]]:
    """The rows that the addresses of the description's examples name, by address and part."""
    found: dict[str, dict[str, str]] = {}
    for path, methods in description()["paths"].items():
        for operation in methods.values():
            for one in operation.get("parameters", ()) if isinstance(operation, dict) else ():
                if one["in"] == "path" and "example" in one:
                    found.setdefault(path, {})[one["name"]] = one["example"]
    return found


def config(of: Api, phases: tuple[str, ...]) -> schemathesis.Config:
    """All checks in these phases, `CASES` cases an operation."""
    return schemathesis.Config.from_dict(
        {
            "base-url": of.address,
            "headers": of.headers,
            # How often chance makes up what the patterns then leave out is no failure of the API.
            "suppress-health-check": ["filter_too_much"],
            "generation": {
                "max-examples": CASES,
                "deterministic": not LOTTERY,
                "database": "none",
                "no-shrink": True,
                "allow-x00": False,
            },
            "phases": {name: {"enabled": name in phases} | MORE.get(name, {}) for name in PHASES},
            "checks": {
                "positive_data_acceptance": {"expected-statuses": ACCEPTED},
                "missing_required_header": {"expected-statuses": NOT_SENT},
                "negative_data_rejection": {"expected-statuses": REFUSED},
            },
            "continue-on-failure": True,
            "cache": {"enabled": False},
        }
    )


def found(of: Api, phases: tuple[str, ...], part: int | None = None) -> list[str]:
    """What fails in these phases, each with the request that shows it. `part`: of PARTS, only its share of the addresses."""
    schema = schemathesis.openapi.from_dict(description(), config=config(of, phases))
    if part is not None:
        schema = schema.include(func=lambda context: crc32(context.operation.path.encode()) % PARTS == part)
    told: dict[str, str] = {}
    answers: Counter[int] = Counter()
    for event in engine.from_schema(schema).execute():
        for kind, text in _failures(event):
            if kind not in told:  # one example of each kind of failure an operation is enough
                told[kind] = text
                log.warning("%s", text)
        answers.update(_answers(event))
    log.info("%s, part %s: %s requests, answered %s", phases, part, answers.total(), dict(sorted(answers.items())))
    # Who tried may still do everything, or the last refusals proved nothing.
    last = requests.get(f"{of.address}/api/v1/people/", headers=of.headers, timeout=60)
    assert last.status_code == 200, f"whoever tried was answered {last.status_code} in the end: {last.text[:400]}"
    return sorted(told.values())


def _answers(event: Any) -> list[int]:
    """The statuses of what was asked."""
    asked = event.recorder.interactions.values() if isinstance(event, events.ScenarioFinished) else ()
    return [one.response.status_code for one in asked if one.response is not None]


@schemathesis.hook
def before_call(context: Any, case: Any, kwargs: Any) -> None:
    """A key of its own for each case, and the row's own version for half of them."""
    headers = case.headers
    if re.fullmatch(KEY_PATTERN, str(headers.get(KEY, ""))):
        headers[KEY] = f'"{new_id()}"'
    tags = str(headers.get(TAGS, ""))
    if re.fullmatch(TAGS_PATTERN, tags) and len(tags) % 2:
        headers[TAGS] = "*"
    for name, value in (case.path_parameters or {}).items():
        if _is_own(value) or (_is_well_formed(case) and crc32(str(value).encode()) % 4):
            case.path_parameters[name] = _ROWS.get(case.operation.path, {}).get(name, value)


def _is_own(value: Any) -> bool:
    """Whether it is the key of whoever tries, or of their token, however it is written: answers lead to them as well."""
    try:
        return UUID(str(value)) in _OWN
    except ValueError:
        return False


def _is_well_formed(case: Any) -> bool:
    """Whether the address is one that the description allows, made up by chance and not led to by a link."""
    meta = case.meta
    made = meta is not None and meta.phase.name.value in ("fuzzing", "coverage")
    part = meta.components.get(ParameterLocation.PATH) if made else None
    return part is not None and part.mode.is_positive


@schemathesis.hook
def filter_failure(context: Any, failure: Any, case: Any, response: Any) -> bool:
    """Whether it is a failure: not where well-formed data names rows that are not there."""
    kind = type(failure).__name__
    if kind == "IgnoredAuth" and TOO_MANY in failure.message:
        return False  # who shows many wrong tokens is refused so
    if kind == "AcceptedNegativeData" and case.media_type == FORM:
        return not _is_right_in_a_form(case.body, failure.message)
    if kind != "RejectedPositiveData":
        return True
    # Of a file it sends a text without a name, which is no file.
    return UNKNOWN not in (response.content or b"") and case.media_type != FORM


def _is_right_in_a_form(body: Any, wrong: str) -> bool:
    """Whether what breaks the schema is none of it by the time that it is a form: there everything is a text, an empty one
    stands for null, and what stands before the first part is passed over (RFC 2046, section 5.1.1).
    """
    if not isinstance(body, dict):
        return True
    field = IN_BODY.search(wrong)
    if field is None or field[1] not in body:
        return False
    value = body[field[1]]
    return value == "" or ("Incorrect type" in wrong and not isinstance(value, str))


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
        headers = {name: value for name, value in sent.headers.items() if name in (KEY, TAGS, "Cookie")}
        lines.append(f"  {sent.method} {sent.uri[:300]} {headers} {(sent.body or b'')[:500]!r}")
        if answered is not None:
            lines.append(f"  {answered.status_code} {(answered.content or b'')[:400]!r}")
    return "\n".join(lines)
