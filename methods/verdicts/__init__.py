"""Verdicts: a result with its uncertainty against a limit, and what an instrument could decide. Pure.

Method: docs/methods/verdicts.md.
"""

from __future__ import annotations

from methods.verdicts.deciding import WouldDecide
from methods.verdicts.edges import Edge, as_compared, edges, is_met
from methods.verdicts.fitness import ChannelAbilities, Fitness, fitness
from methods.verdicts.judging import Estimate, Judgement, Levels, judge
from methods.verdicts.words import MARK_GLYPHS, RANGE_WORDS, VERDICT_GLYPHS, VERDICT_WORDS, Verdict, mark_of

__all__ = [
    "MARK_GLYPHS",
    "RANGE_WORDS",
    "VERDICT_GLYPHS",
    "VERDICT_WORDS",
    "ChannelAbilities",
    "Edge",
    "Estimate",
    "Fitness",
    "Judgement",
    "Levels",
    "Verdict",
    "WouldDecide",
    "as_compared",
    "edges",
    "fitness",
    "is_met",
    "judge",
    "mark_of",
]
