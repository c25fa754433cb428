"""Pages fit a phone and a desk: nothing scrolls sideways, charts are drawn, and the content policy has no complaint."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from demo.scenario import SCENARIO
from tests.browser.conftest import Enter

pytestmark = pytest.mark.browser

CONSULTANT = SCENARIO.organisations[0].people[0].email
WORDS = "campaigns sites sites/add instruments instrument-types limits limits/add work people layouts findings"
PLAIN = tuple(f"/{word}/" for word in WORDS.split())
OF_CAMPAIGN = (
    "", "plan/", "deployments/", "deployments/add/", "uploads/", "criteria/", "use/", "report/", "edit/", "history/",
)  # fmt: skip


def fits(page: Page) -> bool:
    return bool(page.evaluate("document.scrollingElement.scrollWidth <= window.innerWidth"))


@pytest.mark.parametrize("width", [360, 1280])
def test_nothing_scrolls_sideways(enter: Enter, width: int) -> None:
    page = enter(CONSULTANT, width=width)
    page.goto("/campaigns/")
    home = page.locator("main").get_by_role("link", name=SCENARIO.campaign.name).first.get_attribute("href")
    assert home is not None
    too_wide = []
    for url in (*PLAIN, *(home + part for part in OF_CAMPAIGN)):
        answer = page.goto(url)
        assert answer is not None
        assert answer.status == 200, url
        if not fits(page):
            too_wide.append(url)
    assert too_wide == []


@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_zone_page_draws_its_chart(enter: Enter, width: int, scheme: str) -> None:
    page = enter(CONSULTANT, width=width, color_scheme=scheme)
    page.goto("/campaigns/")
    page.locator("main").get_by_role("link", name=SCENARIO.campaign.name).first.click()
    page.locator("main").get_by_role("link", name="Refurbished offices").first.click()
    page.locator("figure").first.scroll_into_view_if_needed()  # drawn as soon as it comes into sight
    page.locator("figure .main-svg").first.wait_for()
    assert page.locator("figure .scatterlayer .trace").count() > 0
    assert fits(page)
