from __future__ import annotations

from campaigns.models import Floor, Record, Site, TokenScope
from tests import factories as make
from tests.api.contract import Endpoint
from tests.api.program import Program


class TestFloors(Endpoint):
    path = "floors/"
    scope = TokenScope.PLACES

    def make(self, site: Site) -> Record:
        return make.FloorFactory.create(building__site=site)

    def test_what_it_says(self, site: Site, program: Program) -> None:
        floor = make.FloorFactory.create(building__site=site, name="Basement", level=-1)
        assert program.rows(self.path) == [
            {
                "key": str(floor.key),
                "site": str(site.key),
                "building": str(floor.building.key),
                "name": "Basement",
                "level": -1,
            }
        ]

    def test_of_one_site_or_building(self, row: Floor, site: Site, program: Program) -> None:
        beside, elsewhere = self.make(site), make.FloorFactory.create(building__site__organisation=site.organisation)
        assert program.keys(self.path, site=site.key) == {str(row.key), str(beside.key)}
        assert program.keys(self.path, building=elsewhere.building.key) == {str(elsewhere.key)}
