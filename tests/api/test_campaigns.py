from __future__ import annotations

from campaigns.models import Campaign, Record, Site, TokenScope
from tests import factories as make
from tests.api.contract import Endpoint
from tests.api.program import Program


class TestCampaigns(Endpoint):
    path = "campaigns/"
    scope = TokenScope.CAMPAIGNS

    def make(self, site: Site) -> Record:
        return make.CampaignFactory.create(site=site)

    def test_what_it_says(self, row: Campaign, site: Site, program: Program) -> None:
        assert program.body(self.detail(row)) == {
            "key": str(row.key),
            "site": str(site.key),
            "name": row.name,
            "objective": "",
            "protocol": "",
            "starts_on": "2026-09-14",
            "ends_on": "2026-09-18",
            "level_above": 0.95,
            "level_below": 0.05,
            "shift_hours": 8.0,
            "unsampled": "as_sampled",
            "station_pressure_kpa": None,
        }

    def test_of_one_site(self, row: Campaign, site: Site, program: Program) -> None:
        make.CampaignFactory.create(site__organisation=site.organisation)
        assert program.keys(self.path, site=site.key) == {str(row.key)}
