"""How a result keeps what it is traced by: JSON with the number of its format, and older formats read as today's."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from campaigns.frozen.records import Codec
from methods.verdicts.comparability import Reason
from reports.trace import upgrades
from reports.trace.result import FORMAT, UNTRACED, BudgetPart, ResultTrace
from reports.trace.upgrades import Part

TRACE = Codec(ResultTrace)
BUDGET = Codec[tuple[BudgetPart, ...]](tuple[BudgetPart, ...])
REASONS = Codec[tuple[Reason, ...]](tuple[Reason, ...])

#: By the number of a format: what is stored as one part of a result in that format → the same in the next one. The
#: number in the trace is set afterwards. Only formats that a release has written stand here.
UPGRADERS: dict[int, Callable[[Part, Any], Any]] = {1: upgrades.at_the_limit}


class UnknownFormatError(ValueError):
    """What a result is traced by cannot be read here."""


def without_value() -> dict[str, int]:
    """What stands for ``UNTRACED``."""
    return {"format": FORMAT}


def trace_text(trace: ResultTrace) -> str:
    """JSON. Raises records.RecordError where a value is not what its field declares."""
    if trace.first is None and trace == UNTRACED:
        return f'{{"format":{FORMAT}}}'
    return TRACE.text(trace)


def read_trace(stored: Any) -> ResultTrace:
    """Of today's format. Raises records.RecordError."""
    return UNTRACED if stored == without_value() else TRACE.read(stored)


def upgraded(part: Part, stored: Any, trace: Any) -> Any:
    """``stored`` as ``part`` of a result, in today's format; ``trace``: as stored beside it, with the number of both.

    Raises UnknownFormatError for a number that is missing, newer, or older than any that is known.
    """
    number = trace.get("format") if isinstance(trace, dict) else None
    if type(number) is not int:
        raise UnknownFormatError("What this result is traced by has no number of a format.")
    if number > FORMAT:
        raise UnknownFormatError(
            f"What this result is traced by has format {number}, which a newer Fanlight wrote: this one reads formats "
            f"up to {FORMAT}."
        )
    for older in range(number, FORMAT):
        if older not in UPGRADERS:
            raise UnknownFormatError(f"What this result is traced by has format {number}: nothing here reads it.")
        stored = UPGRADERS[older](part, stored)
    return stored | without_value() if part == "trace" and number < FORMAT else stored
