"""Pages as a phone keeps them: the same bytes each time they are opened, marked with when they were kept."""

from contextlib import suppress
from datetime import datetime

from django.templatetags.static import static
from playwright.sync_api import Error as PlaywrightError
from playwright.sync_api import Page, Route


def kept_on_the_phone(page: Page, address: str, *, at: datetime) -> None:
    """From now on `address` is answered from what the server says to it now, with the mark of a page kept at `at`."""
    answer = page.request.get(address)
    assert answer.ok, address
    mark = at.strftime("%Y-%m-%dT%H:%MZ")
    body = answer.text().replace("<body ", f'<body data-packed="{mark}" ', 1)
    headers = {name: value for name, value in answer.headers.items() if name != "content-length"}

    def kept(route: Route) -> None:
        if route.request.method == "GET" and "hx-request" not in route.request.headers:
            route.fulfill(body=body, headers=headers)
        else:
            route.fallback()

    page.route(f"**{address}", kept)


def wait_until_kept(page: Page, values: list[str], *, field: str = "text", state: str = "") -> None:
    """Waits until the records kept on the device have just these values in `field`; only those in `state`, where named."""
    found = None
    for _ in range(400):
        with suppress(PlaywrightError):  # the page may be on its way to another
            found = [dict(fields).get(field) for now, fields, _ in page.evaluate(KEPT) if state in ("", now)]
        if found == values:
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"kept on the device: {page.evaluate(KEPT)}")


KEPT = f"""async () => {{
  const {{ kept }} = await import("{static("jobsite/device.js")}");
  return (await kept()).map(({{ state, fields, why }}) => [state, fields, why]);
}}"""


def until_typed(page: Page, words: str, *, photos: int = 0) -> None:
    """Waits until a form with these words, and so many photographs, is written down: a moment after the last letter."""
    for _ in range(400):
        with suppress(PlaywrightError):
            found = page.evaluate(TYPED)
            if any(number == photos and words in values for values, number in found):
                return
        page.wait_for_timeout(50)
    raise AssertionError(f"not kept: {words}, {photos} photographs, but {found}")


TYPED = f"""async () => {{
  const {{ kept }} = await import("{static("jobsite/device.js")}");
  return (await kept()).map(({{ fields, photos }}) => [fields.map(([, value]) => value), photos.length]);
}}"""
