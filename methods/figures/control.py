"""Figures of quality control: a control chart, and the bias of meters side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from methods.figures.marked_course import marked_course, shape
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
    within = [point for point in points if not point.outside]
    outside = [point for point in points if point.outside]
    return marked_course(
        [points],
        (("within the limits", within), ("outside", outside)),
        name=name,
        centre=centre,
        band=(lower, upper),
        reach=max(upper - centre, *(abs(point.value - centre) for point in points)) * 1.25 or 1.0,
    )


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
