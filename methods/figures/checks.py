"""Zero or span of a channel over the checks made on it, with the band inside which a check passes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from methods.figures.marked_course import marked_course, shape


@dataclass(frozen=True, slots=True)
class CheckMark:
    """One check: local time ``YYYY-MM-DD hh:mm``, what it gave, whether it failed, and words for the pointer."""

    at: str
    value: float
    failed: bool
    text: str


def check_course(
    periods: Sequence[Sequence[CheckMark]], calibrated: Sequence[str], *, name: str, right: float, tolerance: float
) -> dict[str, Any]:
    """Marks joined within each of ``periods`` between calibrations, because the meter is adjusted at each.

    ``right`` is what a perfect check gives (0 for a zero, 1 for a span factor), ``tolerance`` how far off still passes;
    ``calibrated`` are local dates. Passed: full circles; failed: open diamonds, so that no colour is needed.
    """
    marks = [mark for period in periods for mark in period]
    figure = marked_course(
        periods,
        (("passed", [mark for mark in marks if not mark.failed]), ("failed", [mark for mark in marks if mark.failed])),
        name=name,
        centre=right,
        band=(right - tolerance, right + tolerance),
        reach=max([tolerance, *(abs(mark.value - right) for mark in marks)]) * 1.25,
    )
    adjusted = {"color": "ink", "width": 1, "dash": "dot"}
    figure["layout"]["shapes"] += [
        shape("line", x=(day, day), y=(0, 1), yref="paper", line=adjusted) for day in calibrated
    ]
    return figure
