"""The pages of an agreement that is not accepted yet: they are in the walk of no house."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Enter
from tests.browser.looking import PEOPLE, look

pytestmark = pytest.mark.browser


@pytest.mark.timeout(200)
def test_a_version_is_written_offered_and_declined(enter: Enter) -> None:
    page = enter(PEOPLE["consultant"])
    page.get_by_role("link", name="Larkspindle House, September 2026").first.click()
    page.get_by_role("link", name="Version 1, accepted by").click()
    here = page.url
    page.get_by_role("link", name="Write a new version").click()
    assert look(page) == []
    page.get_by_role("button", name="Save").click()
    for name in ("Change", "Discard"):
        page.goto(here)
        page.get_by_role("link", name=name, exact=True).click()
        assert look(page) == []
    page.goto(here)
    assert look(page) == []
    page.get_by_role("button", name="Offer it to").click()
    page.get_by_role("link", name="Accepted otherwise").click()
    assert look(page) == []

    client = enter(PEOPLE["client"])
    client.get_by_role("link", name="Larkspindle House, September 2026").first.click()
    client.get_by_role("button", name="Accept this version").click()
    expect(client.get_by_text("Nothing is accepted without this.").first).to_be_visible()
    assert look(client) == []
    client.get_by_label("What should be different").fill("The cellar is missing.")
    client.get_by_role("button", name="Decline").click()
    expect(client.get_by_text("declined by")).to_be_visible()
