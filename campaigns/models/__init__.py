"""Places, instruments, limits and criteria, campaigns, deployments, people, jobs."""

from campaigns.models import ranges  # noqa: F401 - binds the columns
from campaigns.models.base import Record
from campaigns.models.campaigns import Campaign, Deployment, PlannedPoint
from campaigns.models.clocks import ClockCheck, ClockReset
from campaigns.models.drawings import FloorPlan
from campaigns.models.instruments import Calibration, Channel, ChannelSpec, FieldCheck, Instrument, InstrumentType
from campaigns.models.jobs import Job, LostLease
from campaigns.models.limits import Criterion, Limit, LimitCheck
from campaigns.models.people import Client, Membership, Organisation, Role, User
from campaigns.models.places import Building, Floor, PlaceKind, Room, SamplingPoint, Site, Zone
from campaigns.models.tokens import ApiToken, TokenScope
from campaigns.models.use import UseTimetable

__all__ = [
    "ApiToken",
    "Building",
    "Calibration",
    "Campaign",
    "Channel",
    "ChannelSpec",
    "Client",
    "ClockCheck",
    "ClockReset",
    "Criterion",
    "Deployment",
    "FieldCheck",
    "Floor",
    "FloorPlan",
    "Instrument",
    "InstrumentType",
    "Job",
    "Limit",
    "LimitCheck",
    "LostLease",
    "Membership",
    "Organisation",
    "PlaceKind",
    "PlannedPoint",
    "Record",
    "Role",
    "Room",
    "SamplingPoint",
    "Site",
    "TokenScope",
    "UseTimetable",
    "User",
    "Zone",
]
