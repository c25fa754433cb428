"""What a person of the client finds, and what they do not."""

from __future__ import annotations

import time

import pytest
from playwright.sync_api import Page, expect

from demo.scenario import SCENARIO
from tests.browser.conftest import Enter
from tests.browser.looking import PEOPLE, until_released

pytestmark = pytest.mark.browser


def to_the_report(page: Page) -> None:
    """From the client's first page, where the agreement of the same campaign stands, too."""
    page.goto("/findings/")
    page.locator("main h2 a").filter(has_text="Larkspindle").first.click()
    page.wait_for_load_state("networkidle")


def test_the_client_reads_the_released_findings_and_nothing_else(enter: Enter) -> None:
    page = enter(PEOPLE["client"])
    until_released(page)
    to_the_report(page)
    main = page.locator("main")
    expect(main.get_by_text("In 5 of 9 zones formaldehyde was below the limit").first).to_be_visible()
    expect(main.get_by_text("not measured").first).to_be_visible()
    assert ".csv" not in main.inner_text(), "no file names, no internals"
    main.get_by_role("link", name="Refurbished offices").first.click()
    expect(main.get_by_text("above limit").first).to_be_visible()
    for closed in ("/campaigns/", "/sites/", "/instruments/", "/limits/", "/work/", "/people/"):
        answer = page.goto(closed)
        assert answer is not None
        assert answer.status == 404, closed


def test_the_signed_report_is_a_pdf(enter: Enter) -> None:
    page = enter(PEOPLE["client"])
    until_released(page)
    to_the_report(page)
    link = page.locator("main").get_by_role("link", name="PDF").first.get_attribute("href")
    assert link is not None
    until = time.monotonic() + 60
    while (answer := page.request.get(link)).status == 202:  # it is being set
        assert time.monotonic() < until
        time.sleep(0.5)
    assert answer.body().startswith(b"%PDF-")


def test_a_stranger_finds_none_of_it(enter: Enter) -> None:
    page = enter(PEOPLE["stranger"])
    page.goto("/campaigns/")
    expect(page.locator("main")).not_to_contain_text(SCENARIO.campaign.name)
    page.goto("/sites/")
    expect(page.locator("main")).to_contain_text("Pebblecomb Hut")
    expect(page.locator("main")).not_to_contain_text("Larkspindle")
