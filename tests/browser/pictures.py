"""``python -m tests.browser.pictures URL``: the README's picture, from a demo that runs at URL."""

from __future__ import annotations

import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

from demo.scenario import PASSWORD, SCENARIO
from tests.browser.chromium import ARGS, CHROMIUM

PICTURE = Path(__file__).resolve().parents[2] / "demo" / "campaign.png"


def main(url: str) -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        page = browser.new_page(base_url=url, viewport={"width": 1280, "height": 1010})
        page.goto("/login/")
        page.get_by_label("e-mail address", exact=False).fill(SCENARIO.organisations[0].people[0].email)
        page.get_by_label("Password", exact=False).fill(PASSWORD)
        page.get_by_role("button", name="Log in").click()
        page.get_by_role("link", name=SCENARIO.campaign.name).first.click()
        page.wait_for_load_state("networkidle")
        page.screenshot(path=PICTURE)
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1])
