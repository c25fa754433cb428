"""From stored to corrected readings: zero, span, calibration, and what speaks against each (METHODS M4, M5). Pure."""

from readings.correct.chain import Corrected, correct
from readings.correct.drift import NEVER
from readings.correct.explain import Input, Step
from readings.correct.facts import CalibrationLine, Chain, ChannelFacts, Check, Kind
from readings.correct.flagging import NOT_DEPLOYED

__all__ = [
    "NEVER",
    "NOT_DEPLOYED",
    "CalibrationLine",
    "Chain",
    "ChannelFacts",
    "Check",
    "Corrected",
    "Input",
    "Kind",
    "Step",
    "correct",
]
