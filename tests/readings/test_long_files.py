from __future__ import annotations

import pytest

from campaigns.models import Campaign, Instrument
from readings.queries import rows
from tests import factories as make
from tests.readings.doing import hand_in, read

EVER = (-(2**62), 2**62)

LONG = """time,parameter,value,unit
2026-09-15 09:00:00,formaldehyde,0.031,ppm
2026-09-15 09:00:00,CO2,611,ppm
2026-09-15 09:01:00,formaldehyde,0.032,ppm
2026-09-15 09:01:00,CO2,612,ppm
2026-09-15 09:01:00,formaldehyde,0.033,ppm
2026-09-15 09:02:00,formaldehyde,0.034,ppm
2026-09-15 09:02:00,CO2,613,ppm
"""


@pytest.mark.django_db
def test_equal_stamps_are_counted_channel_by_channel(campaign: Campaign, meter: Instrument) -> None:
    make.ChannelSpecFactory(instrument_type=meter.type, parameter="co2", unit="ppm", range_high=5000)
    upload = hand_in(campaign, LONG, instrument=meter)
    read(upload)
    found = {c.spec.parameter: rows(c.pk, *EVER) for c in meter.channels.select_related("spec")}
    assert found["co2"]["nth"].tolist() == [0, 0, 0]
    assert found["co2"]["raw"].tolist() == [611, 612, 613]
    assert found["formaldehyde"]["nth"].tolist() == [0, 0, 1, 0]
    assert found["formaldehyde"]["line"].tolist() == [2, 4, 6, 7]
