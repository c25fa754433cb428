"""Alert levels: values at which somebody is told at once, and when readings have reached one (docs/methods/alerts.md).

Pure.
"""

from __future__ import annotations

from methods.alerts.evaluation import KNOWN_SHARE, ReachedLevel, apart_ms, reached
from methods.alerts.levels import AlertAveraging, AlertRule, LevelDefinition, load_levels

__all__ = [
    "KNOWN_SHARE",
    "AlertAveraging",
    "AlertRule",
    "LevelDefinition",
    "ReachedLevel",
    "apart_ms",
    "load_levels",
    "reached",
]
