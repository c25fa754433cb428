"""From stored to corrected readings: zero, span, calibration, and what speaks against each. Pure.

Method: docs/methods/flags.md, docs/methods/correction.md.
"""

from methods.correction.chain import Corrected, correct
from methods.correction.explain import ChainStep, Input, explain_reading
from methods.correction.facts import CalibrationLine, Chain, ChannelFacts, Check, Kind
from methods.correction.flagging import NOT_DEPLOYED

__all__ = [
    "NOT_DEPLOYED",
    "CalibrationLine",
    "Chain",
    "ChainStep",
    "ChannelFacts",
    "Check",
    "Corrected",
    "Input",
    "Kind",
    "correct",
    "explain_reading",
]
