"""On a slow line: files that are chosen before the page's script has come are handed in when it does."""

from __future__ import annotations

import uuid
from pathlib import Path

import pytest
from playwright.sync_api import Route, expect

from tests.browser.conftest import Enter
from tests.browser.looking import PEOPLE, until_released
from tests.browser.test_field_journey import at_the_campaign

pytestmark = pytest.mark.browser

SCRIPTS = "**/js/upload/upload*.js"


def test_files_chosen_before_the_script_are_not_forgotten(enter: Enter, tmp_path: Path) -> None:
    page = enter(PEOPLE["field-2"])
    held: list[Route] = []
    page.route(SCRIPTS, lambda route: held.append(route))
    until_released(page)
    at_the_campaign(page)
    page.locator("main").get_by_role("link", name="Uploads").first.click(no_wait_after=True)
    chosen = tmp_path / f"{uuid.uuid4().hex[:8]}.csv"
    chosen.write_text(f"Serial number,{chosen.stem}\ntime,formaldehyde [ppm]\n2026-10-05 09:01:00,0.01\n", "utf-8")
    page.set_input_files("input[type=file]", str(chosen))
    expect(page.locator("[data-files] > li")).to_have_count(0)
    assert held, "the script came before the file was chosen"
    for route in held:
        route.continue_()
    page.unroute(SCRIPTS)
    expect(page.locator("[data-files]").get_by_role("link", name=chosen.name, exact=True)).to_be_visible()
