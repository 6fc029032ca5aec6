"""The app renewed under a phone with a day on it and something that waits to be sent."""

import pytest
from django.conf import settings
from playwright.sync_api import expect

from inspections.models import Observation
from jobsite.phone import shell_files
from tests.browser.phones import a_day, from_us, kept_pages, packed, wait_until

pytestmark = pytest.mark.django_db(transaction=True)

KEPT = """() => new Promise((done) => {
  const asked = indexedDB.open('kept');
  asked.onsuccess = () => {
    const all = asked.result.transaction('kept').objectStore('kept').getAll();
    all.onsuccess = () => { asked.result.close(); done(all.result.map(({ key, fields, once, made, state }) => ({ key, fields, once, made, state }))); };
  };
})"""
NAMES = "caches.keys().then((all) => all.filter((name) => name.startsWith('shell:')))"


@pytest.fixture
def renewed(between):
    """Renews the app: its style and scripts stand at other addresses from then on."""
    kept = settings.STATIC_URL, settings.STATIC_VERSION

    def renew(version: str = "abcdefabcdef") -> None:
        between.renamed[f"/static/{version}/"] = kept[0]
        between.renamed[kept[0]] = "/static/gone/"  # the old ones are no longer there
        settings.STATIC_URL, settings.STATIC_VERSION = f"/static/{version}/", version
        forget()

    yield renew
    settings.STATIC_URL, settings.STATIC_VERSION = kept
    forget()


def forget() -> None:
    from django.core.signals import setting_changed

    shell_files.cache_clear()
    setting_changed.send(sender=None, setting="STATIC_URL", value=settings.STATIC_URL, enter=True)


STANDS = """async () => {
  const found = new Set();
  for (const name of await caches.keys())
    if (name.startsWith('pages:'))
      for (const one of await (await caches.open(name)).matchAll()) found.add(one.headers.get('X-Shell'));
  return [...found];
}"""


def test_a_full_outbox_outlives_a_renewal_and_no_page_meets_other_scripts(page_for, between, engineer, renewed) -> None:
    visit = a_day(engineer, 1)[0]
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    old = settings.STATIC_VERSION
    assert (page.evaluate(NAMES), page.evaluate(STANDS)) == ([f"shell:{old}"], [old])
    between.fail("cut", method="POST", times=None)
    page.goto(f"/sites/{visit.site_id}/found/?visit={visit.pk}")
    page.get_by_label("What is wrong").fill("Scorched terminal")
    page.get_by_label("Improvement recommended").check()
    page.get_by_role("button", name="Save what was found").click()
    page.wait_for_url(f"**/visits/{visit.pk}/")  # it waits, and the work goes on
    before = page.evaluate(KEPT)
    assert [one["state"] for one in before] == ["waiting"]

    renewed("abcdefabcdef")
    from_us(page, "/my-day/")
    wait_until(page, NAMES, ["shell:abcdefabcdef"])
    assert page.evaluate(STANDS) == ["abcdefabcdef"]
    assert page.evaluate(KEPT) == before
    between.cut()
    page.goto(f"/visits/{visit.pk}/")
    expect(page.locator(".packed")).to_be_visible()
    assert page.evaluate("[...document.scripts].every((one) => one.src.includes('/abcdefabcdef/'))")
    assert page.evaluate(KEPT) == before

    between.mend()
    page.goto("/my-day/")
    wait_until(page, KEPT, [])
    assert [o.text for o in Observation.objects.filter(site=visit.site_id, text="Scorched terminal")] == [
        "Scorched terminal"
    ]
    assert f"/visits/{visit.pk}/" in kept_pages(page)
