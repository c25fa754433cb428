"""What a campaign's measurements have to keep to, and whether they did. Pure.

The values offered to start from are common practice and have no source: nothing is agreed until people agree on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class QualityOutcome(StrEnum):
    """In the order in which they are shown: what failed first."""

    FAILED = "failed"
    NOT_ASSESSED = "not_assessed"
    PASSED = "passed"


OUTCOME_WORDS = {outcome: outcome.value.replace("_", " ") for outcome in QualityOutcome}


@dataclass(frozen=True, slots=True)
class QualityMeasure:
    """Something that has an acceptance limit in per cent. ``usual``: to start from (common practice, no source).
    ``at_least``: more is better; ``of``: of what it is a percentage."""

    code: str
    name: str
    of: str
    usual: float
    at_least: bool = False

    @property
    def comparison(self) -> str:
        return "at least" if self.at_least else "at most"

    def keeps(self, value: float, limit: float) -> bool:
        """Whether ``value``, in per cent, keeps to ``limit``."""
        return value >= limit if self.at_least else abs(value) <= limit


_ALL = (
    QualityMeasure("bias", "Bias of a meter side by side", "of the median of all meters", 10),
    QualityMeasure("between", "Uncertainty between instruments", "of the median of all meters", 5),
    QualityMeasure("difference", "Difference of duplicates", "of the mean of the two", 20),
    QualityMeasure("variation", "Variation of duplicates, upper bound", "of the mean of the two", 10),
    QualityMeasure("detection", "Detection limit of a meter", "of the lowest limit judged by", 20),
    QualityMeasure("zero_drift", "Change of the zero between checks", "of the lowest limit judged by", 10),
    QualityMeasure("span_drift", "Change of the span between checks", "of the reference", 10),
    QualityMeasure("points", "Planned points with a usable result", "of the planned points", 90, at_least=True),
    QualityMeasure("time", "Time with valid readings", "of the time of the deployments", 75, at_least=True),
)
MEASURES = {measure.code: measure for measure in _ALL}


@dataclass(frozen=True, slots=True)
class Assessed:
    """``why``: in words, where it was not assessed."""

    outcome: QualityOutcome
    why: str = ""


def assess(measure: QualityMeasure, value: float | None, limit: float | None, why: str = "") -> Assessed:
    """``value`` and ``limit`` in per cent. ``why``: what is missing where there is no value."""
    if value is None:
        return Assessed(QualityOutcome.NOT_ASSESSED, why or "too little data")
    if limit is None:
        return Assessed(QualityOutcome.NOT_ASSESSED, "no acceptance limit is set")
    return Assessed(QualityOutcome.PASSED if measure.keeps(value, limit) else QualityOutcome.FAILED)
