"""What a day on an engineer's phone costs: bytes there, milliseconds to put it there and to open a visit without a network.

A day of 8 visits with 40 pictures, in a real Chromium beside the service; for opening, the processor is slowed down four
times (CDP, Emulation.setCPUThrottlingRate) and nobody answers. Without a Chromium nothing is measured, and that is said.
"""

import statistics
import threading
import time
from contextlib import closing
from socketserver import ThreadingMixIn
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from django.conf import settings
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.core.wsgi import get_wsgi_application
from django.db import connections
from django.test import override_settings
from playwright.sync_api import Page, sync_playwright

from tests.browser.between import Between
from tests.browser.conftest import find_chromium, session_cookie
from tests.browser.phones import a_day, packed
from tests.factories import make_user

VISITS, PICTURES, SLOWER, TIMES = 8, 40, 4, 15
OPENED = "performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd"


class Server(ThreadingMixIn, WSGIServer):
    """The service for one browser; closing it waits for what is still answered."""


class Quiet(WSGIRequestHandler):
    """Says nothing of each request."""

    def log_message(self, *_: Any) -> None:
        pass


def leaving_no_connection(application: Any) -> Any:
    """`application`, each of whose threads gives its connection to the database back: the benchmark drops that at its end."""

    def answered(environ: dict[str, Any], start_response: Any) -> list[bytes]:
        try:
            answer = application(environ, start_response)
            with closing(answer):
                return list(answer)
        finally:
            connections.close_all()

    return answered


def figures() -> dict[str, Any]:
    """The figures, or {} where no Chromium is found."""
    chromium = find_chromium()
    if chromium is None:
        return {}
    engineer = make_user("Wilma Packed", "engineer")
    visits = a_day(engineer, VISITS, pictures=PICTURES // VISITS)
    with override_settings(ROOT_URLCONF="jobsite.urls", ALLOWED_HOSTS=["localhost"]):
        application = leaving_no_connection(StaticFilesHandler(get_wsgi_application()))
        service = make_server("127.0.0.1", 0, application, server_class=Server, handler_class=Quiet)
        threading.Thread(target=service.serve_forever, daemon=True).start()
        between = Between(f"http://127.0.0.1:{service.server_address[1]}")
        try:
            return _measured(chromium, between, engineer, [str(visit.pk) for visit in visits])
        finally:
            between.close()
            service.shutdown()
            service.server_close()


def _measured(chromium: str, between: Between, engineer: Any, visits: list[str]) -> dict[str, Any]:
    cookie = session_cookie(
        engineer, between.address
    )  # beside Playwright's loop, Django would open a second connection
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        context = browser.new_context(base_url=between.address, viewport={"width": 390, "height": 844}, has_touch=True)
        context.add_cookies([cookie])
        page = context.new_page()
        began = time.perf_counter()
        packed(page, f"{VISITS} visits until")
        took = time.perf_counter() - began
        used = page.evaluate("navigator.storage.estimate().then((one) => one.usage)")
        between.cut()
        asked = len(between.asked)
        session = context.new_cdp_session(page)
        session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        opened = [_open(page, f"/visits/{visits[n % len(visits)]}/") for n in range(TIMES)]
        reached = len(between.asked) - asked
        browser.close()
    return {
        "visits": VISITS,
        "pictures": PICTURES,
        "bytes_on_the_phone": used,
        "seconds_to_put_there": round(took, 1),
        "open_median_ms": round(statistics.median(opened), 1),
        "open_most_ms": round(max(opened), 1),
        "requests_that_reached_us": reached,
        "version": settings.STATIC_VERSION,
    }


def _open(page: Page, where: str) -> float:
    page.goto(where)
    page.locator(".packed").wait_for()
    return float(page.evaluate(OPENED))


def table(found: dict[str, Any]) -> str:
    """The figures for reading."""
    if not found:
        return "phone: no Chromium was found, nothing measured"
    return (
        f"phone: {found['visits']} visits, {found['pictures']} pictures: {found['bytes_on_the_phone'] / 1e6:.1f} MB on it, "
        f"put there in {found['seconds_to_put_there']} s; a visit opened without a network, processor {SLOWER} times slower: "
        f"{found['open_median_ms']} ms (median), {found['open_most_ms']} ms (most), "
        f"{found['requests_that_reached_us']} requests"
    )
