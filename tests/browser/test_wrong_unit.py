"""A unit answered wrongly: seen on the page of the zone, taken back, judged anew, and the history says who and when."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from demo.scenario import SCENARIO
from tests.browser.bench import CONSULTANT, START, Bench, hand_in, set_up
from tests.browser.conftest import Enter

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]

#: Its meter can print either unit.
BENCH = Bench(units=("ppm", "mg/m³"))
WHY = "the meter was set to mg/m³"
ZONE = "Reading rooms"
NAME = next(person.name for house in SCENARIO.organisations for person in house.people if person.email == CONSULTANT)


def a_log() -> str:
    """An hour of 0.090 in a unit that the file does not name: as ppm above 0.1 mg/m³ (0.110), as mg/m³ below it."""
    rows = [f"{START + timedelta(seconds=10 * n):%Y-%m-%d %H:%M:%S},0.090" for n in range(361)]
    return "\n".join([f"Serial number,{BENCH.serial}", "time,formaldehyde", *rows]) + "\n"


def until_read(page: Page) -> None:
    """The page of the file is shown anew then: what is asked for meanwhile would be left again."""
    expect(page.locator("li.job.done")).to_be_visible(timeout=60_000)
    page.wait_for_load_state("networkidle")


def until_zone_says(page: Page, home: str, *words: str) -> None:
    """The verdict is judged in the background: the page is asked again until it is there."""
    for _ in range(40):
        page.goto(home)
        page.locator("main").get_by_role("link", name=ZONE).first.click()
        page.wait_for_load_state("networkidle")
        text = page.locator("main").inner_text()
        if all(word in text for word in words):
            return
        page.wait_for_timeout(1000)
    raise AssertionError(f"{words} not in:\n{text[:2000]}")


def answer(page: Page, unit: str, *, why: str = "") -> None:
    page.locator("main").get_by_label(unit, exact=True).first.check()
    page.wait_for_load_state("networkidle")
    if why:
        page.locator("main").get_by_label("reason", exact=False).first.fill(why)
    page.get_by_role("button", name="Read it like this").click()
    page.wait_for_load_state("networkidle")


def the_file_says_who_and_when(page: Page, upload: str) -> None:
    page.goto(upload)
    expect(page.locator("main")).to_contain_text(WHY)
    expect(page.locator("main")).to_contain_text(f"by {NAME}")
    page.locator("main").get_by_role("link", name="History").first.click()
    page.wait_for_load_state("networkidle")
    expect(page.locator("main")).to_contain_text("withdrawn")
    expect(page.locator("main")).to_contain_text(NAME)
    expect(page.locator("main")).to_contain_text(f"{datetime.now(UTC):%Y-%m-%d}")


def test_taken_back_and_read_with_the_right_one(enter: Enter, tmp_path: Path) -> None:
    page = enter(CONSULTANT)
    home = set_up(page, BENCH)
    log = tmp_path / "no-unit.csv"
    log.write_text(a_log(), encoding="utf-8")
    hand_in(page, home, log)
    expect(page.get_by_role("link", name="Answer, and see how it would be read")).to_be_visible(timeout=30_000)
    upload = page.url

    page.get_by_role("link", name="Answer, and see how it would be read").click()
    page.wait_for_load_state("networkidle")
    answer(page, "ppm")
    until_read(page)
    until_zone_says(page, home, "above limit", "0.11")

    page.goto(upload)
    page.get_by_role("link", name="Look at the layout again").click()
    page.wait_for_load_state("networkidle")
    choose = page.locator("main select[name^=unit-], main input[name^=unit-][value='mg/m³']").first
    if choose.evaluate("e => e.tagName") == "SELECT":
        choose.select_option(label="mg/m³")
    else:
        choose.check()
    page.wait_for_load_state("networkidle")
    page.locator("main textarea[name=reason], main input[name=reason]").first.fill(WHY)
    page.get_by_role("button", name="Read it like this").click()
    page.wait_for_load_state("networkidle")
    until_read(page)
    until_zone_says(page, home, "below limit", "0.09")

    the_file_says_who_and_when(page, upload)
