from __future__ import annotations

from campaigns.models import Record, Room, Site, TokenScope
from tests import factories as make
from tests.api.contract import Endpoint
from tests.api.program import Program

OUTLINE = [[0, 0], [4.5, 0], [4.5, 4], [0, 4]]


class TestRooms(Endpoint):
    path = "rooms/"
    scope = TokenScope.PLACES

    def make(self, site: Site) -> Record:
        return make.RoomFactory.create(zone__floor__building__site=site)

    def test_what_it_says(self, site: Site, program: Program) -> None:
        room = make.RoomFactory.create(
            zone__floor__building__site=site, area_m2=None, notes="New shelves.", outline=OUTLINE
        )
        assert program.rows(self.path) == [
            {
                "key": str(room.key),
                "site": str(site.key),
                "floor": str(room.zone.floor.key),
                "zone": str(room.zone.key),
                "name": room.name,
                "area_m2": None,
                "height_m": 2.6,
                "notes": "New shelves.",
                "outline": OUTLINE,
            }
        ]

    def test_of_one_site_building_floor_or_zone(self, row: Room, site: Site, program: Program) -> None:
        beside = self.make(site)
        elsewhere = make.RoomFactory.create(zone__floor__building__site__organisation=site.organisation)
        assert program.keys(self.path, site=site.key) == {str(row.key), str(beside.key)}
        assert program.keys(self.path, building=elsewhere.zone.floor.building.key) == {str(elsewhere.key)}
        assert program.keys(self.path, floor=elsewhere.zone.floor.key) == {str(elsewhere.key)}
        assert program.keys(self.path, zone=row.zone.key) == {str(row.key)}
