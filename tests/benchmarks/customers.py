"""How soon a customer sees the page on a poor line: largest contentful paint in a real Chromium at 1.6 Mbit/s and 150 ms.

The largest thing painted first, as the W3C's draft "Largest Contentful Paint" defines it; the line is set by
Chromium's own means (CDP, Network.emulateNetworkConditions), and the processor slowed down four times beside it. A site of 47
open items and 24 closed ones with pictures; nothing is kept from one opening to the next. Without a Chromium nothing is
measured, and that is said.
"""

import gzip
import statistics
import threading
from typing import Any
from wsgiref.simple_server import make_server

from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.core.wsgi import get_wsgi_application
from django.test import override_settings
from playwright.sync_api import Browser, sync_playwright

from jobsite import clock
from tests.benchmarks.phone import Quiet, Server, leaving_no_connection
from tests.browser.conftest import find_chromium
from tests.factories import make_link, make_site
from tests.remedials.customers import large_site

TIMES, SLOWER = 9, 4
LINE = {"offline": False, "latency": 150, "downloadThroughput": 200_000, "uploadThroughput": 94_000}  # bytes a second
PAINTED = """() => new Promise(done => new PerformanceObserver(list => {
    const last = list.getEntries().at(-1);
    done([last.startTime, last.element ? last.element.tagName : '']);
}).observe({type: 'largest-contentful-paint', buffered: true}))"""


def figures() -> dict[str, Any]:
    """The figures, or {} where no Chromium is found."""
    chromium = find_chromium()
    if chromium is None:
        return {}
    site = large_site(make_site("Large House"), on=clock.local_day(clock.now()))
    _, token = make_link(site)
    with override_settings(ROOT_URLCONF="jobsite.urls", ALLOWED_HOSTS=["localhost"]):
        application = leaving_no_connection(StaticFilesHandler(get_wsgi_application()))
        service = make_server("127.0.0.1", 0, application, server_class=Server, handler_class=Quiet)
        threading.Thread(target=service.serve_forever, daemon=True).start()
        try:
            address = f"http://localhost:{service.server_address[1]}/s/{token}/"
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
                plain = [opened(browser, address, 1) for _ in range(TIMES)]
                slow = [opened(browser, address, SLOWER) for _ in range(TIMES)]
                browser.close()
        finally:
            service.shutdown()
            service.server_close()
    return {
        "items": 47,
        "line": "1.6 Mbit/s, 150 ms",
        "lcp_median_ms": round(statistics.median(ms for ms, _, _ in plain)),
        "lcp_most_ms": round(max(ms for ms, _, _ in plain)),
        "lcp_slow_processor_median_ms": round(statistics.median(ms for ms, _, _ in slow)),
        "largest": plain[-1][1],
        "bytes_page_gzip": plain[-1][2],
    }


def opened(browser: Browser, address: str, slower: int) -> tuple[float, str, int]:
    """One opening by a browser that knows nothing yet: milliseconds to the largest paint, what that was, bytes of the page."""
    with browser.new_context(viewport={"width": 390, "height": 844}, device_scale_factor=2) as context:
        page = context.new_page()
        wire = context.new_cdp_session(page)
        wire.send("Network.enable")
        wire.send("Network.emulateNetworkConditions", LINE)
        wire.send("Emulation.setCPUThrottlingRate", {"rate": slower})
        answer = page.goto(address)
        page.wait_for_load_state("networkidle")
        milliseconds, element = page.evaluate(PAINTED)
        return float(milliseconds), str(element), len(gzip.compress(answer.body())) if answer else 0


def table(found: dict[str, Any]) -> str:
    """The figures for reading."""
    if not found:
        return "customers' page: no Chromium was found, nothing measured"
    return (
        f"customers' page, {found['items']} open items, {found['bytes_page_gzip']:,} bytes, at {found['line']}: largest paint "
        f"({found['largest']}) after {found['lcp_median_ms']} ms (median), {found['lcp_most_ms']} ms (most); processor "
        f"{SLOWER} times slower: {found['lcp_slow_processor_median_ms']} ms"
    )
