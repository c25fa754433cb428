"""Values over time around what is expected of them: joined, with the band they should keep to."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any, Protocol

from methods.figures.text import escaped


class CourseMark(Protocol):
    """``at``: local time ``YYYY-MM-DD hh:mm``; ``text``: words for the pointer."""

    @property
    def at(self) -> str: ...

    @property
    def value(self) -> float: ...

    @property
    def text(self) -> str: ...


def marked_course(
    periods: Sequence[Sequence[CourseMark]],
    kinds: Sequence[tuple[str, Sequence[CourseMark]]],
    *,
    name: str,
    centre: float,
    band: tuple[float, float],
    reach: float,
) -> dict[str, Any]:
    """Marks joined within each of ``periods``. ``kinds``: what is as it should be, in full circles, and what is not, in
    open diamonds, so that no colour is needed; each with its name. ``reach``: of the axis to both sides of ``centre``;
    ``name``: of the axis."""
    lines = {
        "type": "scatter",
        "mode": "lines",
        "x": [x for period in periods for x in (*(mark.at for mark in period), None)],
        "y": [y for period in periods for y in (*(mark.value for mark in period), None)],
        "line": {"color": "series-1", "width": 1.5},
        "hoverinfo": "skip",
        "showlegend": False,
    }
    looks = (("circle", "series-1"), ("diamond-open", "series-2"))
    marks = [_marks(*kind, *look) for kind, look in zip(kinds, looks, strict=True) if kind[1]]
    return {
        "data": [lines, *marks],
        "layout": {
            "xaxis": {"type": "date", "range": _around([mark.at for period in periods for mark in period])},
            "yaxis": {"title": {"text": name}, "range": [centre - reach, centre + reach], "zeroline": False},
            "shapes": [
                shape("rect", x=(0, 1), xref="paper", y=band, fillcolor="band/0.45", line={"width": 0}),
                shape("line", x=(0, 1), xref="paper", y=(centre, centre), line={"color": "faint", "width": 1}),
            ],
            "hovermode": "closest",
            "showlegend": True,
        },
    }


def _marks(name: str, marks: Sequence[CourseMark], symbol: str, colour: str) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": name,
        "x": [mark.at for mark in marks],
        "y": [mark.value for mark in marks],
        "text": [escaped(mark.text) for mark in marks],
        "hovertemplate": "%{text}<extra></extra>",
        "marker": {"symbol": symbol, "size": 10, "color": colour},
    }


def _around(times: Sequence[str]) -> list[str]:
    """From a little before the first check to a little after the last; a calibration months before is not shown."""
    moments = [datetime.fromisoformat(at) for at in times]
    first, last = min(moments), max(moments)
    edge = max((last - first) / 20, timedelta(hours=6))
    return [(first - edge).isoformat(sep=" ", timespec="minutes"), (last + edge).isoformat(sep=" ", timespec="minutes")]


def shape(
    kind: str, *, x: tuple[Any, Any], y: tuple[Any, Any], xref: str = "x", yref: str = "y", **more: Any
) -> dict[str, Any]:
    return {
        "type": kind, "layer": "below", "xref": xref, "x0": x[0], "x1": x[1], "yref": yref, "y0": y[0], "y1": y[1],
        **more,
    }  # fmt: skip
