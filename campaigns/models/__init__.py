"""Places, instruments, limits and criteria, campaigns, deployments, people, jobs."""

from campaigns.models import ranges  # noqa: F401 - binds the columns
from campaigns.models.agreements import Agreement
from campaigns.models.alert_levels import AlertLevel
from campaigns.models.base import Record
from campaigns.models.campaigns import Campaign, Deployment, PlannedPoint
from campaigns.models.clocks import ClockCheck, ClockReset
from campaigns.models.drawings import FloorPlan
from campaigns.models.instruments import Calibration, Channel, ChannelSpec, FieldCheck, Instrument, InstrumentType
from campaigns.models.jobs import Job, LostLease
from campaigns.models.limits import Criterion, Limit, LimitCheck
from campaigns.models.people import Client, Membership, Organisation, Role, User
from campaigns.models.places import Building, Floor, PlaceKind, Room, SamplingPoint, Site, Zone
from campaigns.models.quality import AcceptanceLimit, QualityRun, RunInstrument
from campaigns.models.tokens import ApiToken, TokenScope
from campaigns.models.tries import PasswordTry
from campaigns.models.use import UseTimetable
from campaigns.models.workers import Worker

__all__ = [
    "AcceptanceLimit",
    "Agreement",
    "AlertLevel",
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
    "PasswordTry",
    "PlaceKind",
    "PlannedPoint",
    "QualityRun",
    "Record",
    "Role",
    "Room",
    "RunInstrument",
    "SamplingPoint",
    "Site",
    "TokenScope",
    "UseTimetable",
    "User",
    "Worker",
    "Zone",
]
