"""Who has never seen Fanlight gets from the campaign page to the worst room, and to the line in the original file."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from demo.scenario import SCENARIO
from tests.browser.conftest import Enter
from tests.browser.looking import until_released

pytestmark = pytest.mark.browser

CONSULTANT = SCENARIO.organisations[0].people[0].email
MOST = 4


class Clicks:
    """Counts what the person clicks."""

    def __init__(self, page: Page) -> None:
        self.page, self.count = page, 0

    def on(self, link: Locator) -> None:
        self.count += 1
        link.click()
        self.page.wait_for_load_state("networkidle")


def at_the_campaign(enter: Enter) -> tuple[Page, Clicks]:
    page = enter(CONSULTANT)
    until_released(page)
    page.goto("/campaigns/")
    page.locator("main").get_by_role("link", name=SCENARIO.campaign.name).first.click()
    page.wait_for_load_state("networkidle")
    return page, Clicks(page)


def line_shown(page: Page) -> tuple[str, str]:
    """Number of the line and what the original says there, as marked on the page."""
    marked = page.locator("main .marked, main mark").first
    expect(marked).to_be_visible()
    said = re.search(r"Line (\d+) of the original", page.locator("main").inner_text())
    assert said is not None
    return said.group(1), marked.inner_text()


def original_of(page: Page) -> list[str]:
    address = page.locator("main").get_by_role("link", name="original file").get_attribute("href")
    assert address is not None
    return page.request.get(address).text().splitlines()


def test_by_the_ranking(enter: Enter) -> None:
    page, clicks = at_the_campaign(enter)
    worst = page.locator("table", has_text="Governing point").locator("tbody tr").first
    expect(worst).to_contain_text("above limit")
    room = worst.locator("td a").first
    expect(room).to_have_text("Office 1.04, centre")
    clicks.on(room)
    clicks.on(page.locator("ol.chain").get_by_role("link", name="as it stands in the file"))
    assert clicks.count <= MOST
    number, shown = line_shown(page)
    assert original_of(page)[int(number) - 1].strip() in shown


def test_by_the_floor_plan(enter: Enter) -> None:
    page, clicks = at_the_campaign(enter)
    # What a person sees: the zone that says "above limit", in the darkest tint.
    clicks.on(page.locator(".floor-plan a", has_text="above limit").first)
    expect(page.locator("h1")).to_contain_text("Refurbished offices")
    clicks.on(page.get_by_role("link", name="Where this number comes from").first)
    expect(page.locator("h1")).to_contain_text("Office 1.04")
    clicks.on(page.locator("ol.chain").get_by_role("link", name="as it stands in the file"))
    assert clicks.count <= MOST
    number, shown = line_shown(page)
    assert original_of(page)[int(number) - 1].strip() in shown
