"""The timeline as field staff use it: an edge is dragged, and the step taken back after the page came again."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from demo.scenario import SCENARIO
from tests.browser.conftest import Enter

pytestmark = pytest.mark.browser

FIELD = "tibor@fanlight.example"


def timeline_of(page: Page, instrument: str) -> None:
    page.goto("/campaigns/")
    page.locator("main").get_by_role("link", name=SCENARIO.campaign.name).first.click()
    page.get_by_role("link", name="Deployments").first.click()
    page.get_by_role("link", name="Timeline").click()
    page.get_by_role("navigation", name="Instrument").get_by_role("link", name=instrument).click()
    page.wait_for_load_state("networkidle")


def ends(page: Page) -> list[str]:
    return page.locator("table:has(#stays-caption) tbody td:nth-child(3)").all_inner_texts()


def test_an_edge_is_dragged_and_taken_back(enter: Enter) -> None:
    page = enter(FIELD)
    timeline_of(page, "Logger 1")
    before = ends(page)
    edge = page.get_by_role("slider", name=re.compile("^End of"))
    box = edge.locator("circle").bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 60, y, steps=4)
    with page.expect_navigation():
        page.mouse.up()
    expect(page.locator(".messages")).to_contain_text("is now")
    moved = ends(page)
    assert moved != before
    expect(edge).to_be_focused()  # the keyboard goes on where the hand was

    page.reload()
    with page.expect_navigation():
        page.get_by_role("button", name="Undo").click()
    expect(page.locator(".messages")).to_contain_text("Taken back")
    assert ends(page) == before

    with page.expect_navigation():
        edge.focus()
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("Shift+ArrowLeft")
        expect(page.locator(".timeline-pending")).to_contain_text("becomes")
        page.keyboard.press("Enter")
    assert ends(page) not in (before, moved)
    with page.expect_navigation():
        page.get_by_role("button", name="Undo").click()
    assert ends(page) == before

    page.locator(".timeline-band").first.click()  # what else can be done with it
    page.wait_for_url(re.compile("deployment="))
    expect(page.get_by_role("button", name="Split")).to_be_visible()
    expect(edge).to_be_visible()
