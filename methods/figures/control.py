"""Figures of quality control: a control chart, and the bias of meters side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from methods.figures.checks import around, shape
from methods.figures.text import escaped


@dataclass(frozen=True, slots=True)
class ControlPoint:
    """``at``: local time ``YYYY-MM-DD hh:mm``; ``text``: words for the pointer."""

    at: str
    value: float
    outside: bool
    text: str


def control_figure(
    points: Sequence[ControlPoint], centre: float, lower: float, upper: float, *, name: str
) -> dict[str, Any]:
    """Points joined in order of time, centre line, and the band inside which they are expected. Inside: full circles;
    outside: open diamonds, so that no colour is needed. ``name``: of the values, with their unit."""
    reach = max(upper - centre, *(abs(point.value - centre) for point in points)) * 1.25 or 1.0
    line = {
        "type": "scatter",
        "mode": "lines",
        "x": [point.at for point in points],
        "y": [point.value for point in points],
        "line": {"color": "series-1", "width": 1.5},
        "hoverinfo": "skip",
        "showlegend": False,
    }
    return {
        "data": [line, *_marks(points)],
        "layout": {
            "xaxis": {"type": "date", "range": around([point.at for point in points])},
            "yaxis": {"title": {"text": name}, "range": [centre - reach, centre + reach], "zeroline": False},
            "shapes": [
                shape("rect", x=(0, 1), xref="paper", y=(lower, upper), fillcolor="band/0.45", line={"width": 0}),
                shape("line", x=(0, 1), xref="paper", y=(centre, centre), line={"color": "faint", "width": 1}),
            ],
            "hovermode": "closest",
            "showlegend": True,
        },
    }


def _marks(points: Sequence[ControlPoint]) -> list[dict[str, Any]]:
    out = []
    for name, outside, symbol in (("within the limits", False, "circle"), ("outside", True, "diamond-open")):
        if here := [point for point in points if point.outside == outside]:
            out.append(
                {
                    "type": "scatter",
                    "mode": "markers",
                    "name": name,
                    "x": [point.at for point in here],
                    "y": [point.value for point in here],
                    "text": [escaped(point.text) for point in here],
                    "hovertemplate": "%{text}<extra></extra>",
                    "marker": {"symbol": symbol, "size": 10, "color": "series-2" if outside else "series-1"},
                }
            )
    return out


def bias_figure(
    meters: Sequence[str], biases: Sequence[float], expanded: Sequence[float], *, name: str
) -> dict[str, Any]:
    """How far each meter is from the median of all, with U; nothing is none of it. ``name``: of the axis, with its
    unit."""
    marks = {
        "type": "scatter",
        "mode": "markers",
        "x": [escaped(meter) for meter in meters],
        "y": list(biases),
        "error_y": {"type": "data", "array": list(expanded), "color": "series-1"},
        "marker": {"symbol": "circle", "size": 10, "color": "series-1"},
        "hovertemplate": "%{x}: %{y}<extra></extra>",
        "showlegend": False,
    }
    return {
        "data": [marks],
        "layout": {
            "xaxis": {"type": "category"},
            "yaxis": {"title": {"text": name}, "zeroline": False},
            "shapes": [shape("line", x=(0, 1), xref="paper", y=(0, 0), line={"color": "faint", "width": 1})],
            "showlegend": False,
        },
    }
