"""The application as a web server calls it."""

from __future__ import annotations

import gc
import sys
from typing import Any

import pytest
from django.test import RequestFactory

from config.wsgi import application


@pytest.mark.django_db(transaction=True)
def test_it_answers() -> None:
    said: list[str] = []

    def start(status: str, *_: Any) -> Any:
        said.append(status)

    answer: Any = application(RequestFactory().get("/ready/?of=database").environ, start)
    assert said == ["200 OK"]
    assert b"".join(answer) == b'{"database": "there"}'


def test_pages_are_loaded_before_the_first_request_and_set_aside() -> None:
    """A page's module holds no object that a collection looks through."""
    pages = sys.modules["reports.views.campaign"]
    assert gc.get_freeze_count() > 0
    assert not any(one is pages.CampaignPage for one in gc.get_objects())
