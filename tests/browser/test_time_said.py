"""A log of times without a date: the date is typed, the page shows what it gives, and the file is read so."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.bench import CONSULTANT, START, Bench, hand_in, set_up
from tests.browser.conftest import Enter

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]

BENCH = Bench()
HOUR = [START + timedelta(minutes=n) for n in range(61)]


def a_log() -> str:
    rows = [f"{moment:%H:%M:%S},0.0{10 + n % 80}" for n, moment in enumerate(HOUR)]
    return "\n".join([f"Serial number,{BENCH.serial}", "time,formaldehyde (ppm)", *rows]) + "\n"


def say(page: Page, label: str, text: str) -> None:
    """Type it and go on, once the part of the page that was swapped in listens."""
    page.wait_for_timeout(300)
    page.get_by_label(label).fill(text)
    page.keyboard.press("Tab")


def test_the_date_is_typed_or_follows_from_an_example(enter: Enter, tmp_path: Path) -> None:
    page = enter(CONSULTANT)
    home = set_up(page, BENCH)
    log = tmp_path / "no-date.csv"
    log.write_text(a_log(), encoding="utf-8")
    hand_in(page, home, log)
    page.get_by_role("link", name="Answer, and see how it would be read").click(timeout=30_000)
    outcome = page.locator("#layout-look .lede")
    expect(outcome).to_contain_text("Nothing is read before the questions are answered")

    page.get_by_text("The time is written otherwise").click()
    say(page, "What the first stamp means", "2026-10-07T09:00:00")
    expect(outcome).to_contain_text("run from 2026-10-07 09:00:00 to 2026-10-07 10:00:00")
    say(page, "What the first stamp means", "")
    expect(outcome).to_contain_text("Nothing is read before the questions are answered")

    say(page, "of which date is the first reading", f"{START:%Y-%m-%d}")
    expect(outcome).to_contain_text("run from 2026-10-05 09:00:00 to 2026-10-05 10:00:00")
    page.get_by_role("button", name="Read it like this").click()
    expect(page.locator("li.job.done")).to_be_visible(timeout=60_000)
