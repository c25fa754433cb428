"""From an empty site to a verdict, as a consultant does it: with the mouse, in the browser, without the admin."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Enter

pytestmark = pytest.mark.browser

CONSULTANT = "odalys@fanlight.example"
RUN = uuid.uuid4().hex[:6]  # so that it can run again on a house that runs already
SITE, TYPE, METER, SERIAL, CAMPAIGN = (
    f"Quillgate {RUN}",
    f"Bench {RUN}",
    f"bench meter {RUN}",
    f"BRW-{RUN}",
    f"Look {RUN}",
)
START = datetime(2026, 10, 5, 9, 0)  # noqa: DTZ001 - typed on the clock of the site


def a_log() -> str:
    """An hour about 0.200 ppm, 0.25 mg/m³: above 0.1 mg/m³ beyond any doubt. More readings than are drawn at once."""
    rows = [f"{START + timedelta(seconds=n):%Y-%m-%d %H:%M:%S},{0.199 + n % 3 * 0.001:.3f}" for n in range(3600)]
    return "\n".join([f"Serial number,{SERIAL}", "time,formaldehyde [ppm]", *rows]) + "\n"


def save(page: Page, **fields: str) -> None:
    """Fill the form of the page by its labels, and send it."""
    page.wait_for_load_state("networkidle")
    for label, value in fields.items():
        field = page.locator("main").get_by_label(label.replace("_", " "), exact=False).first
        if field.evaluate("e => e.tagName") == "SELECT":
            field.select_option(label=value)
        else:
            field.fill(value)
    page.locator("main form button.primary").last.click()
    page.wait_for_load_state("networkidle")
    expect(page.locator(".errorlist, .field-error")).to_have_count(0)


def add(page: Page, link: str, **fields: str) -> None:
    page.locator("main").get_by_role("link", name=link, exact=False).first.click()
    page.wait_for_load_state("networkidle")
    save(page, **fields)


def places(page: Page) -> None:
    page.get_by_role("link", name="Sites").first.click()
    add(page, "Add site", Name=SITE, Time_zone="Europe/Lisbon")
    add(page, "Add a building", Name="Main house")
    add(page, "Add a floor", Name="Ground floor", Level="0")
    add(page, "Add a zone", Name="Reading rooms")
    add(page, "Add a room", Name="Room 1", Floor_area="20")
    add(page, "add a point in Room 1", Name="desk")


def instruments(page: Page) -> None:
    page.get_by_role("link", name="Instruments").first.click()
    page.get_by_role("link", name="Instrument types").first.click()
    add(page, "Add instrument type", Name=TYPE)
    add(
        page, "Add a channel", Parameter="Formaldehyde", Unit="ppm", Resolution="0.001", Range_to="5",
        Zero_uncertainty="0.002", Span_uncertainty="0.05",
    )  # fmt: skip
    page.get_by_role("link", name="Instruments").first.click()
    add(page, "Add instrument", Name=METER, Type=TYPE, Serial_number=SERIAL)


def campaign(page: Page) -> None:
    page.get_by_role("link", name="Sites").first.click()
    page.get_by_role("link", name=SITE).first.click()
    page.wait_for_load_state("networkidle")
    add(page, "Plan a campaign", Name=CAMPAIGN, Starts_on="2026-10-05", Ends_on="2026-10-06")
    page.get_by_role("link", name="Deployments").first.click()
    page.wait_for_load_state("networkidle")
    add(
        page, "Add a deployment", Instrument=METER, Point="Room 1, desk",
        Start=f"{START:%Y-%m-%dT%H:%M}", End=f"{START + timedelta(hours=1):%Y-%m-%dT%H:%M}",
    )  # fmt: skip


def test_from_an_empty_site_to_a_verdict(enter: Enter, tmp_path: Path) -> None:
    page = enter(CONSULTANT)
    places(page)
    instruments(page)
    campaign(page)

    page.get_by_role("link", name=CAMPAIGN).first.click()
    home = page.url
    page.goto(home + "criteria/")
    who = page.locator("tr").filter(has_text="WHO (Europe) 2010").filter(has_text="30-minute")
    who.get_by_role("checkbox").first.check()
    page.get_by_role("button", name="Add the chosen").click()
    page.wait_for_load_state("networkidle")

    log = tmp_path / "bench.csv"
    log.write_text(a_log(), encoding="utf-8")
    page.goto(home + "uploads/")
    page.set_input_files("input[type=file]", str(log))
    expect(page.locator("[data-files]").get_by_text("Stored. It is being read now.")).to_be_visible()
    page.get_by_role("link", name="Open").first.click()
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
