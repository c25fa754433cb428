"""Every page a consultant can reach by links, and that there is no page to which no link leads."""

from __future__ import annotations

import pytest

from tests.browser.conftest import Enter
from tests.browser.looking import PEOPLE, look, look_everywhere, until_released
from tests.permissions.test_routes import TABLE

pytestmark = [pytest.mark.browser, pytest.mark.walk]

#: Routes without a page of their own to look at: parts of another page, or a machine's.
PIECES = {"job-row", "upload-row", "limit-check", "floor-plan-data", "plan-fitness", "timeline-trace"}
PIECES |= {"health", "ready", "metrics"}
PIECES |= {f"zone-{figure}" for figure in ("series", "range", "spread", "outdoor", "conditions", "together", "points")}
FILES = {
    "report-content",
    "report-draft-pdf",
    "report-pdf",
    "results-workbook",
    "upload-original",
    "floor-plan-image",
    "zone-readings",
}
OUTSIDE = {"login", "password-set"}  # before logging in; looked at below
#: Kinds of row that the demo does not have.
ABSENT = {f"limit-{act}" for act in ("edit", "delete", "history")} | {
    f"layout-{act}" for act in ("edit", "delete", "history")
}
ABSENT |= {"token-delete"} | {f"use-timetable-{act}" for act in ("edit", "delete", "history")}
ABSENT |= {f"agreement-{act}" for act in ("edit", "delete", "record")}  # of what is not accepted yet
ABSENT |= {f"quality-run-{act}" for act in ("edit", "delete", "history")}


@pytest.mark.timeout(600)
def test_every_page_of_the_consultant(enter: Enter) -> None:
    page = enter(PEOPLE["consultant"], reduced_motion="reduce")
    until_released(page)
    reached, wrong = look_everywhere(page)
    assert wrong == {}
    pages = {row.route for row in TABLE if row.post is None and row.codes.consultant == 200 and ":" not in row.route}
    assert pages - reached - PIECES - FILES - OUTSIDE - ABSENT == set(), "pages to which no link leads"


def test_the_door(enter: Enter) -> None:
    page = enter(None)
    page.goto("/login/")
    assert look(page) == []
    page.goto("/password/set/MQ/not-a-token/")
    assert look(page) == []
