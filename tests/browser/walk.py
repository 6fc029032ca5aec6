"""Walking through pages as a person does: every page that is come to is checked by axe before anything is done on it.

With WALK_PICTURES naming a folder, a picture of each is kept there, numbered in the order of the walk.
"""

import os
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Error, Locator, Page

from tests.factories import PASSWORD

PICTURES = os.environ.get("WALK_PICTURES", "")


class Walk:
    """One person at one browser. Whatever leads to another page ends with axe finding nothing on it."""

    def __init__(self, page: Page, axe: Callable[[Page], None]) -> None:
        self.page = page
        self.axe = axe

    def look(self) -> None:
        """Wait until the page stands, then have axe look at it; no page scrolls sideways."""
        self.page.wait_for_load_state("networkidle")
        try:
            self.axe(self.page)
            width = self.page.evaluate("document.documentElement.scrollWidth")
        except Error as error:  # a phone's outbox sends first and goes on then: the next page is the one to look at
            if "context was destroyed" not in str(error):
                raise
            self.page.wait_for_load_state("networkidle")
            self.axe(self.page)
            width = self.page.evaluate("document.documentElement.scrollWidth")
        assert width <= self.page.viewport_size["width"], f"{self.page.url} scrolls sideways"
        if PICTURES:
            number = len(list(Path(PICTURES).glob("*.png")))
            self.page.screenshot(path=Path(PICTURES) / f"{number:03}.png", full_page=True, caret="initial")

    def open(self, address: str) -> None:
        answer = self.page.goto(address)
        assert answer.status == 200, f"{address}: {answer.status}"
        self.look()

    def sign_in(self, person) -> None:
        self.open("/accounts/login/")
        self.fill(login=person.email, password=PASSWORD)
        self.press("Sign in")

    def follow(self, name: str, *, within: Locator | None = None) -> None:
        """Follow the first link of this name."""
        (within or self.page).get_by_role("link", name=name).first.click()
        self.look()

    def press(self, name: str, *, within: Locator | None = None) -> None:
        """Press the button of this name (what screen readers add left out), which stands once within a part."""
        (within or self.page).get_by_role("button", name=name, exact=within is None).click()
        self.look()

    def fill(self, **fields: str) -> None:
        """Fill fields by their names in the form: text, or the label of a choice."""
        for name, value in fields.items():
            self.put(self.page.locator(f"main [name={name}]:visible").first, value)

    @staticmethod
    def put(field: Locator, value: str) -> None:
        """Put a value into one field, whatever kind it is."""
        kind = field.first.evaluate("field => field.tagName + ' ' + field.type")
        if kind.startswith("SELECT"):
            field.select_option(value)  # its value or its label
        elif kind.endswith(("radio", "checkbox")):
            field.and_(field.page.locator(f"[value='{value}']")).check()
        elif kind.endswith("file"):
            field.set_input_files(value)
        else:
            field.fill(value)

    def says(self, words: str) -> None:
        """The page shows these words somewhere."""
        self.page.get_by_text(words).first.wait_for()

    def section(self, words: str) -> Locator:
        """The smallest section in which these words stand."""
        return self.page.locator("section", has_text=words).last


def data(name: str) -> str:
    """The path of a file of tests/data."""
    return str(Path(__file__).parents[1] / "data" / name)
