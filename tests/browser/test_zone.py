"""The zone page in a real browser: closer in time, by drag and by keys, and out as files."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import Enter

pytestmark = pytest.mark.browser

PNG, WHOLE = b"\x89PNG\r\n\x1a\n", "The whole time is shown."


def long_chart(page: Page) -> Locator:
    """The drawing of the logger that stood for days in the refurbished offices."""
    page.get_by_role("link", name="Larkspindle House, September 2026").first.click()
    page.get_by_role("link", name="Refurbished offices").first.click()
    figure = page.locator("figure[data-chart=always-formaldehyde]")
    figure.scroll_into_view_if_needed()
    expect(figure.locator(".chart-tools")).to_be_visible(timeout=20_000)
    return figure


def axis(figure: Locator) -> list[str]:
    found: list[str] = figure.evaluate("f => f.querySelector('.chart-plot').layout.xaxis.range")
    return found


def saved(page: Page, button: Locator, folder: Path) -> Path:
    with page.expect_download() as waiting:
        button.click()
    path = folder / waiting.value.suggested_filename
    waiting.value.save_as(path)
    return path


def test_closer_in_time_and_out_as_files(enter: Enter, tmp_path: Path) -> None:
    page = enter("odalys@fanlight.example")
    figure = long_chart(page)
    state, whole = figure.locator("[data-state]"), axis(figure)
    expect(state).to_have_text(WHOLE)

    figure.get_by_role("button", name="Closer").focus()  # the chart itself is for the mouse only
    page.keyboard.press("Enter")
    expect(state).to_contain_text("readings in this part, from 1 deployment.", timeout=15_000)
    assert whole[0] < axis(figure)[0] < axis(figure)[1] < whole[1]

    box = figure.locator(".chart-plot").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + 90)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.6, box["y"] + 95, steps=4)
    page.mouse.up()
    before = state.text_content() or ""
    expect(state).not_to_have_text(before, timeout=15_000)
    expect(figure).not_to_have_attribute("aria-busy", "true")
    seen = (state.text_content() or "").partition(". ")[2].partition(" readings")[0]

    sheet = saved(page, figure.get_by_role("link", name="CSV"), tmp_path)
    rows = list(csv.DictReader(sheet.read_text(encoding="utf-8").splitlines()))
    assert len(rows) == int(seen.replace(",", "")) > 10  # the part that is shown, every reading of it
    picture = saved(page, figure.get_by_role("button", name="PNG"), tmp_path)
    assert picture.read_bytes().startswith(PNG)
    assert picture.stat().st_size > 20_000
    drawing = saved(page, figure.get_by_role("button", name="SVG"), tmp_path).read_text(encoding="utf-8")
    assert drawing.startswith("<svg")
    assert "Refurbished offices" in drawing

    figure.get_by_role("button", name="Whole time").click()
    expect(state).to_have_text(WHOLE)
    assert axis(figure) == whole


def test_every_view_draws_on_a_phone(enter: Enter) -> None:
    page = enter("odalys@fanlight.example", width=360, height=740)
    long_chart(page)
    for view in (
        "Distribution",
        "Against outdoor air",
        "With temperature and humidity",
        "Correlation",
        "Point against",
    ):
        page.locator("#figures").get_by_role("link", name=view).click()
        figure = page.locator("figure[data-chart]").first
        figure.scroll_into_view_if_needed()
        expect(figure.locator(".main-svg").first).to_be_visible()
        figure.locator("summary").click()
        expect(figure.locator("[data-numbers] table")).to_be_visible()
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, view
