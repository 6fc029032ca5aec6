"""Signing in and out as a person does it, and the checks that every browser test leans on."""

from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import listen


def sign_in(page: Page, email: str, password: str) -> None:
    page.goto("/accounts/login/")
    page.get_by_label("E-mail").fill(email)
    page.get_by_label("Password").first.fill(password)
    page.get_by_role("button", name="Sign in", exact=False).first.click()


def test_sign_in_with_a_wrong_and_a_right_password_and_out_again(page_for, axe, office) -> None:
    page = page_for()
    sign_in(page, office.email, "not the password")
    expect(page.get_by_role("heading", name="You are not signed in yet")).to_be_visible()
    axe(page)
    assert page.url.endswith("/accounts/login/")
    assert page.get_by_label("E-mail").input_value() == office.email
    sign_in(page, office.email.upper(), "a long password")
    page.wait_for_url(lambda url: urlsplit(url).path == "/")
    axe(page)
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/accounts/login/**")  # what the device keeps is cleared first
    page.goto("/")
    assert "/accounts/login/" in page.url


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("path", ["login/", "password/reset/", "2fa/", "password/change/", "sessions/"])
def test_account_pages_have_no_violation_and_fit(page_for, axe, path: str, width: int) -> None:
    page = page_for("manager", width=width) if path not in {"login/", "password/reset/"} else page_for(width=width)
    answer = page.goto(f"/accounts/{path}")
    assert answer.status == 200
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth") == width


def test_complaints_of_a_page_are_heard(page_for, live_server) -> None:
    """A check that cannot fail proves nothing: here each kind of complaint is provoked."""
    page = page_for().context.new_page()
    complaints: list[str] = []
    listen(page, live_server.url, complaints)
    page.goto("/accounts/login/")
    with page.expect_console_message(lambda told: told.text == "spoilt"):
        page.evaluate("console.error('spoilt')")
    with page.expect_event("pageerror"):
        page.evaluate("setTimeout(() => { throw new Error('broken') })")
    with page.expect_console_message(lambda told: "Content Security Policy" in told.text):
        page.evaluate("document.body.setAttribute('style', 'color: red')")
    page.goto(elsewhere := live_server.url.replace("localhost", "127.0.0.1") + "/accounts/login/")
    said = "\n".join(complaints)
    assert "console: spoilt" in said
    assert "script: broken" in said
    assert "Content Security Policy" in said
    assert f"another host: {elsewhere}" in said


def test_violations_are_found(page_for, axe) -> None:
    page = page_for()
    page.goto("/accounts/login/")
    page.evaluate("document.documentElement.removeAttribute('lang')")
    with pytest.raises(AssertionError, match="html-has-lang"):
        axe(page)
