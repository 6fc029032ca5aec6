"""A day on an engineer's phone, for browser tests: visits with work and pictures, and the page that waits until it is packed."""

from contextlib import suppress
from datetime import datetime, timedelta
from functools import cache
from io import BytesIO
from typing import Any

from PIL import Image
from playwright.sync_api import Error as PlaywrightError
from playwright.sync_api import Page, expect

from inspections.models import ObservationPhoto
from jobsite import clock
from jobsite.ledger.files import store_file
from jobsite.ledger.photographs import Photograph, clean_photograph
from tests import factories as make
from tests.remedials.work import ask_reading

ON_THIS_PHONE = "#on-this-phone"


@cache
def photograph(seed: int = 1, side: int = 2048) -> bytes:
    """A picture with as much to see in it as one of a phone's camera: coarse and fine grain, another for each `seed`."""
    coarse = Image.effect_noise((side // 16, side * 3 // 64), 90 + seed % 40).resize(
        (side, side * 3 // 4), Image.Resampling.BICUBIC
    )
    fine = Image.effect_noise((side, side * 3 // 4), 22)
    picture = Image.merge("RGB", (coarse, Image.blend(coarse, fine, 0.4), fine))
    out = BytesIO()
    picture.save(out, "JPEG", quality=88)
    return out.getvalue()


@cache
def cleaned(seed: int) -> Photograph:
    """As `store_photograph` cleans it: once for all tests, since a day has many."""
    return clean_photograph(photograph(seed))


def a_visit(
    engineer, name: str, *, start: datetime, pictures: int = 1, boards: int = 1, ways: int = 4, hours: float = 0.5
):
    """A booked visit: a remedial for something on a circuit, photographed, with a reading asked for."""
    now = clock.now()
    site = make.make_site(name, earthing="TN-C-S")
    for number in range(boards):
        board = make.make_board(site, f"Board {number + 1}")
        circuits = [make.make_circuit(board, way) for way in range(1, ways + 1)]
    seen = make.make_observation(site, f"Cracked lid at {name}", code="C2", board=board, circuit=circuits[0])
    for seed in range(pictures):
        photo = cleaned(seed)
        file = store_file(photo.data, media_type="image/jpeg", now=now, received=photograph(seed))
        fields = {"width": photo.width, "height": photo.height, "added_by": engineer, "added_at": now}
        ObservationPhoto.objects.create(observation=seen, file=file, **fields)
    remedial = make.make_remedial(seen, stage="booked", work=f"Fit a lid at {name}", power_off=True)
    ask_reading(remedial)
    return make.make_visit(site, remedial, engineers=[engineer], start=start, hours=hours)


def a_day(engineer, visits: int = 2, **more: Any) -> list[Any]:
    """So many visits of this engineer, one after another, beginning now."""
    now = clock.now()
    names = (
        "Kiln Cottage",
        "Malt House",
        "Ferry Lodge",
        "Reed Barn",
        "Chalk Yard",
        "Heron Court",
        "Mill Row",
        "Quay Sheds",
    )
    return [a_visit(engineer, names[n], start=now + timedelta(minutes=40 * n), **more) for n in range(visits)]


def from_us(page: Page, address: str) -> None:
    """The page at `address` as the server answers it: one that is busy for longer than the worker waits gets another chance."""
    for _ in range(20):
        page.goto(address)
        if not page.locator("body[data-packed]").count():
            return
    raise AssertionError(f"{address} came from the phone each time")


def packed(page: Page, words: str = "On this phone:") -> Page:
    """My day, with all that belongs on the phone on it."""
    from_us(page, "/my-day/")
    expect(page.locator(ON_THIS_PHONE)).to_contain_text(words, timeout=90_000)
    return page


def kept_pages(page: Page, kind: str = "pages") -> list[str]:
    """The addresses of what this phone keeps, of everybody."""
    return page.evaluate(
        """async (kind) => {
          const found = [];
          for (const name of await caches.keys())
            if (name.startsWith(`${kind}:`))
              for (const one of await (await caches.open(name)).keys()) found.push(one.url.slice(location.origin.length));
          return found;
        }""",
        kind,
    )


def ask_anew(page: Page) -> None:
    """Have the worker look now, as after something was saved; otherwise it looks every ten minutes."""
    page.evaluate("navigator.serviceWorker.ready.then((here) => here.active.postMessage({ name: 'pack', soon: true }))")


def wait_until(page: Page, script: str, wanted: Any) -> None:
    """Waits until `script` answers `wanted`; half a minute at most."""
    found = None
    for _ in range(600):
        with suppress(PlaywrightError):  # the page may be on its way to another
            if (found := page.evaluate(script)) == wanted:
                return
        page.wait_for_timeout(50)
    raise AssertionError(f"{found}, not {wanted}")
