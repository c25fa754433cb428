"""Zero or span of a channel over the checks made on it, with the band inside which a check passes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from methods.figures.text import escaped


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
    lines = {
        "type": "scatter",
        "mode": "lines",
        "x": [x for period in periods for x in (*(mark.at for mark in period), None)],
        "y": [y for period in periods for y in (*(mark.value for mark in period), None)],
        "line": {"color": "series-1", "width": 1.5},
        "hoverinfo": "skip",
        "showlegend": False,
    }
    low, high = right - tolerance, right + tolerance
    reach = max([tolerance, *(abs(mark.value - right) for mark in marks)]) * 1.25
    return {
        "data": [lines, *_points(marks)],
        "layout": {
            "xaxis": {"type": "date", "range": around([mark.at for mark in marks])},
            "yaxis": {"title": {"text": name}, "range": [right - reach, right + reach], "zeroline": False},
            "shapes": [
                shape("rect", x=(0, 1), xref="paper", y=(low, high), fillcolor="band/0.45", line={"width": 0}),
                shape("line", x=(0, 1), xref="paper", y=(right, right), line={"color": "faint", "width": 1}),
                *(
                    shape(
                        "line", x=(day, day), y=(0, 1), yref="paper", line={"color": "ink", "width": 1, "dash": "dot"}
                    )
                    for day in calibrated
                ),
            ],
            "hovermode": "closest",
            "showlegend": True,
        },
    }


def around(times: Sequence[str]) -> list[str]:
    """From a little before the first check to a little after the last; a calibration months before is not shown."""
    moments = [datetime.fromisoformat(at) for at in times]
    first, last = min(moments), max(moments)
    edge = max((last - first) / 20, timedelta(hours=6))
    return [(first - edge).isoformat(sep=" ", timespec="minutes"), (last + edge).isoformat(sep=" ", timespec="minutes")]


def _points(marks: Sequence[CheckMark]) -> list[dict[str, Any]]:
    out = []
    for name, failed, symbol in (("passed", False, "circle"), ("failed", True, "diamond-open")):
        here = [mark for mark in marks if mark.failed == failed]
        if here:
            out.append(
                {
                    "type": "scatter",
                    "mode": "markers",
                    "name": name,
                    "x": [mark.at for mark in here],
                    "y": [mark.value for mark in here],
                    "text": [escaped(mark.text) for mark in here],
                    "hovertemplate": "%{text}<extra></extra>",
                    "marker": {"symbol": symbol, "size": 10, "color": "series-2" if failed else "series-1"},
                }
            )
    return out


def shape(
    kind: str, *, x: tuple[Any, Any], y: tuple[Any, Any], xref: str = "x", yref: str = "y", **more: Any
) -> dict[str, Any]:
    return {
        "type": kind, "layer": "below", "xref": xref, "x0": x[0], "x1": x[1], "yref": yref, "y0": y[0], "y1": y[1],
        **more,
    }  # fmt: skip
