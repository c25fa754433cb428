from __future__ import annotations

from campaigns.models import Record, SamplingPoint, Site, TokenScope
from tests import factories as make
from tests.api.contract import Endpoint
from tests.api.program import Program


def outdoors(site: Site) -> SamplingPoint:
    return make.PointFactory.create(
        room=None, site=site, kind="outdoor", name="Roof", height_m=2, place="north parapet"
    )


class TestPointsInTheApi(Endpoint):
    path = "points/"
    scope = TokenScope.PLACES

    def make(self, site: Site) -> Record:
        return make.PointFactory.create(room__zone__floor__building__site=site)

    def test_what_it_says(self, row: SamplingPoint, site: Site, program: Program) -> None:
        assert row.room is not None
        assert program.body(self.detail(row)) == {
            "key": str(row.key),
            "site": str(site.key),
            "zone": str(row.room.zone.key),
            "room": str(row.room.key),
            "name": row.name,
            "kind": "room_air",
            "height_m": 1.2,
            "place": "",
            "x_m": None,
            "y_m": None,
            "beside": None,
        }

    def test_an_outdoor_point_on_a_plan_says_on_which(self, row: SamplingPoint, site: Site, program: Program) -> None:
        assert row.room is not None
        point = outdoors(site)
        point.x_m, point.y_m, point.beside = -2.5, 3, row.room.zone.floor
        point.save()
        said = program.body(self.detail(point))
        assert (said["x_m"], said["y_m"], said["beside"]) == (-2.5, 3, str(row.room.zone.floor.key))

    def test_an_outdoor_point_has_no_room(self, site: Site, program: Program) -> None:
        point = outdoors(site)
        (said,) = program.rows(self.path)
        assert (said["key"], said["room"], said["zone"]) == (str(point.key), None, None)

    def test_of_one_place(self, row: SamplingPoint, site: Site, program: Program) -> None:
        assert row.room is not None
        beside, roof = self.make(site), outdoors(site)
        make.PointFactory.create(room__zone__floor__building__site__organisation=site.organisation)
        assert program.keys(self.path, site=site.key) == {str(row.key), str(beside.key), str(roof.key)}
        for name, place in (("room", row.room), ("zone", row.room.zone), ("floor", row.room.zone.floor)):
            assert program.keys(self.path, **{name: place.key}) == {str(row.key)}
        assert program.keys(self.path, kind="outdoor") == {str(roof.key)}
        assert program.rows(self.path, kind="outdoor", room=row.room.key) == []
