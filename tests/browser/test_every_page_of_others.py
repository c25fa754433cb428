"""Every page that field staff and people of the client can reach by links."""

from __future__ import annotations

import pytest

from tests.browser.conftest import Enter
from tests.browser.looking import PEOPLE, look_everywhere, until_released

pytestmark = [pytest.mark.browser, pytest.mark.walk]


@pytest.mark.timeout(400)
def test_of_field_staff(enter: Enter) -> None:
    page = enter(PEOPLE["field-1"])
    until_released(page)
    reached, wrong = look_everywhere(page, thoroughly=False)  # the consultant's pages with less on them
    assert wrong == {}
    assert {"upload", "deployments", "timeline"} <= reached
    assert "report" not in reached


@pytest.mark.timeout(300)
def test_of_the_client(enter: Enter) -> None:
    page = enter(PEOPLE["client"])
    until_released(page)
    reached, wrong = look_everywhere(page)
    assert wrong == {}
    assert {"released", "released-report", "released-zone"} <= reached
    assert reached & {"campaign", "upload", "zone", "result"} == set()
