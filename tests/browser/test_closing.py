"""Closing a remedial on the phone: the list that shrinks is the server's, and a whole closing without signal loses nothing."""

import json
import re
from datetime import timedelta

import pytest
from django.templatetags.static import static
from django.urls import reverse
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page, expect

from inspections.models import Reading
from jobsite import clock, once
from jobsite.ledger.models import Entry
from remedials.works.models import PowerStep, Proof, ProofPhoto, Remedial
from remedials.works.rules import Asked, Given, Read, still_missing
from tests import factories as make
from tests.browser.conftest import look, until
from tests.browser.kept_pages import until_typed
from tests.browser.phones import a_day, packed
from tests.browser.targets import must_be_large_enough
from tests.remedials.work import photo_bytes

pytestmark = pytest.mark.django_db(transaction=True)


def picture(shade: int) -> dict:
    return {"name": f"after-{shade}.jpg", "mimeType": "image/jpeg", "buffer": photo_bytes(shade)}


def in_check(**fields):
    """A loop tester in its check on the day the test is run."""
    today = clock.local_day(clock.now())
    return make.make_instrument(checked_on=today, check_due=today + timedelta(days=30), **fields)


# --- the list is the same on both sides -------------------------------------------------------------------------------

SAID = st.sampled_from(["", " ", "\t", "New rod on Friday", "\u00a0"])
READ = st.none() | st.builds(Read, st.booleans(), st.booleans())
ASKED = st.builds(
    Asked,
    unseen=st.lists(st.sampled_from(["observation 1, lid", "observation 2, “cable”"]), max_size=2).map(tuple),
    readings=st.lists(
        st.tuples(st.sampled_from(["loop impedance reading of Board 1, way 1", "polarity check"]), READ), max_size=3
    ).map(tuple),
    certificate_kind=st.sampled_from(["", "minor works certificate"]),
)
GIVEN = st.builds(Given, st.booleans(), SAID, SAID)
ALIKE = """async ([address, cases]) => {
  const { stillMissing } = await import(address);
  return cases.map(([asked, given]) => stillMissing(asked, given));
}"""


def for_phone(asked: Asked) -> dict:
    readings = [
        {"need": str(n), "name": name, "read": read and {"passed": read.passed, "in_check": read.in_check}}
        for n, (name, read) in enumerate(asked.readings)
    ]
    unseen = [{"of": str(n), "words": words} for n, words in enumerate(asked.unseen)]
    return {"unseen": unseen, "readings": readings, "certificate": asked.certificate_kind}


def test_what_is_missing_is_the_same_on_the_phone(page_for, engineer) -> None:
    page = page_for(engineer, answered=(404,))
    page.goto("/my-day/")

    @settings(max_examples=20, phases=[Phase.generate], derandomize=True, suppress_health_check=list(HealthCheck))
    @given(st.lists(st.tuples(ASKED, GIVEN), min_size=50, max_size=80))
    def alike(cases) -> None:
        sent = [
            [
                for_phone(asked),
                {
                    "certificate": given.certificate,
                    "no_photo_reason": given.no_photo_reason,
                    "exception_reason": given.exception_reason,
                },
            ]
            for asked, given in cases
        ]
        told = page.evaluate(ALIKE, [static("works/closing.js"), json.loads(json.dumps(sent))])
        assert told == [still_missing(asked, given) for asked, given in cases]

    alike()


# --- without signal ---------------------------------------------------------------------------------------------------


def without_signal(page: Page, between) -> Page:
    """The same phone in a plant room: nothing is reached, and the page is opened anew."""
    between.cut()
    page.context.set_offline(True)
    page.close()
    return page.context.new_page()


def close_here(page: Page, remedial: Remedial, *, shade: int, value: str = "0.50") -> None:
    """Everything on the closing page, in its order, up to the button."""
    page.goto(reverse("works:close", args=[remedial.pk]))
    expect(page.locator("#missing li")).to_have_count(2)
    page.get_by_label("Off and locked at").fill("Way 1, lock 14")
    page.get_by_role("button", name="Isolated, locked off and proved dead").click()
    expect(page.locator("#power-off-said")).to_contain_text("Way 1, lock 14")
    page.get_by_role("button", name="Energised again").click()
    page.get_by_label("Earth fault loop impedance").fill(value)
    page.get_by_role("button", name="Keep the reading").click()
    expect(page.locator("#missing li")).to_have_count(1)
    page.set_input_files("#id_photo", picture(shade))
    expect(page.locator("#missing")).to_contain_text("Nothing is missing to close.")
    page.get_by_label("Your minutes on site").fill("45")
    page.get_by_label("Used besides").fill("2 m cable 2.5 mm²")


def test_a_whole_closing_without_signal(page_for, axe, between, engineer) -> None:
    """Each part waits, also over a killed tab; the day says so; with signal it goes out by itself, in its order, once."""
    in_check()
    visit = a_day(engineer, 1)[0]
    remedial = visit.remedials.get()
    page = page_for(engineer, width=390, height=844, phone=True, through=between)
    packed(page)
    page = without_signal(page, between)
    close_here(page, remedial, shade=90)
    axe(page)
    must_be_large_enough(page)
    look(page, "closing-without-signal")
    page.get_by_role("button", name="Close with proof").click()
    expect(page).to_have_url(re.compile("/my-day/"))
    expect(page.locator("[data-on-phone]").first).to_contain_text("Closed on this phone")
    look(page, "my-day-closed-here")
    page.close()
    assert not Reading.objects.exists()
    between.mend()
    again = page.context.new_page()
    again.context.set_offline(False)
    again.goto("/my-day/")
    expect(again.locator("[data-waits]")).to_be_hidden()
    until(again, Proof.objects.exists, "closed")
    proof = Proof.objects.get()
    assert (proof.state, proof.done_by, proof.photos.count(), proof.readings.count()) == ("stands", engineer, 1, 1)
    assert (proof.stint.minutes, proof.stint.used.get().what) == (45, "cable 2.5 mm²")
    assert list(PowerStep.objects.order_by("at").values_list("kind", flat=True)) == ["off", "on"]
    verbs = list(Entry.objects.filter(subject=remedial.pk).order_by("number").values_list("verb", flat=True))
    assert [verb for verb in verbs if verb.split(".")[1] in ("power-off", "power-on", "photo-added", "closed")] == [
        "remedial.power-off",
        "remedial.power-on",
        "remedial.photo-added",
        "remedial.closed",
    ]


def test_two_engineers_close_the_same_remedial_without_signal(page_for, between, engineer, other_engineer) -> None:
    """The first that arrives stands, the second is filed beside it; no reading and no photo is lost."""
    in_check()
    visit = a_day(engineer, 1)[0]
    visit.attendances.create(engineer=other_engineer, start=visit.start, end=visit.end)
    remedial = visit.remedials.get()
    phones = [page_for(who, width=390, phone=True, through=between) for who in (engineer, other_engineer)]
    for page in phones:
        packed(page)
    there = [without_signal(page, between) for page in phones]
    for shade, page in enumerate(there):
        close_here(page, remedial, shade=100 + 50 * shade, value=f"0.5{shade}")
        page.get_by_role("button", name="Close with proof").click()
        expect(page).to_have_url(re.compile("/my-day/"))
    between.mend()
    for page in there:
        page.context.set_offline(False)
        page.goto("/my-day/")
        expect(page.locator("[data-waits]")).to_be_hidden()
        who = engineer if page is there[0] else other_engineer
        until(page, Proof.objects.filter(done_by=who).exists, f"closed by {who}")
    assert sorted(Proof.objects.values_list("done_by__name", "state")) == sorted(
        [(engineer.name, "stands"), (other_engineer.name, "beside")]
    )
    assert (Reading.objects.count(), ProofPhoto.objects.exclude(proof=None).count()) == (2, 2)


def test_typed_and_not_sent_is_here_again(page_for, engineer) -> None:
    visit = a_day(engineer, 1)[0]
    address = reverse("works:close", args=[visit.remedials.get().pk])
    page = page_for(engineer, width=390)
    page.goto(address)
    page.get_by_label("Note").fill("New cover, 14 screws")
    page.get_by_label("Note").blur()
    until_typed(page, "New cover, 14 screws")
    page.goto("/my-day/")
    page.goto(address)
    expect(page.get_by_label("Note")).to_have_value("New cover, 14 screws")


def test_a_double_tap_and_the_back_button_double_nothing(page_for, engineer) -> None:
    in_check()
    remedial = a_day(engineer, 1)[0].remedials.get()
    page = page_for(engineer, width=390, height=844)
    close_here(page, remedial, shade=30)
    page.get_by_role("button", name="Close with proof").dblclick()
    # After three seconds it waits no longer, and the page is My day.
    said = page.locator(".said", has_text=f"Remedial {remedial.number} closed with proof.")
    expect(said.or_(page.get_by_role("heading", name="My day")).first).to_be_visible()
    until(page, Proof.objects.exists, "closed")
    page.go_back()
    page.go_forward()
    assert (Proof.objects.count(), Reading.objects.count(), ProofPhoto.objects.count()) == (1, 1, 1)
    assert PowerStep.objects.count() == 2


SLOW_DEVICE = """() => new Promise((ready) => {
  const asked = indexedDB.open("kept");
  asked.onsuccess = () => {
    const busy = () => {
      if (!document.querySelector("form[data-hold] .wrongs")) return;
      removeEventListener("htmx:load", busy, true);
      const store = asked.result.transaction("kept", "readwrite").objectStore("kept");
      const until = Date.now() + 3000;
      const work = () => { store.count().onsuccess = () => Date.now() < until && work(); };
      work();
    };
    addEventListener("htmx:load", busy, true); // before the page's own modules hear of it
    ready();
  };
})"""


def test_what_is_put_right_before_a_slow_device_answers_stands(page_for, engineer) -> None:
    """Refused, the page takes up what the device holds of it; by then somebody has typed, or pressed, already."""
    in_check()
    remedial = a_day(engineer, 1)[0].remedials.get()
    page = page_for(engineer, width=390, height=844)
    close_here(page, remedial, shade=60)
    page.get_by_label("Your minutes on site").fill("a while")
    page.evaluate(SLOW_DEVICE)
    page.get_by_role("button", name="Close with proof").click()
    expect(page.get_by_role("heading", name="Not saved yet")).to_be_visible()
    page.get_by_label("Your minutes on site").fill("40")
    page.get_by_role("button", name="Close with proof").click()
    until(page, Proof.objects.exists, "closed")
    assert (Proof.objects.get().stint.minutes, Reading.objects.count(), ProofPhoto.objects.count()) == (40, 1, 1)


def test_a_server_that_is_still_at_it_is_asked_again_in_seconds(page_for, engineer) -> None:
    """A page left in the middle of a photo: the next one is told so, and does not wait for the next half minute."""
    remedial = a_day(engineer, 1)[0].remedials.get()
    page = page_for(engineer, width=390, height=844, answered=(409,))
    at_it = once.problem(once.RUNNING)
    asked = []

    def answer(route) -> None:
        if not (key := route.request.headers.get("idempotency-key")):
            return route.continue_()
        asked.append(key)
        if len(asked) > 1:
            return route.continue_()
        headers = {"Content-Type": at_it["Content-Type"], "X-Service": "jobsite"}
        return route.fulfill(status=409, headers=headers, body=at_it.content)

    page.goto(reverse("works:close", args=[remedial.pk]))
    page.route("**/*", answer)
    page.set_input_files("#id_photo", picture(60))
    expect(page.locator("#not-sent")).to_contain_text("the server is still at it")
    expect(page.locator("#not-sent")).to_be_hidden()
    until(page, ProofPhoto.objects.exists, "there")
    assert (len(asked), len(set(asked))) == (2, 1)
