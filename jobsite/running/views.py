"""Ready or not, numbers for Prometheus, and the managers' page of how the service runs."""

import ipaddress
from functools import cache as once

from django.conf import settings
from django.core.cache import cache
from django.db import Error, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.utils.crypto import constant_time_compare
from django.views.decorators.http import require_safe
from redis.exceptions import RedisError

from jobsite.pages import page
from jobsite.people.guard import Request, needs, open_to_all
from jobsite.people.rights import Right
from jobsite.running.measures import exposition
from jobsite.running.queries import service_page

TEXT = "text/plain; version=0.0.4; charset=utf-8"


@open_to_all
@require_safe
def ready(request: HttpRequest) -> HttpResponseBase:
    """200 once this process can answer requests: the database and the cache answer, every migration has run; else 503.

    What hands out requests asks here. Whether reminders go out is another question: see `due:health`.
    """
    found = {"database": "down", "migrations": "unknown", "cache": _cache()}
    try:
        connection.ensure_connection()
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
        found |= {"database": "up", "migrations": _migrations()}
    except Error:
        connection.close()
    well = found == {"database": "up", "migrations": "done", "cache": "up"}
    answer = JsonResponse(found, status=200 if well else 503)
    answer["Cache-Control"] = "no-store"
    return answer


def _cache() -> str:
    try:
        cache.has_key("ready")
    except (RedisError, OSError, Error):
        return "down"
    return "up"


class NotYet(Exception):
    """Some migrations have not run."""


def _migrations() -> str:
    try:
        _all_done()
    except NotYet:
        return "to run"
    return "done"


@once
def _all_done() -> None:
    """Asked until it is so: of this process' own migrations none is ever undone while it runs."""
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        raise NotYet


@open_to_all
@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    """Numbers for Prometheus: to whoever brings METRICS_TOKEN, or without one to this machine only."""
    if not _may_read(request):
        return HttpResponse("The numbers are not for everybody.\n", status=403, content_type=TEXT)
    answer = HttpResponse(exposition(request.now), content_type=TEXT)  # type: ignore[attr-defined]
    answer["Cache-Control"] = "no-store"
    return answer


def _may_read(request: HttpRequest) -> bool:
    if settings.METRICS_TOKEN:
        kind, _, token = request.headers.get("Authorization", "").partition(" ")
        return kind.lower() == "bearer" and constant_time_compare(token.strip(), settings.METRICS_TOKEN)
    if settings.TRUSTED_PROXIES or "X-Forwarded-For" in request.headers or "Forwarded" in request.headers:
        return False  # behind a proxy everybody comes from this machine
    try:
        return ipaddress.ip_address(request.META.get("REMOTE_ADDR", "")).is_loopback
    except ValueError:
        return False


@needs(Right.KEEP_FIRM)
def service(request: Request) -> HttpResponse:
    """When each part last ran, and which SQL statements are slow."""
    return page(request, "running/service.html", service_page(request.now))
