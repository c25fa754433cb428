"""Readings over time: lines against the limit, and beneath them which point was measured when.

Times are wall-clock milliseconds of the site (``quantities.moments``), so that the axis reads as the people there do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from methods.figures.axes import (
    DeploymentBar,
    LimitLine,
    Span,
    along,
    bands,
    label_at,
    limit_labels,
    limit_shapes,
    time_axis,
    wall,
)
from methods.figures.decimate import MOST_POINTS, cuts, extremes, parted, rounded
from methods.figures.text import escaped, short
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.digits import in_digits

#: A limit further above the readings than this many times is named at the edge instead of drawn.
FAR_ABOVE = 4.0
#: All points of a drawing together; each line gets its part of them.
ALL_POINTS = 6000
#: Marks at readings below detection, and rings at readings that do not count, for each line.
MOST_MARKS = 240
#: A label nearer to the edge than this part of the drawing is set to its inner side.
NEAR_EDGE = 0.3
DASHES = ("solid", "dot", "dash", "dashdot", "longdash")
SHADES = ("series-2", "series-3", "series-4")
NOT_COUNTED, BELOW, OVER = "does not count", "below the detection limit", "over range"


@dataclass(frozen=True, eq=False)
class Course:
    """Readings of one deployment: wall time ms [n] ascending, values [n] in the figure's unit, which count [n] bool,
    and for those that do not the reason in words [n]. ``below`` [n]: below detection, its value being the limit;
    ``over`` [n]: over range, its value being the least it can be.

    ``broken`` [n]: something is missing before this reading. Given where readings were thinned before; otherwise
    every gap longer than ``gap_ms`` is one.
    """

    label: str
    instrument: str
    wall_ms: Ints
    value: Floats
    counts: Bools
    why_not: Sequence[str]
    gap_ms: int
    governs: bool = False
    below: Bools | None = None
    over: Bools | None = None
    broken: Bools | None = None

    @property
    def drawn(self) -> Bools:
        """Readings that make the line."""
        line: Bools = np.asarray(self.counts, dtype=bool) & np.isfinite(self.value)
        return line


@dataclass(frozen=True, slots=True)
class Worst:
    """The window a result rests on, drawn at its mean."""

    start_ms: int
    end_ms: int
    mean: float
    label: str


def time_series(
    courses: Sequence[Course],
    stays: Sequence[DeploymentBar],
    *,
    unit: str,
    limits: Sequence[LimitLine] = (),
    worst: Sequence[Worst] = (),
    from_zero: bool = True,
    span: Span | None = None,
    most: int = MOST_POINTS,
) -> dict[str, Any]:
    """The figure. Stretches in which nothing was measured are left out of the time axis.

    ``span``: the part of the axis that is looked at; ``courses`` then hold the readings of it. ``most``: points a line.
    """
    labels = list(dict.fromkeys(stay.label for stay in stays))
    data = lines(courses, labels, unit, most=most)
    data += left_out(courses, unit)
    data += [_worst(window, unit) for window in worst]
    data += [bars(label, [s for s in stays if s.label == label], labels) for label in labels]
    split = min(0.45, 0.05 * len(labels) + 0.02)
    low, high = value_range(courses, limits, from_zero)
    return {
        "data": data,
        "layout": {
            "showlegend": False,
            "hovermode": "closest",
            "xaxis": time_axis(stays, span, anchor="y2"),
            "yaxis": {"domain": [split + 0.03, 1], "title": {"text": unit}, "range": [low, high]},
            "yaxis2": bar_axis(labels, [0, split]),
            "shapes": [*bands(stays), *limit_shapes(limits, high)],
            "annotations": [*limit_labels(limits, high), *(_worst_label(window, stays, span) for window in worst)],
        },
    }


def bar_axis(labels: Sequence[str], domain: Sequence[float]) -> dict[str, Any]:
    """The axis of the bars that say which point was measured when, the first on top."""
    return {
        "domain": list(domain),
        "type": "category",
        "categoryorder": "array",
        "categoryarray": [escaped(label) for label in labels[::-1]],
        "tickmode": "array",
        "tickvals": [escaped(label) for label in labels[::-1]],
        "ticktext": [escaped(short(label)) for label in labels[::-1]],
        "range": [-0.6, len(labels) - 0.4],
        "showgrid": False,
        "ticks": "",
        "tickfont": {"size": 11},
        "fixedrange": True,
    }


def look(label: str, labels: Sequence[str], *, governs: bool) -> dict[str, Any]:
    """The governing point in the accent; the others told apart by dash first and by shade second."""
    if governs:
        return {"color": "series-1", "width": 2.25, "dash": "solid"}
    n = labels.index(label) if label in labels else 0
    return {"color": SHADES[n % len(SHADES)], "width": 1.25, "dash": DASHES[n % len(DASHES)]}


def lines(
    courses: Sequence[Course],
    labels: Sequence[str],
    unit: str,
    *,
    most: int = MOST_POINTS,
    total: int = ALL_POINTS,
    **more: Any,
) -> list[dict[str, Any]]:
    """One line for each course, and the marks of what is below detection (an arrow down) or over range (one up)."""
    share = max(60, min(most, share_of([len(course.value) for course in courses], total)))
    traces = [trace for trace in (_line(c, labels, share, unit) for c in courses) if trace]
    return [trace | more for trace in (*traces, *_open_ended(courses, unit))]


def share_of(sizes: Sequence[int], total: int) -> int:
    """The most points a line may have so that lines of these ``sizes`` have ``total`` together: short ones are whole,
    and what they leave is for the long ones."""
    left = total
    for n, size in enumerate(sorted(sizes)):
        fair = left // (len(sizes) - n)
        if size > fair:
            return fair
        left -= size
    return total


def _line(course: Course, labels: Sequence[str], most: int, unit: str) -> dict[str, Any] | None:
    counted = np.flatnonzero(course.drawn)
    if not len(counted):
        return None
    times, values = course.wall_ms[counted], course.value[counted]
    broken = None if course.broken is None else _carried(course.broken, counted)
    kept = extremes(values, most)
    breaks = cuts(times, kept, course.gap_ms, broken)
    return {
        "type": "scatter",
        "mode": "lines" if len(counted) > 1 else "markers",
        "name": escaped(course.label),
        "x": parted(times[kept].tolist(), breaks),
        "y": parted(rounded(values[kept]), breaks),
        "connectgaps": False,
        "line": look(course.label, labels, governs=course.governs),
        "hovertemplate": f"%{{y}} {unit}<br>{who(course)}<br>%{{x|%-d %b %H:%M:%S}}<extra></extra>",
    }


def _carried(broken: Bools, counted: Ints) -> Bools:
    """Breaks before any reading, carried on to the next one that counts."""
    total = np.cumsum(broken)[counted]
    return np.diff(total, prepend=total[:1]) > 0


def _open_ended(courses: Sequence[Course], unit: str) -> list[dict[str, Any]]:
    """Arrows away from readings whose true value is somewhere beneath, or above, what is drawn."""
    kinds = ((BELOW, "arrow-bar-down-open", "<", "below"), (OVER, "arrow-bar-up-open", ">", "over"))
    out = []
    for name, symbol, sign, which in kinds:
        marks = [mark for course in courses for mark in _arrows(course, getattr(course, which), len(courses))]
        look_of = {"symbol": symbol, "size": 7, "color": "ink"}
        out += [_marks(name, marks, look_of, f"{sign} %{{y}} {unit}, {name}")] if marks else []
    return out


def _arrows(course: Course, which: Bools | None, courses: int) -> list[tuple[int, float, str]]:
    if which is None:
        return []
    there = np.flatnonzero(course.drawn & which)
    kept = there[_evenly(len(there), max(30, MOST_MARKS // courses))].tolist()
    return [(int(course.wall_ms[k]), _short(course.value[k]), who(course)) for k in kept]


def left_out(courses: Sequence[Course], unit: str) -> list[dict[str, Any]]:
    """Readings that do not count: rings, one trace for all of them."""
    marks: list[tuple[int, float, str]] = []
    for course in courses:
        out = np.flatnonzero(~np.asarray(course.counts) & np.isfinite(course.value))
        for k in out[extremes(course.value[out], max(40, MOST_POINTS // max(len(courses), 1)))].tolist():
            marks.append((int(course.wall_ms[k]), _short(course.value[k]), f"{who(course)}: {course.why_not[k]}"))
    ring = {"symbol": "circle-open", "size": 4, "color": "faint/0.55", "line": {"width": 1}}
    return [_marks(NOT_COUNTED, marks, ring, f"%{{y}} {unit}, does not count")] if marks else []


def _marks(name: str, marks: Sequence[tuple[int, float, str]], marker: dict[str, Any], said: str) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": name,
        "x": [at for at, _, _ in marks],
        "y": [value for _, value, _ in marks],
        "text": [text for _, _, text in marks],
        "marker": marker,
        "hovertemplate": said + "<br>%{text}<br>%{x|%-d %b %H:%M:%S}<extra></extra>",
    }


def _evenly(n: int, most: int) -> Ints:
    """At most ``most`` of ``n`` positions, evenly apart, both ends among them."""
    return np.unique(np.linspace(0, n - 1, min(n, most)).astype(np.int64)) if n else np.zeros(0, dtype=np.int64)


def _worst(window: Worst, unit: str) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": escaped(window.label),
        "x": wall([window.start_ms, window.end_ms]),
        "y": [window.mean, window.mean],
        "line": {"color": "ink", "width": 5},
        "hovertemplate": f"{escaped(window.label)}: %{{y:.4~r}} {unit}<extra></extra>",
    }


def _worst_label(window: Worst, stays: Sequence[DeploymentBar], span: Span | None) -> dict[str, Any]:
    """Over the middle of the window, and never beyond the edge of the drawing that it is near."""
    middle = (window.start_ms + window.end_ms) // 2
    label = label_at(f"{escaped(window.label)}: {in_digits(window.mean)}", window.mean, "bottom")
    where = along(stays, span, middle)
    anchor = "left" if where < NEAR_EDGE else "right" if where > 1 - NEAR_EDGE else "center"
    return {**label, "xref": "x", "xanchor": anchor, "x": wall([middle])[0], "yshift": 6}


def bars(label: str, stays: Sequence[DeploymentBar], labels: Sequence[str]) -> dict[str, Any]:
    """The deployments at one point as bars on the second axis."""
    x: list[int | None] = []
    for stay in stays:
        x += [stay.start_ms, stay.end_ms, None]
    governs = any(stay.governs for stay in stays)
    line = look(label, labels, governs=governs) | {"width": 8, "dash": "solid"}
    return {
        "type": "scatter",
        "mode": "lines",
        "name": escaped(label),
        "yaxis": "y2",
        "x": wall(x),
        "y": [None if ms is None else escaped(label) for ms in x],
        "text": [text for stay in stays for text in (who(stay), who(stay), "")],
        "connectgaps": False,
        "line": line,
        "hovertemplate": "%{text}<br>%{x|%-d %b %H:%M}<extra></extra>",
    }


def who(place: Course | DeploymentBar) -> str:
    return f"{escaped(place.label)} · {escaped(place.instrument)}"


def _short(value: float) -> float:
    return float(f"{value:.4g}")


def value_range(courses: Sequence[Course], limits: Sequence[LimitLine], from_zero: bool) -> tuple[float, float]:
    """From the lowest to the highest of what is drawn, limits that are not far off among it, with room around."""
    seen = [c.value[c.drawn] for c in courses]
    known = np.concatenate(seen) if seen else np.zeros(0)
    low, high = (float(known.min()), float(known.max())) if len(known) else (0.0, 1.0)
    if from_zero:
        low = min(low, 0.0)
    drawn = [line.at for line in limits if not _far(line, high)]
    high, low = max([high, *drawn]), min([low, *drawn])
    room = 0.1 * (high - low) or 1.0
    return (low if from_zero and low == 0 else low - room), high + room


def _far(line: LimitLine, high: float) -> bool:
    return line.at > FAR_ABOVE * max(high, 0.0)
