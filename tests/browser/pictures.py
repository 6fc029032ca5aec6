"""The README's pictures, made from the demo firm: `make pictures`.

The firm is loaded into a database of its own, which is dropped afterwards, and its pages are photographed as the office
sees them. With a folder named (`python -m tests.browser.pictures FOLDER`), every page reached from the due list is kept
there instead, at the width of a desk and of a phone, to look over.
"""

# ruff: noqa: E402 - models load after the set-up

import os

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

import django
from PIL import Image

django.setup()

from django.conf import settings
from django.db import connection
from django.urls import reverse
from playwright.sync_api import Browser, Page, sync_playwright
from pytest_django.live_server_helper import LiveServer

from jobsite import clock
from jobsite.people.models import User
from jobsite.premises.models import Site
from remedials.desk.demo.loading import load_demo
from remedials.desk.demo.quotes import answering_path
from remedials.due.operations import sweep
from tests.benchmarks.measuring import on_a_database_of_its_own
from tests.browser.conftest import find_chromium, session_cookie

HERE = Path(__file__).parent / "pictures"
COLOURS = 255  # flat pages need few, and the files stay small
MANY_BOARDS = "Orrin Reach boatyard"
PEOPLE = {
    "office": "ruth@example.com",
    "engineer": "dirk@example.com",
    "qualified": "mina@example.com",
    "manager": "della@example.com",
}


def main() -> None:
    """Load the demo firm, open its pages, keep the pictures."""
    load_demo(now=clock.now())
    sweep(now=clock.now())  # else a banner says that the reminders have stopped
    server = LiveServer("localhost")
    try:
        with chromium() as browser:
            if len(sys.argv) > 1:
                look_over(browser, server.url, Path(sys.argv[1]))
            else:
                readme_pictures(browser, server.url)
            connection.close()  # while the browser's loop runs, Django gives this thread another connection
    finally:
        server.stop()
        connection.close()


@contextmanager
def chromium() -> Iterator[Browser]:
    path = find_chromium()
    if path is None:
        sys.exit("No Chromium was found: install it or name it in CHROMIUM.")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()


def opened(browser: Browser, address: str, email: str, width: int = 1280, height: int = 1000) -> Page:
    """A page of somebody of the demo firm, signed in."""
    context = browser.new_context(base_url=address, viewport={"width": width, "height": height}, locale="en-GB")
    context.add_cookies([session_cookie(User.objects.get(email=email), address)])
    return context.new_page()


def readme_pictures(browser: Browser, address: str) -> None:
    page = opened(browser, address, PEOPLE["office"])
    page.goto(reverse("desk:due"))
    keep(page.screenshot(), HERE / "due-list.png")
    page.goto(reverse("desk:site", args=[Site.objects.get(name=MANY_BOARDS).pk]))
    keep(page.locator(".drawing").first.screenshot(), HERE / "supply-drawing.png")
    phone = opened(browser, address, PEOPLE["office"], width=390, height=1200)
    phone.context.clear_cookies()  # a customer signs in nowhere
    phone.goto(answering_path())
    phone.locator("main form fieldset").first.evaluate("one => one.scrollIntoView()")
    keep(phone.screenshot(), HERE / "quote-answered.png")


def keep(png: bytes, path: Path) -> None:
    """Keep a picture with few colours."""
    path.parent.mkdir(exist_ok=True)
    with Image.open(BytesIO(png)) as picture:
        picture.convert("RGB").quantize(COLOURS, kmeans=3).save(path, optimize=True)


def look_over(browser: Browser, address: str, folder: Path) -> None:
    """Keep every page that links lead to from the due list, one for each kind of address, at both widths."""
    folder.mkdir(parents=True, exist_ok=True)
    for role, email in PEOPLE.items():
        for width in (1280, 390):
            page = opened(browser, address, email, width)
            for kind, path in kinds_of_pages(page).items():
                page.goto(path)
                page.screenshot(path=folder / f"{role} {width} {kind}.png", full_page=True, caret="initial")
            page.context.close()


def kinds_of_pages(page: Page, most: int = 400) -> dict[str, str]:
    """One address of each kind (its route) that can be reached by links from the due list."""
    from django.urls import Resolver404, resolve

    found: dict[str, str] = {}
    waiting, seen = [reverse("desk:due")], set()
    while waiting and len(seen) < most:
        path = waiting.pop(0)
        try:
            kind = (match := resolve(path.partition("?")[0])).view_name.replace(":", "-")
        except Resolver404:
            continue
        if kind in found or match.app_names == [] or "as=" in path:
            continue
        seen.add(path)
        answer = page.request.get(path)
        if "text/html" not in answer.headers.get("content-type", ""):
            continue
        found[kind] = path
        page.goto(path)
        links = page.eval_on_selector_all("a[href^='/']", "all => all.map(a => a.getAttribute('href'))")
        waiting += [link for link in links if not link.startswith(("/accounts/", "/static/"))]
    return found


if __name__ == "__main__":
    settings.DATABASES["default"]["CONN_MAX_AGE"] = 0  # a kept connection would stop the database from being dropped
    on_a_database_of_its_own(main, "pictures")
