"""The shell in a real browser: keys, the menu of a phone, a form sent once, updates by htmx, sign-in by keyboard.

The pages are the kit's own; what the service shows in them has tests of its own.
"""

import re
from pathlib import Path

import pytest
from django import forms
from django.urls import include, path
from playwright.sync_api import expect

from jobsite.forms import CreateForm, DayField, NumberField
from jobsite.pages import bound, form_page, page, pager
from jobsite.paging import Slice
from tests.factories import PASSWORD

KIT = Path(__file__).parents[1] / "jobsite" / "kit"
saved: list[str] = []


class BoardForm(CreateForm):
    name = forms.CharField(label="Designation", help_text="What you verified, not the label found on it.")
    zdb = NumberField(label="Zdb", unit="Ω", required=False)
    phases = forms.MultipleChoiceField(
        label="Phases", choices=[("L1", "L1"), ("L2", "L2")], widget=forms.CheckboxSelectMultiple
    )
    checked = DayField(label="Checked on", required=False)
    notes = forms.CharField(label="Notes", required=False, widget=forms.Textarea)
    spare = forms.BooleanField(label="Has spare ways", required=False)


def list_view(request):
    found = Slice([], "" if request.GET.get("after") else "more")
    return page(request, "kit_list.html", {"pager": pager(request, found)}, fragment="_kit_list.html")


def form_view(request):
    form = bound(request, BoardForm)
    do = lambda: saved.append(form.cleaned_data["name"])  # noqa: E731
    return form_page(request, "kit_form.html", form, do=do, then="/list", said="Board added.")


urlpatterns = [
    path("accounts/", include("allauth.urls")),
    path(
        "",
        include(
            (
                [
                    path("list", list_view, name="sites"),
                    path("find", list_view, name="search"),
                    path("due", list_view, name="due"),
                ],
                "desk",
            )
        ),
    ),
    path("form", form_view),
    path("people/", include("jobsite.people.urls")),  # the page of one's password leads to the sessions
]


@pytest.fixture(autouse=True)
def kit(settings):
    settings.ROOT_URLCONF = __name__
    settings.LOGIN_REDIRECT_URL = "/list"
    settings.SHELL_BANNERS = []
    settings.TEMPLATES = [settings.TEMPLATES[0] | {"DIRS": [KIT, *settings.TEMPLATES[0]["DIRS"]]}]
    saved.clear()


def test_desk_by_keyboard(page_for, office, axe):
    page = page_for(office)
    page.goto("/list")
    axe(page)
    assert page.get_by_role("navigation", name="Ledger").get_by_role("link").all_inner_texts() == ["Due", "Sites"]
    page.keyboard.press("/")
    expect(page.locator("[name=q]")).to_be_focused()
    page.keyboard.press("/")
    expect(page.locator("[name=q]")).to_have_value("/")

    page.goto("/form")
    axe(page)
    page.fill("[name=zdb]", "a lot")
    page.focus("[name=notes]")
    page.keyboard.press("Control+Enter")
    page.get_by_role("heading", name="Not saved yet").wait_for()
    axe(page)
    expect(page.locator(".wrongs")).to_be_focused()
    assert page.input_value("[name=zdb]") == "a lot"
    page.get_by_role("link", name="Zdb").click()
    page.keyboard.press("Tab")
    page.fill("[name=zdb]", "0.35")
    page.fill("[name=name]", "Kiln room")
    page.check("text=L2")
    page.keyboard.press("Control+Enter")
    page.get_by_text("Board added.").wait_for()
    axe(page)
    assert saved == ["Kiln room"]


def test_form_is_sent_once_however_often_it_is_pressed(page_for, office):
    page = page_for(office)
    page.goto("/form")
    page.fill("[name=name]", "Kiln room")
    page.check("text=L1")
    # two presses in the same moment, before the browser leaves the page
    page.evaluate(
        "() => { const b = document.querySelector('[data-save]'); b.click(); setTimeout(() => b.click(), 1); }"
    )
    page.get_by_text("Board added.").wait_for()
    assert saved == ["Kiln room"]


def test_phone_has_a_menu_and_no_sideways_scroll(page_for, engineer, axe):
    page = page_for(engineer, width=390)
    for address in ("/list", "/form"):
        page.goto(address)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") == 390
    sites = page.get_by_role("link", name="Sites")
    assert not sites.is_visible()
    page.get_by_role("button", name="Menu").click()
    assert sites.bounding_box()["height"] >= 44
    axe(page)
    sites.click()
    page.wait_for_url("**/list")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("contrast", ["no-preference", "more"])
def test_schemes_are_readable(page_for, office, axe, scheme, contrast):
    page = page_for(office, color_scheme=scheme, contrast=contrast)
    page.goto("/form")
    page.click("[data-save]")
    page.get_by_role("heading", name="Not saved yet").wait_for()
    axe(page)


def test_sign_in_by_keyboard_and_what_follows_it(page_for, office, axe):
    page = page_for(None)
    page.goto("/accounts/login/")
    axe(page)
    page.fill("[name=login]", office.email.upper())
    page.fill("[name=password]", "not it, not it")
    page.keyboard.press("Control+Enter")
    page.get_by_role("heading", name="You are not signed in yet").wait_for()
    axe(page)
    page.fill("[name=password]", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url("**/list")
    for address in ("/accounts/password/change/", "/accounts/2fa/", "/accounts/sessions/", "/accounts/password/reset/"):
        page.goto(address)
        axe(page)
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/accounts/login/")


def test_list_works_without_scripts(page_for, office):
    page = page_for(office, java_script_enabled=False)
    page.goto("/list?code=C1")
    page.get_by_role("link", name="Next page").click()
    expect(page).to_have_url(re.compile(r"/list\?code=C1&after=more$"))
    page.get_by_role("link", name="Top of the list").click()
    expect(page).to_have_url(re.compile(r"/list\?code=C1$"))
