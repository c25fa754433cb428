"""Logger stamps ↔ UTC: basis, offset, drift, clock changes, resets, and a suggestion where no check was made. Pure."""

from readings.clock.answers import Place, ResetAnswer
from readings.clock.basis import Basis
from readings.clock.checks import CheckedOffset, ClockCheck
from readings.clock.model import ClockModel
from readings.clock.resets import Reset, resets
from readings.clock.stream import BurstsSoFar
from readings.clock.suggest import SILENT_BELOW, Candidate, Suggestion, bursts, fit_at, spoken, suggest_offset
from readings.clock.twin import Twin, twin_of
from readings.clock.zones import UnknownZone

__all__ = [
    "SILENT_BELOW",
    "Basis",
    "BurstsSoFar",
    "Candidate",
    "CheckedOffset",
    "ClockCheck",
    "ClockModel",
    "Place",
    "Reset",
    "ResetAnswer",
    "Suggestion",
    "Twin",
    "UnknownZone",
    "bursts",
    "fit_at",
    "resets",
    "spoken",
    "suggest_offset",
    "twin_of",
]
