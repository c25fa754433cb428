"""The limits of one parameter on one axis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from methods.figures.text import escaped

#: Ticks at 1, 2 and 5 of every power of ten, as plain numbers.
LOG_AXIS = {"type": "log", "dtick": "D2", "tickformat": "~g"}


@dataclass(frozen=True, slots=True)
class LimitMark:
    """One limit on the axis. ``at`` is its place in the axis's unit; ``placed`` says how it got there if its document
    gives another unit, and is empty where the document's own number is drawn."""

    at: float
    row: str
    text: str
    in_force: bool
    placed: str = ""


def limit_axis(marks: Sequence[LimitMark], rows: Sequence[str], unit: str, *, is_log: bool = True) -> dict[str, Any]:
    """A logarithmic axis in ``unit`` with one line per averaging time in ``rows``, top first.

    Filled: in force; open: not in force. Round: the document's own unit; diamond: only placed here by conversion.
    Marks of one line are spread a little so that equal values stay apart.
    """
    used = [row for row in rows if any(mark.row == row for mark in marks)]
    place = {row: len(used) - 1 - n for n, row in enumerate(used)}
    groups = [
        ("in force", True, False),
        ("in force, placed by conversion", True, True),
        ("not in force", False, False),
        ("not in force, placed by conversion", False, True),
    ]
    data = []
    for name, in_force, converted in groups:
        here = [
            (mark, lane) for mark, lane in _lanes(marks) if (mark.in_force, bool(mark.placed)) == (in_force, converted)
        ]
        if here:
            data.append(_trace(name, here, place, in_force=in_force, converted=converted))
    return {
        "data": data,
        "layout": {
            "xaxis": {"title": {"text": unit}, "showgrid": True, **(LOG_AXIS if is_log else {})},
            "yaxis": {
                "tickmode": "array",
                "tickvals": [place[row] for row in used],
                "ticktext": [escaped(row) for row in used],
                "range": [-0.6, len(used) - 0.4],
                "showgrid": True,
                "zeroline": False,
                "ticks": "",
                "fixedrange": True,
            },
            "hovermode": "closest",
            "showlegend": True,
        },
    }


def _lanes(marks: Sequence[LimitMark]) -> list[tuple[LimitMark, float]]:
    """Each mark with its distance from the middle of its line: equal neighbours are stacked."""
    seen: dict[tuple[str, float], int] = {}
    out = []
    for mark in marks:
        key = (mark.row, float(f"{mark.at:.2g}"))
        nth = seen[key] = seen.get(key, -1) + 1
        step = (nth + 1) // 2 * 0.16
        out.append((mark, max(-0.4, min(0.4, step if nth % 2 else -step))))
    return out


def _trace(
    name: str, here: Sequence[tuple[LimitMark, float]], place: dict[str, int], *, in_force: bool, converted: bool
) -> dict[str, Any]:
    symbol = "diamond" if converted else "circle"
    return {
        "type": "scatter",
        "mode": "markers",
        "name": name,
        "x": [mark.at for mark, _ in here],
        "y": [place[mark.row] + lane for mark, lane in here],
        "text": [escaped(mark.text) + (f"<br>{escaped(mark.placed)}" if mark.placed else "") for mark, _ in here],
        "hovertemplate": "%{text}<extra></extra>",
        "marker": {
            "symbol": symbol if in_force else f"{symbol}-open",
            "size": 10,
            "color": "series-1" if in_force else "faint",
            "line": {"width": 1, "color": "sheet" if in_force else "faint"},
        },
    }
