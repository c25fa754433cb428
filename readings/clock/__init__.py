"""Logger stamps ↔ UTC: basis, offset, drift, clock changes, resets, and a suggestion where no check was made. Pure."""

from readings.clock.basis import Basis
from readings.clock.checks import CheckedOffset, ClockCheck
from readings.clock.model import ClockModel
from readings.clock.resets import Reset, resets
from readings.clock.suggest import SILENT_BELOW, Candidate, Suggestion, bursts, spoken, suggest_offset
from readings.clock.zones import UnknownZone

__all__ = [
    "SILENT_BELOW",
    "Basis",
    "Candidate",
    "CheckedOffset",
    "ClockCheck",
    "ClockModel",
    "Reset",
    "Suggestion",
    "UnknownZone",
    "bursts",
    "resets",
    "spoken",
    "suggest_offset",
]
