"""Logger stamps ↔ UTC: basis, offset, drift, clock changes, resets, and a suggestion where no check was made. Pure."""

from methods.clock.basis import Basis
from methods.clock.burst_stream import BurstsSoFar
from methods.clock.checks import CheckedOffset, ClockCheck
from methods.clock.duplicate_memory import Twin, twin_of
from methods.clock.model import ClockModel
from methods.clock.reset_answers import Place, ResetAnswer
from methods.clock.resets import Reset, resets
from methods.clock.suggestion import SILENT_BELOW, Candidate, Suggestion, bursts, fit_at, spoken, suggest_offset
from methods.clock.zones import UnknownZone

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
