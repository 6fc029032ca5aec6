"""Each request and each task of the worker has an id, is measured, and tells which of its SQL statements were slow."""

import logging
import re
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from celery import Task
from django.conf import settings
from django.db import Error, connection
from django.http import HttpRequest
from django.http.response import HttpResponseBase

from jobsite import clock
from jobsite.ids import new_id
from jobsite.logs import DOING
from jobsite.running import measures, operations

HEADER = "X-Request-Id"
GIVEN = re.compile(
    r"[0-9a-f]{8}(-?)(?:[0-9a-f]{4}\1){3}[0-9a-f]{12}", re.IGNORECASE
)  # as RFC 9562 writes a UUID, or bare
NOWHERE = "none"  # the route of what no pattern of ours matches
STATIC = "static"
log = logging.getLogger(__name__)
requests_log = logging.getLogger("jobsite.requests")


@dataclass
class Slow:
    """Those of the statements that took long, as they were written: their values are never looked at."""

    found: list[tuple[str, float]] = field(default_factory=list)
    statements: int = 0

    def __call__(self, execute: Callable[..., Any], sql: Any, params: Any, many: bool, context: dict[str, Any]) -> Any:
        began = time.perf_counter()
        try:
            return execute(sql, params, many, context)
        finally:
            self.statements += 1
            took = (time.perf_counter() - began) * 1000
            if took >= settings.SLOW_STATEMENT_MS:
                self.found.append((sql if isinstance(sql, str) else type(sql).__name__, took))


@contextmanager
def watched(**doing: str) -> Iterator[Slow]:
    """What happens in the block is told of under `doing` in every line of the log."""
    token, slow = DOING.set(doing), Slow()
    try:
        with connection.execute_wrapper(slow):
            yield slow
    finally:
        DOING.reset(token)


def tell_of_slow(slow: Slow, place: str) -> None:
    """Keep the slow statements of one request or task for the managers' page; what that costs is never worth an error."""
    for sql, took in tuple(slow.found):
        measures.slow_statements.labels(place).inc()
        try:
            operations.note_slow_statement(sql, place=place, milliseconds=took, now=clock.now())
        except Error:  # a closed connection too, which is no DatabaseError
            log.warning("A slow statement of %s (%d ms) was not noted.", place, took)
            return


class Watched:
    """The outermost middleware: the id of the request, its line in the log, its numbers."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        name, began = request_id(request), time.perf_counter()
        with watched(request=name) as slow:
            response = self.get_response(request)
            seconds = time.perf_counter() - began
            route, method = route_of(request), request.method or "other"
            measures.count_request(route=route, method=method, status=response.status_code, seconds=seconds)
            facts = {"method": method, "route": route, "status": response.status_code, "ms": round(seconds * 1000)}
            person = getattr(getattr(request, "_cached_user", None), "pk", None)
            facts |= {"statements": slow.statements} | ({"person": str(person)} if person else {})
            requests_log.info("%s %s %s", method, route, response.status_code, extra={"facts": facts})
            tell_of_slow(slow, route)
        response[HEADER] = name
        return response


def request_id(request: HttpRequest) -> str:
    """The id that a proxy of ours gave the request, else a new one.

    Most proxies pass on what a stranger sent: so it is believed in the shape of a UUID alone, and no word of theirs stands in
    our log.
    """
    given = request.headers.get(HEADER, "") if settings.TRUSTED_PROXIES else ""
    return given if GIVEN.fullmatch(given) else new_id().hex


def route_of(request: HttpRequest) -> str:
    """The pattern of the address, which holds neither keys nor tokens."""
    if match := request.resolver_match:
        return match.route or "/"
    return STATIC if request.path.startswith(settings.STATIC_URL) else NOWHERE


class WatchedTask(Task):
    """A task of the worker, measured in the same way."""

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        name, began, outcome = str(self.name), time.perf_counter(), "failed"
        with watched(task=str(self.request.id or ""), name=name) as slow:
            try:
                result = super().__call__(*args, **kwargs)
                outcome = "done"
                return result
            finally:
                measures.count_task(task=name, outcome=outcome, seconds=time.perf_counter() - began)
                tell_of_slow(slow, name)
