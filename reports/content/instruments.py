"""What measured: instruments with their channels, calibrations and checks. Times are on the clock of the site."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ReportedCalibration:
    """The one in force on the last day. date, due: ISO 8601. true value = slope · shown value + intercept, in the
    channel's unit."""

    date: str
    due: str
    overdue: bool
    certificate: str
    slope: float
    intercept: float


@dataclass(frozen=True, slots=True)
class ReportedCheck:
    """A check with gas, zero or span. reference: the true value, shown: what the instrument showed, in the channel's
    unit. failed: whether it lay outside its tolerance, None where nobody kept that. accepted: who accepted a failed
    one, when and why, "" where nobody did."""

    kind: str
    at: str
    reference: float
    shown: float
    failed: bool | None
    accepted: str


@dataclass(frozen=True, slots=True)
class ReportedClockCheck:
    """at: true time; shown: what the instrument's clock showed then."""

    at: str
    shown: str


@dataclass(frozen=True, slots=True)
class ReportedChannel:
    """resolution, detection_limit: in ``unit``, None where nobody knows. range: both ends as text. checks: those
    within the campaign, the last one before and the first one after it. contradictions: a sentence for each of them
    that its certificate does not allow."""

    parameter: str
    name: str
    unit: str
    resolution: float | None
    range: str
    detection_limit: float | None
    calibration: ReportedCalibration | None
    checks: tuple[ReportedCheck, ...]
    contradictions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReportedInstrument:
    """clock: how its stamps are meant. visits: how often it stood anywhere in the campaign."""

    name: str
    serial: str
    type: str
    interference: str
    clock: str
    visits: int
    channels: tuple[ReportedChannel, ...]
    clock_checks: tuple[ReportedClockCheck, ...]


@dataclass(frozen=True, slots=True)
class ReportedClockQuestion:
    """A question about a clock that was open at release, or was settled without a check. reason: why that does not
    matter, as ``by`` said ``at`` (as printed, on the clock of the site)."""

    instrument: str
    serial: str
    question: str
    reason: str
    by: str
    at: str
