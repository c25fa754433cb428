"""Field staff: on the phone in the building, then with the laptop in the van; and what is not theirs to do."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from demo.scenario import SCENARIO
from tests.browser.bench import save
from tests.browser.conftest import Enter
from tests.browser.looking import PEOPLE, until_released

pytestmark = pytest.mark.browser

FIELD = PEOPLE["field-2"]
RUN = uuid.uuid4()
METER, SERIAL = "Meter B", "DEMO-SV-1138"
#: A day of its own, so that it can run again on a house that runs already.
START = datetime(2026, 11, 2, 8, 0) - timedelta(days=RUN.int % 25)  # noqa: DTZ001 - typed on the clock of the site
SHOWN = "%Y-%m-%dT%H:%M"


def a_log() -> str:
    """Half an hour well below any limit, so that no finding of the demo becomes another."""
    rows = [f"{START + timedelta(minutes=n):%Y-%m-%d %H:%M:%S},0.0{1 + n % 2}" for n in range(1, 31)]
    head = [f"Serial number,{SERIAL}", f"Round,{RUN}", "time,formaldehyde [ppm]"]
    return "\n".join([*head, *rows]) + "\n"


def at_the_campaign(page: Page) -> None:
    page.goto("/campaigns/")
    page.locator("main").get_by_role("link", name=SCENARIO.campaign.name).first.click()
    page.wait_for_load_state("networkidle")


def on_the_phone(page: Page) -> None:
    """Where the meter stands, and that its zero was looked at."""
    at_the_campaign(page)
    page.locator("main").get_by_role("link", name="Deployments").first.click()
    page.locator("main").get_by_role("link", name="Add a deployment").first.click()
    save(
        page, Instrument=METER, Point="Office 2.03, centre", Start=f"{START:{SHOWN}}",
        End=f"{START + timedelta(minutes=31):{SHOWN}}",
    )  # fmt: skip
    expect(page.locator(".messages")).to_contain_text("Saved")
    page.goto("/instruments/")
    page.locator("main").get_by_role("link", name=METER, exact=True).first.click()
    page.locator("main").get_by_role("link", name="Add a field check").first.click()
    save(
        page,
        Channel="Formaldehyde in ppm",
        Kind="Zero",
        True_time=f"{START - timedelta(minutes=10):{SHOWN}}",
        Observed="0.00",
    )
    expect(page.locator(".messages")).to_contain_text("Saved")


def test_from_the_building_to_the_van(enter: Enter, tmp_path: Path) -> None:
    phone = enter(FIELD, width=360, height=740)
    until_released(phone)
    on_the_phone(phone)
    assert phone.evaluate("document.scrollingElement.scrollWidth <= window.innerWidth")

    laptop = enter(FIELD)
    at_the_campaign(laptop)
    for closed in ("Report", "Readers", "Judge again"):
        expect(laptop.locator(".actions").get_by_role("link", name=closed)).to_have_count(0)
    laptop.locator("main").get_by_role("link", name="Uploads").first.click()
    log = tmp_path / f"{METER} {START:%d %b}.csv"
    log.write_text(a_log(), encoding="utf-8")
    laptop.set_input_files("input[type=file]", str(log))
    laptop.locator("[data-files]").get_by_role("link", name=log.name, exact=True).click()
    expect(laptop.get_by_text("30 readings stored")).to_be_visible(timeout=60_000)
    expect(laptop.locator("main")).to_contain_text(METER)
