from __future__ import annotations

from campaigns.models import Record, Site, TokenScope, Zone
from tests import factories as make
from tests.api.contract import Endpoint
from tests.api.program import Program


class TestZones(Endpoint):
    path = "zones/"
    scope = TokenScope.PLACES

    def make(self, site: Site) -> Record:
        return make.ZoneFactory.create(floor__building__site=site)

    def test_what_it_says(self, site: Site, program: Program) -> None:
        zone = make.ZoneFactory.create(
            floor__building__site=site, use="open-plan office", ventilation="windows", place_kind="office"
        )
        assert program.rows(self.path) == [
            {
                "key": str(zone.key),
                "site": str(site.key),
                "building": str(zone.floor.building.key),
                "floor": str(zone.floor.key),
                "name": zone.name,
                "use": "open-plan office",
                "ventilation": "windows",
                "place_kind": "office",
                "outline": None,
            }
        ]

    def test_of_one_site_building_or_floor(self, row: Zone, site: Site, program: Program) -> None:
        beside = self.make(site)
        elsewhere = make.ZoneFactory.create(floor__building__site__organisation=site.organisation)
        assert program.keys(self.path, site=site.key) == {str(row.key), str(beside.key)}
        assert program.keys(self.path, building=elsewhere.floor.building.key) == {str(elsewhere.key)}
        assert program.keys(self.path, floor=row.floor.key) == {str(row.key)}
