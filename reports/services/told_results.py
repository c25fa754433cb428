"""What a result says for its room and its zone: made where it was just judged, or of one that was stored before."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo

from methods.verdicts import Verdict
from methods.verdicts.comparability import ComparabilityState
from methods.verdicts.many_rooms import SHARED_PARTS
from methods.wording.numbers import span
from methods.wording.results import in_full, number_text
from reports.services.result_values import JudgedResult, less_outdoors, measured_value, of_visit, word_of
from reports.trace import BudgetPart


class ToldResult(NamedTuple):
    """Plain values, as thousands of them come from one process to another.

    ``words``: of the verdict; ``text``: the value with U and unit, ``number``: the value alone; ``why``: the reason
    that governs; ``shared``: the part of its variance (0 to 1) that all results of one instrument have in common;
    ``begin``, ``end``: of its window. The rest as a result and its trace call it.
    """

    verdict: str
    words: str
    is_met: bool | None
    value: float | None
    text: str
    number: str
    unit: str
    p_above: float | None
    p_not_met: float | None
    shared: float
    why: str
    indicative: bool
    of_visit: bool
    less_outdoors: bool
    edge: float | None
    advice: str
    begin: datetime | None
    end: datetime | None

    @classmethod
    def of(cls, result: JudgedResult) -> ToldResult:
        trace, said, reasons = result.traced, measured_value(result), result.stated_reasons
        return cls(
            verdict=str(result.verdict),
            words=word_of(result),
            is_met=trace.is_met,
            value=result.value,
            text=in_full(said),
            number=number_text(said),
            unit=result.unit,
            p_above=result.p_above,
            p_not_met=result.p_not_met,
            shared=shared_part(result.budget_parts),
            why=reasons[0].words if reasons else "",
            indicative=result.comparability == ComparabilityState.INDICATIVE.word,
            of_visit=of_visit(result),
            less_outdoors=less_outdoors(result),
            edge=trace.edge,
            advice=trace.advice,
            begin=result.window_start,
            end=result.window_end,
        )

    @property
    def is_compared(self) -> bool:
        return self.verdict != Verdict.NOT_COMPARABLE

    @property
    def reservation(self) -> str:
        """Why it cannot be compared, or is an indication only."""
        if self.indicative:
            return f"An indication only: {self.why}"
        return "" if self.is_compared else self.why

    def when(self, zone: ZoneInfo) -> str:
        """Its window on the clock of the site; "" without a value."""
        if self.value is None or self.begin is None or self.end is None:
            return ""
        return span(self.begin, self.end, zone)


def shared_part(parts: Iterable[BudgetPart]) -> float:
    """The part of the variance that all results of one instrument have in common."""
    return min(sum((part.share for part in parts if part.name in SHARED_PARTS and part.share is not None), 0.0), 1.0)
