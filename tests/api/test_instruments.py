from __future__ import annotations

from campaigns.models import Instrument, Record, Site, TokenScope
from tests import factories as make
from tests.api.contract import Endpoint
from tests.api.program import Program


class TestInstruments(Endpoint):
    path = "instruments/"
    scope = TokenScope.CAMPAIGNS

    def make(self, site: Site) -> Record:
        return make.InstrumentFactory.create(organisation=site.organisation)

    def test_what_it_says(self, row: Instrument, program: Program) -> None:
        make.ChannelSpecFactory.create(
            instrument_type=row.type, parameter="temperature", unit="°C", detection_limit=None
        )
        said = program.body(self.detail(row))
        channels = said.pop("channels")
        assert said == {
            "key": str(row.key),
            "name": row.name,
            "serial": row.serial,
            "type": {
                "key": str(row.type.key),
                "name": row.type.name,
                "warm_up_s": 60,
                "temperature_low_c": None,
                "temperature_high_c": None,
                "interference": "",
            },
            "clock_basis": "site",
            "clock_offset_min": 0,
        }
        assert [(c["parameter"], c["unit"], c["detection_limit"]) for c in channels] == [
            ("formaldehyde", "ppm", 0.005),
            ("temperature", "°C", None),
        ]
        assert channels[0]["u_span"] == 0.05
        assert channels[0]["range_high"] == 500.0

    def test_of_one_type(self, row: Instrument, site: Site, program: Program) -> None:
        self.make(site)
        twin = make.InstrumentFactory.create(organisation=site.organisation, type=row.type, channel=False)
        assert program.keys(self.path, type=row.type.key) == {str(row.key), str(twin.key)}
