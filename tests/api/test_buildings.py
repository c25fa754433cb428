from __future__ import annotations

from campaigns.models import Building, Record, Site, TokenScope
from tests import factories as make
from tests.api.contract import Endpoint
from tests.api.program import Program


class TestBuildings(Endpoint):
    path = "buildings/"
    scope = TokenScope.PLACES

    def make(self, site: Site) -> Record:
        return make.BuildingFactory.create(site=site)

    def test_what_it_says(self, row: Building, site: Site, program: Program) -> None:
        expected = {"key": str(row.key), "site": str(site.key), "name": row.name, "place_kind": ""}
        assert program.rows(self.path, site=site.key) == [expected]

    def test_of_one_site(self, row: Building, site: Site, program: Program) -> None:
        elsewhere = make.BuildingFactory.create(site__organisation=site.organisation)
        assert program.keys(self.path, site=elsewhere.site.key) == {str(elsewhere.key)}
