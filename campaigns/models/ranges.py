"""What the columns of planning can hold: the choices of each, and from where to where its numbers and times reach."""

from __future__ import annotations

from campaigns.models.agreements import Agreement
from campaigns.models.alert_levels import AlertLevel
from campaigns.models.bounds import DAYS, MOMENTS, SHARE, SIZE, VALUE, Range, bound
from campaigns.models.campaigns import Campaign, Deployment
from campaigns.models.clocks import ClockCheck, ClockReset
from campaigns.models.drawings import FloorPlan
from campaigns.models.instruments import Calibration, ChannelSpec, FieldCheck, Instrument, InstrumentType
from campaigns.models.jobs import Job
from campaigns.models.limits import Limit
from campaigns.models.people import Membership
from campaigns.models.places import MOST_AREA_M2, MOST_HEIGHT_M, Building, Room, SamplingPoint, Site, Zone
from campaigns.models.quality import AcceptanceLimit, QualityRun
from campaigns.models.use import UseTimetable
from methods.floorplans.shape import FARTHEST_M
from methods.limits.model import Averaging

ON_THE_PLAN: Range = (-FARTHEST_M, FARTHEST_M)
#: Pixels: the largest image that is taken has a tenth of it on a side.
ON_THE_IMAGE: Range = (-1e6, 1e6)
#: °C and kPa, of air in which people measure.
TEMPERATURE: Range = (-100.0, 1000.0)
PRESSURE: Range = (10.0, 200.0)
#: Relative uncertainties and tolerances: 1 is 100 %.
RELATIVE: Range = (0.0, 100.0)
#: Per cent.
ACCEPTED: Range = (0.1, 1000.0)
#: As many digits as the column has.
LIMIT: Range = (-99_999_999, 99_999_999)

for model in (Membership, Building, Zone, Instrument, ClockReset, UseTimetable, Job):
    bound(model)
bound(Site, {"altitude_m": (-430.0, 6000.0)}, told=["altitude_m"])
# That they are above zero is told by another constraint.
bound(Room, {"area_m2": (-MOST_AREA_M2, MOST_AREA_M2), "height_m": (-MOST_HEIGHT_M, MOST_HEIGHT_M)})
bound(
    SamplingPoint,
    {"height_m": (0.0, 100.0), "x_m": ON_THE_PLAN, "y_m": ON_THE_PLAN},
    told=["height_m", "x_m", "y_m"],
)
bound(
    FloorPlan,
    {name: ON_THE_IMAGE for name in ("scale_x1_px", "scale_y1_px", "scale_x2_px", "scale_y2_px")}
    | {"scale_length_m": (0.0, FARTHEST_M), "origin_x_px": ON_THE_IMAGE, "origin_y_px": ON_THE_IMAGE},
)
bound(InstrumentType, {"temperature_low_c": TEMPERATURE, "temperature_high_c": TEMPERATURE})
bound(
    ChannelSpec,
    {
        "resolution": SIZE, "range_low": VALUE, "range_high": VALUE, "detection_limit": SIZE, "u_zero": SIZE,
        "u_span": RELATIVE, "u_drift": SIZE, "u_span_drift": RELATIVE, "u_temperature": SIZE, "u_interference": SIZE,
        "repeatability": SIZE, "zero_tolerance": SIZE, "span_tolerance": RELATIVE,
        "reference_temperature_c": TEMPERATURE, "reference_pressure_kpa": PRESSURE,
    },
)  # fmt: skip
bound(
    Calibration,
    {"date": DAYS, "due": DAYS, "slope": (0.0, 1e6), "intercept": VALUE, "u_reference": RELATIVE},
)  # fmt: skip
bound(FieldCheck, {"at": MOMENTS, "reference": VALUE, "observed": VALUE, "u_reference": SIZE})
bound(ClockCheck, {"at": MOMENTS})
bound(
    Campaign,
    {
        "starts_on": DAYS, "ends_on": DAYS, "level_above": SHARE, "level_below": SHARE, "shift_hours": (0.0, 24.0),
        "station_pressure_kpa": (40.0, 110.0),
    },
    told=["level_above", "level_below", "shift_hours", "station_pressure_kpa"],
)  # fmt: skip
bound(Deployment, {"starts_at": MOMENTS, "ends_at": MOMENTS, "switched_on_at": MOMENTS})
bound(
    Limit,
    {"value": LIMIT, "reference_temperature_c": TEMPERATURE, "tolerance": (0, 1)},
    {"averaging": [one.value for one in Averaging]},
    told=["tolerance"],
)
bound(Agreement, {"answered_at": MOMENTS})
# That it is above zero is told by another constraint.
bound(AlertLevel, {"value": VALUE, "reference_temperature_c": TEMPERATURE})
bound(QualityRun, {"starts_at": MOMENTS, "ends_at": MOMENTS})
bound(AcceptanceLimit, {"percent": ACCEPTED}, told=["percent"])
