"""The whole demo as data: who, where, with what, when, against which limits.

Pure. ``SCENARIO`` is all a loader needs; ``demo.simulate`` adds the log files and the truth behind them.
"""

from __future__ import annotations

from datetime import date

from demo.building import SITE, STRANGER_SITE
from demo.kit import CALIBRATIONS, CLOCK_CHECKS, FIELD_CHECKS, INSTRUMENTS, TYPES
from demo.route import route, visits
from demo.shapes import (
    DemoBuilding,
    DemoCalibration,
    DemoCampaign,
    DemoChannel,
    DemoClockCheck,
    DemoFieldCheck,
    DemoFloor,
    DemoInstrument,
    DemoInstrumentType,
    DemoOrganisation,
    DemoPerson,
    DemoPoint,
    DemoRoom,
    DemoSite,
    DemoStop,
    DemoVisit,
    DemoZone,
    Scenario,
)

__all__ = [
    "PASSWORD",
    "SCENARIO",
    "DemoBuilding",
    "DemoCalibration",
    "DemoCampaign",
    "DemoChannel",
    "DemoClockCheck",
    "DemoFieldCheck",
    "DemoFloor",
    "DemoInstrument",
    "DemoInstrumentType",
    "DemoOrganisation",
    "DemoPerson",
    "DemoPoint",
    "DemoRoom",
    "DemoSite",
    "DemoStop",
    "DemoVisit",
    "DemoZone",
    "Scenario",
]

PASSWORD = "lantern-row-demo"  # noqa: S105 - printed with every demo login

_OURS = DemoOrganisation(
    key="lantern",
    name="Lantern Row Air Surveys (demo)",
    people=(
        DemoPerson("consultant", "Odalys Ferncastle", "odalys@fanlight.example", "consultant"),
        DemoPerson("field-1", "Tibor Quillmane", "tibor@fanlight.example", "field"),
        DemoPerson("field-2", "Maren Oakthistle", "maren@fanlight.example", "field"),
        DemoPerson("client", "Ansel Brindle", "ansel@brindlewick.example", "client"),
    ),
    sites=(SITE,),
)

_STRANGER = DemoOrganisation(
    key="stranger",
    name="Pebblecomb Surveys (demo)",
    people=(DemoPerson("stranger", "Isolde Marrowby", "isolde@pebblecomb.example", "consultant"),),
    sites=(STRANGER_SITE,),
)

#: A level of the campaign's own: reached on one afternoon, and perhaps when the log ended on another.
ALERT_LEVEL = {
    "parameter": "co2",
    "value": 1450.0,
    "unit": "ppm",
    "averaging": "sustained",
    "minutes": 90,
    "advice": "Open the windows, and find out how many people use the room at once.",
    "source": "agreed with the client of the demo; no document",
}

CAMPAIGN = DemoCampaign(
    name="Larkspindle House, September 2026",
    objective=(
        "Headaches and a smell are reported from the first floor since it was refurbished in August. "
        "Is formaldehyde raised there or elsewhere in the house, and is the nursery below affected?"
    ),
    starts=date(2026, 9, 14),
    ends=date(2026, 9, 16),
    parameters=("formaldehyde", "co2", "temperature", "humidity"),
    criteria=(
        "HCHO-WHO10-30M",
        "HCHO-HC-1H",
        "HCHO-HC-8H",
        "HCHO-NIOSH-TWA",
        "HCHO-NIOSH-C",
        "HCHO-OSHA-TWA",
        "HCHO-OSHA-STEL",
        "HCHO-CN-50325-I",  # an acceptance threshold that takes the outdoor value off
    ),
    group=("Desk work on the first floor", "Refurbished offices", "HCHO-NIOSH-C"),
)

SCENARIO = Scenario(
    organisations=(_OURS, _STRANGER),
    campaign=CAMPAIGN,
    types=TYPES,
    instruments=INSTRUMENTS,
    calibrations=CALIBRATIONS,
    field_checks=FIELD_CHECKS,
    clock_checks=CLOCK_CHECKS,
    route=route(),
    visits=visits(),
)
