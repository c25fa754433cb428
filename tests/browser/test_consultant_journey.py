"""From an empty site to a verdict, as a consultant does it: with the mouse, in the browser, without the admin."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.bench import CONSULTANT, START, Bench, hand_in, set_up
from tests.browser.conftest import Enter

pytestmark = pytest.mark.browser

BENCH = Bench()


def a_log() -> str:
    """An hour about 0.200 ppm, 0.25 mg/m³: above 0.1 mg/m³ beyond any doubt. More readings than are drawn at once."""
    rows = [f"{START + timedelta(seconds=n):%Y-%m-%d %H:%M:%S},{0.199 + n % 3 * 0.001:.3f}" for n in range(3600)]
    return "\n".join([f"Serial number,{BENCH.serial}", "time,formaldehyde [ppm]", *rows]) + "\n"


def test_from_an_empty_site_to_a_verdict(enter: Enter, tmp_path: Path) -> None:
    page = enter(CONSULTANT)
    home = set_up(page, BENCH)
    log = tmp_path / "bench.csv"
    log.write_text(a_log(), encoding="utf-8")
    hand_in(page, home, log)
    expect(page.locator("li.job.done")).to_be_visible(timeout=30_000)
    expect(page.get_by_text("3,600 readings stored.")).to_be_visible()

    page.goto(home)
    expect(page.locator("main").get_by_text("above limit").first).to_be_visible(timeout=30_000)
    page.get_by_role("link", name="Reading rooms").first.click()
    expect(page.locator("main").get_by_text("0.245", exact=False).first).to_be_visible()
    look_closer(page)


def look_closer(page: Page) -> None:
    """Of an hour only the extremes are drawn; of a part of it every reading is."""
    figure = page.locator("figure[data-range]").first
    figure.scroll_into_view_if_needed()
    expect(figure.locator(".chart-tools")).to_be_visible(timeout=20_000)
    for _ in range(2):
        figure.get_by_role("button", name="Closer").click()
        expect(figure.locator("[data-state]")).to_contain_text("readings in this part", timeout=15_000)
        expect(figure).not_to_have_attribute("aria-busy", "true", timeout=15_000)
    before, now = figure.evaluate(
        """async f => {
          const { wholeFigure } = await import("/static/js/charts/drawing.js");
          const shown = f.querySelector(".chart-plot");
          const [from, to] = shown.layout.xaxis.range.map((text) => Date.parse(text.replace(" ", "T") + "Z"));
          const inside = ({ x }) => x.filter((at) => at >= from && at <= to).length;
          return [inside(wholeFigure(f).data[0]), inside(shown.data[0])];
        }"""
    )
    assert now > 2 * before > 0
