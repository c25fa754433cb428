"""What is told of a result wherever it is told: its value with the uncertainty, its verdict in words, its window."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol
from zoneinfo import ZoneInfo

from methods.verdicts import VERDICT_WORDS, Verdict
from methods.verdicts.comparability import ComparabilityState, Reason
from methods.verdicts.in_use import NO_TIMETABLE
from methods.wording.numbers import span
from methods.wording.results import INDICATION, MeasuredValue, in_full
from reports.models import Result
from reports.trace import BudgetPart, ResultTrace


class JudgedResult(Protocol):
    """What a result says, stored or not."""

    @property
    def verdict(self) -> str: ...
    @property
    def value(self) -> float | None: ...
    @property
    def expanded(self) -> float | None: ...
    @property
    def unit(self) -> str: ...
    @property
    def p_above(self) -> float | None: ...
    @property
    def p_not_met(self) -> float | None: ...
    @property
    def comparability(self) -> str: ...
    @property
    def window_start(self) -> datetime | None: ...
    @property
    def window_end(self) -> datetime | None: ...
    @property
    def traced(self) -> ResultTrace: ...
    @property
    def budget_parts(self) -> tuple[BudgetPart, ...]: ...
    @property
    def stated_reasons(self) -> tuple[Reason, ...]: ...


def measured_value(result: JudgedResult) -> MeasuredValue:
    trace = result.traced
    return MeasuredValue(
        value=result.value,
        expanded=result.expanded,
        unit=result.unit,
        lower=trace.lower,
        upper=trace.upper,
        at_least=trace.is_lower_bound,
    )


def value_of(result: Result) -> str:
    """The value with its uncertainty in the limit's unit; what readings below detection or over range leave open."""
    return in_full(measured_value(result))


def indication_of(result: JudgedResult) -> str:
    """What stands beside its verdict where that is only an indication, "" otherwise."""
    return INDICATION if result.comparability == ComparabilityState.INDICATIVE.word else ""


def word_of(result: JudgedResult) -> str:
    """The verdict in words; for lower limits and ranges it says which end is meant."""
    return result.traced.words or VERDICT_WORDS[Verdict(result.verdict)]


def of_visit(result: JudgedResult) -> bool:
    """Whether it is the mean of the whole visit, because the data cannot give what the limit asks for."""
    return result.traced.is_context


def less_outdoors(result: JudgedResult) -> bool:
    """Whether the outdoor value was taken off, as the limit asks."""
    return result.traced.taken_off is not None


def is_without_timetable(result: Result) -> bool:
    """Whether it is not compared because nobody said when the place is in use."""
    return any(reason.code == NO_TIMETABLE.code for reason in result.stated_reasons)


def when(result: Result, zone: ZoneInfo) -> str:
    """Its window on the clock of the site; "" without one."""
    if result.window_start is None or result.window_end is None:
        return ""
    return span(result.window_start, result.window_end, zone)
