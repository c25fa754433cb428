"""Without a mouse: from the login to the line in the file by the floor plan; the focus is always to be seen."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from demo.scenario import PASSWORD, SCENARIO
from tests.browser.conftest import Enter
from tests.browser.looking import until_released

pytestmark = pytest.mark.browser

CONSULTANT = SCENARIO.organisations[0].people[0].email
MOST = 150
NAME = "e => (e.getAttribute('aria-label') || e.innerText || e.textContent || '').trim()"
#: Whether the focused element, or what it holds on a drawing, is outlined or stroked.
SEEN = """e => [e, ...e.querySelectorAll('*')].some(part => {
  const style = getComputedStyle(part);
  return (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) > 0)
    || (part.namespaceURI.endsWith('svg') && style.stroke !== 'none' && parseFloat(style.strokeWidth) >= 3);
})"""


def tab_to(page: Page, words: str) -> None:
    """Tab until a link or button of this name has the focus. Fails where the focus cannot be seen on the way."""
    for _ in range(MOST):
        page.keyboard.press("Tab")
        focused = page.evaluate_handle("document.activeElement").as_element()
        assert focused is not None
        if focused.evaluate("e => e === document.body"):
            continue  # past the last element, into the frame of the browser
        name = focused.evaluate(NAME)
        assert focused.evaluate(SEEN), f"the focus on “{name}” cannot be seen"
        if words in name and focused.evaluate("e => e.matches('a, button, summary')"):
            return
    raise AssertionError(f"“{words}” cannot be reached with the keyboard")


def enter_on(page: Page, words: str) -> None:
    tab_to(page, words)
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.wait_for_load_state("networkidle")


def test_the_whole_way_with_the_keyboard(enter: Enter) -> None:
    until_released(enter(CONSULTANT))
    page = enter(None)
    page.goto("/login/")
    page.get_by_label("e-mail address", exact=False).focus()
    page.keyboard.type(CONSULTANT)
    page.keyboard.press("Tab")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url("**/campaigns/")
    enter_on(page, SCENARIO.campaign.name)
    page.keyboard.press("Tab")
    assert "Skip" in page.evaluate("document.activeElement.textContent")
    page.keyboard.press("Enter")  # past the head of the page
    enter_on(page, "Refurbished offices")
    assert "Refurbished offices" in page.locator("h1").inner_text()
    enter_on(page, "Where this number comes from")
    enter_on(page, "as it stands in the file")
    assert "of the original" in page.locator("main").inner_text()
