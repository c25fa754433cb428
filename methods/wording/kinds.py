"""Kinds of points, checks and clocks as signed reports name them: forms may call them otherwise. Pure."""

from __future__ import annotations

from collections.abc import Mapping

#: By ``SamplingPoint.Kind``.
POINTS: Mapping[str, str] = {
    "room_air": "Room air",
    "enclosed": "Enclosed space",
    "supply_air": "Supply air",
    "outdoor": "Outdoor",
}
#: By ``FieldCheck.Kind``.
CHECKS: Mapping[str, str] = {"zero": "zero", "span": "span"}
#: By ``Instrument.ClockBasis``.
CLOCKS: Mapping[str, str] = {
    "site": "Local time of the site, with daylight saving",
    "utc": "UTC",
    "fixed": "Fixed offset from UTC",
}
