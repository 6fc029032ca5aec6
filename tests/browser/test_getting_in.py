"""Getting in on a screen, a phone, and behind the customer's link: accessible, within 390 px, without JavaScript needed."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from jobsite import clock
from remedials.visits.models import OccupierNote, Visit
from tests import factories as make
from tests.browser.conftest import look

WIDTHS = [(1280, "desk"), (390, "phone")]


def fits(page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def filled(engineer):
    site = make.make_site("Sample Court")
    make.make_access_time(site, note="ask at the lodge")
    make.make_see_to(site)
    make.make_key(site, "K7", place="board 2")
    make.make_code(site)
    make.make_attempt(site, said="Left a card at the door")
    OccupierNote.objects.create(
        site=site, unit=make.unit_of(site), contact="Tina Tenant", phone="01632 960123", mind="Hard of hearing",
        loses_power_badly=True,
    )  # fmt: skip
    return site, make.make_visit(site, engineers=[engineer], start=timezone.now() + timedelta(hours=1))


@pytest.mark.parametrize(("width", "name"), WIDTHS)
def test_page_of_getting_in(page_for, axe, office, engineer, width, name) -> None:
    site, visit = filled(engineer)
    page = page_for(office, width=width)
    page.goto(reverse("visits:getting_in", args=[site.pk]))
    expect(page.get_by_text("Hard of hearing")).to_be_visible()
    axe(page)
    fits(page)
    look(page, f"getting-in-{name}")
    for view in ("attempt_new", "letter_new", "times_offer_new", "see_to_new"):
        page.goto(reverse(f"visits:{view}", args=[site.pk]))
        axe(page)
        fits(page)
    page.goto(reverse("visits:visit", args=[visit.pk]))
    axe(page)
    fits(page)
    look(page, f"getting-in-visit-{name}")


def seen(page, axe, where: str, name: str) -> None:
    page.goto(where)
    axe(page)
    fits(page)
    look(page, name)


@pytest.mark.parametrize(("width", "name"), WIDTHS)
def test_keys_codes_and_what_to_see_to(page_for, axe, office, engineer, width, name) -> None:
    """Empty and filled lists, a key that is late, the code as it is asked for and shown."""
    page = page_for(office, width=width)
    for view in ("keys_out", "to_see_to"):
        seen(page, axe, reverse(f"visits:{view}"), f"{view}-empty-{name}")
    site, _visit = filled(engineer)
    today = clock.local_day(timezone.now())
    long = "Permit of the harbour office for hot work on the quay, to be asked for in writing five working days before"
    make.make_see_to(site, what=long, kind="permit", by=today - timedelta(days=3))
    make.make_key(site, "K8", what="store and plant room", out_to=engineer, back_by=today - timedelta(days=2))
    key, code = make.make_key(site, "K9", out_to=engineer, back_by=today), make.make_code(site, "Zq-4711")
    for view in ("keys_out", "to_see_to"):
        seen(page, axe, reverse(f"visits:{view}"), f"{view}-{name}")
    for view, row in (("key", key), ("key_in", key), ("key_new", site), ("code_new", site), ("code", code)):
        seen(page, axe, reverse(f"visits:{view}", args=[row.pk]), f"{view}-{name}")
    page = page_for(engineer, width=width)
    seen(page, axe, reverse("visits:code", args=[code.pk]), f"code-ask-{name}")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_text("Zq-4711")).to_be_visible()
    axe(page)
    fits(page)
    look(page, f"code-shown-{name}")


@pytest.mark.parametrize(("width", "name"), WIDTHS)
def test_office_offers_times_and_e_mails_them(page_for, axe, office, engineer, width, name) -> None:
    site, now = make.make_site("Sample House"), timezone.now()
    work = make.make_remedial(make.make_observation(site), stage="approved")
    page = page_for(office, width=width)
    seen(page, axe, reverse("visits:times_offer_new", args=[site.pk]), f"offer-new-{name}")
    page.get_by_role("button", name="Offer these times").click()
    expect(page.get_by_text("Not saved yet: put this right")).to_be_visible()
    axe(page)
    fits(page)
    look(page, f"offer-wrong-{name}")
    offer = make.make_times_offer(
        site, work, by=office, answer_by=clock.local_day(now) + timedelta(days=2), despite="The register comes on Friday"
    )  # fmt: skip
    seen(page, axe, reverse("visits:times_offer", args=[offer.pk]), f"offer-{name}")
    page.get_by_role("link", name="Make a private link").click()
    axe(page)
    fits(page)
    look(page, f"offer-link-{name}")
    page.get_by_role("radio", name="By e-mail").check()
    page.get_by_label("E-mail address").fill("petra@example.com")
    page.get_by_role("button", name="Make the link").click()
    expect(page.get_by_text("It goes to petra@example.com now")).to_be_visible()
    look(page, f"offer-sent-{name}")


def test_engineer_checks_in_and_out_in_two_taps(page_for, axe, engineer) -> None:
    _, visit = filled(engineer)
    page = page_for(engineer, width=390)
    page.goto(reverse("visits:visit", args=[visit.pk]))
    page.get_by_role("link", name="Working alone: check in").click()
    axe(page)
    page.get_by_role("button", name="Check in").click()
    expect(page.get_by_role("button", name="Check out")).to_be_visible()
    page.get_by_role("button", name="Check out").click()
    expect(page.get_by_role("link", name="Working alone: check in")).to_be_visible()


@pytest.mark.parametrize(("width", "name"), WIDTHS)
def test_customer_chooses_a_time_without_scripts(page_for, axe, office, engineer, width, name) -> None:
    site, now = make.make_site("Sample House"), timezone.now()
    work = make.make_remedial(make.make_observation(site), stage="approved")
    offer = make.make_times_offer(site, work, by=office, answer_by=clock.local_day(now) + timedelta(days=2))
    offer.engineers.set([engineer])
    for at, time in enumerate(offer.times.all(), 1):
        time.start = now + timedelta(days=7 * at)
        time.end = time.start + timedelta(hours=1)
        time.save()
    page = page_for(width=width)
    page.goto(
        reverse("visits:times", args=[make.make_times_link(offer, made_at=now, expires_at=now + timedelta(days=9))[1]])
    )
    axe(page)
    fits(page)
    look(page, f"times-{name}")
    page.get_by_role("radio").first.check()
    page.get_by_role("button", name="Go on with this time").click()
    expect(page.get_by_text("Nothing is booked before you confirm here.")).to_be_visible()
    axe(page)
    assert not Visit.objects.exists()
