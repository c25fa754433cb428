"""Points side by side: for each a strip from its lowest to its highest reading, with the middle of them marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from methods.comparison.distribution import PlaceSample, quantile
from methods.figures.axes import LimitLine, upright, upright_label
from methods.figures.limits import LOG_AXIS
from methods.figures.series import FAR_ABOVE
from methods.figures.text import escaped, short
from methods.wording.numbers import plain

QUANTILES = (0.0, 0.05, 0.25, 0.5, 0.75, 0.95, 1.0)


@dataclass(frozen=True, eq=False)
class PointStrip:
    """One point and its readings; ``is_room_air``: what people breathe, and what governs."""

    sample: PlaceSample
    is_room_air: bool


def strips(
    points: Sequence[PointStrip], *, unit: str, limits: Sequence[LimitLine] = (), is_log: bool = False
) -> dict[str, Any]:
    """The figure, the first point on top. Room air has the accent and a full mark, other kinds of place an open one."""
    rows = [escaped(strip.sample.label) for strip in points]
    data = [trace for strip, row in zip(points, rows, strict=True) for trace in _strip(strip, row, unit)]
    top = max(float(strip.sample.value.max()) for strip in points)
    near = [line for line in limits if line.at <= FAR_ABOVE * max(top, 0.0)]
    return {
        "data": data,
        "layout": {
            "showlegend": False,
            "hovermode": "closest",
            "xaxis": {"title": {"text": unit}, "showgrid": True, **(LOG_AXIS if is_log else {"rangemode": "tozero"})},
            "yaxis": {
                "type": "category",
                "categoryorder": "array",
                "categoryarray": rows[::-1],
                "tickmode": "array",
                "tickvals": rows[::-1],
                "ticktext": [escaped(short(strip.sample.label)) for strip in points[::-1]],
                "range": [-0.7, len(rows) - 0.3],
                "showgrid": False,
                "ticks": "",
                "fixedrange": True,
            },
            "shapes": [upright(line) for line in near],
            "annotations": [upright_label(line, is_log=is_log) for line in near],
        },
    }


def _strip(strip: PointStrip, row: str, unit: str) -> list[dict[str, Any]]:
    quantiles = [quantile(strip.sample, q) for q in QUANTILES]
    low, p5, q1, median, q3, p95, high = (q.value for q in quantiles)
    colour = "series-1" if strip.is_room_air else "series-2"
    text = (
        f"{row}<br>median {_text(quantiles[3], unit)}, half of the readings from {_text(quantiles[2], unit)}"
        f" to {_text(quantiles[4], unit)}"
        f"<br>95th percentile {_text(quantiles[5], unit)}, highest {_text(quantiles[6], unit)}"
    )
    parts = [(low, high, 1.0), (p5, p95, 4.0), (q1, q3, 11.0 if strip.is_room_air else 7.0)]
    ends = [_bar(row, a, b, {"color": colour, "width": width}, text) for a, b, width in parts]
    symbol = "diamond" if strip.is_room_air else "square-open"
    mark = {"symbol": symbol, "size": 12, "color": "ink", "line": {"width": 2, "color": "sheet"}}
    if not strip.is_room_air:
        mark["line"] = {"width": 2, "color": "ink"}
    middle = {**_bar(row, median, median, {"color": colour}, text), "mode": "markers", "x": [median], "y": [row]}
    return [*ends, {**middle, "marker": mark}]


def _bar(row: str, start: float, end: float, line: dict[str, Any], text: str) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": row,
        "x": [float(f"{start:.5g}"), float(f"{end:.5g}")],
        "y": [row, row],
        "line": line,
        "hovertemplate": f"{text}<extra></extra>",
    }


def _text(quantile_value: Any, unit: str) -> str:
    return f"{'< ' if quantile_value.is_below else ''}{plain(quantile_value.value)} {unit}".strip()
