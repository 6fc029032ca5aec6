"""Real pages in a real Chromium. A page that complains, or asks another host for anything, fails its test.

Run apart from the other tests (`make test-browser`): the switch below holds for the whole process. Each process of the
run has a database, a server and a Chromium of its own.
"""

import os

# Playwright's plain interface runs a loop in the main thread, and Django then refuses every query made there.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, expect, sync_playwright

from tests.browser.between import Between

# What a busy machine may need; a test that passes waits no longer for it.
expect.set_options(timeout=20_000)

USUAL_NAMES = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome")
# Chromium writes this line for every form that is answered with its errors (422); it is no fault of the page.
ANSWERED = "Failed to load resource: the server responded with a status of "
# And this one for every request that a cut network ends.
CUT = "Failed to load resource: net::ERR_"
# With "best-practice", these are all of axe's rules but the experimental ones and level AAA.
EVERY_RULE = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa", "best-practice"]


def find_chromium() -> str | None:
    """The browser named by CHROMIUM, else the first found in the usual places."""
    names = (os.environ.get("CHROMIUM"), *USUAL_NAMES)
    return next((path for name in names if name and (path := shutil.which(name))), None)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest first: begun last, it would leave the other process without work."""
    items.sort(key=lambda item: "test_whole_job" not in item.nodeid)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for the whole process. Without one the browser tests are skipped, but never in the gate (CI=true)."""
    path = find_chromium()
    if path is None:
        without = pytest.fail if os.environ.get("CI") == "true" else pytest.skip
        without("No Chromium was found: install it or name it in CHROMIUM. The browser tests were not run.")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield chromium
        chromium.close()


@pytest.fixture
def between(live_server) -> Iterator[Between]:
    """A server between the browser and ours, which can be cut, lose an answer, or answer as a portal (`between.py`)."""
    network = Between(live_server.url)
    yield network
    network.close()


@pytest.fixture
def page_for(browser: Browser, live_server, request: pytest.FixtureRequest) -> Iterator[Callable[..., Page]]:
    """Open a page as somebody: `page_for("office")`, `page_for(user, width=390)`, `page_for(None)` for nobody.

    A string names the fixture of a person. When the test ends, it fails for any error in the console, any error of
    a script, and any request to another host than ours. `answered`: what the server may answer besides, such as 500.

    `phone=True` lets the service worker in, which other tests keep out. `through=between` reaches the service by way of that,
    and then a request that fails for want of network is no complaint.
    """
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def open_page(
        who=None,
        *,
        width: int = 1280,
        height: int = 800,
        answered: tuple[int, ...] = (),
        phone: bool = False,
        through: Between | None = None,
        **more,
    ) -> Page:
        address = through.address if through else live_server.url
        context = browser.new_context(
            base_url=address,
            viewport={"width": width, "height": height},
            service_workers="allow" if phone else "block",
            has_touch=width < 600,
            **more,
        )
        contexts.append(context)
        person = request.getfixturevalue(who) if isinstance(who, str) else who
        if person is not None:
            context.add_cookies([session_cookie(person, address)])
        page = context.new_page()
        listen(page, address, complaints, passed=(422, *answered), cut=through is not None)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert complaints == []


def look(page: Page, name: str) -> None:
    """A picture for the person who looks after the pages, where PICTURES names a folder.

    The caret stays: hiding it takes an inline style, which the content policy blocks and the console tells.
    """
    if folder := os.environ.get("PICTURES"):
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True, caret="initial")


def until(page: Page, holds: Callable[[], bool], what: str) -> None:
    """Wait until the database says so, where no page does; half a minute at most."""
    for _ in range(600):
        if holds():
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"not in half a minute: {what}")


def session_cookie(person, address: str) -> dict:
    """The cookie of a session in which this person is signed in."""
    client = Client()
    client.force_login(person)
    name = settings.SESSION_COOKIE_NAME
    return {"name": name, "value": client.cookies[name].value, "url": address}


def listen(
    page: Page, address: str, complaints: list[str], *, passed: tuple[int, ...] = (422,), cut: bool = False
) -> None:
    lines = (*(f"{ANSWERED}{status} " for status in passed), *([CUT] if cut else []))
    ours = (f"{address}/", "data:", "blob:")

    def on_console(message: ConsoleMessage) -> None:
        if message.type == "error" and not message.text.startswith(lines):
            complaints.append(f"console: {message.text} ({page.url})")

    page.on("console", on_console)
    page.on("pageerror", lambda error: complaints.append(f"script: {error} ({page.url})"))
    page.on("request", lambda sent: sent.url.startswith(ours) or complaints.append(f"another host: {sent.url}"))


@pytest.fixture
def axe() -> Callable[[Page], None]:
    """`axe(page)` fails the test for any violation of any rule, naming rule and element."""

    def check(page: Page) -> None:
        page.wait_for_load_state()  # a click waits until the next page begins, not until it stands
        # What passed is not told element by element: that takes as long again as finding what does not.
        options = {"runOnly": EVERY_RULE, "resultTypes": ["violations"]}
        found = Axe().run(page, options=options).response["violations"]
        said = [f"{v['id']}: {v['help']}\n    {n['html'][:200]}" for v in found for n in v["nodes"]]
        assert said == [], f"{page.url}\n" + "\n".join(said)

    return check
