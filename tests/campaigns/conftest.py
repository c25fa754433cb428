from __future__ import annotations

import pytest
from django.conf import LazySettings


@pytest.fixture(autouse=True)
def _all_addresses(settings: LazySettings) -> None:
    settings.ROOT_URLCONF = "tests.campaigns.later"
