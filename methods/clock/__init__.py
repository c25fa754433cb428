"""Logger stamps ↔ UTC: basis, offset, drift, clock changes, resets, and a suggestion where no check was made. Pure."""

from methods.clock.basis import Basis
from methods.clock.burst_stream import BurstsSoFar
from methods.clock.checks import CheckedOffset, NotedCheck
from methods.clock.duplicate_memory import MemoryMatch, twin_of
from methods.clock.evidence import ClockDoubt, ClockStanding, StretchStanding, is_pinned
from methods.clock.lag import CommonLog, LagProposal, lag_proposals
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
    "ClockDoubt",
    "ClockModel",
    "ClockStanding",
    "CommonLog",
    "LagProposal",
    "MemoryMatch",
    "NotedCheck",
    "Place",
    "Reset",
    "ResetAnswer",
    "StretchStanding",
    "Suggestion",
    "UnknownZone",
    "bursts",
    "fit_at",
    "is_pinned",
    "lag_proposals",
    "resets",
    "spoken",
    "suggest_offset",
    "twin_of",
]
