"""What is looked at on every page: readable by everybody (axe-core), in both schemes, at every width."""

from __future__ import annotations

import time
from collections.abc import Mapping

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from demo.scenario import SCENARIO
from tests.browser.walk import walk

PEOPLE = {person.key: person.email for house in SCENARIO.organisations for person in house.people}
WIDTHS = (360, 1280, 1920, 2560)
SERIOUS = ("serious", "critical")
AXE = Axe()
#: WCAG 2.2 A and AA, and axe-core's own good practice. Contrast is looked at in each scheme.
EVERYTHING = {"resultTypes": ["violations"]}
CONTRAST = {"runOnly": ["color-contrast"], "resultTypes": ["violations"]}


def complaints(page: Page, options: Mapping[str, object] = EVERYTHING) -> list[str]:
    """What axe-core finds serious or critical: rule and the first elements."""
    found = AXE.run(page, options=dict(options)).response["violations"]
    return [f"{v['id']}: {[node['target'][0] for node in v['nodes']][:3]}" for v in found if v["impact"] in SERIOUS]


def too_wide(page: Page) -> list[str]:
    """Widths at which the page scrolls sideways."""
    wide = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        if page.evaluate("document.scrollingElement.scrollWidth > window.innerWidth"):
            wide.append(f"scrolls sideways at {width}")
    page.set_viewport_size({"width": 1280, "height": 900})
    return wide


def look(page: Page) -> list[str]:
    page.emulate_media(color_scheme="light")
    found = complaints(page) + too_wide(page)
    page.emulate_media(color_scheme="dark")
    return found + [f"dark, {said}" for said in complaints(page, CONTRAST)]


def look_everywhere(page: Page, *, thoroughly: bool = True) -> tuple[set[str], dict[str, list[str]]]:
    """All routes that were reached, and what is wrong with which. Not ``thoroughly``: in the light scheme at 1280."""
    reached, wrong = set(), {}
    for route, answer in walk(page):
        reached.add(route)
        found = ([] if answer.ok else [f"answers {answer.status}"]) + (look(page) if thoroughly else complaints(page))
        if found:
            wrong[f"{route} {answer.url}"] = found
    return reached, wrong


def until_released(page: Page) -> None:
    """The demo signs and releases by itself once everything is judged; before that some pages are not there."""
    until = time.monotonic() + 90
    page.goto("/findings/")
    # Its agreement stands there earlier.
    while not page.locator("main li.stack").get_by_text(SCENARIO.campaign.name).count():
        assert time.monotonic() < until, "the demo was not released"
        page.wait_for_timeout(1000)
        page.reload()
