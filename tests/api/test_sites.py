from __future__ import annotations

from typing import Any

import pytest

from campaigns.models import Record, Site, TokenScope
from tests import factories as make
from tests.api.contract import Endpoint
from tests.api.program import Program


class TestSites(Endpoint):
    path = "sites/"
    scope = TokenScope.PLACES

    def make(self, site: Site) -> Record:
        return make.SiteFactory.create(organisation=site.organisation, client=site.client)

    @pytest.fixture
    def row(self, site: Site) -> Record:
        return site

    def test_what_it_says(self, site: Site, program: Program) -> None:
        Site.objects.filter(pk=site.pk).update(address="1 Mole Road", altitude_m=12.5, notes="Windows to the quay.")
        expected: dict[str, Any] = {
            "key": str(site.key),
            "name": "Harbour House",
            "address": "1 Mole Road",
            "time_zone": "Europe/Lisbon",
            "altitude_m": 12.5,
            "notes": "Windows to the quay.",
        }
        assert program.body(f"sites/{site.key}/") == expected
