"""The second step as people set it up and use it: an app's code, a passkey, recovery codes; and where one is signed in.

The passkey is made and kept by Chromium's virtual authenticator (WebAuthn, Chrome DevTools Protocol), which answers as a telephone
that has seen the right finger. Passkeys want a host name, so the server is reached as localhost.
"""

import re

import pytest
from allauth.account.internal.flows.login import AUTHENTICATION_METHODS_SESSION_KEY
from django.contrib.sessions.models import Session
from django.core import mail
from django.core.cache import cache
from playwright.sync_api import Page, expect

from jobsite.people.signin.sessions import SessionStore
from tests import factories as make
from tests.browser.conftest import look
from tests.factories import PASSWORD, code_of_app

WIDTHS = pytest.mark.parametrize("width", [1280, 390])


@pytest.fixture(autouse=True)
def nothing_counted() -> None:
    """Tries of other tests, and codes that they used up, do not count here."""
    cache.clear()


@pytest.fixture
def fits(axe):
    """The page has no violation, does not scroll sideways, and is photographed."""

    def check(page: Page, name: str) -> None:
        axe(page)
        width = page.viewport_size["width"]
        assert page.evaluate("document.documentElement.scrollWidth") == width, page.url
        look(page, f"signin-{name}-{width}")

    return check


def sign_in(page: Page, email: str) -> None:
    page.goto("/accounts/login/")
    page.get_by_label("E-mail").fill(email)
    page.get_by_label("Password").first.fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()


def finger(page: Page) -> None:
    """A telephone that has seen the right finger whenever it is asked."""
    cdp = page.context.new_cdp_session(page)
    cdp.send("WebAuthn.enable")
    options = {
        "protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True,
        "isUserVerified": True, "automaticPresenceSimulation": True,
    }  # fmt: skip
    cdp.send("WebAuthn.addVirtualAuthenticator", {"options": options})


def minutes_pass() -> None:
    """Whoever signed in is asked again who they are: that proof holds for five minutes."""
    for key in Session.objects.values_list("session_key", flat=True):
        held = SessionStore(key)
        held[AUTHENTICATION_METHODS_SESSION_KEY] = [
            shown | {"at": shown["at"] - 600} for shown in held.get(AUTHENTICATION_METHODS_SESSION_KEY, [])
        ]
        held.save()


def prove(page: Page) -> None:
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Go on").click()


@WIDTHS
def test_a_new_manager_sets_up_an_app_and_signs_in_by_its_code_and_a_recovery_code(page_for, fits, width) -> None:
    user = make.make_user("Mo Newly", "manager", second_step=False)
    page = page_for(width=width)
    sign_in(page, user.email)
    expect(page.get_by_role("heading", name="Second step and passkeys")).to_be_visible()
    expect(page.get_by_text("The firm asks a second step of you.")).to_be_visible()
    fits(page, "asked")
    minutes_pass()
    page.get_by_role("link", name="Set up an app").click()
    expect(page.get_by_role("heading", name="Is it you?")).to_be_visible()
    fits(page, "again")
    prove(page)
    expect(page.get_by_role("heading", name="Set up an authenticator app")).to_be_visible()
    expect(page.get_by_alt_text("QR code")).to_be_visible()
    fits(page, "app")
    page.get_by_label("Code").fill("000000")
    page.get_by_role("button", name="Set up").click()
    expect(page.locator("#id_code_error")).to_contain_text("This code is not right")
    seed = page.locator("code").inner_text()
    page.get_by_label("Code").fill(code_of_app(seed))
    page.get_by_role("button", name="Set up").click()
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    codes = page.locator("ul.codes code").all_inner_texts()
    assert len(set(codes)) == 10
    fits(page, "codes")
    page.get_by_role("link", name="I have them: go on").click()
    expect(page).to_have_url(re.compile(r"//[^/]+/$"))
    assert [one.subject for one in mail.outbox] == ["An authenticator app was set up"]

    other = page_for(width=width)
    sign_in(other, user.email)
    expect(other.get_by_role("heading", name="Second step")).to_be_visible()
    fits(other, "code")
    other.get_by_label("Code").fill(codes[0])
    other.get_by_role("button", name="Go on").click()
    expect(other).to_have_url(re.compile(r"//[^/]+/$"))
    other.goto("/accounts/2fa/")
    expect(other.get_by_text("9 of 10 are left.")).to_be_visible()
    fits(other, "means")


@WIDTHS
def test_a_passkey_signs_in_without_a_password_and_stands_for_the_second_step(page_for, fits, width) -> None:
    user = make.make_user("Mo Newly", "manager", second_step=False)
    page = page_for(width=width)
    finger(page)
    sign_in(page, user.email)
    expect(page.get_by_role("link", name="Add a passkey")).to_be_visible()
    minutes_pass()
    page.get_by_role("link", name="Add a passkey").click()
    prove(page)
    expect(page.get_by_role("heading", name="Add a passkey")).to_be_visible()
    fits(page, "passkey")
    page.get_by_label("What you call it").fill("My phone")
    page.get_by_label("Signs in without a password").check()
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    page.goto("/accounts/2fa/webauthn/")
    expect(page.get_by_role("cell", name="My phone", exact=True)).to_be_visible()
    fits(page, "passkeys")

    page.context.clear_cookies()
    page.goto("/accounts/login/")
    fits(page, "login")
    page.get_by_role("button", name="Sign in with a passkey").click()
    expect(page).to_have_url(re.compile(r"//[^/]+/$"))
    assert user.sign_ins.order_by("-at").values_list("means", flat=True).first() == "passkey"

    page.context.clear_cookies()  # and after the password, in the place of a code
    sign_in(page, user.email)
    page.get_by_role("button", name="Use a passkey").click()
    expect(page).to_have_url(re.compile(r"//[^/]+/$"))
    assert user.sign_ins.order_by("-at").values_list("means", flat=True).first() == "password, passkey"
    minutes_pass()
    page.goto("/accounts/2fa/webauthn/")
    page.get_by_role("link", name="Rename").click()
    page.get_by_role("link", name="By a passkey").click()
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.get_by_role("heading", name="Rename a passkey")).to_be_visible()


@WIDTHS
def test_sessions_are_listed_and_ended(page_for, fits, width, office) -> None:
    here, there = page_for(width=width), page_for(width=width)
    for page in (here, there):
        sign_in(page, office.email)
        expect(page).to_have_url(re.compile(r"//[^/]+/$"))
    here.goto("/people/sessions/")
    expect(here.get_by_text("(this one)")).to_be_visible()
    fits(here, "sessions")
    minutes_pass()
    here.get_by_role("button", name="Sign out there").click()
    prove(here)
    expect(here.get_by_text("Signed out there.")).to_be_visible()
    expect(here.get_by_role("button", name="Sign out there")).to_have_count(0)
    there.goto("/people/sessions/")
    expect(there.get_by_role("heading", name="Sign in")).to_be_visible()


@WIDTHS
def test_a_manager_helps_somebody_who_lost_the_telephone(page_for, fits, width, manager) -> None:
    user = make.make_user("Olive Deskworth", "office", second_step=True)
    page = page_for()
    sign_in(page, user.email)
    page = page_for(width=width)
    sign_in(page, manager.email)
    page.get_by_label("Code").fill(code_of_app())
    page.get_by_role("button", name="Go on").click()
    expect(page).to_have_url(re.compile(r"//[^/]+/$"))
    page.goto("/people/sign-in/")
    fits(page, "everybody")
    page.goto(f"/people/{user.pk}/sign-in/")
    fits(page, "person")
    minutes_pass()
    page.get_by_role("link", name="Lost the second step").click()
    prove(page)
    fits(page, "away")
    page.get_by_role("button", name="Take it away").click()
    expect(page.get_by_role("heading", name="Not saved yet")).to_be_visible()
    page.get_by_label("How you made sure").fill("Stood before me in the office")
    page.get_by_role("button", name="Take it away").click()
    expect(page.get_by_text("Taken away.")).to_be_visible()
    assert [one.to for one in mail.outbox] == [[user.email]]


@WIDTHS
@pytest.mark.parametrize(
    "path", ["password/reset/", "password/reset/done/", "signup/", "inactive/", "password/reset/key/1-x/"]
)
def test_pages_before_the_door_fit(page_for, fits, path: str, width: int) -> None:
    page = page_for(width=width)
    page.goto(f"/accounts/{path}")
    fits(page, path.strip("/").replace("/", "-"))
