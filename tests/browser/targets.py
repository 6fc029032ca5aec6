"""What a thumb in a glove must hit: WCAG 2.2 asks 44 by 44 CSS pixels for level AAA (success criterion 2.5.5, from memory)."""

from playwright.sync_api import Page

# A link inside a sentence is excepted there ("inline"); what is ticked is hit by its label as well.
SMALL = """() => {
  const shown = (one) => one.checkVisibility({ visibilityProperty: true }) && one.getBoundingClientRect().width > 1;
  const inline = (one) => one.matches("a:not(.button)") && getComputedStyle(one).display === "inline";
  const ticked = (one) => one.matches("input[type=checkbox], input[type=radio]");
  const area = (one) => {
    const whole = ticked(one) ? one.closest("label") ?? one.closest(".entry") ?? one : one;
    return whole.getBoundingClientRect();
  };
  const found = [...document.querySelectorAll("main a, main button, main input, main select, main textarea, main summary")];
  return found.filter((one) => one.type !== "hidden" && shown(one) && !inline(one) && area(one).height < 43.5)
    .map((one) => `${one.outerHTML.slice(0, 120)} is ${Math.round(area(one).height)} px high`);
}"""


def must_be_large_enough(page: Page) -> None:
    """Fails for whatever on the page itself can be pressed and is less than 44 px high."""
    page.wait_for_load_state()
    small = page.evaluate(SMALL)
    assert small == [], f"{page.url}\n" + "\n".join(small)
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0, f"{page.url} is {wide} px too wide"
